"""Client notes with timecodes, from text and from tables."""

from __future__ import annotations

import csv
import io
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.work.notes import Cut, Note, read_note_rows, read_notes

FILM = Cut(Fraction(25), frames=25 * 90)
NTSC = Fraction(30000, 1001)

TEXT = """Lovely work overall,
the sauna scene especially.

00:00:04:10 - the logo is too small
1:12 water looks green
  can it be bluer?

- 0:15-0:20: cut earlier
2. [00:00:30:00] swap the seabird shot
* at 1:05.5 music too loud
• please check the spelling of Skerrow
"""


def test_notes_are_read_as_people_write_them() -> None:
    notes = read_notes(TEXT, FILM, who="Ailsa")
    assert [(note.frame, note.to_frame, note.text, note.line) for note in notes] == [
        (None, None, "Lovely work overall, the sauna scene especially.", 1),
        (110, None, "the logo is too small", 4),
        (1800, None, "water looks green can it be bluer?", 5),
        (375, 500, "cut earlier", 8),
        (750, None, "swap the seabird shot", 9),
        (1637, None, "music too loud", 10),
        (None, None, "please check the spelling of Skerrow", 11),
    ]
    assert {note.who for note in notes} == {"Ailsa"}


def test_timecodes_of_a_drop_frame_version_are_read_as_drop_frame() -> None:
    # SMPTE ST 12-1: 00:01:00;02 is frame 1800, 00:01:00;00 does not exist; without dropping 00:01:00:00 is 1800.
    drop, plain = Cut(NTSC, drop=True), Cut(NTSC)
    assert drop.frame("00:01:00;02") == drop.frame("00:01:00:02") == 1800
    assert plain.frame("00:01:00:00") == 1800
    with pytest.raises(BadInput, match=r"line 1: timecode: wanted a timecode that exists, got 00:01:00;00"):
        read_notes("00:01:00:00 too dark", drop)
    assert drop.timecode(1800) == "00:01:00;02"
    # Minutes and seconds are real time: 60 s x 30000/1001 = 1798.2 frames.
    assert drop.frame("1:00") == 1798


def test_a_version_may_begin_at_ten_hours() -> None:
    cut = Cut(Fraction(25), frames=2250, start="10:00:00:00")
    assert cut.frame("10:00:04:10") == 110
    assert cut.frame("10:01:12") == cut.frame("1:12") == 1800
    assert cut.timecode(110) == "10:00:04:10"
    with pytest.raises(BadInput, match=r"wanted a timecode from 10:00:00:00 on, got 00:00:04:10"):
        cut.frame("00:00:04:10")


def test_a_table_of_notes_gives_the_same_as_text() -> None:
    table = (
        "Timecode,To,Note,Who\n00:00:04:10,,the logo is too small,Ailsa\n0:15,0:20,cut earlier,Rona\n,,lovely,\n,,,\n"
    )
    notes = read_note_rows(csv.DictReader(io.StringIO(table)), FILM)
    assert notes == (
        Note(110, None, "the logo is too small", "Ailsa", 2),
        Note(375, 500, "cut earlier", "Rona", 3),
        Note(None, None, "lovely", "", 4),
    )


def test_a_table_may_name_its_columns_otherwise() -> None:
    columns = {"from": "zeit", "text": "wunsch"}
    assert read_note_rows([{"Zeit": "0:15", "Wunsch": "heller"}], FILM, columns=columns)[0].frame == 375
    with pytest.raises(NotFound, match=r"notes\.csv, line 2: wanted a known column, got wunsch\. Did you mean"):
        read_note_rows([{"zeit": "0:15", "wunsh": "heller"}], FILM, columns=columns, where="notes.csv")


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("", "notes.txt: wanted one note or more, got none"),
        ("\n0:10", "notes.txt, line 2: wanted words after the time, got nothing"),
        (
            "1:30 too long",
            "notes.txt, line 1: wanted a time within the 90.00 s of this version, got 1:30. "
            "Are the notes about another version?",
        ),
        ("0:20-0:10 cut", "notes.txt, line 1: wanted a range that ends at 0:20 or later, got 0:10"),
        ("0:75 cut", "notes.txt, line 1: wanted a time such as 1:12, 0:01:12 or 00:01:12:08, got 0:75"),
        ("00:00:10:25 cut", "notes.txt, line 1: wanted a timecode up to 23:59:59:24, got 00:00:10:25"),
        (
            "00:00:10;05 cut",
            "notes.txt, line 1: wanted a timecode with colons, as 25 frames a second have no drop-frame, "
            "got 00:00:10;05",
        ),
    ],
)
def test_notes_that_cannot_be_placed_are_refused_in_one_line(text: str, line: str) -> None:
    with pytest.raises(BadInput) as error:
        read_notes(text.replace("notes.txt", ""), FILM, where="notes.txt")
    assert str(error.value).replace("timecode: ", "") == line


CUTS = st.sampled_from([FILM, Cut(NTSC, drop=True), Cut(NTSC, start="01:00:00:00"), Cut(Fraction(24), frames=1)])
PIECES = st.sampled_from(
    [
        "1:12",
        "00:00:01:02",
        "00:01:00;00",
        "-",
        " ",
        "\n",
        "99:99",
        "to",
        "[",
        "]",
        ":",
        "a",
        "1.",
        "1m2s",
        "at",
        "(",
        "pm",
    ]
)
HOSTILE = st.text(max_size=40) | st.lists(PIECES, max_size=12).map("".join)


@settings(max_examples=200)
@given(HOSTILE, CUTS)
def test_no_text_whatever_gives_worse_than_bad_input(text: str, cut: Cut) -> None:
    try:
        notes = read_notes(text, cut)
    except BadInput:
        return
    assert all(note.text and (note.frame is None or note.frame >= 0) for note in notes)


@given(st.lists(st.dictionaries(st.sampled_from(["timecode", "to", "note", "Who"]), HOSTILE), max_size=3), CUTS)
def test_no_rows_whatever_give_worse_than_bad_input(rows: list[dict[str, str]], cut: Cut) -> None:
    try:
        notes = read_note_rows(rows, cut)
    except BadInput:
        return
    assert notes


def test_a_long_line_of_spaces_takes_no_time() -> None:
    assert read_notes("- " + " " * 200_000 + "x", FILM)[0].text == "x"


@given(st.integers(0, 2249))
def test_every_frame_can_be_named_and_found_again(frame: int) -> None:
    for cut in (FILM, Cut(NTSC, drop=True), Cut(NTSC, start="10:00:00:00")):
        assert cut.frame(cut.timecode(frame)) == frame
