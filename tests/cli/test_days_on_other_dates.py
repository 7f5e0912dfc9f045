"""What moves with a day beside its price: the papers that must cover it, and the rest of those who work on it."""

from __future__ import annotations

import sqlite3


def test_a_permit_goes_with_its_day(bizkit, job):
    note = ("holding", "add", job, "--kind", "permit", "--about", "Otter Sound marine area", "--day", "2027-05-12")
    assert bizkit(*note, "--on", "2027-02-01").code == 0
    done = bizkit("day", "move", job, "2027-05-12", "--to", "2027-05-19", "--on", "2027-05-03", "--json").data
    (said,) = [one for one in done["warnings"] if "Otter Sound marine area" in one]
    assert said == "permit: Otter Sound marine area is not on file for 2027-05-19"
    # It goes with the day wherever that falls, and an exchange takes it along.
    assert [row["days"] for row in shoot_gaps(bizkit, job)] == [["2027-05-19"]]
    assert "needed on 2027-05-19" in bizkit("holding", "list", job).out
    done = bizkit("day", "move", job, "2027-05-19", "--to", "2027-05-13", "--swap", "--on", "2027-05-04", "--json")
    assert done.code == 0
    assert [row["days"] for row in shoot_gaps(bizkit, job)] == [["2027-05-13"]]
    # What reaches to all but the new date is told as well.
    add = ("holding", "add", job, "--about", "Gannet & Lark Films", "--on", "2027-05-01", "--kind", "insurance")
    assert bizkit(*add, "--from", "2027-01-01", "--until", "2027-05-20").code == 0
    done = bizkit("day", "move", job, "2027-05-13", "--to", "2027-05-21", "--on", "2027-05-04", "--json").data
    assert "insurance: Gannet & Lark Films is not valid for 2027-05-21" in done["warnings"]


def shoot_gaps(bizkit, job):
    return bizkit("rights", "check", job, "--on", "2027-05-04", "--json").data["shoot"]


def test_a_medical_is_asked_for_the_days_in_the_water(bizkit, job):
    """Days 10 and 12 are water days, 11 and 13 dry; a medical that ends on a dry day is none the less enough."""
    add = ("holding", "add", job, "--kind", "diver_medical", "--about", "Ailsa Gannet", "--on", "2027-05-01")
    assert bizkit(*add).code == 0
    assert [row["days"] for row in shoot_gaps(bizkit, job)] == [["2027-05-10", "2027-05-12"]]
    assert bizkit(*add, "--from", "2026-05-13", "--until", "2027-05-12").code == 0
    assert shoot_gaps(bizkit, job) == []
    bizkit("day", "move", job, "2027-05-12", "--to", "2027-05-15", "--on", "2027-05-04")
    assert [row["text"] for row in shoot_gaps(bizkit, job)] == [
        "diver's medical: Ailsa Gannet is not valid for 2027-05-15"
    ]


def test_a_paper_noted_before_days_were_kept_with_it_follows_too(bizkit, job, studio):
    note = ("holding", "add", job, "--kind", "permit", "--about", "Otter Sound marine area", "--day", "2027-05-12")
    assert bizkit(*note, "--on", "2027-02-01").code == 0
    with sqlite3.connect(studio / "book.sqlite") as book:
        book.execute("UPDATE holding SET data = json_remove(data, '$.positions')")
    bizkit("day", "move", job, "2027-05-12", "--to", "2027-05-19", "--on", "2027-05-03")
    assert [row["days"] for row in shoot_gaps(bizkit, job)] == [["2027-05-19"]]


def test_a_move_that_shortens_a_rest_is_told(bizkit, job):
    """The sauna wraps at 23:30, the trail calls at 07:30: 8 hours, and 11 are due by the starter card."""
    said = "before 2027-05-12 Ailsa Gannet and Rowan Lark would rest 8 h, and 11 h are due"
    move = ("day", "move", job, "2027-05-11", "--to", "2027-05-13", "--swap", "--why", "studio", "--on", "2027-05-03")
    (look,) = [one for one in bizkit(*move, "--preview", "--json").data["warnings"] if "rest" in one]
    assert look == f"{said}: what is missing is charged as quoted once the day is logged"
    assert f"Look: {said}" in bizkit(*move).out
    # Back again nothing is missing; what was short already is not told once more by another move.
    back = bizkit(*move[:3], "2027-05-11", *move[4:], "--json").data
    assert not any("rest" in one for one in back["warnings"])
    bizkit(*move)
    more = bizkit("day", "move", job, "2027-05-10", "--to", "2027-05-17", "--on", "2027-05-03", "--json").data
    assert not any("would rest" in one for one in more["warnings"])


def test_a_rest_is_held_against_the_day_as_it_was_worked(bizkit, job):
    """Logged until 23:30; a day moved to the next morning leaves 6.5 hours."""
    bizkit("day", "log", job, "2027-05-10", "--call", "07:30", "--wrap", "23:30", "--on", "2027-05-10")
    bizkit("day", "move", job, "2027-05-11", "--to", "2027-05-18", "--on", "2027-05-10")
    move = ("day", "move", job, "2027-05-18", "--to", "2027-05-11", "--why", "studio", "--on", "2027-05-10", "--json")
    (look,) = [one for one in bizkit(*move).data["warnings"] if "would rest" in one]
    assert look.startswith("before 2027-05-11 Ailsa Gannet and Rowan Lark would rest 6.5 h, and 11 h are due")
