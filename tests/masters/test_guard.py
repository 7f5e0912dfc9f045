"""The watched process: what is no film, what is broken on purpose, and what never ends."""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.masters import guard
from bizkit.masters.look import look

from .conftest import flat, moving, seen, tone, write_film


def readers() -> Iterator[int]:
    """Process numbers of the watched processes this test has running."""
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            parent = (folder / "stat").read_text().rpartition(")")[2].split()[1]
            words = (folder / "cmdline").read_bytes().split(b"\0")
        except OSError:
            continue
        if int(parent) == os.getpid() and b"bizkit.masters.child" in words:
            yield int(folder.name)


@pytest.fixture
def short_film(tmp_path: Path) -> Path:
    return write_film(tmp_path / "film.mp4", moving(50), [tone(2)])


def test_looking_from_outside_finds_what_looking_inside_does(short_film: Path) -> None:
    told: list[tuple[int, int]] = []
    facts = look(short_film, progress=lambda done, of: told.append((done, of)))
    assert facts == seen(short_film)
    assert told
    assert all(0 <= done <= of == short_film.stat().st_size for done, of in told)
    assert list(readers()) == []


def test_importing_the_door_loads_no_decoder() -> None:
    code = "import sys, bizkit.masters.look; print(sorted({'av', 'numpy', 'PIL'} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("film.ts", {"codec": "mpeg2video", "sound_codec": "mp2"}),
        ("film.mxf", {"codec": "dnxhd", "pixels": "yuv422p", "options": {"profile": "dnxhr_sq"}}),
        ("film.mov", {"codec": "prores_ks", "pixels": "yuv422p10le"}),
    ],
)
def test_of_a_sound_film_no_decoder_complains(tmp_path: Path, name: str, options: dict[str, Any]) -> None:
    path = write_film(tmp_path / name, moving(10, 256, 120), [tone(0.4)], **{"sound_codec": "pcm_s24le", **options})
    assert look(path).damage == ()


def test_what_decoders_complain_of_is_told(short_film: Path) -> None:
    data = bytearray(short_film.read_bytes())
    for place in range(len(data) // 4, len(data) // 2, 97):
        data[place] ^= 0x10
    short_film.write_bytes(data)
    assert any(line.startswith("the decoder complained") for line in look(short_film).damage)


def test_caption_files_beside_a_film_are_listed(short_film: Path) -> None:
    for name in ("film.srt", "film.en.vtt", "film2.srt", "film.txt", "other.srt", "film.mp4.bak"):
        (short_film.parent / name).touch()
    assert look(short_film).sidecars == ("film.en.vtt", "film.srt")


def test_a_name_with_spaces_dashes_and_odd_bytes(tmp_path: Path) -> None:
    path = write_film(tmp_path / "film.mp4", moving(10)).rename(tmp_path / "-é \udcff;$(x)\n.mp4")
    assert look(path).picture is not None


def test_what_is_no_regular_file_is_refused_without_waiting(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.mp4")
    (tmp_path / "empty.mp4").touch()
    (tmp_path / "text.mp4").write_text("Follow the Kelp\n" * 100)
    started = time.monotonic()
    for name in ("pipe.mp4", "empty.mp4", "text.mp4", ""):
        with pytest.raises(BadInput):
            look(tmp_path / name)
    with pytest.raises(BadInput, match="regular file"):
        look(Path("/dev/zero"))
    with pytest.raises(NotFound, match=r"Did you mean pipe\.mp4"):
        look(tmp_path / "pip.mp4")
    assert time.monotonic() - started < 20


def test_a_playlist_called_film_opens_nothing_else(tmp_path: Path, short_film: Path) -> None:
    address = short_film.as_uri()
    for name, text in (
        ("hls.mp4", f"#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:5,\n{address}\n#EXT-X-ENDLIST\n"),
        ("concat.mp4", f"ffconcat version 1.0\nfile '{short_film}'\n"),
        ("sdp.mp4", "v=0\no=- 0 0 IN IP4 127.0.0.1\nc=IN IP4 127.0.0.1\nm=video 5004 RTP/AVP 96\n"),
    ):
        (tmp_path / name).write_text(text)
        with pytest.raises(BadInput):
            look(tmp_path / name)


def test_past_the_time_limit_the_reader_is_gone(short_film: Path) -> None:
    started = time.monotonic()
    with pytest.raises(RuleBroken, match=r"film\.mp4: looking at it took longer than 1 s"):
        look(short_film, time_limit_s=0.05)
    assert time.monotonic() - started < 5
    assert list(readers()) == []


def test_a_reader_without_a_sign_of_life_is_stopped(short_film: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "STALL_S", 1)

    def halt(done: int, of: int) -> None:
        for number in readers():
            os.kill(number, signal.SIGSTOP)

    with pytest.raises(RuleBroken, match="no sign of life"):
        look(short_film, progress=halt)
    assert list(readers()) == []


def test_a_reader_that_crashes_is_a_clear_error(tmp_path: Path) -> None:
    # Long enough that it cannot be done before it is hit.
    long_mix = write_film(tmp_path / "mix.wav", [], [tone(120)], sound_codec="pcm_s16le")

    def crash(done: int, of: int) -> None:
        for number in readers():
            os.kill(number, signal.SIGSEGV)

    with pytest.raises(BadInput, match=r"got one that stops its reader \(signal 11"):
        look(long_mix, progress=crash)


def test_what_the_progress_raises_stops_the_work(short_film: Path) -> None:
    class Enough(Exception):
        pass

    def stop(done: int, of: int) -> None:
        raise Enough

    with pytest.raises(Enough):
        look(short_film, progress=stop)
    assert list(readers()) == []


@pytest.mark.parametrize(
    ("module", "missing"),
    [
        ("raise ImportError('No module named av', name='av')\n", "av"),
        ("class AudioFrame:\n    pass\n", "PyAV 18.1 or newer"),
    ],
    ids=["none", "too old"],
)
def test_without_the_optional_extra_it_says_what_to_install(
    short_film: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, module: str, missing: str
) -> None:
    (tmp_path / "shadow").mkdir()
    (tmp_path / "shadow" / "av.py").write_text(module)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "shadow"))
    with pytest.raises(RuleBroken, match=rf"needs {missing}: install bizkit with its extra bizkit\[masters\]"):
        look(short_film)


def test_a_module_lying_in_the_folder_of_a_delivery_is_not_run(
    short_film: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (short_film.parent / "av.py").write_text("raise SystemExit('taken over')\n")
    monkeypatch.chdir(short_film.parent)
    assert look(Path("film.mp4")).picture is not None


def test_a_large_film_is_never_held_in_memory(tmp_path: Path) -> None:
    path = write_film(tmp_path / "large.avi", flat(75, 60, 1920, 1080), codec="rawvideo")
    assert path.stat().st_size > 220_000_000
    most = 0

    def weigh(done: int, of: int) -> None:
        nonlocal most
        for number in readers():
            status = Path(f"/proc/{number}/status").read_text()
            most = max(most, *(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM")), 0)

    assert look(path, progress=weigh).duration_s == 3
    assert 0 < most < 200_000  # kibibytes


def spoil(data: bytes, chance: random.Random) -> bytes:
    """A copy with bits flipped, fields blown up, pieces cut or doubled: most of it near the head."""
    spoiled = bytearray(data)
    for _ in range(chance.choice((1, 2, 5, 20))):
        place = chance.randrange(min(len(spoiled), chance.choice((64, 1024, 4096, len(spoiled)))))
        match chance.randrange(6):
            case 0 | 1 | 2:
                spoiled[place] ^= 1 << chance.randrange(8)
            case 3:
                field = chance.choice(
                    (b"\xff\xff\xff\xff", b"\x7f\xff\xff\xff", b"\x00\x00\x00\x00", b"\x80\x00\x00\x00")
                )
                spoiled[place : place + 4] = field
            case 4:
                length = chance.randrange(1, 200)
                spoiled[place:place] = spoiled[place : place + length]
            case _:
                del spoiled[place : place + chance.randrange(1, 50)]
    if chance.random() < 0.2:
        del spoiled[chance.randrange(1, len(spoiled)) :]
    return bytes(spoiled)


#: Looks at every file named on the command line in one bounded process. Prints the outcome of each.
LOOK_AT_ALL = """
import sys
from pathlib import Path
from typing import Any
from bizkit.domain.errors import BadInput
from bizkit.domain.work.facts import Facts
from bizkit.masters.child import bound_process, look_at
from bizkit.masters.source import Source
bound_process()
for name in sys.argv[1:]:
    print(name, end=" ", flush=True)
    try:
        with Source(Path(name), lambda done, of: None) as source:
            facts = look_at(source)
        assert Facts.read(facts.data()) == facts
        print("facts", flush=True)
    except BadInput as error:
        assert str(error).isprintable(), error
        print("refused", flush=True)
"""


def films(folder: Path) -> Iterator[Path]:
    few = {"wide": 64, "high": 48}
    sound = [tone(0.3)]
    yield write_film(folder / "a.mp4", moving(8, **few), sound, wrapper_options={"movflags": "faststart"})
    yield write_film(folder / "b.mkv", moving(8, **few), sound)
    yield write_film(
        folder / "c.mov", moving(4, **few), sound, codec="prores_ks", pixels="yuv422p10le", sound_codec="pcm_s24le"
    )
    yield write_film(
        folder / "d.avi", moving(8, **few), sound, codec="mjpeg", pixels="yuvj420p", sound_codec="pcm_s16le"
    )
    yield write_film(folder / "e.ts", moving(8, **few), sound, codec="mpeg2video", sound_codec="mp2")
    yield write_film(folder / "f.wav", [], sound, sound_codec="pcm_s24le")
    yield write_film(folder / "g.flac", [], sound, sound_codec="flac")
    yield write_film(
        folder / "h.mxf", moving(3, 256, 120), codec="dnxhd", pixels="yuv422p", options={"profile": "dnxhr_sq"}
    )


def stills(folder: Path) -> Iterator[Path]:
    exif = Image.Exif()
    exif[315], exif[33432] = "Gannet & Lark Films", "(c) 2027"
    exif.get_ifd(0x8825)[2] = (60.0, 6.0, 0.0)
    image = Image.effect_noise((80, 60), 60).convert("RGB")
    for ending in ("jpg", "png", "tif", "webp"):
        path = folder / f"a.{ending}"
        image.save(path, exif=exif, dpi=(300, 300))
        yield path


@pytest.mark.parametrize("kind", [films, stills], ids=["films", "stills"])
def test_broken_files_end_in_facts_or_in_one_clear_line(
    tmp_path: Path, kind: Callable[[Path], Iterator[Path]]
) -> None:
    names = []
    for path in kind(tmp_path):
        data = path.read_bytes()
        for seed in range(20):
            broken = tmp_path / f"{path.stem}{seed}{path.suffix}"
            broken.write_bytes(spoil(data, random.Random(f"{path.name} {seed}")))
            if broken.stat().st_size:
                names.append(broken)
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", LOOK_AT_ALL, *names], capture_output=True, text=True, timeout=60
    )
    outcomes = [line.split()[-1] for line in done.stdout.splitlines()]
    assert done.returncode == 0, f"{done.stdout.splitlines()[-1:]} {done.stderr[-2000:]}"
    assert len(outcomes) == len(names)
    assert {"facts", "refused"} == set(outcomes)


@pytest.mark.parametrize("cut", [1, 7, 31, 64, 500, 2000])
def test_a_film_cut_anywhere_ends_in_facts_or_in_one_clear_line(short_film: Path, cut: int) -> None:
    short_film.write_bytes(short_film.read_bytes()[:cut])
    with pytest.raises(BadInput, match=r"^film\.mp4: wanted .*, got "):
        look(short_film)
