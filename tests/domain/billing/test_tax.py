"""Which tax, and how much of it."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.billing.home_tax import tax_at_home, tax_currency
from bizkit.domain.billing.tax import Taxed, standard_rate, tax_lines, tax_total, tax_within, treatment
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.parties import Client, Studio
from bizkit.domain.registrations import TaxStatus
from bizkit.domain.tables.tax_rates import STANDARD_RATES, rate_on
from bizkit.domain.tables.vat_area import EU

DAY = date(2027, 5, 10)


@pytest.mark.parametrize(
    ("base", "rate", "tax"),
    [("6491.34", "25", "1622.84"), ("-6491.34", "25", "-1622.84"), ("2141.05", "14", "299.75")],
)
def test_tax_is_rounded_half_away_from_zero(base, rate, tax):
    # CEN EN 16931 validation artefacts, unit tests of BR-CO-17.
    (line,) = tax_lines([Taxed("S", Decimal(rate), Money(base, "EUR"))], "EUR")
    assert line.amount == Money(tax, "EUR")


def test_twenty_percent_of_100_is_20_and_a_sixth_of_120_is_20():
    # Archived HMRC page "Calculating VAT"; the sixth from a secondary source.
    (line,) = tax_lines([Taxed("S", Decimal(20), Money(100, "GBP"))], "GBP")
    assert line.amount == Money("20.00", "GBP")
    assert tax_within(Money("120", "GBP"), Decimal(20)) == Money("20.00", "GBP")


def test_mixed_rates_with_an_allowance_are_taxed_per_rate():
    # Passes the CEN rules; check-values row, computed: net 1646.24, tax 309.25.
    taxed = [
        Taxed("S", Decimal(20), Money("1125.00", "GBP")),
        Taxed("S", Decimal(20), Money("471.25", "GBP")),
        Taxed("Z", Decimal(0), Money("99.99", "GBP")),
        Taxed("S", Decimal("20.0"), Money("-50", "GBP")),
    ]
    lines = tax_lines(taxed, "GBP")
    assert [(line.category, line.base.text, line.amount.text) for line in lines] == [
        ("S", "1546.25", "309.25"),
        ("Z", "99.99", "0.00"),
    ]
    assert tax_total(lines, "GBP").text == "309.25"


def test_peppol_allowance_example_tax_is_1225():
    # OpenPEPPOL, BIS Billing 3 example "Allowance-example": net 5900, of which 4900 at 25 % and 1000 exempt.
    taxed = [Taxed("S", Decimal(25), Money(4900, "EUR")), Taxed("E", Decimal(0), Money(1000, "EUR"), "Exempt")]
    assert tax_total(tax_lines(taxed, "EUR"), "EUR").text == "1225.00"


@pytest.mark.parametrize(
    ("day", "rate"),
    [
        # Hansard written answer of 9 December 1991; VAT (Change of Rate) Order 2008; Finance (No. 2) Act 2010 s. 3.
        (date(1973, 4, 1), "10"),
        (date(1974, 7, 29), "8"),
        (date(1979, 6, 18), "15"),
        (date(1991, 3, 31), "15"),
        (date(1991, 4, 1), "17.5"),
        (date(2008, 11, 30), "17.5"),
        (date(2008, 12, 1), "15"),
        (date(2010, 1, 1), "17.5"),
        (date(2011, 1, 3), "17.5"),
        (date(2011, 1, 4), "20"),
        (date(2027, 5, 10), "20"),
    ],
)
def test_united_kingdom_rates_by_the_day(day, rate):
    assert rate_on(STANDARD_RATES["GB"], day) == Decimal(rate)


@pytest.mark.parametrize(
    ("country", "day", "rate"),
    [
        # European Commission, Taxes in Europe database, as republished by two data sets (see the table).
        ("DE", date(2020, 6, 30), "19"),
        ("DE", date(2020, 7, 1), "16"),
        ("DE", date(2021, 1, 1), "19"),
        ("FI", date(2024, 9, 1), "25.5"),
        ("EE", date(2025, 7, 1), "24"),
        ("RO", date(2025, 8, 1), "21"),
        ("SK", date(2025, 1, 1), "23"),
        ("IE", date(2020, 9, 1), "21"),
        ("LU", date(2023, 6, 1), "16"),
        ("HU", date(2027, 1, 1), "27"),
    ],
)
def test_european_rates_by_the_day(country, day, rate):
    assert rate_on(STANDARD_RATES[country], day) == Decimal(rate)


def test_every_member_state_has_a_rate_and_the_steps_are_in_order():
    assert set(STANDARD_RATES) >= EU | {"GB"}
    for steps in STANDARD_RATES.values():
        assert list(steps) == sorted(steps)
        assert all(0 < rate < 30 for _, rate in steps)


def test_a_day_before_the_table_begins_is_refused_and_a_setting_helps(studio):
    with pytest.raises(BadInput, match=r"studio.toml: tax.standard_rate: wanted a standard VAT rate of GB on 1970"):
        standard_rate(studio, date(1970, 1, 1))
    own = replace(studio, tax=replace(studio.tax, standard_rate=Decimal("12.5")))
    assert standard_rate(own, date(1970, 1, 1)) == Decimal("12.5")


def test_a_domestic_client_pays_the_standard_rate(studio, client):
    how = treatment(studio, client, DAY)
    assert (how.category, how.rate, how.note) == ("S", Decimal(20), "")
    man = replace(client, country="IM")  # Isle of Man Act 1979 s. 6: one VAT area
    assert treatment(studio, man, DAY).category == "S"


def test_a_business_in_the_eu_with_a_number_accounts_for_the_tax_itself(studio, client):
    # VAT Notice 741A: supplied where the customer belongs; Directive 2006/112/EC art. 196 and 226(11a).
    irish = replace(client, country="IE", tax_number="IE6433435F")
    how = treatment(studio, irish, DAY)
    assert (how.category, how.rate) == ("AE", Decimal(0))
    assert "Reverse charge" in how.note


def test_a_business_outside_is_outside_the_scope_with_evidence_kept(studio, client):
    # VAT Notice 741A: no UK VAT; keep evidence of business status.
    american = replace(client, country="US", business_evidence="Certificate of incorporation on file")
    how = treatment(studio, american, DAY)
    assert (how.category, how.rate) == ("O", Decimal(0))
    assert "Outside the scope of UK VAT" in how.note


@pytest.mark.parametrize("country", ["US", "IE"])
def test_a_business_abroad_without_evidence_is_refused(studio, client, country):
    with pytest.raises(RuleBroken, match=f"abroad \\({country}\\) and nothing shows that it is a business"):
        treatment(studio, replace(client, country=country), DAY)


def test_a_consumer_abroad_pays_the_studios_tax(studio, client):
    # VAT Act 1994 s. 7A(2)(b).
    how = treatment(studio, replace(client, country="FR", business=False), DAY)
    assert (how.category, how.rate) == ("S", Decimal(20))


def test_an_unregistered_studio_charges_none_and_says_so(unregistered, client):
    how = treatment(unregistered, client, DAY)
    assert (how.category, how.rate) == ("O", Decimal(0))
    assert how.note == "No VAT charged: the supplier is not registered for VAT"


def test_registration_counts_from_its_day(studio, client):
    later = replace(studio, tax=replace(studio.tax, registered_from=date(2027, 6, 1)))
    assert treatment(later, client, date(2027, 5, 31)).category == "O"
    assert treatment(later, client, date(2027, 6, 1)).category == "S"


def test_an_american_studio_charges_no_value_added_tax(client):
    american = Studio(name="A", country="US", currency="USD", tax=TaxStatus(name="sales tax"))
    assert treatment(american, replace(client, country="US"), DAY).category == "O"


def test_inside_the_union_the_studio_in_germany_charges_19_at_home_and_none_next_door(client):
    german = Studio(name="A", country="DE", currency="EUR", tax=TaxStatus(registered=True, number="DE136695976"))
    assert treatment(german, Client("a", "A", "DE"), DAY).rate == Decimal(19)
    assert treatment(german, Client("a", "A", "AT", tax_number="ATU13585627"), DAY).category == "AE"
    assert treatment(german, Client("a", "A", "NO", business_evidence="register"), DAY).category == "O"


def test_lines_of_other_kinds_exist_only_in_a_domestic_supply(studio, client):
    how = treatment(studio, client, DAY)
    assert how.of_kind("reduced", studio, DAY).rate == Decimal(5)
    assert how.of_kind("zero", studio, DAY).category == "Z"
    assert how.of_kind("exempt", studio, DAY, "Training, exempt").note == "Training, exempt"
    with pytest.raises(RuleBroken, match="must say why it is exempt"):
        how.of_kind("exempt", studio, DAY)
    with pytest.raises(BadInput, match="wanted one of standard, reduced, zero, exempt, got none"):
        how.of_kind("none", studio, DAY)
    abroad = treatment(studio, replace(client, country="IE", tax_number="IE6433435F"), DAY)
    assert abroad.of_kind("reduced", studio, DAY) == abroad


def test_what_en_16931_forbids_is_refused():
    gbp = Money(10, "GBP")
    with pytest.raises(RuleBroken, match="BR-O-11"):
        tax_lines([Taxed("O", Decimal(0), gbp, "x"), Taxed("S", Decimal(20), gbp)], "GBP")
    with pytest.raises(RuleBroken, match="BR-AE-10"):
        tax_lines([Taxed("AE", Decimal(0), gbp)], "GBP")
    with pytest.raises(RuleBroken, match="only S has a rate"):
        tax_lines([Taxed("Z", Decimal(20), gbp)], "GBP")
    with pytest.raises(BadInput, match="wanted a tax category"):
        tax_lines([Taxed("X", Decimal(20), gbp)], "GBP")
    with pytest.raises(RuleBroken, match="do not mix"):
        tax_lines([Taxed("S", Decimal(20), Money(10, "EUR"))], "GBP")


def test_tax_in_foreign_money_is_converted_once_at_a_rate_with_a_source(studio):
    # SI 1995/2518 reg 14(1): total VAT in sterling. 1234.57 EUR at 20 % is 246.91; x 0.8437 is 208.317967.
    (line,) = tax_lines([Taxed("S", Decimal(20), Money("1234.57", "EUR"))], "EUR")
    at_home = tax_at_home(line.amount, "0.8437", tax_currency(studio), source="tax office, May 2027", on=DAY)
    assert at_home.amount == Money("208.32", "GBP")
    assert at_home.data()["rate"] == "0.8437"
    with pytest.raises(BadInput, match="above zero, got 0"):
        tax_at_home(line.amount, 0, "GBP", source="x", on=DAY)
    with pytest.raises(BadInput, match="whose exchange rate"):
        tax_at_home(line.amount, 1, "GBP", source=" ", on=DAY)
