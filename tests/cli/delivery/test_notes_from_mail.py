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
    assert f"Look: taken as a note on the whole: {line}" in take(line).out


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
    assert "Left out, as no notes: Hi Ailsa, / Thanks Una / Sent from my phone" in take(mail).out


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
