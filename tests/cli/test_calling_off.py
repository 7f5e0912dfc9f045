"""Cancelling and postponing: the fee by the scale, with its working, and what becomes of the job."""

from __future__ import annotations

from decimal import Decimal

import pypdf
import pytest

BRIEF = "follow-the-kelp"


@pytest.fixture
def friday(bizkit, studio, notice_scale):
    """A job of one shoot day of exactly 1,000.00 on Friday 14 May 2027."""
    card = studio / "rate-card.toml"
    text = card.read_text(encoding="utf-8")
    card.write_text(text[: text.index("[cancellation]")] + notice_scale, encoding="utf-8")
    (studio / "briefs" / "friday.toml").write_text(
        'key = "friday"\nclient = "skerrow-islands-tourism"\ntitle = "Friday"\ncontingency_percent = 0\n'
        '[[days]]\ndate = 2027-05-14\nkind = "dry"\nplace = "Selkie Bay"\n'
        'crew = [{ roles = ["underwater_camera"] }, { roles = ["camera"] }]\n',
        encoding="utf-8",
    )
    bizkit("quote", "draft", "friday", "--on", "2027-04-01")
    sent = bizkit("quote", "send", "friday", "--on", "2027-04-01", "--json").data
    assert sent["net"] == "1020.00"  # 560 + 460
    assert bizkit("quote", "accept", "friday", "--on", "2027-04-02").code == 0
    return "friday"


@pytest.mark.parametrize(
    ("notice_on", "percent"),
    # Previous Friday, Monday, Tuesday, Wednesday, Thursday: the published policy's own table
    [("2027-05-07", 0), ("2027-05-10", 50), ("2027-05-11", 75), ("2027-05-12", 75), ("2027-05-13", 100)],
)
def test_the_fee_follows_the_published_scale(bizkit, friday, notice_on, percent):
    done = bizkit("quote", "cancel", friday, "--preview", "--on", notice_on, "--json").data
    assert Decimal(done["fee"]) == Decimal("1020.00") * percent / 100
    assert done["working"]["rule"] == "cancellation.cancel_job"
    assert bizkit("job", "show", friday, "--json").data["closed_on"] == ""
    assert bizkit("charge", "list", "--json").data["charges"] == []


def test_a_cancelled_job_is_closed_and_its_fee_waits_to_be_invoiced(bizkit, friday):
    done = bizkit("quote", "cancel", friday, "--by", "Una Flett", "--reason", "budget", "--on", "2027-05-11")
    assert "a fee of GBP 765.00 net" in done.out
    assert "2027-05-14: 3 working days of notice = 75% of GBP 1020.00" in done.out
    assert bizkit("quote", "list", "--json", "--on", "2027-05-11").data[0]["state"] == "cancelled"
    (charge,) = bizkit("charge", "list", friday, "--json").data["charges"]
    assert (charge["kind"], charge["amount"], charge["state"]) == ("cancellation", "765.00", "to invoice")
    stage = bizkit("invoice", "issue", friday, "--stage", "1", "--reason", "x", "--on", "2027-05-11")
    assert stage.code == 1
    assert "was cancelled on 2027-05-11" in stage.err
    bill = bizkit("invoice", "issue", friday, "--charges", "--on", "2027-05-12", "--json").data
    assert (bill["net"], bill["tax"], bill["gross"]) == ("765.00", "153.00", "918.00")
    printed = " ".join(pypdf.PdfReader(bill["file"]).pages[0].extract_text().split())
    assert "Cancelled shoot day 14 May 2027" in printed
    again = bizkit("quote", "cancel", friday, "--on", "2027-05-12")
    assert (again.code, "was cancelled on 2027-05-11 already" in again.err) == (1, True)
    assert bizkit("verify").code == 0


def test_the_screen_shows_the_fee_and_nothing_more_that_a_cancelled_job_owes(bizkit, job):
    assert bizkit("status", "--on", "2027-03-01", "--json").data["missing"]
    done = bizkit("quote", "cancel", job, "--on", "2027-05-03", "--json").data  # 5 working days: 25 %
    screen = bizkit("status", "--on", "2027-05-03", "--json").data
    assert [row["net"] for row in screen["to_invoice"]] == [line["amount"] for line in done["lines"]]
    assert (screen["due"], screen["missing"]) == ([], [])


def test_what_was_invoiced_before_is_taken_off_the_fee(bizkit, friday):
    bizkit("invoice", "issue", friday, "--on", "2027-04-02")  # half of it: 510.00
    done = bizkit("quote", "cancel", friday, "--on", "2027-05-11", "--json").data
    assert (done["fee"], done["invoiced_before"]) == ("765.00", "510.00")
    bill = bizkit("invoice", "issue", friday, "--charges", "--on", "2027-05-11", "--json").data
    assert bill["net"] == "255.00"


def test_more_invoiced_than_the_fee_asks_for_a_credit(bizkit, friday):
    bizkit("invoice", "issue", friday, "--on", "2027-04-02")
    bizkit("cost", "add", friday, "--kind", "ferry", "--amount", "100", "--on", "2027-05-01")
    done = bizkit("quote", "cancel", friday, "--on", "2027-05-07", "--json").data
    assert [line["item"] for line in done["lines"]] == ["Already spent: Ferry, vehicle and two people"]
    assert done["fee"] == "100.00"
    bill = bizkit("invoice", "issue", friday, "--charges", "--on", "2027-05-07")
    assert (bill.code, "credit GBP 410.00" in bill.err) == (1, True)


def test_days_in_the_past_are_refused_until_they_are_logged_and_then_cost_their_whole_price(bizkit, job):
    late = bizkit("quote", "cancel", job, "--on", "2027-05-12")
    assert late.code == 1
    assert "before the notice of 2027-05-12 cannot be called off: 2027-05-10, 2027-05-11" in late.err
    assert f"bizkit day log {job}" in late.err
    for date, call, wrap in (("2027-05-10", "07:30", "18:30"), ("2027-05-11", "06:00", "19:00")):
        assert bizkit("day", "log", job, date, "--call", call, "--wrap", wrap, "--on", "2027-05-12").code == 0
    done = bizkit("quote", "cancel", job, "--on", "2027-05-12", "--json").data
    items = [line["item"] for line in done["lines"]]
    # The prep and travel days before the notice were worked; nobody logs their call and wrap.
    assert items == [
        "Worked day 2027-05-06", "Worked day 2027-05-09", "Worked day 2027-05-10", "Worked day 2027-05-11",
        "Cancelled shoot day 2027-05-12", "Cancelled shoot day 2027-05-13", "Cancelled travel day 2027-05-14",
    ]  # fmt: skip
    # No notice at all for the days left: 100 % on the starter card, so the seven prices are the whole of crew and kit
    # less their share of the 5 % that the quote takes off crew, kit and post
    document = bizkit("quote", "show", job, "--json").data["document"]
    crew_and_kit = sum(Decimal(line["amount"]) for line in document["lines"] if line["section"] in ("crew", "kit"))
    assert Decimal(done["fee"]) == round(crew_and_kit * Decimal("0.95"), 2)
    assert "was cancelled" in bizkit("day", "move", job, "2027-05-13", "--to", "2027-05-20").err


def test_a_postponed_job_keeps_the_distance_of_its_days_and_its_own_scale(bizkit, friday):
    done = bizkit("quote", "postpone", friday, "--to", "2027-06-11", "--on", "2027-05-13", "--json").data
    assert done["fee"] == "408.00"  # 40 % of 1,020.00
    assert done["days"] == [{"position": 1, "moved_from": "2027-05-14", "moved_to": "2027-06-11"}]
    assert [day["date"] for day in bizkit("job", "show", friday, "--json").data["days"]] == ["2027-06-11"]
    assert bizkit("charge", "list", "--json").data["charges"][0]["item"] == "Postponed shoot day 2027-05-14"
    # It can be called off again, counted to the new date: a week before it is free.
    assert bizkit("quote", "cancel", friday, "--preview", "--on", "2027-06-04", "--json").data["fee"] == "0.00"


def test_postponing_without_a_date_leaves_the_days_open_and_due_dates_unknown(bizkit, job):
    before = bizkit("deliverable", "list", job, "--json").data
    assert all(row["due"] for row in before)
    done = bizkit("quote", "postpone", job, "--on", "2027-03-01", "--json").data
    assert done["fee"] == "0.00"  # over two months of notice
    assert len(done["days"]) == 7
    assert all(move["moved_to"] == "" for move in done["days"])
    assert all(row["due"] == "" for row in bizkit("deliverable", "list", job, "--json").data)
    none_left = bizkit("quote", "postpone", job, "--on", "2027-03-02")
    assert (none_left.code, "no shoot day with a date is still to come" in none_left.err) == (1, True)
    cancelled = bizkit("quote", "cancel", job, "--on", "2027-03-02", "--json").data
    assert (cancelled["fee"], cancelled["open_days"]) == ("0.00", 4)


def test_costs_spent_in_vain_are_due_in_full_where_they_are_named(bizkit, friday):
    first = bizkit("cost", "add", friday, "--kind", "boat", "--amount", "540", "--on", "2027-05-01", "--json").data
    bizkit("cost", "add", friday, "--kind", "ferry", "--amount", "178.50", "--on", "2027-05-01")
    base = ["quote", "postpone", friday, "--to", "2027-06-11", "--preview", "--on", "2027-05-13", "--json"]
    assert bizkit(*base).data["fee"] == "408.00"
    assert bizkit(*base, "--lost", first["number"]).data["fee"] == "948.00"
    unknown = bizkit(*base, "--lost", 9)
    assert (unknown.code, "--lost: wanted a known cost of the job, got 9" in unknown.err) == (2, True)


def test_a_quote_nobody_accepted_is_taken_back_without_a_fee(bizkit, studio):
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    bizkit("quote", "send", BRIEF, "--on", "2027-01-26")
    moved = bizkit("quote", "postpone", BRIEF, "--on", "2027-01-27")
    assert (moved.code, "was not accepted" in moved.err) == (1, True)
    assert "taken back; nobody accepted it: no fee" in bizkit("quote", "cancel", BRIEF, "--on", "2027-01-27").out
    assert bizkit("quote", "list", "--json").data[0]["state"] == "cancelled"
    assert bizkit("quote", "accept", BRIEF, "--on", "2027-01-28").code == 1


def test_a_card_without_a_scale_says_what_to_do(bizkit, studio):
    card = studio / "rate-card.toml"
    text = card.read_text(encoding="utf-8")
    card.write_text(text[: text.index("[cancellation]")], encoding="utf-8")
    for command in ("draft", "send", "accept"):
        bizkit("quote", command, BRIEF, "--on", "2027-01-26")
    done = bizkit("quote", "cancel", BRIEF, "--on", "2027-03-01")
    assert (done.code, "has no [cancellation] scale" in done.err) == (1, True)


@pytest.mark.parametrize(
    ("steps", "said"),
    [
        ("[{ notice_days = 5, percent = 0 }]", "a step for no notice at all (notice_days = 0)"),
        ("[{ notice_days = 5, percent = 50 }, { notice_days = 0, percent = 20 }]", "shorter notice never costs less"),
        ("[{ notice_days = 0, percent = 120 }]", "percent: wanted a number 0..100, got 120"),
    ],
)
def test_a_scale_that_cannot_be_is_refused(bizkit, studio, steps, said):
    card = studio / "rate-card.toml"
    text = card.read_text(encoding="utf-8")
    card.write_text(text[: text.index("[cancellation]")] + f"[cancellation]\nsteps = {steps}\n", encoding="utf-8")
    done = bizkit("rates", "check")
    assert done.code == 2
    assert said in done.err


def test_notice_before_the_job_was_agreed_is_a_slip_of_the_year(bizkit, job):
    """A notice dated before the acceptance would have ended the job for nothing, for good."""
    for verb in ("cancel", "postpone"):
        done = bizkit("quote", verb, job, "--on", "2026-05-10")
        assert (done.code, done.err) == (
            1, f"bizkit: {job} was agreed on 2027-02-08: notice cannot be given on 2026-05-10\n"
        )  # fmt: skip
    assert bizkit("job", "show", job, "--json").data["closed_on"] in ("", None)


def test_the_calendar_of_a_cancelled_job_takes_its_days_back(bizkit, friday, tmp_path):
    bizkit("quote", "cancel", friday, "--on", "2027-05-11")
    for arguments in ((friday,), ()):
        out = tmp_path / f"{len(arguments)}.ics"
        assert bizkit("calendar", *arguments, "--out", out, "--on", "2027-05-12").code == 0
        text = out.read_text(encoding="utf-8")
        assert "STATUS:CANCELLED" in text
        assert "STATUS:CONFIRMED" not in text
