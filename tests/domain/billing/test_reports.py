"""Small cases of every report, worked out by hand."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from bizkit.domain.billing.debtors import AGES, aged_debtors
from bizkit.domain.billing.flat_rate import flat_rate_due, limited_costs
from bizkit.domain.billing.forecast import Expected, expected_from_invoices, forecast, typical_days
from bizkit.domain.billing.income import margins, quarterly_totals, tax_year_quarters
from bizkit.domain.billing.job_money import job_money
from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Cost, Issued, Period
from bizkit.domain.billing.tax import TaxLine
from bizkit.domain.billing.tax_period import tax_period
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money

QUARTERS = [
    Period(date(2027, 1, 1), date(2027, 3, 31)),
    Period(date(2027, 4, 1), date(2027, 6, 30)),
    Period(date(2027, 7, 1), date(2027, 9, 30)),
    Period(date(2027, 10, 1), date(2028, 3, 31)),
]


def gbp(text):
    return Money(text, "GBP")


def paper(number="GL-1", kind="invoice", issued=date(2027, 5, 10), net="100", tax="20", **more):
    net, tax = Money(net, more.get("currency", "GBP")), Money(tax, more.get("currency", "GBP"))
    details = {
        "number": number,
        "kind": kind,
        "issued_on": issued,
        "tax_point": issued,
        "due_on": issued + timedelta(days=30),
        "client": "skerrow",
        "job": "kelp",
        "currency": net.currency,
        "net": net,
        "tax": tax,
        "gross": net + tax,
        "due": net + tax,
        "taxes": (TaxLine("S", "VAT", Decimal(20), net, tax),),
    }
    return Issued(**{**details, **more})


def test_a_record_is_read_from_a_document(issue):
    record = Issued.from_document(issue((1, "100"), job="kelp", income={"crew": gbp("100")}))
    assert (record.number, record.client, record.gross.text, record.sign) == ("GL-2027-0001", "skerrow", "120.00", 1)
    assert record.income == (("crew", gbp("100.00")),)
    assert record.taxes[0].amount == gbp("20.00")


def test_boxes_of_the_return_with_costs():
    costs = [Cost(date(2027, 5, 11), "Boat hire", "travel", gbp("50.60"), gbp("10.12"))]
    summary = tax_period([paper()], [], costs, QUARTERS[1], home="GBP")
    assert summary.boxes == {
        "1": "20.00", "2": "0.00", "3": "20.00", "4": "10.12", "5": "9.88", "6": "100", "7": "50", "8": "0", "9": "0",
    }  # fmt: skip


def test_a_foreign_paper_counts_at_its_own_rate_and_without_one_is_refused():
    euro = paper(currency="EUR", home_rate=Decimal("0.85"))
    assert tax_period([euro], [], [], QUARTERS[1], home="GBP").due.text == "17.00"
    bare = paper(currency="EUR")
    with pytest.raises(RuleBroken, match="GL-1 is in EUR and no rate to GBP was recorded"):
        tax_period([bare], [], [], QUARTERS[1], home="GBP")
    given = tax_period([bare], [], [], QUARTERS[1], home="GBP", rates={"GL-1": Decimal("0.8")})
    assert given.sales.text == "80.00"


def test_half_paid_brings_half_the_tax_and_the_rest_later():
    payments = [Payment("GL-1", date(2027, 6, 1), gbp("60")), Payment("GL-1", date(2027, 7, 2), gbp("60"))]
    papers = [paper()]
    second = tax_period(papers, payments, [], QUARTERS[1], home="GBP", accounting="cash")
    third = tax_period(papers, payments, [], QUARTERS[2], home="GBP", accounting="cash")
    assert (second.due.text, second.sales.text, third.due.text) == ("10.00", "50.00", "10.00")


def test_a_refund_after_a_credit_note_takes_the_tax_back():
    papers = [paper(), paper("CN-1", "credit_note", date(2027, 7, 10), corrects="GL-1")]
    payments = [Payment("GL-1", date(2027, 6, 1), gbp("120")), Payment("GL-1", date(2027, 7, 11), gbp("-120"))]
    assert tax_period(papers, payments, [], QUARTERS[1], home="GBP", accounting="cash").due.text == "20.00"
    assert tax_period(papers, payments, [], QUARTERS[2], home="GBP", accounting="cash").due.text == "-20.00"


def test_the_flat_rate_is_a_share_of_gross_turnover():
    # VAT Notice 733: film production 13 %; a rate of 13 % on 12,000 tax included is 1,560.
    due = flat_rate_due([gbp("12000")], gbp("2000"), Decimal(13))
    assert (due.due.text, due.kept.text) == ("1560.00", "440.00")
    assert flat_rate_due([gbp("12000")], gbp("2000"), Decimal(13), first_year=True).due.text == "1440.00"
    camera = Cost(date(2027, 5, 11), "Housing", "kit", gbp("2000"), gbp("400"), capital=True)
    small = Cost(date(2027, 5, 11), "Cable", "kit", gbp("20"), gbp("4"))
    summary = tax_period([paper()], [], [camera, small], QUARTERS[1], home="GBP", flat_rate=Decimal(13))
    assert (summary.boxes["1"], summary.boxes["4"], summary.boxes["6"]) == ("15.60", "400.00", "120")


def test_limited_costs_by_share_and_by_sum():
    # VAT Notice 733 section 4.4: below 2 % of turnover, or below 1,000 a year.
    assert limited_costs(gbp("299.99"), gbp("15000"), 3)
    assert not limited_costs(gbp("300"), gbp("15000"), 3)
    assert limited_costs(gbp("249.99"), gbp("5000"), 3)
    assert not limited_costs(gbp("250"), gbp("5000"), 3)


def test_ages_stand_in_their_columns():
    papers = [
        paper(f"GL-{n}", issued=date(2027, 12, 31) - timedelta(days=30 + late))
        for n, late in enumerate([0, 1, 30, 31, 90, 91])
    ]
    (debtor,) = aged_debtors(papers, [], date(2027, 12, 31))
    assert dict(zip([name for name, _ in AGES], [a.text for a in debtor.ages], strict=True)) == {
        "not due": "120.00",
        "1-30": "240.00",
        "31-60": "120.00",
        "61-90": "120.00",
        "over 90": "120.00",
    }


def test_the_forecast_uses_the_days_a_client_typically_takes():
    papers = [paper(f"GL-{n}", issued=date(2027, 1, 4)) for n in range(3)]
    payments = [
        Payment(f"GL-{n}", date(2027, 1, 4) + timedelta(days=days), gbp("120")) for n, days in enumerate([40, 45, 90])
    ]
    assert typical_days(papers, payments) == {"skerrow": 45}
    open_one = paper("GL-9", issued=date(2027, 5, 10))
    (expected,) = expected_from_invoices([*papers, open_one], payments, date(2027, 5, 12), {"skerrow": 45})
    assert (expected.on, expected.amount.text) == (date(2027, 6, 24), "120.00")
    (due,) = expected_from_invoices([open_one], [], date(2027, 5, 12), {})
    assert due.on == date(2027, 6, 9)
    (late,) = expected_from_invoices([open_one], [], date(2027, 7, 1), {})
    assert (late.on, late.why) == (date(2027, 7, 8), "GL-9 is 22 days late")


def test_the_forecast_runs_week_by_week_from_monday():
    today = date(2027, 5, 12)  # a Wednesday
    expected = [
        Expected(date(2027, 5, 14), gbp("100"), "in"),
        Expected(date(2027, 5, 17), gbp("-30"), "boat"),
        Expected(date(2027, 5, 11), gbp("999"), "past"),
        Expected(date(2027, 6, 30), gbp("999"), "beyond"),
    ]
    weeks = forecast(expected, gbp("10"), today, 2)
    assert [(week.first, week.balance.text) for week in weeks] == [
        (date(2027, 5, 10), "110.00"),
        (date(2027, 5, 17), "80.00"),
    ]
    with pytest.raises(BadInput, match="wanted 1 to 520 weeks, got 0"):
        forecast([], gbp("0"), today, 0)


def test_margins_by_job_and_by_client():
    papers = [paper(), paper("CN-1", "credit_note", net="20", tax="4", corrects="GL-1"), paper("GL-2", job="gulls")]
    costs = [Cost(date(2027, 5, 1), "Boat", "travel", gbp("30"), gbp("6"), job="kelp")]
    rows = margins(papers, costs, "GBP", by=lambda p: p.job, cost_by=lambda c: c.job)
    assert [(row.name, row.margin.text, str(row.percent)) for row in rows] == [
        ("gulls", "100.00", "100.0"),
        ("kelp", "50.00", "62.5"),
    ]


def test_quarters_of_the_tax_year_add_up_to_date():
    # United Kingdom tax year from 6 April.
    start = date(2027, 4, 6)
    income = [
        (date(2027, 4, 6), gbp("1")),
        (date(2027, 7, 5), gbp("2")),
        (date(2027, 7, 6), gbp("4")),
        (date(2028, 4, 5), gbp("8")),
    ]
    rows = quarterly_totals(income, [(date(2027, 10, 6), gbp("5"))], start, "GBP")
    assert [row.income_to_date.text for row in rows] == ["3.00", "7.00", "7.00", "15.00"]
    assert [row.costs_to_date.text for row in rows] == ["0.00", "0.00", "5.00", "5.00"]
    with pytest.raises(BadInput, match="day 1 to 28"):
        tax_year_quarters(date(2027, 1, 31))


def test_the_money_of_a_job_adds_up():
    papers = [paper(net="1000", tax="200"), paper("CN-1", "credit_note", net="100", tax="20", corrects="GL-1")]
    money = job_money(gbp("2000"), [gbp("150")], papers, [Payment("GL-1", date(2027, 6, 1), gbp("500"))])
    assert money.data() == {
        "currency": "GBP",
        "quoted": "2000.00",
        "changes": "150.00",
        "agreed": "2150.00",
        "late": "0.00",
        "invoiced": "1000.00",
        "credited": "100.00",
        "left_to_invoice": "1250.00",
        "invoiced_gross": "1080.00",
        "paid": "500.00",
        "left_to_pay": "580.00",
    }


def test_a_period_that_ends_before_it_begins_is_refused():
    with pytest.raises(BadInput, match="period: wanted an end on or after"):
        Period(date(2027, 1, 2), date(2027, 1, 1))
