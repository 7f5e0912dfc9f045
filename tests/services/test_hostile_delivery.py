"""Files from others - captions, notes, lists of checksums, worksheets - end in a clear error and in nothing worse."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BizkitError
from bizkit.services.delivery.caption_files import check_caption_file
from bizkit.services.delivery.handovers import verify_folder
from bizkit.services.delivery.notes import read_notes_file, take_notes
from bizkit.services.delivery.sending import send_version
from bizkit.services.quoting.quotes import accept_quote, draft_quote, send_quote
from bizkit.services.shooting.worksheet import worksheet
from bizkit.services.studio.starting import init_studio
from bizkit.services.studio.studio_folder import StudioFolder

JOB, FILM = "follow-the-kelp", "campaign-film"
ON = date(2027, 6, 1)

shared = settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
caption_pieces = st.sampled_from(
    ["WEBVTT", "1", "00:00:01,000 --> 00:00:02,000", "00:01.000 --> 00:00.500", "-->", "99:99:99,999 --> 1", "NOTE x",
     "<c.a>The trail</c>", "{\\an8}begins", "&amp;&lt;", "\u202e\u0301", "٣", "STYLE"]
)  # fmt: skip
note_pieces = st.sampled_from(
    ["0:01", "00:00:01:05", "00:01:00;00", "9:99", "- ", "1.", "to", "99:59:59", "timecode,note", '"', ";", "\t",
     "longer", "23:59:59:24", "00:00:00:00 - 00:00:00:00", "\u2028", "٣:٣٣"]
)  # fmt: skip
sheet_pieces = st.sampled_from(
    ["[[shots]]", 'number = "1"', 'title = "x"', 'kind = "water"', "who = 1", "[storage]", "card_gb = 1e9999",
     "[[steps]]", "days = -1", "timeline = 25", "on = 2027-02-30", "[[rushes]]", "=", '"""']
)  # fmt: skip


def texts(pieces: st.SearchStrategy[str]) -> st.SearchStrategy[bytes]:
    joined = st.lists(pieces | st.text(max_size=6), max_size=12).flatmap(
        lambda parts: st.sampled_from(["\n", " ", "\n\n", ","]).map(lambda between: between.join(parts))
    )
    return joined.map(lambda text: text.encode("utf-8", "surrogatepass")) | st.binary(max_size=200)


@pytest.fixture(scope="module")
def kelp(tmp_path_factory: pytest.TempPathFactory) -> StudioFolder:
    """A studio with an open job and one version of its film sent."""
    path = tmp_path_factory.mktemp("hostile") / "studio"
    init_studio(path, practice=True)
    folder = StudioFolder(path, who="Ailsa Gannet")
    draft_quote(folder, path / "briefs" / f"{JOB}.toml", date(2027, 1, 26))
    send_quote(folder, JOB, date(2027, 1, 26))
    accept_quote(folder, JOB, date(2027, 2, 8))
    cut = path / "cut.mov"
    cut.write_bytes(b"cut")
    send_version(folder, JOB, FILM, cut, date(2027, 5, 28))
    return folder


def outcome(call: Callable[[], Any]) -> Any:
    """What `call` gives, or the error, a line a problem; anything but an error of ours is a bug and escapes."""
    try:
        return call()
    except BizkitError as error:
        said = [str(problem) for problem in getattr(error, "problems", [error])]
    assert all(said)
    assert not any("\n" in line for line in said)
    return None


@shared
@given(content=texts(caption_pieces), form=st.sampled_from(["srt", "vtt"]))
@example(content=b"WEBVTT\n\n00:00.000 --> 00:01.000\n" + b"<" * 100_000, form="vtt")
@example(content=b"1\n00:00:00,000 --> 00:00:01,000\n" + b"{" * 100_000, form="srt")
def test_any_bytes_as_captions_are_read_or_told_as_a_fault(tmp_path: Path, content: bytes, form: str) -> None:
    path = tmp_path / f"film.{form}"
    path.write_bytes(content)
    found = check_caption_file(path)
    assert found["cues"] > 0 or found["faults"]


@shared
@given(content=texts(note_pieces), ending=st.sampled_from(["txt", "csv"]))
@example(content=b"timecode,note\n0:01," + b"x" * 200_000, ending="csv")
@example(content=b"timecode\x00,note\n", ending="csv")
def test_any_bytes_as_notes_are_taken_or_refused(
    kelp: StudioFolder, tmp_path: Path, content: bytes, ending: str
) -> None:
    path = tmp_path / f"notes.{ending}"
    path.write_bytes(content)

    def take() -> Any:
        text, table = read_notes_file(path)
        return take_notes(kelp, JOB, FILM, text, ON, table=table, where=path.name)

    row = outcome(take)
    if row is not None:
        assert all(note["text"] for note in row["taken"])


@shared
@given(
    content=texts(
        st.sampled_from([f"{'0' * 64}  a.mov", f"\\{'f' * 64} *b\\nc", "SHA256 (a) = ", "/etc/passwd", "../x"])
    )
)
def test_any_bytes_as_a_list_of_checksums_are_compared_or_refused(tmp_path: Path, content: bytes) -> None:
    target = tmp_path / "back"
    shutil.rmtree(target, ignore_errors=True)
    target.mkdir()
    (target / "a.mov").write_bytes(b"a")
    (target / "SHA256SUMS").write_bytes(content)
    found = outcome(lambda: verify_folder(target))
    if found is not None:
        assert found["state"] == "changed"  # no list made up here can hold the checksum of "a"


@shared
@given(content=texts(sheet_pieces))
def test_any_bytes_as_a_worksheet_are_read_or_refused(kelp: StudioFolder, content: bytes) -> None:
    path = kelp.path / "jobs" / "fuzzed.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(content)
    outcome(lambda: worksheet(kelp, "fuzzed"))
