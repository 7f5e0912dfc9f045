"""Folders as they are handed over: large ones, names in any script, what others may read, what is refused at once."""

from __future__ import annotations

import hashlib
import os
import shutil
import stat
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pypdf
import pytest

FILM = "campaign-film"
ON = ("--on", "2027-06-08")
WHY = ("--reason", "no papers on file yet")


def text_of(path):
    return " ".join("\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def modes(folder):
    """Name -> permissions of everything below a folder."""
    return {path.relative_to(folder).as_posix(): stat.S_IMODE(path.stat().st_mode) for path in folder.rglob("*")}


@pytest.fixture
def final(bizkit, kelp, good_film):
    """The film sent and approved."""
    assert bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-06-03").err == ""
    assert bizkit("deliverable", "approve", kelp, FILM, "--on", "2027-06-07").err == ""
    return good_film


@pytest.fixture
def drive(final, tmp_path):
    """A folder with the final film in it."""
    folder = tmp_path / "drive"
    folder.mkdir()
    shutil.copy(final, folder)
    return folder


def test_twelve_thousand_files_leave_with_a_short_note_in_little_memory(bizkit, kelp, drive, studio):
    for number in range(12_000):
        place = drive / "frames" / f"shot {number // 4000}"
        place.mkdir(parents=True, exist_ok=True)
        (place / f"{number:06}.dpx").write_bytes(b"%d" % number)
    (drive / "frames" / "empty.txt").touch()
    # In a process of its own, which says at its end how much memory it took at most.
    code = (
        "import sys\nfrom bizkit.cli.main import run\ntry:\n    run()\nfinally:\n"
        "    print(*[line for line in open('/proc/self/status') if 'VmHWM' in line], file=sys.stderr)"
    )
    command = [sys.executable, "-c", code, "handover", "make", kelp, str(drive), *WHY, *ON]
    done = subprocess.run(
        command,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    kibibytes = int(done.stderr.split("VmHWM:")[1].split()[0])
    assert kibibytes < 200_000
    note = drive / "DN-2027-0001.pdf"
    assert len(pypdf.PdfReader(note).pages) <= 3
    said = text_of(note)
    for words in (
        "DPX (4,000) frames/shot 0/", "DPX (4,000) frames/shot 1/", "DPX (4,000) frames/shot 2/", "TXT (1) frames/",
        "Campaign film v1",
    ):  # fmt: skip
        assert words in said, words
    assert len((drive / "SHA256SUMS").read_text(encoding="utf-8").splitlines()) == 12_003
    checked = subprocess.run(
        ["sha256sum", "--check", "--strict", "--quiet", "SHA256SUMS"], cwd=drive, capture_output=True, check=False
    )
    assert (checked.returncode, checked.stdout) == (0, b"")
    assert "12003 files are intact as handed over in DN-2027-0001" in bizkit("handover", "verify", drive).out


def test_an_empty_file_is_handed_over_as_it_is_checked(bizkit, kelp, drive):
    (drive / "empty.txt").touch()
    assert bizkit("handover", "make", kelp, drive, *WHY, *ON).code == 0
    # sha256 of nothing: FIPS 180-4, coreutils sha256sum.
    nothing = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert f"{nothing}  empty.txt\n" in (drive / "SHA256SUMS").read_text(encoding="utf-8")
    assert bizkit("handover", "verify", drive).code == 0


def test_names_in_any_script_can_be_handed_over(bizkit, kelp, drive):
    names = ["חוף השקט.mov", "海岸.mov", "Küste Ærø.mov", "ชายหาด/คลื่น.mov", "a\u202egpj.mov"]
    for name in names:
        (drive / name).parent.mkdir(exist_ok=True)
        (drive / name).write_bytes(name.encode())
    done = bizkit("handover", "make", kelp, drive, *WHY, *ON)
    assert (done.code, done.err) == (0, "")
    listed = (drive / "SHA256SUMS").read_text(encoding="utf-8")
    for name in names:
        assert f"{hashlib.sha256(name.encode()).hexdigest()}  {name}\n" in listed
    said = text_of(drive / "DN-2027-0001.pdf")
    for words in ("Küste Ærø.mov", r"\u05d7\u05d5\u05e3", r"\u6d77\u5cb8.mov", r"a\u202egpj.mov"):
        assert words in said, words
    assert bizkit("handover", "verify", drive).code == 0
    assert bizkit("papers", "rebuild").code == 0


@pytest.mark.skipif(os.name != "posix", reason="permissions of this kind")
def test_whatever_is_handed_over_the_client_can_read(bizkit, kelp, drive, studio, tmp_path, scan):
    before = os.umask(0o077)
    try:
        assert bizkit("handover", "make", kelp, drive, "--mhl", *WHY, *ON).code == 0
        assert bizkit("calendar", kelp, "--out", tmp_path / "out" / "kelp.ics", *ON).code == 0
        assert bizkit("rights", "grant", kelp, "--override", "papers follow", *ON).code == 0
        assert bizkit("rights", "ending", "--calendar", tmp_path / "out" / "ends.ics", *ON).code == 0
    finally:
        os.umask(before)
    found = modes(drive)
    (list_name,) = [name for name in found if name.endswith(".mhl")]
    assert {name: mode for name, mode in found.items() if not name.endswith(".mp4")} == {
        "SHA256SUMS": 0o644, "DN-2027-0001.pdf": 0o644, "ascmhl": 0o755, list_name: 0o644,
        "ascmhl/ascmhl_chain.xml": 0o644,
    }  # fmt: skip
    assert modes(tmp_path / "out") == {"kelp.ics": 0o644, "ends.ics": 0o644}
    papers = {path.name: stat.S_IMODE(path.stat().st_mode) for path in (studio / "papers").glob("*.pdf")}
    assert papers
    assert set(papers.values()) == {0o644}


@pytest.mark.skipif(os.name != "posix", reason="permissions of this kind")
def test_what_others_cannot_read_or_what_is_a_link_is_told(bizkit, kelp, drive):
    (drive / "stills").mkdir(mode=0o700)
    (drive / "stills" / "a.jpg").write_bytes(b"a")
    (drive / "stills" / "a.jpg").chmod(0o600)
    (drive / "latest.mp4").symlink_to(drive / "stills" / "a.jpg")
    done = bizkit("handover", "make", kelp, drive, *WHY, *ON)
    assert done.code == 0
    assert "Look: stills and 1 more cannot be read by others" in done.out
    assert "Look: latest.mp4: a link to another place, left out of the list" in done.out


def test_what_is_left_out_is_named_in_the_media_hash_list(bizkit, kelp, drive):
    for name in (".DS_Store", "Thumbs.db", "desktop.ini", f"._{FILM}.mp4"):
        (drive / name).write_bytes(b"litter")
    (drive / "latest [1].mp4").symlink_to(drive / "gone.mp4")
    assert bizkit("handover", "make", kelp, drive, "--mhl", *WHY, *ON).code == 0
    (path,) = (drive / "ascmhl").glob("*.mhl")
    space = "{urn:ASC:MHL:v2.0}"
    root = ET.parse(path).getroot()
    ignored = {one.text for one in root.iter(f"{space}pattern")}
    # Patterns as gitignore has them; the reference tool ascmhl 1.2 then finds no file that is not on record.
    assert {".DS_Store", "Thumbs.db", "desktop.ini", "._*", r"latest \[1\].mp4", "ascmhl"} <= ignored
    assert len(list(root.iter(f"{space}hash"))) == 3  # the film, the note, the list
    assert bizkit("handover", "verify", drive, "--json").data["extra"] == []


def bytes_read():
    """What this process has read so far, as the system counts it."""
    return int(Path("/proc/self/io").read_text().split("rchar:")[1].split()[0])


@pytest.fixture
def huge(drive):
    """Four gigabytes that take no room on the disk; reading them would show."""
    with (drive / "huge.mov").open("wb") as file:
        file.truncate(4 << 30)
    return drive


def refused_at_once(bizkit, *command):
    before = bytes_read()
    done = bizkit(*command)
    read = bytes_read() - before
    assert done.code in (1, 2)
    assert done.err.count("\n") == 1
    assert read < 200_000_000
    return done.err


linux = pytest.mark.skipif(sys.platform != "linux", reason="the system counts what is read")


@linux
def test_missing_papers_an_unknown_job_and_another_version_are_refused_at_once(bizkit, kelp, huge, make_film):
    make = ("handover", "make", kelp, huge, *ON)
    assert "location permission" in refused_at_once(bizkit, *make)
    assert "Did you mean follow-the-kelp?" in refused_at_once(
        bizkit, "handover", "make", "follow-the-klep", huge, *ON
    )
    newer = make_film(f"{kelp}_{FILM}_v2.mp4", seed=2)
    bizkit("deliverable", "send", kelp, FILM, newer, "--reason", "new logo", "--on", "2027-06-07")
    shutil.copy(newer, huge)
    assert f"{newer.name} is v2 of {FILM}: v1 is the final version" in refused_at_once(bizkit, *make)
    assert not (huge / "SHA256SUMS").exists()
    assert bizkit("handover", "list", "--json").data == []


@linux
def test_a_folder_of_which_nothing_is_approved_is_refused_at_once(bizkit, kelp, tmp_path):
    drive = tmp_path / "drive"
    drive.mkdir()
    with (drive / "huge.mov").open("wb") as file:
        file.truncate(4 << 30)
    said = refused_at_once(bizkit, "handover", "make", kelp, drive, *ON)
    assert "nothing in the folder is the final version of anything promised: none is approved yet" in said


@linux
def test_what_cannot_be_written_or_drawn_is_refused_at_once(bizkit, kelp, studio, huge, change):
    make = ("handover", "make", kelp, huge, *ON, *WHY)
    (huge / "a\x01.txt").write_text("a", encoding="utf-8")
    assert "a file name that a media hash list can hold" in refused_at_once(bizkit, *make, "--mhl")
    (huge / "ascmhl").mkdir()
    assert "has a history of media hash lists already" in refused_at_once(bizkit, *make, "--mhl")
    (huge / "DN-2027-0001.pdf").write_bytes(b"%PDF-1.4")
    assert "DN-2027-0001.pdf lies in the folder already" in refused_at_once(bizkit, *make)
    (huge / "DN-2027-0001.pdf").unlink()
    # Nothing can be written below /proc, not even by root.
    unwritable = Path("/proc/sys/debug")
    assert "wanted a folder that can be written to" in refused_at_once(
        bizkit, "handover", "make", kelp, unwritable, *ON, *WHY
    )
    change(studio / "studio.toml", 'name = "Gannet & Lark Films"', 'name = "\u05d7\u05d5\u05e3"')
    assert "\u05d7" in refused_at_once(bizkit, *make)
    assert not (huge / "SHA256SUMS").exists()


@linux
def test_a_version_of_what_is_final_is_refused_before_it_is_read(bizkit, kelp, huge):
    said = refused_at_once(bizkit, "deliverable", "send", kelp, FILM, huge / "huge.mov", "--on", "2027-06-08")
    assert "or say with --reason why another is sent" in said


# --- what is no file, and what changes meanwhile


def test_a_pipe_or_a_socket_in_the_folder_is_named_and_refused(bizkit, kelp, tmp_path):
    import os
    import socket

    for make, name in ((os.mkfifo, "a pipe"), (None, "a socket")):
        drive = tmp_path / name.replace(" ", "-")
        (drive / "in").mkdir(parents=True)
        (drive / "film.mp4").write_bytes(b"film")
        odd = drive / "in" / "odd"
        if make:
            make(odd)
        else:
            here = os.getcwd()
            os.chdir(odd.parent)
            with socket.socket(socket.AF_UNIX) as end:
                end.bind("odd")
            os.chdir(here)
        for command in (
            ("handover", "make", kelp, drive, "--reason", "x", "--on", "2027-06-08"),
            ("deliverable", "send", kelp, "stills", drive, "--on", "2027-06-03"),
        ):
            refused = bizkit(*command)
            assert (refused.code, len(refused.err.splitlines())) == (2, 1), refused.err
            assert f"got in/odd, {name}" in refused.err
        assert sorted(path.name for path in drive.iterdir()) == ["film.mp4", "in"]


@pytest.mark.parametrize("what", ["written to", "came", "went"])
def test_a_file_that_changes_while_the_list_is_written_is_told_and_nothing_recorded(
    bizkit, kelp, tmp_path, monkeypatch, what
):
    from bizkit.services.studio import filing

    drive = tmp_path / "drive"
    drive.mkdir()
    for name in ("film.mp4", "second.mp4"):
        (drive / name).write_bytes(b"film " + name.encode())
    real = filing.hand_out

    def meanwhile(path, content):
        if what == "written to":
            (drive / "film.mp4").write_bytes(b"FILM film.mp4")  # as long as before
        elif what == "came":
            (drive / "late.mp4").write_bytes(b"late")
        else:
            (drive / "second.mp4").unlink(missing_ok=True)
        real(path, content)

    monkeypatch.setattr(filing, "hand_out", meanwhile)
    refused = bizkit("handover", "make", kelp, drive, "--reason", "x", "--on", "2027-06-08")
    assert (refused.code, len(refused.err.splitlines())) == (1, 1), refused.err
    assert "changed while the folder was read" in refused.err
    assert not (drive / "SHA256SUMS").exists()
    assert not list(drive.glob("DN-*"))
    assert bizkit("handover", "list", "--json").data == []
    monkeypatch.setattr(filing, "hand_out", real)
    assert bizkit("handover", "make", kelp, drive, "--reason", "x", "--on", "2027-06-08").code == 0
