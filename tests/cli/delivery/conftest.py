"""A job whose films are small enough to be made in a moment, and the films."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

JOB = "follow-the-kelp"
SPEC = """
title = "Small film"
kind = "film"

[file]
containers = ["mp4"]
name = "{job}_{cut}_{version}"

[picture]
width_px = 320
height_px = 180
frame_rates = ["25"]
scan = "progressive"
codecs = ["h264"]
black_head_most_s = 0.2
black_tail_most_s = 0.2

[length]
least_s = 2
most_s = 2

[sound]
tracks = 1
channels = 2
sample_rates_hz = ["48000"]
loudness_lufs = -23
loudness_tolerance_lu = 1
true_peak_most_dbtp = -1

[captions]
formats = ["srt", "vtt"]
"""
SETS = """
[[sets]]
key = "hero"
title = "Hero"
spec = "small_film"
aspects = ["16:9", "9:16"]
lengths_s = ["2", "1"]
rounds = 1
due_days = 20

"""
RATE_HZ = 48_000

MakeFilm = Callable[..., Path]


def write_film(
    path: Path,
    seconds: float = 2,
    *,
    wide: int = 320,
    high: int = 180,
    dbfs: float = -23,
    black_s: float = 0,
    seed: int = 1,
) -> Path:
    """A picture that moves all over and a sine in both channels; black at the head for `black_s`."""
    frames = round(seconds * 25)
    field = np.random.default_rng(seed).integers(40, 200, (high + 4 * frames, wide), dtype=np.uint8)
    at = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    wave = np.stack([10 ** (dbfs / 20) * np.sin(2 * np.pi * 1000 * at)] * 2).astype(np.float32)
    with av.open(str(path), "w") as container:
        picture = container.add_stream("libx264", rate=25, options={"preset": "ultrafast", "crf": "30"})
        picture.width, picture.height, picture.pix_fmt = wide, high, "yuv420p"
        sound = container.add_stream("aac", rate=RATE_HZ, layout="stereo")
        for number in range(frames):
            luma = field[4 * number :][:high] if number >= black_s * 25 else np.full((high, wide), 16, np.uint8)
            frame = av.VideoFrame.from_ndarray(
                np.vstack([luma, np.full((high // 2, wide), 128, np.uint8)]), "yuv420p"
            )
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(picture.encode(frame))
        container.mux(picture.encode())
        for start in range(0, wave.shape[1], 1024):
            part = np.ascontiguousarray(wave[:, start : start + 1024])
            block = av.AudioFrame.from_ndarray(part, "fltp", "stereo")
            block.sample_rate, block.pts, block.time_base = RATE_HZ, start, Fraction(1, RATE_HZ)
            container.mux(sound.encode(block))
        container.mux(sound.encode())
    return path


@pytest.fixture(scope="session")
def good_film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A film that is as the small spec asks, under a name as it asks; copied, never changed."""
    return write_film(tmp_path_factory.mktemp("films") / f"{JOB}_campaign-film_v1.mp4")


@pytest.fixture
def make_film(tmp_path: Path) -> MakeFilm:
    """`make_film("name.mp4", ...)` writes a film as `write_film` does."""

    def make(name: str, **options: Any) -> Path:
        return write_film(tmp_path / name, **options)

    return make


@pytest.fixture(scope="session")
def kelp_studio(starter_studio: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A job with a small film, a set of small cuts and web stills, accepted; copied, never worked in."""
    from bizkit.services.quoting.quotes import accept_quote, draft_quote, send_quote
    from bizkit.services.studio.studio_folder import StudioFolder

    studio = tmp_path_factory.mktemp("kelp") / "studio"
    shutil.copytree(starter_studio, studio)
    (studio / "jobs" / f"{JOB}.toml").unlink()
    (studio / "specs").mkdir()
    (studio / "specs" / "small_film.toml").write_text(SPEC, encoding="utf-8")
    brief = studio / "briefs" / f"{JOB}.toml"
    text = brief.read_text(encoding="utf-8")
    for old, new in (
        ('spec = "60 s, 16:9, 3840 x 2160, 25 fps, -23 LUFS"', 'spec = "small_film"'),
        ('spec = "JPEG sRGB, 6000 px long edge, captions and credit embedded"', 'spec = "web_stills"'),
        ("quantity = 24", "quantity = 2"),
    ):
        assert old in text
        text = text.replace(old, new)
    start, end = text.index('[[deliverables]]\nkey = "cut-downs"'), text.index('[[deliverables]]\nkey = "sauna-loop"')
    brief.write_text(text[:start] + text[end:] + SETS, encoding="utf-8")
    folder = StudioFolder(studio, who="Ailsa Gannet")
    draft_quote(folder, brief, date(2027, 1, 26))
    send_quote(folder, JOB, date(2027, 1, 26))
    accept_quote(folder, JOB, date(2027, 2, 8))
    folder.book.close()
    return studio


@pytest.fixture
def studio(kelp_studio: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of that studio, and the current folder inside it."""
    folder = tmp_path / "studio"
    shutil.copytree(kelp_studio, folder)
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture
def kelp(studio: Path) -> str:
    """The key of the job in it."""
    return JOB
