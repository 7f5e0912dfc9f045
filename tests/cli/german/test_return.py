"""The tax of a period in a German studio: when it arises, the Kennzahlen, the statement of services to the Union.

Sources: UStG § 13 Abs. 1 Nr. 1 Buchst. a Satz 1, 4 (work is taxed when done, money that comes before when it comes),
§ 18b, § 18a Abs. 7 Nr. 3. Amounts by plain arithmetic: an advance of 100 without tax is 119 with it, and so on.
"""

from __future__ import annotations

import pytest

from .conftest import JOB

SMALL = 'registered = false\nname = "USt."\nlocal_number = "29/815/08157"'


@pytest.fixture
def extra(bizkit):
    """Bill a charge of its own."""

    def go(amount, on):
        options = ("--what", "Zusatz", "--amount", amount, "--reason", "gewünscht", "--agreed", "Frau Hansen")
        assert bizkit("charge", "add", JOB, *options, "--on", on).code == 0
        done = bizkit("invoice", "issue", JOB, "--charges", "--on", on, "--json")
        assert done.code == 0, done.err
        return done.data["number"]

    return go


def test_an_advance_is_taxed_when_it_is_paid_and_the_rest_when_the_work_is_done(
    bizkit, client, opened, extra, delivered, tax
):
    client("firm")
    opened()
    number = extra("1000", "2027-05-06")
    assert tax("2027-05-01", "2027-05-31")["tax_on_sales"] == "0.00"
    # 595.00 holds 95.00 of tax; the other half arises with the work, in July.
    assert bizkit("payment", "add", "595", "--invoice", number, "--on", "2027-06-10").code == 0
    june = tax("2027-06-01", "2027-06-30")
    assert (june["accounting"], june["tax_on_sales"]) == ("performance", "95.00")
    assert june["boxes"] == {"81": "500", "66": "0.00", "83": "95.00"}
    delivered("2027-07-15")
    july = tax("2027-07-01", "2027-07-31")
    assert july["boxes"] == {"81": "500", "66": "0.00", "83": "95.00"}
    assert bizkit("payment", "add", "595", "--invoice", number, "--on", "2027-08-10").code == 0
    assert tax("2027-08-01", "2027-08-31")["boxes"]["81"] == "0"
    assert tax("2027-01-01", "2027-12-31")["tax_on_sales"] == "190.00"


def test_a_credit_note_lowers_an_advance_before_the_work(bizkit, client, opened, extra, delivered, tax):
    client("firm")
    opened()
    number = extra("1000", "2027-05-06")
    less = ("--amount", "400", "--reason", "weniger", "--lower-price", "--on", "2027-05-20")
    assert bizkit("invoice", "credit", number, *less).code == 0
    assert tax("2027-05-01", "2027-05-31")["tax_on_sales"] == "0.00"
    delivered("2027-07-15")
    assert tax("2027-07-01", "2027-07-31")["tax_on_sales"] == "114.00"


@pytest.mark.parametrize(("paid", "given_back"), [("1190", ("1190",)), ("595", ("595",)), ("1190", ("690", "500"))])
def test_the_tax_on_a_paid_advance_leaves_with_the_money_and_not_when_the_job_is_cancelled(
    bizkit, client, opened, extra, tax, paid, given_back
):
    # BFH 2.9.2010, V R 34/09: an advance for work that is not done lowers the tax when it is paid back.
    client("firm")
    opened()
    number = extra("1000", "2027-05-06")
    assert bizkit("payment", "add", paid, "--invoice", number, "--on", "2027-05-10").code == 0
    inside = {"1190": "190.00", "595": "95.00", "690": "110.17", "500": "79.83"}
    assert tax("2027-05-01", "2027-05-31")["tax_on_sales"] == inside[paid]
    assert bizkit("quote", "cancel", JOB, "--by", "Frau Hansen", "--on", "2027-06-01").code == 0
    assert bizkit("invoice", "credit", number, "--reason", "abgesagt", "--on", "2027-06-02").code == 0
    june = tax("2027-06-01", "2027-06-30")
    assert (june["tax_on_sales"], june["boxes"]["81"]) == ("0.00", "0")
    for month, sum_ in zip((8, 9), given_back, strict=False):
        assert bizkit("payment", "refund", number, sum_, "--on", f"2027-{month:02}-10").code == 0
        # Of 690.00 are 110.17 tax (19/119), of 500.00 are 79.83.
        assert tax(f"2027-{month:02}-01", f"2027-{month:02}-28")["tax_on_sales"] == f"-{inside[sum_]}"
    assert tax("2027-01-01", "2027-12-31")["tax_on_sales"] == "0.00"


def test_services_to_the_union_and_beyond_have_kennzahlen_of_their_own(bizkit, client, opened, delivered, issue, tax):
    client("AT")
    opened()
    net = issue(on="2027-05-06")["net"]
    assert tax("2027-05-01", "2027-05-31")["union_services"] == []
    delivered("2027-07-15")
    july = tax("2027-07-01", "2027-07-31")
    euros = net.partition(".")[0]
    assert july["boxes"] == {"81": "0", "21": euros, "66": "0.00", "83": "0.00"}
    (line,) = july["union_services"]
    assert (line["client"], line["tax_number"], line["base"]) == ("Seefilm am Boddenrand", "ATU13585627", net)
    shown = bizkit("report", "tax", "--from", "2027-07-01", "--to", "2027-07-31", "--on", "2027-12-31").out
    assert f"Kennzahlen of the Umsatzsteuer-Voranmeldung: 81: 0; 21: {euros}; 66: 0.00; 83: 0.00" in shown
    assert "Seefilm am Boddenrand, ATU13585627" in shown
    assert "Boxes of the return" not in shown


def test_services_beyond_the_union_are_kennzahl_45(client, opened, delivered, issue, tax):
    client("CH")
    opened()
    net = issue(on="2027-05-06")["net"]
    delivered("2027-07-15")
    july = tax("2027-07-01", "2027-07-31")
    assert july["boxes"]["45"] == net.partition(".")[0]
    assert july["union_services"] == []


def test_the_page_of_the_report_has_the_kennzahlen_and_no_british_boxes(bizkit, client, opened, extra, tmp_path):
    from .conftest import text_of

    client("firm")
    opened()
    number = extra("1000", "2027-05-06")
    bizkit("payment", "add", "1190", "--invoice", number, "--on", "2027-05-10")
    out = tmp_path / "tax.pdf"
    bizkit("report", "tax", "--from", "2027-05-01", "--to", "2027-05-31", "--pdf", out, "--on", "2027-12-31")
    text = text_of(out)
    assert "Kennzahlen der Umsatzsteuer-Voranmeldung: 81: 1.000; 66: 0,00; 83: 190,00" in text
    assert "britisch" not in text


def test_a_small_business_has_no_return(taxed, client, opened, extra, tax):
    taxed(SMALL)
    client("firm")
    opened()
    extra("1000", "2027-05-06")
    data = tax("2027-05-01", "2027-05-31")
    assert (data["boxes"], data["union_services"], data["tax_on_sales"]) == ({}, [], "0.00")


def test_a_country_whose_return_is_not_known_has_no_boxes(bizkit, german, change, taxed, opened, tax):
    change(german / "studio.toml", 'country = "DE"', 'country = "FR"')
    change(german / "studio.toml", 'subdivision = "MV"', "")
    taxed('registered = true\nname = "TVA"\nnumber = "FR40303265045"')
    data = tax("2027-05-01", "2027-05-31")
    assert (data["boxes"], data["accounting"]) == ({}, "invoice")
