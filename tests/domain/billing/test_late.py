"""Statutory interest and compensation."""

from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.billing.late import compensation, late_interest, rate_for
from bizkit.domain.billing.payment import Owed, Payment
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.money import Money
from bizkit.domain.payment_terms import LateTerms
from bizkit.domain.tables.reference_rates import BANK_OF_ENGLAND, EUROPEAN_CENTRAL_BANK


def owed(amount="1000", due=date(2019, 1, 10), currency="GBP"):
    return Owed("GL-1", date(2018, 12, 10), due, Money(amount, currency))


@pytest.mark.parametrize(
    ("debt", "sum_"), [("999.99", 40), ("1000", 70), ("9999.99", 70), ("10000", 100), ("0.01", 40)]
)
def test_compensation_goes_by_the_size_of_the_debt(debt, sum_):
    # Late Payment of Commercial Debts regulations: 999.99 / 1,000 / 10,000 -> 40 / 70 / 100.
    assert compensation(Money(debt, "GBP"), "GB") == Money(sum_, "GBP")


def test_compensation_in_the_union_is_forty_euro_and_elsewhere_not_known():
    # Directive 2011/7/EU article 6(1).
    assert compensation(Money(50, "EUR"), "DE") == Money(40, "EUR")
    assert compensation(Money(50, "EUR"), "GB") is None
    assert compensation(Money(0, "GBP"), "GB") is None


def test_the_worked_example_of_gov_uk_by_both_roundings():
    # gov.uk example, from memory: 1,000 at 8.5 % is 85 a year, 23p a day, 50 days 11.50; unrounded 11.64.
    # The rate was 8.5 % for interest starting 1 January to 30 June 2018 (reference 0.50 %).
    debt = owed(due=date(2018, 3, 1))
    until = date(2018, 4, 20)  # 50 days after 1 March
    exact = late_interest(debt, [], until, country="GB", terms=LateTerms())
    assert exact.stretches[0].days == 50
    assert exact.stretches[0].rate == Decimal("8.50")
    assert Money(1000, "GBP") * Decimal("0.085") == Money("85.000", "GBP")
    assert exact.rounded_by_day == Money("11.50", "GBP")
    assert exact.rounded_at_end == Money("11.64", "GBP")
    assert exact.charged == exact.rounded_at_end
    assert late_interest(debt, [], until, country="GB", terms=LateTerms(rounding="day")).charged.text == "11.50"
    assert "GBP 1000.00 at 8.5 % a year from 2018-03-02 to 2018-04-20: 50 days" in exact.working.parts[0].text


@pytest.mark.parametrize(
    ("starts", "rate"),
    [
        # Reference rates of a published table (payontime.co.uk): period -> interest rate.
        (date(2024, 1, 1), "13.25"),
        (date(2023, 12, 31), "13.00"),
        (date(2023, 6, 30), "11.50"),
        (date(2022, 7, 1), "9.25"),
        (date(2022, 6, 30), "8.25"),
        (date(2021, 7, 1), "8.10"),
        (date(2020, 1, 1), "8.75"),
        (date(2016, 8, 30), "8.50"),
    ],
)
def test_the_rate_is_that_of_the_half_year_in_which_interest_starts(starts, rate):
    # SI 2002/1675: 8 % over the rate in force on the 30 June or 31 December before.
    assert rate_for("GB", starts, starts, LateTerms())[0] == Decimal(rate)


#: Day of change and rate, Bank of England as published by datahub interest-rates-gb; the last from the news.
CHANGES = """
2001-11-08 4 2003-02-06 3.75 2003-07-10 3.5 2003-11-06 3.75 2004-02-05 4 2004-05-06 4.25 2004-06-10 4.5
2004-08-05 4.75 2005-08-04 4.5 2006-08-03 4.75 2006-11-09 5 2007-01-11 5.25 2007-05-10 5.5 2007-07-05 5.75
2007-12-06 5.5 2008-02-07 5.25 2008-04-10 5 2008-10-08 4.5 2008-11-06 3 2008-12-04 2 2009-01-08 1.5 2009-02-05 1
2009-03-05 0.5 2016-08-04 0.25 2017-11-02 0.5 2018-08-02 0.75 2020-03-11 0.25 2020-03-19 0.1 2021-12-16 0.25
2022-02-03 0.5 2022-03-17 0.75 2022-05-05 1 2022-06-16 1.25 2022-08-04 1.75 2022-09-22 2.25 2022-11-03 3
2022-12-15 3.5 2023-02-02 4 2023-03-23 4.25 2023-05-11 4.5 2023-06-22 5 2023-08-03 5.25 2024-08-01 5
2024-11-07 4.75 2025-02-06 4.5 2025-05-08 4.25 2025-12-18 3.75
""".split()  # noqa: SIM905


def test_the_table_agrees_with_the_banks_list_of_changes():
    changes = [
        (date.fromisoformat(day), Decimal(rate)) for day, rate in zip(CHANGES[::2], CHANGES[1::2], strict=True)
    ]
    for day, rate in BANK_OF_ENGLAND.items():
        assert (day.month, day.day) in ((6, 30), (12, 31))
        assert rate == [changed for since, changed in changes if since <= day][-1], day


def test_in_the_union_the_rate_moves_with_each_half_year():
    # Directive 2011/7/EU article 2(7); 4.25 % on 1 July 2024 read on enterprise.gov.ie: 12.25 %.
    debt = owed(due=date(2024, 6, 20), currency="EUR")
    interest = late_interest(debt, [], date(2024, 7, 10), country="IE", terms=LateTerms())
    assert [(stretch.days, stretch.rate) for stretch in interest.stretches] == [
        (10, Decimal("12.50")),
        (10, Decimal("12.25")),
    ]
    assert all((day.month, day.day) in ((1, 1), (7, 1)) for day in EUROPEAN_CENTRAL_BANK)


def test_a_payment_or_credit_stops_interest_on_its_amount_after_its_day():
    # 1000 for 10 days, 400 for 10 days, 300 for 10 days at 8.75 %: 8.75 % x (10000 + 4000 + 3000) / 365 = 4.0753
    debt = owed(due=date(2019, 1, 10))
    paid = [Payment("GL-1", date(2019, 1, 20), Money(600, "GBP"))]
    interest = late_interest(
        debt,
        paid,
        date(2019, 2, 9),
        country="GB",
        terms=LateTerms(),
        credits=[(date(2019, 1, 30), Money(100, "GBP"))],
    )
    assert [(stretch.principal.text, stretch.days) for stretch in interest.stretches] == [
        ("1000.00", 10),
        ("400.00", 10),
        ("300.00", 10),
    ]
    assert interest.charged.text == "4.08"


def test_no_interest_before_it_is_late_or_once_it_is_paid():
    debt = owed(due=date(2019, 1, 10))
    assert late_interest(debt, [], date(2019, 1, 10), country="GB", terms=LateTerms()).charged.text == "0.00"
    early = [Payment("GL-1", date(2019, 1, 5), Money(1000, "GBP"))]
    assert late_interest(debt, early, date(2019, 6, 10), country="GB", terms=LateTerms()).stretches == ()
    none = late_interest(debt, [], date(2019, 6, 10), country="GB", terms=LateTerms(interest="none"))
    assert none.charged.text == "0.00"


def test_a_rate_that_is_not_known_is_asked_for_and_a_setting_gives_it():
    debt = owed(due=date(2027, 3, 1))
    with pytest.raises(BadInput, match=r"late.reference_rates: wanted the Bank of England rate of 2026-12-31"):
        late_interest(debt, [], date(2027, 4, 20), country="GB", terms=LateTerms())
    tree = {
        "interest": "statutory",
        "reference_rates": [{"on": date(2026, 12, 31), "rate": Decimal("3.5"), "source": "bank's page"}],
    }
    terms = read_input(LateTerms, tree, where="studio.toml", path="late")
    # 11.5 % of 1000 for 50 days: 15.7534
    assert late_interest(debt, [], date(2027, 4, 20), country="GB", terms=terms).charged.text == "15.75"


def test_an_agreed_rate_needs_no_table_and_no_country():
    terms = LateTerms("contract", Decimal(10))
    assert late_interest(owed(), [], date(2019, 1, 20), country="US", terms=terms).charged.text == "2.74"
    with pytest.raises(BadInput, match=r"late.rate: wanted a number"):
        read_input(LateTerms, {"interest": "contract"}, where="studio.toml", path="late")
    with pytest.raises(RuleBroken, match="no statutory interest of US is known"):
        late_interest(owed(), [], date(2019, 1, 20), country="US", terms=LateTerms())


def test_germany_asks_nine_points_over_its_base_rate_and_an_older_quote_what_it_says():
    # BGB section 288(2): 7,767.64 for 42 days at 9 + 1.27 % (base rate of 1 January 2026) = 91.79.
    debt = owed("7767.64", date(2026, 2, 17), "EUR")
    german = late_interest(debt, [], date(2026, 3, 31), country="DE", terms=LateTerms())
    assert german.charged.text == "91.79"
    assert [stretch.basis.kind for stretch in german.stretches] == ["german_base_rate"]
    older = late_interest(debt, [], date(2026, 3, 31), country="DE", terms=LateTerms(law="european_central_bank"))
    assert older.charged.text == "90.72"
    irish = late_interest(debt, [], date(2026, 3, 31), country="IE", terms=LateTerms())
    assert irish.charged.text == "90.72"
