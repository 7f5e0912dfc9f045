"""Notes as they come by mail: times as people write them, hours that are no times, politeness that is no note."""

from __future__ import annotations

import pytest

FILM = "campaign-film"
ON = ("--on", "2027-06-01")


@pytest.fixture
def take(bizkit, kelp, tmp_path):
    """`take(text)` records notes on a version at 25 frames a second, as its spec says."""
    cut = tmp_path / "cut.mov"
    cut.write_bytes(b"cut")
    assert bizkit("deliverable", "send", kelp, FILM, cut, "--on", "2027-05-28").err == ""

    def call(text, *options):
        return bizkit("deliverable", "notes", kelp, FILM, "--text", text, *ON, *options)

    return call


@pytest.mark.parametrize(
    ("line", "at", "until", "text"),
    [
        ("1m23s swap the gull", "00:01:23:00", "", "swap the gull"),
        ("@0:45 swap the gull", "00:00:45:00", "", "swap the gull"),
        ("TC 00:01:23:12 swap the gull", "00:01:23:12", "", "swap the gull"),
        ("From 0:23 to 0:31 too dark", "00:00:23:00", "00:00:31:00", "too dark"),
        ("The gull at 1:23", "00:01:23:00", "", "The gull at 1:23"),
        ("The gull (1:23) goes", "00:01:23:00", "", "The gull (1:23) goes"),
        ("Too dark from 0:23 to 0:31", "00:00:23:00", "00:00:31:00", "Too dark from 0:23 to 0:31"),
        ("1'23\" swap the gull", "00:01:23:00", "", "swap the gull"),
        ("1’23” swap the gull", "00:01:23:00", "", "swap the gull"),
        ("83s swap the gull", "00:01:23:00", "", "83s swap the gull"),
        ("0:23-31 trim", "00:00:23:00", "00:00:31:00", "trim"),
        ("0:45ish swap", "00:00:45:00", "", "swap"),
        ("- 0:45-ish: swap", "00:00:45:00", "", "swap"),
    ],
)
def test_a_time_is_read_however_it_is_written(take, line, at, until, text):
    done = take(line, "--json")
    assert (done.code, done.err) == (0, "")
    assert [(one["at"], one["until"], one["text"]) for one in done.data["taken"]] == [(at, until, text)]
    assert done.data["unplaced"] == []


@pytest.mark.parametrize(
    "line",
    [
        "1:23pm call",
        "10:05 on Monday we have a meeting",
        "12:00 noon is fine",
        "Call me at 10:05 on Monday",
        "We need a 9:16 version too",
        "9:16 version please",
    ],
)
def test_an_hour_or_a_shape_is_no_time_of_the_film_and_is_told(take, line):
    done = take(f"{line}\n\n0:01 hold the cliff", "--json")
    assert (done.code, done.err) == (0, "")
    assert [(one["at"], one["text"]) for one in done.data["taken"]] == [
        ("", line),
        ("00:00:01:00", "hold the cliff"),
    ]
    assert done.data["unplaced"] == [line]
    assert f"Look: taken as a note on the whole: {line}" in take(line, "--who", "Rona").out


@pytest.mark.parametrize("line", ["60s version: other music", "10s of black at the end", "Hold about 10s longer"])
def test_a_length_is_no_time(take, line):
    assert [(one["at"], one["text"]) for one in take(line, "--json").data["taken"]] == [("", line)]


def test_politeness_is_no_note_to_answer(take):
    mail = (
        "Hi Ailsa,\n\nlovely work!\n\n0:01 hold the cliff\n1m02s the gull again\n\nThanks Una\n\nSent from my phone\n"
    )
    done = take(mail, "--json")
    assert [(one["number"], one["at"], one["text"]) for one in done.data["taken"]] == [
        (1, "", "lovely work!"),
        (2, "00:00:01:00", "hold the cliff"),
        (3, "00:01:02:00", "the gull again"),
    ]
    assert done.data["left_out"] == ["Hi Ailsa,", "Thanks Una", "Sent from my phone"]
    assert "Left out, as no notes: Hi Ailsa, / Thanks Una / Sent from my phone" in take(mail, "--who", "Rona").out


@pytest.mark.parametrize(
    "line",
    [
        "Love the sauna",
        "Best shot ever",
        "Thanks to the reserve must be in the credits",
        "Good morning scene: warmer",
        "Hello Selkie Bay sign must go",
        "Sent version is too dark",
        "Dear me, the colour",
    ],
)
def test_what_begins_politely_and_says_something_is_a_note(take, line):
    done = take(f"Hi Ailsa,\n{line}\n", "--json").data
    assert [one["text"] for one in done["taken"]] == [line]
    assert done["left_out"] == ["Hi Ailsa,"]


def test_a_mail_of_politeness_alone_has_no_notes(take):
    done = take("Hi Ailsa,\n\nThanks\nUna")
    assert done.code == 2
    assert "wanted one note or more, got none" in done.err


def test_a_line_below_a_note_is_a_note_of_its_own_unless_it_goes_on_with_it(take):
    mail = (
        "0:12 brighter\nThe logo is the old one\n"
        "0:20 the gull\n  Rather the second take\n"
        "0:30 the sauna\nand its smoke are too dark\n"
        "0:40 this shot of the shore in the evening is longer than the one\nKittiwake Head needs\n"
        "Other music\nAnother title\n"
    )
    assert [(one["at"], one["text"]) for one in take(mail, "--json").data["taken"]] == [
        ("00:00:12:00", "brighter"),
        ("", "The logo is the old one"),
        ("00:00:20:00", "the gull Rather the second take"),
        ("00:00:30:00", "the sauna and its smoke are too dark"),
        ("00:00:40:00", "this shot of the shore in the evening is longer than the one Kittiwake Head needs"),
        ("", "Other music"),
        ("", "Another title"),
    ]


QUOTED = "Here is v1.\n0:50 is new"


@pytest.mark.parametrize(
    "below",
    [
        "-- \nUna Flett\nSkerrow Islands Tourism",
        "--\nUna Flett\nSkerrow Islands Tourism",
        "On Fri, 28 May 2027 at 10:05, Ailsa Gannet wrote:\n> Here is v1.\n> 0:50 is new",
        f"On Fri, 28 May 2027 at 10:05, Ailsa Gannet <ailsa@gannet-lark.example>\nwrote:\n\n{QUOTED}",
        f"Am Fr., 28. Mai 2027 um 10:05 Uhr schrieb Ailsa Gannet:\n{QUOTED}",
        f"-----Original Message-----\nFrom: Ailsa\n{QUOTED}",
        "> Here is v1.\n>> 0:50 is new",
    ],
    ids=["signature", "signature without its blank", "quoted", "not marked", "German", "original", "marks alone"],
)
def test_signatures_and_the_mail_that_is_answered_are_no_notes(take, below):
    done = take(f"Hi Ailsa,\n\n0:01 hold the cliff\n\n{below}\n", "--json")
    assert [(one["at"], one["text"]) for one in done.data["taken"]] == [("00:00:01:00", "hold the cliff")]
    assert done.data["left_out"] == ["Hi Ailsa,", *(line.strip() for line in below.splitlines() if line)]


def test_what_stands_between_or_below_quoted_lines_is_a_note(take):
    mail = (
        "On Friday Ailsa Gannet wrote:\n> 0:12 or 0:13?\n0:13 please\n\n> The title?\nThe shorter one\n"
        "--\n0:20 darker\n"
    )
    done = take(mail, "--json").data
    assert [(one["at"], one["text"]) for one in done["taken"]] == [
        ("00:00:13:00", "please"), ("", "The shorter one"), ("00:00:20:00", "darker"),
    ]  # fmt: skip
    assert done["left_out"] == ["On Friday Ailsa Gannet wrote:", "> 0:12 or 0:13?", "> The title?", "--"]


def test_the_same_mail_read_twice_adds_nothing_and_a_longer_one_what_is_new(bizkit, take, kelp):
    mail = "0:01 hold the cliff\n0:12 brighter"
    assert take(mail).code == 0
    again = take(f"Hi Ailsa,\n\n{mail}\n")
    assert (again.code, again.err) == (
        1,
        "bizkit: campaign-film: these notes on version 1 are on record already, from note 1 on: nothing was added\n",
    )
    more = take(f"{mail}\n0:20 darker", "--json").data
    assert [(one["number"], one["text"]) for one in more["taken"]] == [(3, "darker")]
    assert more["taken_before"] == ["hold the cliff", "brighter"]
    assert len(bizkit("deliverable", "show", kelp, FILM, "--json").data["remarks"]) == 3
    # Somebody else's note of the same words is another.
    assert take("0:12 brighter", "--who", "Rona").code == 0
