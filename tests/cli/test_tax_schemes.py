"""The tax of a period by scheme: what counts, what does not, and what it does to the profit.

Flat rate turnover leaves out supplies outside the scope (Notice 733 section 6.3) and box 6 has them beside it,
without tax (Notice 700/12 section 3.7); both as an institute's tax FAQ of February 2023 cites them (read; the notices
were not). Interest and compensation are no supply (case 222/81; a firm's newsletter, read). One percentage point
comes off up to the day before the first anniversary of registration (reg 55JB; HMRC manual FRS7100, read); that a
period is cut there is from memory. Before registration no tax (HMRC manual VATTOS5210, read).
"""

from __future__ import annotations

import pytest

RATES = """
[late]
[[late.reference_rates]]
on = 2026-12-31
rate = 0.5
source = "invented, so that the rate is that of the published example"
"""


@pytest.fixture
def scheme(studio, change):
    """Writes lines under [tax] of the settings."""

    def write(lines):
        change(studio / "studio.toml", "registered = true", f"registered = true\n{lines}")

    return write


@pytest.fixture
def bill(bizkit, job):
    """Issues an invoice of charges on a day, for this job or another."""

    def issue(net, on, of=job):
        bizkit(
            "charge", "add", of, "--what", f"Of {on}", "--amount", net, "--reason", "asked", "--agreed",
            "Una, by mail", "--on", on,
        )  # fmt: skip
        done = bizkit("invoice", "issue", of, "--charges", "--on", on, "--json")
        assert done.code == 0, done.err
        return done.data["number"]

    return issue


@pytest.fixture
def abroad(bizkit, studio, change):
    """A job for a business in another country, as its client file says more."""

    def make(country, more):
        (studio / "clients" / "seal-sound.toml").write_text(
            f'name = "Seal Sound Films"\naddress = ["4 Quay Lane"]\ncountry = "{country}"\n{more}\n', encoding="utf-8"
        )
        text = (studio / "briefs" / "follow-the-kelp.toml").read_text(encoding="utf-8")
        for old, new in (
            ('key = "follow-the-kelp"', 'key = "seal-sound"'),
            ('title = "Follow the Kelp"', 'title = "Seal Sound"'),
            ('client = "skerrow-islands-tourism"', 'client = "seal-sound"'),
        ):
            assert old in text
            text = text.replace(old, new, 1)
        (studio / "briefs" / "seal-sound.toml").write_text(text, encoding="utf-8")
        for act, on in (("draft", "2027-01-26"), ("send", "2027-01-26"), ("accept", "2027-02-08")):
            done = bizkit("quote", act, "seal-sound", "--on", on)
            assert done.code == 0, done.err
        return "seal-sound"

    return make


@pytest.fixture
def tax(bizkit):
    def report(first, last):
        return bizkit("report", "tax", "--from", first, "--to", last, "--on", "2028-12-31", "--json").data

    return report


def interest(bizkit, studio, number, on):
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(RATES)
    done = bizkit("late", "charge", number, "--on", on, "--json")
    assert done.code == 0, done.err
    return done.data["net"]


def test_flat_rate_turnover_leaves_out_what_is_outside_the_scope_and_interest(
    bizkit, studio, scheme, bill, abroad, tax
):
    scheme("flat_rate = 12")
    home = bill("1000", "2027-03-01")
    bill("1000", "2027-03-02", abroad("US", 'business_evidence = "register extract"'))
    charged = interest(bizkit, studio, home, "2027-05-20")
    data = tax("2027-01-01", "2027-06-30")
    # 12 % of 1,200 with tax; box 6: 1,200 and 1,000 outside the scheme.
    assert (data["boxes"]["1"], data["boxes"]["6"]) == ("144.00", "2200")
    assert data["why"].startswith(
        "12 % of the gross turnover of GBP 1200.00; left out: GBP 1000.00 outside the scope"
    )
    assert f"GBP {charged} interest and compensation" in data["why"]
    shown = bizkit("report", "tax", "--from", "2027-01-01", "--to", "2027-06-30", "--on", "2028-12-31").out
    assert (
        "Boxes of the return: 1: 144.00; 2: 0.00; 3: 144.00; 4: 0.00; 5: 144.00; 6: 2200; 7: 0; 8: 0; 9: 0" in shown
    )
    assert "2027-01-01 to 2027-06-30, flat rate: 12 % of the gross turnover" in shown


def test_a_reverse_charge_abroad_is_not_flat_rate_turnover(scheme, bill, abroad, tax):
    scheme("flat_rate = 12")
    # DE136695976: python-stdnum's example of a German VAT number.
    bill("500", "2027-03-01", abroad("DE", 'tax_number = "DE136695976"'))
    data = tax("2027-01-01", "2027-06-30")
    assert [row["category"] for row in data["rows"]] == ["AE"]
    assert (data["boxes"]["1"], data["boxes"]["6"]) == ("0.00", "500")


def test_interest_is_in_no_box_of_the_standard_scheme(bizkit, studio, bill, abroad, tax):
    number = bill("1000", "2027-03-01")
    interest(bizkit, studio, number, "2027-05-20")
    bill("1000", "2027-05-21", abroad("US", 'business_evidence = "register extract"'))
    data = tax("2027-01-01", "2027-06-30")
    assert (data["boxes"]["1"], data["boxes"]["6"]) == ("200.00", "2000")


def test_the_credit_note_of_an_interest_invoice_is_in_no_box_either(bizkit, studio, bill, tax):
    number = bill("1000", "2027-03-01")
    interest(bizkit, studio, number, "2027-05-20")
    bizkit("invoice", "credit", "GL-2027-0002", "--reason", "as a favour", "--on", "2027-05-21")
    assert tax("2027-01-01", "2027-06-30")["boxes"]["6"] == "1000"


def test_what_was_supplied_before_registration_is_in_no_box(scheme, bill, tax):
    scheme("registered_from = 2027-04-01")
    bill("1500", "2027-03-01")
    bill("1000", "2027-05-01")
    data = tax("2027-01-01", "2027-06-30")
    assert (data["boxes"]["1"], data["boxes"]["6"]) == ("200.00", "1000")
    assert "GBP 1500.00 supplied before registration" in data["why"]


@pytest.mark.parametrize(
    ("first", "last", "box"),
    [
        # Registered from 1 April 2026: 12 % up to and including 31 March 2027, 13 % from 1 April 2027.
        ("2027-01-01", "2027-03-31", "144.00"),
        ("2027-02-01", "2027-04-30", "300.00"),
        ("2027-04-01", "2027-06-30", "156.00"),
    ],
)
def test_the_first_year_ends_on_its_day_inside_a_period_too(scheme, bill, tax, first, last, box):
    scheme("flat_rate = 13\nregistered_from = 2026-04-01")
    bill("1000", "2027-03-31")
    bill("1000", "2027-04-01")
    assert tax(first, last)["boxes"]["1"] == box


def test_the_first_year_is_cut_by_payment_where_that_is_the_scheme(bizkit, scheme, bill, tax):
    scheme('accounting = "cash"\nflat_rate = 13\nregistered_from = 2026-04-01')
    number = bill("1000", "2027-03-01")
    bizkit("payment", "add", "600", "--invoice", number, "--on", "2027-03-31")
    bizkit("payment", "add", "600", "--invoice", number, "--on", "2027-04-01")
    # 12 % of 600 and 13 % of 600.
    assert tax("2027-01-01", "2027-06-30")["boxes"]["1"] == "150.00"


@pytest.fixture
def strobe(bizkit, job, scan):
    """A cost of 120.00 with 20.00 of tax inside it."""
    bizkit(
        "cost", "add", job, "--kind", "kit", "--amount", "120", "--what", "Strobe", "--receipt", scan,
        "--on", "2027-05-10",
    )  # fmt: skip
    bizkit("overhead", "tax", 1, "20", "--on", "2027-05-10")


def quarter(bizkit):
    rows = bizkit("report", "quarter", "--basis", "invoice", "--starts", "2027-04-06", "--on", "2028-01-01", "--json")
    return rows.data["rows"][0]


def test_on_the_flat_rate_costs_count_whole_and_income_less_the_schemes_share(bizkit, scheme, bill, strobe, tax):
    scheme("flat_rate = 13")
    bill("1000", "2027-05-01")
    assert tax("2027-04-01", "2027-06-30")["boxes"]["4"] == "0.00"
    # 1,200 with tax less 13 % of it; 120 for the strobe.
    row = quarter(bizkit)
    assert (row["income"], row["costs"]) == ("1044.00", "120.00")


def test_an_unregistered_studio_reclaims_nothing_and_its_costs_count_whole(
    bizkit, job, bill, strobe, tax, studio, change
):
    change(studio / "studio.toml", "registered = true", "registered = false")
    bill("1000", "2027-05-01")
    data = tax("2027-04-01", "2027-06-30")
    assert (data["accounting"], data["boxes"], data["tax_on_sales"]) == ("not registered", {}, "0.00")
    row = quarter(bizkit)
    assert (row["income"], row["costs"]) == ("1000.00", "120.00")
    margin = bizkit("report", "margin", "--on", "2027-07-02", "--json").data
    assert (margin["totals"]["income"], margin["totals"]["costs"]) == ("1000.00", "120.00")


def test_large_capital_goods_are_reclaimed_on_the_flat_rate(bizkit, scheme, job, tax):
    # VAT Notice 733 section 15: capital goods of 2,000 or more, tax included.
    scheme("flat_rate = 13")
    bizkit("overhead", "add", "Housing", "2400", "--tax-rate", "20", "--capital", "--on", "2027-06-02")
    bizkit("overhead", "add", "Cable", "24", "--tax-rate", "20", "--on", "2027-06-02")
    assert tax("2027-04-01", "2027-06-30")["boxes"]["4"] == "400.00"
    assert quarter(bizkit)["costs"] == "2024.00"


def test_by_payment_a_deposit_counts_on_the_day_it_came(bizkit, scheme, job, tax):
    scheme('accounting = "cash"')
    done = bizkit("invoice", "deposit", job, "1200", "--received", "2027-03-30", "--on", "2027-04-03", "--json")
    assert done.code == 0, done.err
    assert tax("2027-01-01", "2027-03-31")["boxes"]["1"] == "200.00"
    assert tax("2027-04-01", "2027-06-30")["boxes"]["1"] == "0.00"


def test_income_by_payment_goes_back_with_the_refund_and_not_with_the_credit_note(bizkit, bill):
    # Cash basis: income is what came in, less what was paid back (common practice).
    number = bill("1000", "2027-04-10")
    bizkit("invoice", "paid", number, "--on", "2027-05-01")
    bizkit("invoice", "credit", number, "--reason", "called off", "--on", "2027-07-10")

    def income():
        call = ("report", "quarter", "--starts", "2027-04-06", "--on", "2028-01-01", "--json")
        return [row["income"] for row in bizkit(*call).data["rows"]]

    assert income() == ["1000.00", "0.00", "0.00", "0.00"]
    bizkit("payment", "refund", number, "--on", "2027-10-10")
    assert income() == ["1000.00", "0.00", "-1000.00", "0.00"]


def test_by_payment_the_tax_credited_goes_back_with_the_refund_in_both_reports(bizkit, scheme, bill, tax):
    """A return by payment follows payments: a credit note of money that came counts when the money goes back."""
    scheme('accounting = "cash"')
    number = bill("1000", "2027-04-10")
    bizkit("invoice", "paid", number, "--on", "2027-05-01")
    bizkit("invoice", "credit", number, "--amount", "300", "--reason", "less", "--on", "2027-07-22")
    third, fourth = ("2027-07-01", "2027-09-30"), ("2027-10-01", "2027-12-31")
    assert (tax(*third)["boxes"]["1"], tax(*third)["boxes"]["6"]) == ("0.00", "0")
    bizkit("payment", "refund", number, "--on", "2027-10-02")
    assert (tax(*third)["boxes"]["1"], tax(*fourth)["boxes"]["1"]) == ("0.00", "-60.00")
    quarters = bizkit("report", "quarter", "--starts", "2027-04-06", "--on", "2028-01-01", "--json").data["rows"]
    assert [row["income"] for row in quarters] == ["1000.00", "-300.00", "0.00", "0.00"]  # 6 July to 5 October


def test_by_payment_what_is_credited_before_it_is_paid_brings_nothing(bizkit, scheme, bill, tax):
    scheme('accounting = "cash"')
    number = bill("1000", "2027-04-10")
    bizkit("payment", "add", "600", "--invoice", number, "--on", "2027-05-01")
    bizkit("invoice", "credit", number, "--amount", "300", "--reason", "less", "--on", "2027-07-22")
    bizkit("invoice", "paid", number, "--on", "2027-08-01")
    assert tax("2027-04-01", "2027-06-30")["boxes"]["1"] == "100.00"
    assert tax("2027-07-01", "2027-09-30")["boxes"]["1"] == "40.00"
