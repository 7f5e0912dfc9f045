"""Schedules, calendars, shot lists, storage and the archive of a job."""

from __future__ import annotations

from datetime import date, timedelta

import icalendar
import pypdf
import pytest

WORKSHEET = """
timeline = "25"

[[shots]]
number = "1"
title = "Trail head, wide"
kind = "dry"
place = "Kelp trail, Otter Sound"
cuts = ["campaign-film", "hero"]

[[shots]]
number = "2"
title = "Family over the kelp"
kind = "water"
place = "Kelp trail, Otter Sound"
who = ["Morag Sinclair", "Finn Sinclair"]
cuts = ["campaign-film"]
on = 2027-05-12
frame_rate = "50"

[storage]
card_gb = 256
drive_gb = 1000

[[rushes]]
title = "Water camera"
minutes_per_day = 60
days = 2
bit_rate_mbit = 200
for_frame_rate = "25"
frame_rate = "50"

[[steps]]
key = "cut"
title = "Cut"
days = 5
after = ["shoot"]

[[steps]]
key = "answer"
title = "Una answers"
days = 3
after = ["cut"]

[[steps]]
key = "finish"
title = "Finish"
days = 2
after = ["answer"]
"""


@pytest.fixture
def worksheet(studio, kelp):
    """jobs/KEY.toml of the job."""
    path = studio / "jobs" / f"{kelp}.toml"
    path.write_text(WORKSHEET, encoding="utf-8")
    return path


def steps(data):
    return {one["key"]: (one["starts"], one["ends"], one["slack_days"]) for one in data["steps"]}


def test_a_job_is_planned_backwards_from_the_last_due_date_over_working_days(bizkit, kelp, worksheet):
    data = bizkit("schedule", "show", kelp, "--on", "2027-02-08", "--json").data
    # The cut-downs are due 20 working days after 13 May: 11 June, 31 May being the spring bank holiday (gov.uk).
    # Counted back on the calendar: 2 days end on Fri 11, 3 end on Wed 9, 5 end on Fri 4 June.
    assert data["due"] == "2027-06-11"
    assert steps(data) == {
        "shoot": ("2027-05-10", "2027-05-13", 10),
        "cut": ("2027-05-28", "2027-06-04", 0),
        "answer": ("2027-06-07", "2027-06-09", 0),
        "finish": ("2027-06-10", "2027-06-11", 0),
    }
    assert data["looks"] == []
    earlier = bizkit("schedule", "show", kelp, "--due", "2027-05-21", "--on", "2027-02-08", "--json").data
    assert earlier["looks"] == ["Shoot ends 4 working days too late for Cut"]


def test_what_slips_is_shown_before_it_is_saved(bizkit, kelp, worksheet):
    bizkit("schedule", "save", kelp, "--on", "2027-02-08")
    moving = ("schedule", "move", kelp, "answer", "2027-06-09", "--on", "2027-06-07")
    shown = bizkit(*moving)
    assert "Una answers: 2027-06-09 becomes 2027-06-11 (+2 working days)" in shown.out
    assert "Finish: 2027-06-11 becomes 2027-06-15 (+2 working days)" in shown.out
    assert "The client's date 2027-06-11 is missed by 2 working days" in shown.out
    assert "Nothing is saved" in shown.out
    assert steps(bizkit("schedule", "show", kelp, "--json").data)["answer"][0] == "2027-06-07"
    kept = bizkit(*moving, "--save", "--why", "Una is at sea", "--json").data
    assert (kept["saved"], kept["days_late"]) == (True, 2)
    data = bizkit("schedule", "show", kelp, "--json").data
    assert (data["saved_on"], steps(data)["finish"][1]) == ("2027-06-07", "2027-06-15")
    assert data["looks"] == ["Finish ends 2 working days too late for the client's date 2027-06-11"]
    assert "Did you mean answer?" in bizkit("schedule", "move", kelp, "anser", "2027-06-09").err


def test_without_a_worksheet_the_steps_are_those_the_quote_stands_for(bizkit, kelp):
    data = bizkit("schedule", "show", kelp, "--on", "2027-02-08", "--json").data
    found = steps(data)
    # Edit 7, grade 1.5, sound 1 day and 10 hours of 8 of stills: 10.75, so 11 days.
    assert found["campaign-film-due"][:2] == ("2027-06-04", "2027-06-04")
    assert found["hero-due"][:2] == ("2027-06-11", "2027-06-11")
    assert {"shoot", "edit", "campaign-film-review-1", "campaign-film-changes-2", "hero-review-1"} <= set(found)
    edit = next(one for one in data["steps"] if one["key"] == "edit")
    assert sum(1 for _ in working_days(edit["starts"], edit["ends"])) == 11


def working_days(first, last):
    day = date.fromisoformat(first)
    while day <= date.fromisoformat(last):
        # 3 and 31 May 2027 are bank holidays in Scotland (gov.uk).
        if day.weekday() < 5 and day not in (date(2027, 5, 3), date(2027, 5, 31)):
            yield day
        day += timedelta(days=1)


def test_people_and_kit_that_another_job_wants_are_told(bizkit, kelp, worksheet, studio, change):
    other = studio / "briefs" / "otters.toml"
    other.write_text((studio / "briefs" / f"{kelp}.toml").read_text(encoding="utf-8"), encoding="utf-8")
    change(other, f'key = "{kelp}"', 'key = "otters"')
    bizkit("quote", "draft", "otters", "--on", "2027-02-09")
    looks = bizkit("schedule", "show", kelp, "--on", "2027-02-09", "--json").data["looks"]
    assert any(look.startswith("Rowan Lark is booked twice on 2027-05-06, 2027-05-09 to 2027-05-") for look in looks)


def test_a_calendar_is_read_by_another_program(bizkit, kelp, worksheet, tmp_path):
    out = tmp_path / "kelp.ics"
    done = bizkit("calendar", kelp, "--out", out, "--on", "2027-02-08", "--json")
    calendar = icalendar.Calendar.from_ical(out.read_bytes())
    events = {
        str(event["UID"]).partition("@")[0].removeprefix(f"{kelp}."): event for event in calendar.walk("VEVENT")
    }
    assert len(events) == done.data["events"]
    water = events["day-3"]
    assert str(water["SUMMARY"]) == "Follow the Kelp: water day"
    assert str(water["LOCATION"]) == "Kelp trail, Otter Sound"
    assert (water.decoded("DTSTART"), water.decoded("DTEND")) == (date(2027, 5, 10), date(2027, 5, 11))
    answer = events["step-answer"]
    assert (answer.decoded("DTSTART"), answer.decoded("DTEND")) == (date(2027, 6, 7), date(2027, 6, 10))
    assert events["due-campaign-film"].decoded("DTSTART") == date(2027, 6, 4)
    assert events["licence-ends"].decoded("DTSTART") == date(2028, 6, 30)
    assert "step-shoot" not in events


def test_an_entry_keeps_its_identity_when_it_moves(bizkit, kelp, worksheet, tmp_path):
    files = []
    for number in (1, 2):
        out = tmp_path / f"{number}.ics"
        bizkit("calendar", kelp, "--out", out, "--on", "2027-02-08")
        files.append({str(one["UID"]): one for one in icalendar.Calendar.from_ical(out.read_bytes()).walk("VEVENT")})
        bizkit("schedule", "move", kelp, "answer", "2027-06-09", "--save", "--on", "2027-02-09")
    before, after = files
    assert set(before) == set(after)
    (uid,) = [one for one in before if ".step-answer@" in one]
    assert after[uid].decoded("DTSTART") == date(2027, 6, 9)
    assert after[uid]["SEQUENCE"] > before[uid]["SEQUENCE"]


def test_the_studios_calendar_holds_every_open_job_and_the_answers_due(bizkit, kelp, tmp_path):
    cut = tmp_path / "cut.mov"
    cut.write_bytes(b"cut")
    bizkit("deliverable", "send", kelp, "campaign-film", cut, "--on", "2027-05-28")
    bizkit("archive", "add", kelp, "--what", "Rushes", "--place", "Drive B", "--months", "6", "--on", "2027-05-28")
    out = tmp_path / "all.ics"
    assert bizkit("calendar", "--out", out, "--on", "2027-05-28", "--json").data["jobs"] == [kelp]
    calendar = icalendar.Calendar.from_ical(out.read_bytes())
    assert str(calendar["X-WR-CALNAME"]) == "Gannet & Lark Films"
    starts = {str(one["SUMMARY"]): one.decoded("DTSTART") for one in calendar.walk("VEVENT")}
    assert starts["Follow the Kelp: answer on Campaign film v1"] == date(2027, 6, 7)
    assert starts["Follow the Kelp: Rushes kept until today (Drive B)"] == date(2027, 11, 27)


def test_a_shot_list_says_who_is_in_which_cut_and_carries_it_into_clearance(bizkit, kelp, worksheet):
    data = bizkit("shots", kelp, "--json").data
    cuts = {one["deliverable"]: one["who"] for one in data["cuts"]}
    assert cuts["campaign-film"] == ["Morag Sinclair", "Finn Sinclair"]
    assert cuts["hero-16x9-2s"] == []
    assert "stills" not in cuts
    assert data["hints"][0].startswith("50 on a timeline of 25 (2): Frame by frame it plays at half speed")
    assert "Family over the kelp" in bizkit("shots", kelp).out
    before = bizkit("rights", "check", kelp, "--on", "2027-05-14", "--json").data
    assert any("who appears in campaign-film" in question for question in before["questions"])
    assert "Carried into clearance" in bizkit("shots", kelp, "--carry", "--on", "2027-05-14").out
    after = bizkit("rights", "check", kelp, "--on", "2027-05-14", "--json").data
    missing = {(gap["name"], work) for gap in after["gaps"] for work in gap["works"]}
    assert ("Finn Sinclair", f"{kelp}/campaign-film") in missing
    assert ("Finn Sinclair", f"{kelp}/hero-16x9-2s") not in missing
    assert ("Seabird cliff, Kittiwake Head", f"{kelp}/campaign-film") not in missing
    assert ("Seabird cliff, Kittiwake Head", f"{kelp}/stills") in missing


def test_a_shot_list_goes_along_on_paper(bizkit, kelp, worksheet, tmp_path):
    out = tmp_path / "shots.pdf"
    assert f"Paper: {out}" in bizkit("shots", kelp, "--out", out, "--on", "2027-05-01").out
    said = " ".join("\n".join(page.extract_text() for page in pypdf.PdfReader(out).pages).split())
    for words in (
        "Family over the kelp", "in the water, 50 fps", "Morag Sinclair, Finn Sinclair", "Wed, 12 May 2027",
        "only when the person responsible for safety on the day says so", "for somebody under 18",
    ):  # fmt: skip
        assert words in said, words


def test_a_shoot_day_that_moved_is_told_against_the_saved_plan(bizkit, kelp, worksheet):
    bizkit("schedule", "save", kelp, "--on", "2027-02-08")
    moved = bizkit("day", "move", kelp, "2027-05-13", "--to", "2027-05-15", "--on", "2027-05-12")
    assert moved.err == ""
    data = bizkit("schedule", "show", kelp, "--on", "2027-05-12", "--json").data
    assert steps(data)["shoot"][:2] == ("2027-05-10", "2027-05-15")
    told = "Shoot is 2027-05-10 to 2027-05-15 by now, not 2027-05-10 to 2027-05-13 as when the plan was saved"
    assert f"{told}: bizkit schedule save {kelp}" in data["looks"]
    # A shoot past the first day of the cut, 28 May, does not fit any more.
    bizkit("day", "move", kelp, "2027-05-15", "--to", "2027-05-28", "--on", "2027-05-14")
    late = bizkit("schedule", "show", kelp, "--on", "2027-05-14", "--json").data["looks"]
    assert "Shoot ends 1 working day too late for Cut" in late


def test_cards_and_drives_come_with_their_working(bizkit, kelp, worksheet):
    data = bizkit("storage", kelp, "--json").data
    # 60 min x 60 s x 200 Mbit/s x 2 / 8 = 180,000 MB = 180 GB a day, 360 GB in all; + 10 % fits one drive of 1 TB.
    assert (data["gb_per_day"], data["gb_total"], data["cards"], data["drives"]) == (
        "180",
        "360",
        {"Water camera": 1},
        1,
    )
    out = bizkit("storage", kelp).out
    assert "60 min x 60 s x 200 Mbit/s x 50/25 frames a second / 8 = 180 GB a day" in out


@pytest.mark.parametrize(
    ("change_to", "command", "said"),
    [
        (('cuts = ["campaign-film"]', 'cuts = ["campain-film"]'), "shots", "shot 2.cuts: wanted a known deliverable"),
        (("card_gb = 256", "card_gb = 0"), "storage", "storage.card_gb: wanted more than 0"),
        (('after = ["cut"]', 'after = ["cutt"]'), "schedule", "steps.answer.after: wanted a known step, got cutt"),
        (('timeline = "25"', 'timeline = "23.976"'), "shots", 'timeline: wanted a frame rate as a fraction'),
        (("[[rushes]]", "[[rush]]"), "storage", "wanted a known key, got rush. Did you mean rushes?"),
    ],
)  # fmt: skip
def test_a_worksheet_that_cannot_be_used_is_one_line(bizkit, kelp, worksheet, change, change_to, command, said):
    change(worksheet, *change_to)
    done = bizkit(*([command, "show"] if command == "schedule" else [command]), kelp)
    assert done.code == 2
    assert said in done.err
    assert done.err.count("\n") == 1


def test_a_job_without_a_worksheet_says_what_to_write(bizkit, kelp):
    assert f"write [[shots]] into jobs/{kelp}.toml" in bizkit("shots", kelp).err
    assert f"write [storage] and [[rushes]] into jobs/{kelp}.toml" in bizkit("storage", kelp).err


def test_what_is_archived_is_remembered_until_it_may_go(bizkit, kelp):
    add = ("archive", "add", kelp, "--what", "Masters", "--place", "Drive A")
    assert "wanted either --until or --months, got neither" in bizkit(*add, "--on", "2027-06-14").err
    # 24 months from 14 June 2027 end on 13 June 2029: Dodds v Walker [1981] 1 WLR 1027.
    row = bizkit(*add, "--months", "24", "--on", "2027-06-14", "--json").data
    assert (row["id"], row["keep_until"], row["state"]) == (1, "2029-06-13", "kept")
    assert bizkit("archive", "list", "--on", "2029-06-14", "--json").data[0]["state"] == "may go"
    ending = bizkit("status", "--on", "2029-05-01", "--json").data["ending"]
    assert {"on": "2029-06-13", "job": kelp, "what": "the archive promise: Masters on Drive A"} in ending
    early = bizkit("archive", "remove", 1, "--on", "2028-01-01")
    assert "was promised to be kept until 2029-06-13: say with --reason" in early.err
    gone = bizkit("archive", "remove", 1, "--on", "2028-01-01", "--reason", "client took the drive", "--json").data
    assert (gone["state"], gone["gone_why"]) == ("gone", "client took the drive")
    assert "is gone since 2028-01-01 already" in bizkit("archive", "remove", 1, "--on", "2028-01-02").err
    assert "Known: 1" in bizkit("archive", "remove", 7).err


@pytest.mark.parametrize("with_worksheet", [False, True])
def test_a_saved_plan_follows_the_due_dates_when_the_shoot_moves(bizkit, studio, kelp, with_worksheet):
    if with_worksheet:
        (studio / "jobs" / f"{kelp}.toml").write_text(WORKSHEET, encoding="utf-8")
    assert bizkit("schedule", "save", kelp, "--on", "2027-02-08").err == ""
    assert bizkit("day", "move", kelp, "2027-05-13", "--to", "2027-05-15", "--on", "2027-05-12").err == ""
    due = max(row["due"] for row in bizkit("deliverable", "list", kelp, "--json", "--on", "2027-05-12").data)
    assert due == "2027-06-14"  # 20 working days after Saturday 15 May, 31 May being a holiday (gov.uk)
    data = bizkit("schedule", "show", kelp, "--on", "2027-05-12", "--json").data
    assert data["due"] == due
    said = "the client's date is 2027-06-14 by now, not 2027-06-11 as when the plan was saved"
    assert any(look.startswith(said) for look in data["looks"])
    assert not any("for the client's date 2027-06-11" in look for look in data["looks"])
    if not with_worksheet:
        assert any(
            look.startswith("Hero (4 cuts): due is 2027-06-14 by now, not 2027-06-11") for look in data["looks"]
        )
    assert bizkit("schedule", "save", kelp, "--on", "2027-05-12", "--json").data["due"] == due

    # A date that was typed is the client's own, and stays through moves of steps and days.
    assert bizkit("schedule", "save", kelp, "--due", "2027-06-30", "--on", "2027-05-12").err == ""
    step = "cut" if with_worksheet else "edit"
    assert bizkit("schedule", "move", kelp, step, "2027-05-24", "--save", "--on", "2027-05-12").err == ""
    assert bizkit("day", "move", kelp, "2027-05-15", "--to", "2027-05-17", "--on", "2027-05-12").err == ""
    data = bizkit("schedule", "show", kelp, "--on", "2027-05-12", "--json").data
    assert data["due"] == "2027-06-30"
    assert not any(look.startswith("the client's date is") for look in data["looks"])
