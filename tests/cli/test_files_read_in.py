"""Every file that is read in is a regular file of a sensible size: pipes, devices and giants are refused at once.

What POSIX says of them (open on a FIFO waits for a writer, /dev/zero has no end): from memory.
"""

from __future__ import annotations

import os
import resource
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

ON = ("--on", "2027-05-20")


class Waited(BaseException):
    """Nothing catches it on the way."""


@contextmanager
def bounded(seconds: int, more_memory: int) -> Iterator[None]:
    """While it lasts: an alarm after `seconds`, and no more than so many bytes of memory beyond what is in use."""

    def ring(*_: object) -> None:
        raise Waited(f"over {seconds} s")

    pages = int(Path("/proc/self/statm").read_text().split()[0])
    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (pages * os.sysconf("SC_PAGE_SIZE") + more_memory, hard))
    before = signal.signal(signal.SIGALRM, ring)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)
        resource.setrlimit(resource.RLIMIT_AS, (soft, hard))


@pytest.fixture(params=["pipe", "device", "giant", "folder", "nothing"])
def bad(request, tmp_path) -> tuple[str, Path]:
    """What kind of bad file, and the file."""
    path = tmp_path / f"{request.param}.pdf"
    if request.param == "pipe":
        os.mkfifo(path)
    elif request.param == "device":
        path.symlink_to("/dev/zero")
    elif request.param == "giant":
        with path.open("wb") as file:
            file.write(b"%PDF-")
            file.truncate(6_000_000_000)
    elif request.param == "folder":
        path.mkdir()
    return request.param, path


#: Door -> the command that reads the file FILE in.
DOORS: dict[str, tuple[str, ...]] = {
    "scan of a release": ("release", "add", "JOB", "--who", "Isla", "--signed", "2027-05-14", "--scan", "FILE", *ON),
    "scan of a paper": (
        "holding", "add", "JOB", "--kind", "insurance", "--about", "Ours", "--from", "2027-01-01", "--scan", "FILE",
        *ON,
    ),
    "receipt": ("cost", "add", "JOB", "--kind", "boat", "--amount", "80.00", "--receipt", "FILE", *ON),
    "overhead": ("overhead", "add", "Harbour dues", "30.00", "--receipt", "FILE", *ON),
    "evidence": ("evidence", "add", "skerrow-islands-tourism", "--what", "register", "--scan", "FILE", *ON),
    "signature": ("release", "sign", "JOB", "--who", "Isla", "--signature", "FILE", *ON),
    "terms": (
        "holding", "add", "JOB", "--kind", "composition", "--about", "Slack water", "--signed", "2027-05-14",
        "--scan", "SCAN", "--terms", "FILE", *ON,
    ),
    "details": ("papers", "form", "model_release", "JOB", "--details", "FILE"),
    "bank statement": ("bank", "import", "FILE", *ON),
    "brief": ("price", "FILE"),
    "draft": ("quote", "draft", "FILE", *ON),
    "observations": ("weather", "learn", "FILE", "--most", "wind_kn=15"),
    "notes": ("deliverable", "notes", "JOB", "campaign-film", "--file", "FILE", *ON),
    "captions": ("deliverable", "check", "CAPTIONS"),
    "version": ("deliverable", "send", "JOB", "campaign-film", "FILE", *ON),
    "check": ("deliverable", "check", "FILE"),
    "sidecar": ("rights", "sidecar", "JOB", "stills", "FILE", *ON),
}  # fmt: skip


@pytest.mark.parametrize("door", DOORS)
def test_no_door_waits_or_fills_the_memory(bizkit, job, studio, scan, bad, door, tmp_path):
    kind, path = bad
    captions = path.with_suffix(".srt")
    if "CAPTIONS" in DOORS[door] and kind != "nothing":
        path.rename(captions)
    names = {"FILE": path, "JOB": job, "SCAN": scan, "CAPTIONS": captions}
    words = [names.get(word, word) for word in DOORS[door]]
    if kind == "giant" and door in ("version", "check", "sidecar"):
        path.unlink()  # a file of 6 GB may well be delivered
    with bounded(30, 700_000_000):
        done = bizkit(*words)
    assert done.code in (1, 2)
    assert (captions if door == "captions" else path).name in done.out + done.err, done.err
    assert "fault of bizkit" not in done.err
    assert "not enough memory" not in done.err
    assert not list((studio / "papers").rglob(".writing-*"))


@pytest.mark.parametrize(
    ("door", "said"),
    [
        ("scan of a release", "wanted a scan (PDF, PNG or JPEG)"), ("bank statement", "wanted a bank statement"),
        ("signature", "wanted a drawn signature as PNG or JPEG"), ("notes", "wanted a file of notes"),
        ("brief", "wanted a brief"), ("observations", "wanted"),
    ],
)  # fmt: skip
def test_the_line_says_what_it_is_and_how_large_it_may_be(bizkit, job, studio, scan, bad, door, said):
    kind, path = bad
    names = {"FILE": path, "JOB": job}
    done = bizkit(*[names.get(word, word) for word in DOORS[door]])
    what = {
        "pipe": "got a pipe or a device", "device": "got a pipe or a device", "folder": "got a folder",
        "giant": " MB or less, got a larger file", "nothing": "got no such file",
    }[kind]  # fmt: skip
    assert (done.code, said in done.err, what in done.err) == (2, True, True), done.err


def test_a_logo_and_the_studios_own_files_are_read_no_other_way(bizkit, job, studio, change, bad):
    kind, path = bad
    change(studio / "studio.toml", "\n[", f'\nlogo = "{path.name}"\n\n[')
    target = studio / path.name
    if kind != "nothing":
        path.rename(target)
    with bounded(30, 700_000_000):
        done = bizkit("invoice", "issue", job, *ON)
    assert done.code == 2
    assert (
        f"studio.toml: logo: wanted a PNG or JPEG in the studio folder, of 20 MB or less, got {path.name} ("
        in done.err
    )
    assert bizkit("invoice", "list", "--json").data == []


@pytest.mark.parametrize(
    "content", [b"\x89PNG\r\n\x1a\n" + bytes(40), b"\xff\xd8\xff\xe0 no more"], ids=["PNG", "JPEG"]
)
def test_a_logo_that_does_not_open_is_named_and_not_kept(bizkit, job, studio, change, content):
    change(studio / "studio.toml", "\n[", '\nlogo = "our logo.png"\n\n[')
    (studio / "our logo.png").write_bytes(content)
    kept = sorted((studio / "papers" / "scans").glob("*"))
    done = bizkit("invoice", "issue", job, *ON)
    assert (done.code, done.err) == (
        2,
        "bizkit: our logo.png: logo: wanted a PNG or JPEG that opens, got a picture that is cut off or damaged. "
        "It is named in studio.toml\n",
    )
    assert sorted((studio / "papers" / "scans").glob("*")) == kept
    assert bizkit("verify").code == 0


@pytest.mark.parametrize("name", ["rate-card.toml", "clients/skerrow-islands-tourism.toml"])
def test_a_settings_file_that_is_a_pipe_is_named(bizkit, studio, name):
    (studio / name).unlink()
    os.mkfifo(studio / name)
    with bounded(30, 700_000_000):
        done = bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-01-26")
    assert (done.code, "got a pipe or a device" in done.err) == (2, True), done.err


# --- a studio's own words for letters and papers


@pytest.mark.parametrize(
    ("own", "says"),
    [
        (
            '[lines]\nless_depositt = "x"\n',
            "lines: wanted words that bizkit says, got less_depositt. Did you mean less_deposit",
        ),
        ('[lines]\nrest = 5\n', "lines.rest: wanted text in quotes, got 5"),
        ('lines = "x"\n', "lines: wanted a table of words, got x"),
        ('[lines.rest]\na = "x"\n', "lines.rest: wanted text in quotes"),
    ],
)  # fmt: skip
def test_words_that_nothing_asks_for_are_told_and_not_passed_over(bizkit, job, studio, own, says):
    folder = studio / "templates" / "wording"
    folder.mkdir(parents=True)
    (folder / "en.toml").write_text(own, encoding="utf-8")
    done = bizkit("invoice", "issue", job, "--on", "2027-02-10")
    assert (done.code, len(done.err.splitlines())) == (2, 1), done.err
    assert f"templates/wording/en.toml: {says}" in done.err or f"en.toml: {says}" in done.err
    assert bizkit("invoice", "list", "--json").data == []
