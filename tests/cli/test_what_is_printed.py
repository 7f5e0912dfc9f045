"""What a terminal shows: spaces of every kind, numbers to be read, one line for one clash, and what comes next."""

from __future__ import annotations

import re

BRIEF = "follow-the-kelp"


def test_spaces_that_a_language_writes_into_amounts_are_shown_as_spaces(bizkit, tmp_path, monkeypatch):
    bizkit("init", tmp_path / "de", "--practice", "--starter", "eur-de")
    monkeypatch.chdir(tmp_path / "de")
    done = bizkit("price", "seegras-im-bodden", "--on", "2027-03-01")
    assert re.search(r"[0-9],[0-9]{2} €", done.out), done.out
    assert "\ufffd" not in done.out
    assert "\u00a0" not in done.out
    # What is no space and nothing to see is still shown as that.
    client = tmp_path / "de" / "clients" / "nationalpark-hagebutt.toml"
    assert client.is_file()


def test_days_of_a_margin_have_two_places(bizkit, studio):
    done = bizkit("quote", "draft", BRIEF, "--on", "2027-02-01")
    days = re.findall(r"over ([0-9.]+) days at the floor", done.out)
    assert len(days) == 2
    assert all(re.fullmatch(r"[0-9]+(\.[0-9]{1,2})?", one) for one in days), days


def test_days_in_a_row_that_two_jobs_need_the_same_on_are_one_line(bizkit, studio):
    bizkit("quote", "draft", BRIEF, "--on", "2027-02-01")
    bizkit("brief", "copy", BRIEF, "otters", "--title", "Otters", "--on", "2027-02-01")
    for command in ("draft", "send"):
        done = bizkit("quote", command, "otters", "--on", "2027-02-01")
        told = [line for line in done.out.splitlines() if "Ailsa Gannet is booked twice" in line]
        # The days of the brief, and those that its weather plan holds: 2027-05-09 to 2027-05-16, and the prep day.
        assert len(told) <= 2, done.out
        assert any("on 2027-05-06, 2027-05-09 to 2027-05-" in line for line in told), told
    # The list by day stays.
    rows = bizkit("kit", "clashes", "--on", "2027-02-01", "--json").data["clashes"]
    assert len({one["on"] for one in rows if one["resource"] == "Ailsa Gannet"}) >= 6


def test_an_acceptance_by_nobody_says_how_to_put_a_name_to_it(bizkit, studio):
    for command in ("draft", "send"):
        bizkit("quote", command, BRIEF, "--on", "2027-02-01")
    done = bizkit("quote", "accept", BRIEF, "--on", "2027-02-02")
    assert "the book does not say who accepted" in done.out
    assert bizkit("quote", "reopen", BRIEF, "--reason", "who was it", "--on", "2027-02-02").code == 0
    named = bizkit("quote", "accept", BRIEF, "--by", "Una Flett", "--on", "2027-02-02")
    assert (named.code, "does not say who" in named.out) == (0, False)


def test_a_stage_that_is_due_too_is_named_and_not_billed_by_surprise(bizkit, studio, change):
    brief = studio / "briefs" / f"{BRIEF}.toml"
    change(brief, 'title = "On delivery"', 'title = "On the first day"')
    change(brief, 'when = "delivery"', 'when = "first_shoot_day"')
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, BRIEF, "--on", "2027-02-01")
        assert done.code == 0, done.err
    first = bizkit("invoice", "issue", BRIEF, "--on", "2027-05-20")
    assert f"Look: On the first day is due too: bizkit invoice issue {BRIEF} bills it" in first.out
    second = bizkit("invoice", "issue", BRIEF, "--on", "2027-05-20")
    assert (second.code, "is due too" in second.out) == (0, False)


def test_a_file_that_is_not_there_to_be_sent_is_named_with_its_folder(bizkit, job, studio):
    (studio / "cut_v1.mov").write_bytes(b"cut")
    near = bizkit("deliverable", "send", job, "campaign-film", "cut-v1.mov", "--on", "2027-06-01")
    assert (near.code, near.out) == (2, "")
    assert "bizkit: wanted a known file, got cut-v1.mov. Did you mean cut_v1.mov?" in near.err
    far = bizkit("deliverable", "send", job, "campaign-film", "nothere.mov", "--on", "2027-06-01")
    assert f"bizkit: wanted a known file, got nothere.mov. Looked for in {studio}" in far.err
    assert "book.sqlite" not in far.err


def test_interest_that_cannot_be_worked_out_is_no_zero(bizkit, bills):
    done = bizkit("late", "list", "--on", "2028-09-01")
    row = next(line for line in done.out.splitlines() if line.startswith(bills[0]))
    problem = "interest is not worked out" in done.out
    assert problem
    assert "0.00" not in row.split("120.00")[-1]
