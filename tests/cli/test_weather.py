"""Chances learned from past days, written into a brief, and the plan that comes of them."""

from __future__ import annotations

import tomllib
from datetime import date, timedelta
from decimal import Decimal

import pytest

BRIEF = "follow-the-kelp"


@pytest.fixture
def past(studio):
    """Thirty May days of 2026 with a wind of 10 and 20 in turns of three and two, and three June days."""
    rows = ["date;wind_kn;wave_m"]
    for number in range(34):
        day = date(2026, 5, 1) + timedelta(days=number)
        rows.append(f"{day};{10 if number % 5 < 3 else 20};0.5")
    path = studio / "otter-sound.csv"
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def learn(bizkit, path, *more):
    return bizkit("weather", "learn", path, "--most", "wind_kn=15", *more)


def test_chances_by_month_and_memory_are_learned_from_past_days(bizkit, past):
    done = learn(bizkit, past, "--json").data
    # 31 days of May: 6 turns of 5 with 3 good ones, and the 31st good: 19 of 31. June has 3 days: too few.
    assert done["chance"] == {"5": "0.6129"}
    assert done["days"] == {"5": 31, "6": 3}
    assert done["pairs"] == 33
    assert tomllib.loads(done["toml"], parse_float=Decimal)["chance"] == {"5": Decimal("0.6129")}
    text = learn(bizkit, past).out
    assert "34 days, 33 of them with the day before" in text
    assert "too few days" in text


def test_learned_chances_are_written_into_the_brief_and_nothing_else_changes(bizkit, past, studio):
    path = studio / "briefs" / f"{BRIEF}.toml"
    before = path.read_text(encoding="utf-8")
    assert learn(bizkit, past, "--into", path).code == 0
    after = path.read_text(encoding="utf-8")
    changed = [line for line in after.splitlines() if line not in before.splitlines()]
    assert [line.split(" ")[0] for line in changed] == ["chance", "memory"]
    tree = tomllib.loads(after, parse_float=Decimal)
    assert tree["weather"]["chance"] == {"5": Decimal("0.6129")}
    assert tree["weather"]["confidence"] == Decimal("0.9")
    assert bizkit("weather", "plan", BRIEF, "--on", "2027-01-26").code == 0
    # Written again, it stays the same.
    learn(bizkit, past, "--into", path)
    assert path.read_text(encoding="utf-8") == after


def test_a_brief_without_a_weather_table_is_given_one(bizkit, past, studio, tmp_path):
    path = tmp_path / "bare.toml"
    path.write_text('key = "bare"', encoding="utf-8")
    assert learn(bizkit, past, "--into", path).code == 0
    assert tomllib.loads(path.read_text(encoding="utf-8"))["key"] == "bare"
    no_brief = "[weather]\nchance = 0.5\n[weather.after_good]\n5 = 0.8\n"
    path.write_text(no_brief, encoding="utf-8")
    refused = learn(bizkit, past, "--into", path)
    assert (refused.code, "wanted a brief (a key first of all)" in refused.err) == (2, True)
    assert path.read_text(encoding="utf-8") == no_brief
    # In whatever form they stand, what is learned takes the place of the chances.
    path.write_text(f'key = "bare" # mine\n{no_brief}[[days]] # one\nkind = "dry"\n', encoding="utf-8")
    assert learn(bizkit, past, "--into", path).code == 0
    after = path.read_text(encoding="utf-8")
    tree = tomllib.loads(after, parse_float=Decimal)
    assert set(tree["weather"]) == {"chance", "memory"}
    assert after.startswith('key = "bare" # mine\n')
    assert '[[days]] # one\nkind = "dry"\n' in after


def test_a_brief_may_name_the_past_days_itself_and_the_quote_keeps_what_they_showed(bizkit, past, studio, change):
    brief = studio / "briefs" / f"{BRIEF}.toml"
    change(
        brief,
        "chance = { 5 = 0.6 }\nmemory = 0.3\n",
        'observations = { file = "otter-sound.csv", water = { wind_kn = { most = 15 } } }\n',
    )
    plan = bizkit("weather", "plan", BRIEF, "--on", "2027-01-26", "--json").data
    assert plan["observed"]["chance"] == {"5": "0.6129"}
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    sent = bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json").data["document"]
    past.unlink()  # what was sent stands by itself
    assert bizkit("quote", "accept", BRIEF, "--on", "2027-01-27").code == 0
    moved = bizkit("day", "move", BRIEF, "2027-05-12", "--to", "2027-05-15", "--json").data
    assert Decimal(moved["holds"]["rate"]) == Decimal(plan["hold_rate"])
    assert sent["weather"]["observed"]["days"] == {"5": 31, "6": 3}


def test_the_plan_shows_what_waiting_and_failing_cost(bizkit, studio):
    plan = bizkit("weather", "plan", BRIEF, "--on", "2027-01-26", "--json").data
    assert (plan["water_days"], plan["dry_days"], plan["booked_days"]) == (2, 2, 7)
    assert Decimal(plan["expected_hold_cost"]) > 0
    text = bizkit("weather", "plan", BRIEF, "--on", "2027-01-26").out
    assert "<- kept free" in text
    assert "Hold days waited on average" in text


def test_the_plan_of_the_reference_table(bizkit, studio):
    # P(workable) 0.6, independent, 3 days, 90 % sure: 7 days, P = .903744 (scipy.stats.nbinom)
    (studio / "briefs" / "three.toml").write_text(
        'key = "three"\nclient = "skerrow-islands-tourism"\ntitle = "Three"\n'
        '[[days]]\nkind = "water"\ncount = 3\ncrew = [{ roles = ["camera"] }]\n[weather]\nchance = 0.6\n',
        encoding="utf-8",
    )
    plan = bizkit("weather", "plan", "three", "--json").data
    assert plan["booked_days"] == 7
    assert [(point["days"], point["chance"]) for point in plan["chart"]][3:5] == [(6, "0.8208"), (7, "0.9037")]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--most", "wind=15"], "column, got wind. Did you mean wind_kn?"),
        (["--most", "wind_kn"], "wanted COLUMN=NUMBER such as wind_kn=15, got wind_kn"),
        (["--most", "wind_kn=soft"], "wanted COLUMN=NUMBER"),
        (["--most", "wind_kn=15", "--most", "wind_kn=16"], "wanted one --most for wind_kn"),
        (["--most", "wind_kn=15", "--least", "wind_kn=16"], "wanted least no greater than most for wind_kn"),
        ([], "--most: wanted one limit or more"),
        (["--most", "wind_kn=15", "--date-column", "day"], "wanted a known column, got day"),
        (
            ["--most", "wind_kn=15", "--least-days", "60"],
            "wanted 60 observed days or more in a month, got 34 usable days (31 in month 5, 3 in month 6)",
        ),
    ],
)
def test_past_days_that_teach_nothing(bizkit, past, arguments, said):
    done = bizkit("weather", "learn", past, *arguments)
    assert done.code == 2
    assert said in done.err
    assert len(done.err.splitlines()) == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "a first line of column names, got nothing"),
        ("date,wind_kn\n2026-05-01,9\n2026-05-01,9\n", "line 3: date: wanted each day once, got 2026-05-01 again"),
        ("date,wind_kn\n1 May,9\n", "line 2: date: wanted a date as YYYY-MM-DD, got 1 May"),
        ("date,wind_kn\n2026-05-01,calm\n", "line 2: wind_kn: wanted a number with a point, or nothing, got calm"),
        ("date,wind_kn\n2026-05-01,9,9\n", "line 2: wanted 2 cells, got 3"),
        ("date,date\n", "wanted each column name once"),
        ("date,wind_kn\n2026-05-01,9\n", "got 1 usable days (1 in month 5)"),
        ('date,wind_kn\n"2026-05-01,9\n', "unexpected end of data"),
    ],
)
def test_files_of_past_days_that_cannot_be_read(bizkit, studio, text, said):
    path = studio / "bad.csv"
    path.write_text(text, encoding="utf-8")
    done = bizkit("weather", "learn", path, "--most", "wind_kn=15")
    assert done.code == 2
    assert said in done.err
    assert len(done.err.splitlines()) == 1


def test_a_file_of_past_days_that_is_not_there_or_no_text(bizkit, studio):
    gone = bizkit("weather", "learn", "gone.csv", "--most", "wind_kn=15")
    assert (gone.code, "no such file" in gone.err) == (2, True)
    (studio / "bytes.csv").write_bytes(b"date,wind\n\xff\xfe\n")
    odd = bizkit("weather", "learn", studio / "bytes.csv", "--most", "wind_kn=15")
    assert (odd.code, "UTF-8" in odd.err) == (2, True)
