"""A cancelled job is settled: what it shows, what is credited or invoiced, and that nothing stays open."""

from __future__ import annotations

import random
from datetime import date, timedelta
from decimal import Decimal

import pypdf
import pytest

#: A card of the tests' own; all figures worked out by hand. Notice in calendar days to each day on its own.
CARD = """
name = "Test"
currency = "GBP"
valid_from = 2026-01-01
[crew.camera]
title = "Camera"
day_rate = 400
[day]
hours = 10
meal_hours = 1
[day.percent]
recce = 50
travel = 50
prep = 80
[kit.camera_body]
title = "Cinema camera body"
day_rate = 100
[hire]
[hire.percent]
recce = 0
travel = 0
prep = 0
[costs.ferry]
title = "Ferry"
unit = "crossing"
cost = 180
[post.edit]
title = "Edit"
day_rate = 300
[cancellation]
counting = "calendar"
steps = [
  { notice_days = 10, percent = 0 },
  { notice_days = 5, percent = 25 },
  { notice_days = 2, percent = 60 },
  { notice_days = 0, percent = 100 },
]
"""
DAYS = """
[[days]]
date = 2028-05-16
kind = "recce"
crew = [{ person = "Rowan Lark", roles = ["camera"] }]
[[days]]
date = 2028-06-05
kind = "travel"
crew = [{ person = "Rowan Lark", roles = ["camera"] }]
[[days]]
date = 2028-06-06
kind = "dry"
place = "Selkie Bay"
crew = [{ person = "Rowan Lark", roles = ["camera"] }]
kit = ["camera_body"]
[[days]]
date = 2028-06-07
kind = "dry"
place = "Kittiwake Head"
call = "08:00"
wrap = "19:00"
crew = [{ person = "Rowan Lark", roles = ["camera"] }]
kit = ["camera_body"]
"""
BRIEF = f"""
key = "harbour"
client = "skerrow-islands-tourism"
title = "Harbour"
{DAYS}
[[post]]
work = "edit"
days = 2
[discount]
percent = 10
reason = "first job"
[[stages]]
title = "On acceptance"
percent = 50
when = "acceptance"
[[stages]]
title = "On the first day"
percent = 30
when = "first_shoot_day"
[[stages]]
title = "On delivery"
percent = 20
when = "delivery"
"""
#: recce 200, travel 200, two shoot days of 400 and kit of 100: less 10 % 180, 180, 450, 450; edit 600 less 10 %: 540.
NET = Decimal("1800.00")


def open_job(bizkit, studio, brief=BRIEF, *, accept=(), card=CARD):
    (studio / "rate-card.toml").write_text(card, encoding="utf-8")
    (studio / "floor.toml").unlink(missing_ok=True)
    (studio / "briefs" / "harbour.toml").write_text(brief, encoding="utf-8")
    for command, more in (("draft", ()), ("send", ()), ("accept", accept)):
        done = bizkit("quote", command, "harbour", *more, "--on", "2028-05-01")
        assert done.code == 0, done.err
    return "harbour"


@pytest.fixture
def harbour(bizkit, studio):
    return open_job(bizkit, studio)


def cancel(bizkit, job, on, *more):
    done = bizkit("quote", "cancel", job, "--on", on, *more, "--json")
    assert done.code == 0, done.err
    return done.data


def settle(bizkit, job, on, *more):
    done = bizkit("invoice", "settle", job, "--on", on, *more, "--json")
    assert done.code == 0, done.err
    return done.data


def money(bizkit, job):
    data = bizkit("job", "money", job, "--json").data
    return {
        name: Decimal(data[name]) for name in ("agreed", "invoiced", "credited", "left_to_invoice", "left_to_pay")
    }


def waits(bizkit, on):
    """What status has to invoice and to credit."""
    data = bizkit("status", "--on", on, "--json").data
    return (
        sum((Decimal(row["net"]) for row in data["to_invoice"]), Decimal(0)),
        sum((Decimal(row["net"]) for row in data["to_credit"]), Decimal(0)),
    )


def assert_settled(bizkit, job, on, agreed):
    sums = money(bizkit, job)
    assert (sums["agreed"], sums["left_to_invoice"]) == (agreed, 0)
    assert sums["invoiced"] - sums["credited"] == agreed
    data = bizkit("status", "--on", on, "--json").data
    assert (data["to_invoice"], data["to_credit"]) == ([], [])
    left = [Decimal(row["balance"]) for row in bizkit("invoice", "list", job, "--json", "--on", on).data]
    assert sum(left) == sums["left_to_pay"]
    assert bizkit("charge", "list", job, "--json").data["open"] == []
    (row,) = [one for one in bizkit("report", "margin", "--on", on, "--json").data["rows"] if one["name"] == job]
    assert Decimal(row["income"]) == agreed
    kinds = bizkit("report", "income", "--on", on, "--json").data["rows"]
    charged = {}
    for one in bizkit("charge", "list", job, "--json").data["charges"]:
        if one["state"] == "invoiced" and not one["source"].startswith("credit note"):
            charged[one["section"]] = charged.get(one["section"], Decimal(0)) + Decimal(one["amount"])
    # What fell away with the quote is no income of any kind.
    assert bizkit("job", "list", "--json").data[0]["cancelled_on"] == "" or {
        one["kind"]: Decimal(one["income"]) for one in kinds
    } == {one: sum_ for one, sum_ in charged.items() if sum_}
    assert bizkit("verify").code == 0
    again = bizkit("invoice", "settle", job, "--on", on)
    assert (again.code, "nothing is left to invoice or to credit" in again.err) == (1, True)


def test_a_worked_recce_is_paid_and_so_are_prep_and_travel_days_before_the_notice(bizkit, harbour):
    log = ("day", "log", harbour, "2028-05-16", "--call", "09:00", "--wrap", "15:00", "--on", "2028-05-16")
    assert bizkit(*log).code == 0
    done = cancel(bizkit, harbour, "2028-05-17", "--preview")
    # 200 less 10 %; three weeks of notice for the rest
    assert (done["fee"], [line["item"] for line in done["lines"]]) == ("180.00", ["Worked day 2028-05-16"])
    # On the first shoot day itself there is no notice: 100 %.
    late = cancel(bizkit, harbour, "2028-06-06", "--preview")
    assert [(line["item"], line["amount"]) for line in late["lines"]] == [
        ("Worked day 2028-05-16", "180.00"),
        ("Worked day 2028-06-05", "180.00"),
        ("Cancelled shoot day 2028-06-06", "450.00"),
        ("Cancelled shoot day 2028-06-07", "450.00"),
    ]
    assert "travel day, its date is past" in late["lines"][1]["why"]


def test_a_recce_that_nobody_logged_counts_as_worked_once_its_date_has_passed(bizkit, harbour):
    assert cancel(bizkit, harbour, "2028-05-16", "--preview")["fee"] == "0.00"
    assert cancel(bizkit, harbour, "2028-05-17", "--preview")["fee"] == "180.00"


def test_the_base_of_a_fee_is_shown_day_by_day_in_the_lines_of_the_quote(bizkit, harbour):
    done = cancel(bizkit, harbour, "2028-06-03", "--preview")
    lines = {line["item"]: line for line in done["lines"]}
    # Saturday 3 June: 3 calendar days to the first shoot day: 60 % of each
    shoot = lines["Cancelled shoot day 2028-06-06"]
    assert [(part["text"], part["amount"]) for part in shoot["working"]["parts"]] == [
        ("Rowan Lark: Camera: GBP 400.00", "400.00"),
        ("Cinema camera body: GBP 100.00", "100.00"),
        ("Discount: first job: GBP -50.00", "-50.00"),
    ]
    assert (shoot["rate"], shoot["amount"]) == ("450.00", "270.00")
    assert lines["Cancelled travel day 2028-06-05"]["amount"] == "108.00"
    screen = bizkit("quote", "cancel", harbour, "--on", "2028-06-03", "--preview").out
    assert "Cinema camera body: GBP 100.00" in screen
    assert "Discount: first job: GBP -50.00" in screen


@pytest.mark.parametrize(
    ("deposit", "on", "fee", "left"),
    [
        ("900.00", "2028-06-03", "828.00", "78.00"),  # 750 net
        ("993.60", "2028-06-03", "828.00", "0.00"),  # just the fee
        ("1800.00", "2028-06-03", "828.00", "-672.00"),  # 1,500 net
        ("1200.00", "2028-05-10", "0.00", "-1000.00"),  # three weeks of notice: no fee at all
    ],
)
def test_a_fee_is_settled_with_the_deposit(bizkit, harbour, deposit, on, fee, left):
    # On 3 June: the recce 180.00 and 60 % of 180.00 + 450.00 + 450.00 = 648.00
    paid = bizkit("invoice", "deposit", harbour, deposit, "--received", "2028-05-02", "--on", "2028-05-02", "--json")
    preview = cancel(bizkit, harbour, on, "--preview")
    done = cancel(bizkit, harbour, on)
    assert {**preview, "preview": False} == done
    assert (done["fee"], done["left"]) == (fee, left)
    back = max(-Decimal(left), Decimal(0))
    assert waits(bizkit, on) == (max(Decimal(left), Decimal(0)), back)
    assert ("TO CREDIT NOW" in bizkit("status", "--on", on).out) == (back > 0)
    settled = settle(bizkit, harbour, on)
    assert settled["left_to_invoice"] == "0.00"
    assert_settled(bizkit, harbour, on, Decimal(fee))
    assert len(settled["credit_notes"]) == (back > 0)
    for note in settled["credit_notes"]:
        # What came as a deposit can be paid back, and then nobody owes anything.
        assert (note["credits"], note["net"], note["state"]) == (paid.data["number"], f"{back:.2f}", "overpaid")
        refund = bizkit("payment", "refund", note["credits"], "--on", on, "--json")
        assert refund.code == 0, refund.err
        assert refund.data["amount"] == f"-{note['to_refund']}"
        text = " ".join(pypdf.PdfReader(note["file"]).pages[0].extract_text().split())
        assert "Cancelled on" in text
        assert "Worked day 16 May 2028: £180.00" in text or fee == "0.00"
    assert money(bizkit, harbour)["left_to_pay"] == max(Decimal(left), Decimal(0)) * Decimal("1.2")
    most = Decimal(deposit) - Decimal(back) * Decimal("1.2")
    more = bizkit("payment", "refund", paid.data["number"], f"{most + 1:.2f}", "--on", on)
    assert (more.code, f"more than the GBP {most:.2f} that was paid" in more.err) == (1, True), more.err


def test_a_fee_is_settled_with_stages_paid_and_unpaid_the_unpaid_one_first(bizkit, harbour):
    first = bizkit("invoice", "issue", harbour, "--on", "2028-05-02", "--json").data  # 900 net
    bizkit("invoice", "paid", first["number"], "--on", "2028-05-03")
    second = bizkit(
        "invoice", "issue", harbour, "--stage", "2", "--reason", "agreed", "--on", "2028-05-20", "--json"
    ).data  # 540 net
    cancel(bizkit, harbour, "2028-06-03")  # 828
    notes = settle(bizkit, harbour, "2028-06-03")["credit_notes"]
    assert [(note["credits"], note["net"]) for note in notes] == [
        (second["number"], "540.00"), (first["number"], "72.00"),
    ]  # fmt: skip
    assert [note["to_refund"] for note in notes] == ["0.00", "86.40"]
    assert_settled(bizkit, harbour, "2028-06-03", Decimal(828))


def test_what_was_charged_before_stays_owed_beside_the_fee(bizkit, harbour):
    add = ("charge", "add", harbour, "--reason", "agreed", "--agreed", "Una, by mail", "--on", "2028-05-04", "--what")
    bizkit(*add, "Second recce", "--amount", "100")
    bizkit("invoice", "issue", harbour, "--on", "2028-05-02")  # 900
    bizkit("invoice", "issue", harbour, "--charges", "--on", "2028-05-05")
    bizkit(*add, "Chart of the harbour", "--amount", "40")
    done = cancel(bizkit, harbour, "2028-06-03")
    assert (done["fee"], done["other_charges"], done["left"]) == ("828.00", "40.00", "-32.00")
    settle(bizkit, harbour, "2028-06-03")
    assert_settled(bizkit, harbour, "2028-06-03", Decimal("968.00"))
    bizkit(*add, "Parking", "--amount", "10")
    assert settle(bizkit, harbour, "2028-06-04")["invoice"]["net"] == "10.00"
    assert_settled(bizkit, harbour, "2028-06-04", Decimal("978.00"))


def test_a_credit_by_hand_settles_the_fee_too(bizkit, harbour):
    first = bizkit("invoice", "issue", harbour, "--on", "2028-05-02", "--json").data
    cancel(bizkit, harbour, "2028-06-03")
    refused = bizkit("invoice", "issue", harbour, "--charges", "--on", "2028-06-03")
    assert "credit GBP 72.00 instead, with bizkit invoice settle harbour" in refused.err
    bizkit("invoice", "credit", first["number"], "--amount", "72", "--reason", "cancelled", "--on", "2028-06-03")
    assert_settled(bizkit, harbour, "2028-06-03", Decimal(828))


def test_a_settling_invoice_that_is_undone_settles_anew(bizkit, harbour):
    bizkit("invoice", "deposit", harbour, "900", "--received", "2028-05-02", "--on", "2028-05-02")
    cancel(bizkit, harbour, "2028-06-03")
    bill = settle(bizkit, harbour, "2028-06-03")["invoice"]
    bizkit("invoice", "credit", bill["number"], "--reason", "wrong name", "--on", "2028-06-04")
    assert waits(bizkit, "2028-06-04") == (78, 0)
    assert settle(bizkit, harbour, "2028-06-05")["invoice"]["net"] == "78.00"
    assert_settled(bizkit, harbour, "2028-06-05", Decimal(828))


def test_a_job_that_was_billed_to_the_end_is_settled_with_its_final_invoice(bizkit, harbour):
    bizkit(
        "charge", "add", harbour, "--what", "Chart", "--amount", "40", "--reason", "agreed", "--agreed",
        "Una, by mail", "--on", "2028-05-04",
    )  # fmt: skip
    final = bizkit("invoice", "issue", harbour, "--final", "--on", "2028-05-05", "--json").data
    assert final["net"] == "1840.00"
    cancel(bizkit, harbour, "2028-06-03")
    assert waits(bizkit, "2028-06-03") == (0, Decimal("972.00"))
    settle(bizkit, harbour, "2028-06-03")
    assert_settled(bizkit, harbour, "2028-06-03", Decimal("868.00"))


def test_an_option_taken_is_in_the_base_by_its_own_days(bizkit, studio):
    option = """
[options.cliff]
kind = "addon"
title = "The cliff too"
[[options.cliff.days]]
date = 2028-06-08
kind = "dry"
crew = [{ person = "Rowan Lark", roles = ["camera"] }]
"""
    job = open_job(bizkit, studio, BRIEF + option, accept=("--option", "cliff"))
    bizkit("invoice", "issue", job, "--on", "2028-05-02")
    done = cancel(bizkit, job, "2028-06-03")
    items = {line["item"]: line["amount"] for line in done["lines"]}
    assert items["Cancelled shoot day 2028-06-08"] == "216.00"  # 60 % of 400 less 10 %
    settle(bizkit, job, "2028-06-03")
    assert_settled(bizkit, job, "2028-06-03", Decimal("1044.00"))


def test_costs_lost_to_a_postponement_are_not_charged_again_by_a_cancellation(bizkit, harbour):
    cost = ("cost", "add", harbour, "--kind", "ferry", "--amount", "180", "--on", "2028-05-03", "--json")
    number = bizkit(*cost).data["number"]
    postpone = ("quote", "postpone", harbour, "--to", "2028-07-04", "--lost", number, "--on", "2028-06-04")
    assert bizkit(*postpone, "--json").data["lines"][-1]["item"] == "Already spent: Ferry"
    done = cancel(bizkit, harbour, "2028-06-05")
    assert [line["item"] for line in done["lines"]] == ["Worked day 2028-05-16"]
    # the recce, and the postponement: 100 % of 180 + 450 + 450 by one day of notice, and the ferry
    settle(bizkit, harbour, "2028-06-05")
    assert_settled(bizkit, harbour, "2028-06-05", Decimal("180") + Decimal("648") + Decimal("180"))


def test_two_postponements_of_one_day_bear_a_fee_each(bizkit, harbour):
    for to in ("2028-06-09", "2028-06-13"):
        assert bizkit("quote", "postpone", harbour, "--to", to, "--on", "2028-06-03").code == 0
    fees = [
        row for row in bizkit("charge", "list", harbour, "--json").data["charges"] if row["kind"] == "postponement"
    ]
    # 60 % of three days by three days of notice, then 25 % by six
    assert sum(Decimal(row["amount"]) for row in fees) == Decimal("648") + Decimal("270")


def test_a_moved_day_that_is_cancelled_is_charged_by_the_scale_alone(bizkit, studio):
    job = open_job(bizkit, studio)
    # 10 June 2028 is a Saturday, and the card quoted has no uplift: nothing is dearer.
    assert bizkit("day", "move", job, "2028-06-07", "--to", "2028-06-10", "--on", "2028-05-03").code == 0
    assert cancel(bizkit, job, "2028-06-03")["fee"] == "828.00"


def test_the_difference_of_a_moved_day_follows_the_scale_when_it_is_cancelled(bizkit, studio):
    job = open_job(bizkit, studio, card=CARD + "[uplift]\nsaturday_percent = 50\n")
    # 10 June 2028 is a Saturday: 50 % of 400.00 more, billed at once
    bizkit("day", "move", job, "2028-06-07", "--to", "2028-06-10", "--on", "2028-05-03")
    assert bizkit("invoice", "issue", job, "--charges", "--on", "2028-05-03", "--json").data["net"] == "200.00"
    done = cancel(bizkit, job, "2028-06-03")
    # 60 % of 450 + 200 in place of the 200 that were billed; the rest as ever: 828 - 270 + 390 - 200
    assert done["fee"] == "748.00"
    settle(bizkit, job, "2028-06-03")
    assert_settled(bizkit, job, "2028-06-03", Decimal("948.00"))


@pytest.mark.parametrize(("charge", "held"), [("used", 0), ("booked", 2)])
def test_hold_days_used_are_kept_whether_they_were_charged_apart_or_stood_in_the_quote(bizkit, studio, charge, held):
    weather = (
        f'[weather]\nfrom = 2028-06-05\nto = 2028-06-20\nchance = {{ 6 = 0.6 }}\nhold_days = 3\ncharge = "{charge}"\n'
    )
    job = open_job(bizkit, studio, BRIEF + weather)
    bizkit("day", "move", job, "2028-06-06", "--to", "2028-06-12", "--on", "2028-06-06")
    bizkit("day", "move", job, "2028-06-07", "--to", "2028-06-13", "--on", "2028-06-07")
    done = cancel(bizkit, job, "2028-06-08")
    # half of 400 + 100 a day
    kept = [line["amount"] for line in done["lines"] if line["item"].startswith("Weather hold days")]
    # The third is booked used or not: 60 % of it, as a day to come.
    unused = ["150.00"] if charge == "booked" else []
    assert kept == ["250.00"] * held + unused
    settle(bizkit, job, "2028-06-08")
    # recce and travel day worked, the two hold days, 60 % of two shoot days by four days of notice
    assert_settled(bizkit, job, "2028-06-08", Decimal("180") * 2 + 500 + 540 + sum(map(Decimal, unused)))


def test_hold_days_at_one_fixed_price_come_to_no_more_when_the_job_is_cancelled(bizkit, studio):
    weather = (
        '[weather]\nfrom = 2028-06-05\nto = 2028-06-20\nchance = { 6 = 0.9 }\nhold_days = 3\ncharge = "expected"\n'
    )
    job = open_job(bizkit, studio, BRIEF.replace('"dry"', '"water"') + weather)
    lines = bizkit("quote", "show", job, "--json").data["document"]["lines"]
    fixed = sum(Decimal(line["amount"]) for line in lines if line["section"] == "weather")
    assert 0 < fixed < 250  # less than one hold day of half of 400 + 100
    bizkit("day", "move", job, "2028-06-06", "--to", "2028-06-12", "--on", "2028-06-06")
    bizkit("day", "move", job, "2028-06-07", "--to", "2028-06-13", "--on", "2028-06-07")
    done = cancel(bizkit, job, "2028-06-08")
    kept = [Decimal(line["amount"]) for line in done["lines"] if line["item"].startswith("Weather hold days")]
    assert kept == [fixed]


def test_what_a_cancelled_job_came_to_is_its_fee_and_not_the_quote_as_well(bizkit, studio):
    job = open_job(bizkit, studio)
    done = cancel(bizkit, job, "2028-06-03")
    came = bizkit("job", "actual", job, "--json").data["total"]
    assert (came["quoted"], came["charged"]) == ("0.00", done["fee"])


def test_days_bought_ahead_go_back_to_the_deal_and_worked_days_cost_their_whole_price(bizkit, studio):
    deal = '[deals.year]\ntitle = "Year"\nclient = "skerrow-islands-tourism"\ndays = 5\ncovers = ["camera"]\n'
    open_job(bizkit, studio, BRIEF + '[deal]\nname = "year"\n', card=CARD + deal)
    assert bizkit("deal", "list", "--json").data[0]["drawn"] == "2"
    done = cancel(bizkit, "harbour", "2028-06-03")
    assert [line["amount"] for line in done["lines"] if "shoot day" in line["item"]] == ["270.00", "270.00"]
    assert bizkit("deal", "list", "--json").data[0]["drawn"] == "0"


def test_what_charges_give_back_beyond_what_is_open_is_credited(bizkit, harbour):
    final = bizkit("invoice", "issue", harbour, "--final", "--on", "2028-06-08", "--json").data
    add = (
        "charge", "add", harbour, "--what", "Shorter evening", "--amount", "-40", "--reason", "agreed", "--agreed",
        "Una, by mail",
    )  # fmt: skip
    bizkit(*add, "--on", "2028-06-09")
    assert waits(bizkit, "2028-06-09") == (0, 40)
    refused = bizkit("invoice", "issue", harbour, "--charges", "--on", "2028-06-09")
    assert "credit GBP 40.00 instead, with bizkit invoice settle harbour" in refused.err
    (note,) = settle(bizkit, harbour, "2028-06-09")["credit_notes"]
    assert (note["credits"], note["net"], note["reason"]) == (final["number"], "40.00", "Shorter evening")
    assert_settled(bizkit, harbour, "2028-06-09", NET - 40)


def test_a_deposit_is_taken_off_again_when_its_stage_is_undone_after_a_final_invoice(bizkit, harbour):
    bizkit("invoice", "deposit", harbour, "600", "--received", "2028-05-02", "--on", "2028-05-02")  # 500 net
    stage = bizkit("invoice", "issue", harbour, "--on", "2028-05-03", "--json").data
    assert stage["net"] == "400.00"
    bizkit("invoice", "issue", harbour, "--final", "--on", "2028-06-08")
    bizkit("invoice", "credit", stage["number"], "--reason", "wrong order number", "--on", "2028-06-09")
    again = bizkit("invoice", "issue", harbour, "--on", "2028-06-10", "--json").data
    assert again["net"] == "400.00"
    assert_settled(bizkit, harbour, "2028-06-10", NET)


def test_the_odd_penny_of_a_deposit_counts_as_paid(bizkit, harbour):
    # 10.05 with 20 % inside: 8.38 + 1.68 = 10.06, or 8.37 + 1.67 = 10.04: no net has it exactly
    bizkit("invoice", "deposit", harbour, "10.05", "--received", "2028-05-02", "--on", "2028-05-02")
    data = bizkit("job", "money", harbour, "--json").data
    assert (data["paid"], data["left_to_pay"]) == ("10.05", "0.00")


@pytest.mark.parametrize("seed", range(10))
def test_whatever_was_invoiced_and_worked_a_cancelled_job_is_settled_by_what_bizkit_says(bizkit, harbour, seed):
    choose = random.Random(seed)
    day = date(2028, 5, 2)

    def run(*arguments, fine=True):
        done = bizkit(*arguments, "--on", day.isoformat(), "--json")
        assert done.code == 0 or not fine, done.err
        return done

    if choose.random() < 0.6:
        sum_ = f"{choose.randint(1, 150000) / 100:.2f}"
        run("invoice", "deposit", harbour, sum_, "--received", day.isoformat())
    for stage in (1, 2, 3):
        if choose.random() < 0.5:
            bill = run("invoice", "issue", harbour, "--stage", stage, "--reason", "agreed").data
            if choose.random() < 0.3:
                run("invoice", "paid", bill["number"], fine=False)
            if choose.random() < 0.2:
                run("invoice", "credit", bill["number"], "--reason", "wrong", fine=False)
            elif choose.random() < 0.4:
                how = choose.choice([("--lower-price",), (), ("--amount", "1", "--lower-price")])
                run("invoice", "credit", bill["number"], "--amount", "33.33", "--reason", "less", *how, fine=False)
    charged = Decimal(0)
    for amount in choose.sample(["40", "12.34", "-7.50", "99.99"], choose.randint(0, 3)):
        run(
            "charge", "add", harbour, "--what", "Agreed", "--amount", amount, "--reason", "agreed", "--agreed",
            "Una, by mail",
        )  # fmt: skip
        charged += Decimal(amount)
    if choose.random() < 0.4:
        run("invoice", "issue", harbour, "--charges", fine=False)
    if choose.random() < 0.5:
        day = date(2028, 5, 17)
        run("cost", "add", harbour, "--kind", "ferry", "--amount", "180")
    if choose.random() < 0.2:
        run("invoice", "issue", harbour, "--final", fine=False)
    notice = date(2028, 5, 18) + timedelta(days=choose.randint(0, 20))
    for worked in ("2028-06-06", "2028-06-07"):
        if worked < notice.isoformat():
            day = date.fromisoformat(worked)
            run("day", "log", harbour, worked, "--call", "08:00", "--wrap", "19:00")
    day = max(day, notice)
    done = run("quote", "cancel", harbour).data
    fee = Decimal(done["fee"])
    if done["left"] != "0.00" or bizkit("charge", "list", harbour, "--json").data["open"]:
        run("invoice", "settle", harbour)
    assert_settled(bizkit, harbour, day.isoformat(), fee + charged)


# --- post-production that is done, what the fee leaves out, bills that come late


@pytest.mark.parametrize(("done", "fee"), [("0", "0.00"), ("50", "270.00"), ("62.5", "337.50"), ("100", "540.00")])
def test_post_production_done_is_due_by_its_share_less_its_discount(bizkit, harbour, done, fee):
    data = cancel(bizkit, harbour, "2028-05-10", "--post-done", done)
    assert data["fee"] == fee
    assert [one["section"] for one in data["outside"]] == ([] if Decimal(done) else ["post"])


def test_a_share_done_is_a_percentage_and_on_the_paper_as_its_reader_writes_it(bizkit, harbour, studio):
    for wrong in ("101", "-1", "half"):
        refused = bizkit("quote", "cancel", harbour, "--post-done", wrong, "--on", "2028-05-10")
        assert (refused.code, "--post-done: wanted a percentage from 0 to 100" in refused.err) == (2, True)
    quoted = " ".join(page.extract_text() for page in pypdf.PdfReader(studio / "papers" / "Q-2028-0001-r1.pdf").pages)
    assert "for post-production its share of the price by what is done of it" in " ".join(quoted.split())
    cancel(bizkit, harbour, "2028-05-10", "--post-done", "62.5")
    number = settle(bizkit, harbour, "2028-05-11")["invoice"]["number"]
    bill = " ".join(page.extract_text() for page in pypdf.PdfReader(studio / "papers" / f"{number}.pdf").pages)
    assert "Post-production, 62.5% of it done" in " ".join(bill.split())


EDIT = BRIEF.replace(DAYS, "").replace('when = "first_shoot_day"', 'when = "delivery"')


def test_an_edit_alone_says_what_cancelling_costs(bizkit, studio):
    job = open_job(bizkit, studio, EDIT)
    quoted = " ".join(page.extract_text() for page in pypdf.PdfReader(studio / "papers" / "Q-2028-0001-r1.pdf").pages)
    said = " ".join(quoted.split())
    assert "If you cancel" in said
    assert "postpone" not in said
    owed = "for post-production its share of the price by what is done of it, and in full for costs already spent."
    assert f"Whoever cancels pays {owed}" in said
    assert cancel(bizkit, job, "2028-05-10", "--post-done", "50", "--reason", "no budget")["fee"] == "270.00"


def test_a_quote_that_does_not_state_it_bills_no_post_production(bizkit, studio, monkeypatch):
    from bizkit.domain.pricing import extras

    real = extras.notice
    monkeypatch.setattr(extras, "notice", lambda *of, **what: {**real(*of, **what), "post_too": False})
    harbour = open_job(bizkit, studio)
    refused = bizkit("quote", "cancel", harbour, "--post-done", "50", "--on", "2028-05-10")
    assert (refused.code, "does not state that it is due" in refused.err) == (1, True)
    assert bizkit("quote", "cancel", harbour, "--on", "2028-05-10").code == 0


def test_a_job_of_which_nothing_is_to_come_is_cancelled_with_a_reason(bizkit, harbour):
    for day in ("2028-06-06", "2028-06-07"):
        done = bizkit("day", "log", harbour, day, "--call", "08:00", "--wrap", "18:00", "--on", "2028-06-08")
        assert done.code == 0, done.err
    refused = bizkit("quote", "cancel", harbour, "--on", "2028-06-09")
    assert (refused.code, "no day is to come" in refused.err, "--reason" in refused.err) == (1, True, True)
    assert bizkit("quote", "cancel", harbour, "--preview", "--on", "2028-06-09").code == 0
    assert bizkit("quote", "cancel", harbour, "--reason", "the client stopped", "--on", "2028-06-09").code == 0


def test_a_bill_that_comes_after_cancelling_is_charged_as_spent(bizkit, harbour):
    spent = ["cost", "add", harbour, "--kind", "ferry", "--amount", "180"]
    bizkit(*spent, "--on", "2028-05-09")
    assert cancel(bizkit, harbour, "2028-05-10")["fee"] == "180.00"
    said = bizkit(*spent, "--on", "2028-05-20").out
    assert "The job was cancelled on 2028-05-10: nobody is charged for it without --to-client" in said
    late = bizkit(*spent, "--to-client", "--on", "2028-05-21", "--json").data
    assert (late["charged"]["amount"], late["charged"]["item"]) == ("180.00", "Already spent: Ferry")
    assert settle(bizkit, harbour, "2028-05-22")["invoice"]["net"] == "360.00"


def test_what_is_to_be_paid_back_is_on_the_first_screen_and_in_the_cash(bizkit, harbour):
    number = bizkit("invoice", "issue", harbour, "--on", "2028-05-02", "--json").data["number"]
    bizkit("invoice", "paid", number, "--on", "2028-05-05")
    cancel(bizkit, harbour, "2028-05-06")
    settle(bizkit, harbour, "2028-05-07")
    data = bizkit("status", "--on", "2028-05-08", "--json").data
    assert [(row["number"], row["sum"]) for row in data["to_pay_back"]] == [(number, "1080.00")]
    assert "TO PAY BACK: bizkit payment refund INVOICE" in bizkit("status", "--on", "2028-05-08").out
    (row,) = bizkit("job", "list", "--on", "2028-05-08", "--json").data
    assert (row["net"], row["cancelled_on"]) == ("0.00", "2028-05-06")
    weeks = bizkit("report", "cash", "--on", "2028-05-08", "--json").data["rows"]
    assert (weeks[0]["going_out"], weeks[0]["why"]) == ("1080.00", f"{number}: to pay back")
    bizkit("payment", "refund", number, "--on", "2028-05-09")
    assert bizkit("status", "--on", "2028-05-09", "--json").data["to_pay_back"] == []


def test_charges_that_wait_are_expected_as_cash(bizkit, harbour):
    before = bizkit("report", "cash", "--on", "2028-05-08", "--json").data["rows"]
    bizkit("charge", "add", harbour, "--what", "Pier", "--amount", "50", "--reason", "asked", "--on", "2028-05-08")
    after = bizkit("report", "cash", "--on", "2028-05-08", "--json").data["rows"]
    more = [
        (new["why"].replace(old["why"], "").strip("; "), Decimal(new["coming_in"]) - Decimal(old["coming_in"]))
        for old, new in zip(before, after, strict=True)
        if new["coming_in"] != old["coming_in"]
    ]
    assert more == [("harbour: charges beyond the quote", Decimal("60.00"))]


def test_what_cannot_be_given_back_of_a_cancelled_job_is_given_up(bizkit, harbour):
    cancel(bizkit, harbour, "2028-05-06")
    less = ["charge", "add", harbour, "--what", "Less", "--amount", "-15", "--reason", "asked", "--on", "2028-05-07"]
    assert bizkit(*less).code == 0
    refused = bizkit("invoice", "settle", harbour, "--on", "2028-05-08")
    assert (refused.code, len(refused.err.splitlines())) == (1, 1)
    assert "GBP 15.00 more than was invoiced: give up what it is more with bizkit charge waive 1" in refused.err
    bizkit("charge", "waive", 1, "--reason", "nothing was billed", "--on", "2028-05-08")
    assert money(bizkit, harbour)["left_to_invoice"] == 0


def test_a_cost_taken_back_is_given_back_where_the_fee_had_it_and_only_there(bizkit, harbour):
    spent = ["cost", "add", harbour, "--kind", "ferry", "--json"]
    first = bizkit(*spent, "--amount", "180", "--on", "2028-05-04").data["number"]
    assert cancel(bizkit, harbour, "2028-05-05")["fee"] == "180.00"
    # A bill of the same kind that came later and was charged to nobody.
    later = bizkit(*spent, "--amount", "120", "--on", "2028-05-08").data["number"]
    before = money(bizkit, harbour)
    done = bizkit("cost", "reverse", later, "--reason", "not ours", "--on", "2028-05-09", "--json").data
    assert (done["given_back"], money(bizkit, harbour)) == ("0.00", before)
    done = bizkit("cost", "reverse", first, "--reason", "not ours", "--on", "2028-05-09", "--json").data
    assert (done["given_back"], money(bizkit, harbour)["agreed"]) == ("180.00", 0)


@pytest.mark.parametrize("how", [("--lower-price",), ()])
@pytest.mark.parametrize("less", ["100", "800"])
def test_a_lower_price_of_the_quote_falls_away_with_it_and_the_fee_stays_whole(bizkit, harbour, how, less):
    """The stage came to 900 and was credited in part: what stays of it is the fee, and the paper says so."""
    bill = bizkit("invoice", "issue", harbour, "--on", "2028-05-02", "--json").data
    credit = ("invoice", "credit", bill["number"], "--amount", less, "--reason", "less", *how, "--on", "2028-05-03")
    assert bizkit(*credit).code == 0
    kept = Decimal(bill["net"]) - Decimal(less)
    done = cancel(bizkit, harbour, "2028-06-05", "--post-done", "50")
    fee = Decimal(done["fee"])
    assert Decimal(done["invoiced_before"]) == kept
    assert Decimal(done["left"]) == fee - kept
    papers = settle(bizkit, harbour, "2028-06-05")
    assert_settled(bizkit, harbour, "2028-06-05", fee)
    for note in papers["credit_notes"]:
        assert f"{fee:,}" in note["document"]["notes"][0]
    assert bizkit("job", "actual", harbour, "--json").data["total"]["charged"] == str(fee)
    kinds = {
        row["kind"]: row["income"] for row in bizkit("report", "income", "--on", "2028-06-05", "--json").data["rows"]
    }
    assert (kinds["post"], sum(map(Decimal, kinds.values()))) == ("270.00", fee)
