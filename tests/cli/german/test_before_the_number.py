"""What would stand in the way of an invoice is said with the price and the quote, and before a number is drawn.

Sources: rules of XRechnung 3.0 (BR-DE-...); UStG § 14a Abs. 1 Satz 3, § 14 Abs. 2, § 19 Abs. 1; BGB §§ 312g, 355. The
Leitweg-ID is the published sample 04011000-12345-03; its check digits are ISO 7064 MOD 97-10 (python-stdnum).
"""

from __future__ import annotations

import pytest

from .conftest import CLIENT, JOB

SMALL = 'registered = false\nname = "USt."\nlocal_number = "29/815/08157"'


@pytest.mark.parametrize("wrong", ["04011000-12345-04", "04011000 12345 03", "991-00001-99"])
def test_a_wrong_leitweg_id_is_refused_at_once(bizkit, german, client, change, wrong):
    client("office")
    change(german / "clients" / f"{CLIENT}.toml", "04011000-12345-03", wrong)
    for command in (("price", JOB), ("quote", "draft", JOB)):
        done = bizkit(*command, "--on", "2027-05-04")
        assert (done.code, len(done.err.splitlines())) == (2, 1)
        assert "buyer_reference: wanted a Leitweg-ID whose check digits agree" in done.err
        assert wrong in done.err


def test_a_reference_of_another_kind_is_no_leitweg_id(bizkit, german, client, change):
    client("office")
    for reference in ("Projekt 7", "2027-12", "4711-0815"):
        path = german / "clients" / f"{CLIENT}.toml"
        client("office")
        change(path, "04011000-12345-03", reference)
        assert bizkit("price", JOB, "--on", "2027-05-04").code == 0, reference


def test_what_an_xrechnung_lacks_is_said_before_the_number(bizkit, german, client, change, opened):
    client("office")
    change(german / "studio.toml", "phone =", "# phone =")
    priced = bizkit("price", JOB, "--on", "2027-05-04")
    assert "for XRechnung" in priced.out
    assert "studio's phone (BR-DE-6, BR-DE-27)" in priced.out
    opened()
    refused = bizkit("invoice", "issue", JOB, "--on", "2027-05-06")
    assert refused.code == 1
    assert "studio's phone (BR-DE-6, BR-DE-27)" in refused.err
    assert bizkit("invoice", "list", "--json").data == []
    change(german / "studio.toml", "# phone =", "phone =")
    done = bizkit("invoice", "issue", JOB, "--on", "2027-05-06", "--json")
    assert (done.code, done.data["number"][-4:]) == (0, "0001"), done.err
    out = bizkit("invoice", "export", done.data["number"], "--format", "ubl").out
    assert "xrechnung_3.0" in out


def test_with_a_reason_it_is_issued_and_said_that_it_never_becomes_one(bizkit, german, client, change, opened):
    client("office")
    change(german / "studio.toml", "phone =", "# phone =")
    opened()
    done = bizkit("invoice", "issue", JOB, "--reason", "das Amt nimmt Papier", "--on", "2027-05-06")
    assert done.code == 0, done.err
    assert "it is no XRechnung and cannot become one" in done.out
    number = bizkit("invoice", "list", "--json").data[0]["number"]
    assert "credit it" in bizkit("invoice", "export", number, "--format", "ubl").out


def test_the_electronic_form_that_a_client_wants_is_said_when_issued(bizkit, client, opened):
    client("firm", 'einvoice = "cii"\n')
    opened()
    done = bizkit("invoice", "issue", JOB, "--on", "2027-05-06")
    assert "Its client wants it as cii: bizkit send GLF-2027-0001 attaches it." in done.out


def test_a_quote_under_reverse_charge_without_a_vat_number_says_so(bizkit, taxed, client):
    taxed('registered = true\nname = "USt."\nlocal_number = "29/815/08157"')
    client("AT")
    done = bizkit("quote", "draft", JOB, "--on", "2027-05-04")
    assert "names your own VAT number (UStG § 14a Abs. 1 Satz 3)" in done.out


def test_a_quote_without_any_number_or_account_says_so(bizkit, german, taxed, client, change):
    taxed('registered = false\nname = "USt."')
    client("firm")
    change(german / "studio.toml", "iban =", "# iban =")
    done = bizkit("quote", "draft", JOB, "--on", "2027-05-04")
    assert "no invoice goes out without a tax number (UStG § 14 Abs. 4 Nr. 2)" in done.out
    assert "write iban under [bank]" in done.out


def test_a_consumer_at_a_distance_is_to_be_told_of_the_right_to_withdraw(bizkit, client):
    client("person")
    assert "Widerrufsbelehrung" in bizkit("quote", "draft", JOB, "--on", "2027-05-04").out


@pytest.mark.parametrize(("on", "said"), [("2028-01-03", True), ("2027-05-04", False)])
def test_from_2028_a_firm_at_home_is_billed_electronically(bizkit, client, on, said):
    client("firm")
    done = bizkit("price", JOB, "--on", on)
    assert done.code == 0, done.err
    assert ("§ 27 Abs. 38" in done.out) is said


def received(bizkit, amount, on):
    options = ("--what", "Zusatz", "--amount", amount, "--reason", "gewünscht", "--agreed", "Frau Hansen", "--on", on)
    assert bizkit("charge", "add", JOB, *options).code == 0
    done = bizkit("invoice", "issue", JOB, "--charges", "--on", on, "--json")
    if done.code == 0:
        assert bizkit("payment", "add", amount, "--invoice", done.data["number"], "--on", on).code == 0
    return done


def test_a_small_business_is_told_of_its_limits_and_stopped_beyond_them(bizkit, taxed, client, opened):
    taxed(SMALL)
    client("firm")
    opened()
    assert received(bizkit, "20000", "2027-05-06").data["warnings"] == []
    (near,) = received(bizkit, "10000", "2027-05-07").data["warnings"]
    assert "EUR 30000.00 is received in 2027" in near
    assert "from 2028 on you are no small business" in near
    (last,) = received(bizkit, "75000", "2027-05-08").data["warnings"]
    assert "the sale that passes it bears the tax" in last
    refused = received(bizkit, "10", "2027-05-09")
    assert refused.code == 1
    assert "EUR 105000.00 was received in 2027 so far" in refused.err
    assert "registered_from" in refused.err
    draft = bizkit("quote", "draft", JOB, "--on", "2027-05-09")
    assert draft.code == 1  # a job already
    next_year = bizkit("invoice", "issue", JOB, "--charges", "--on", "2028-01-10")
    assert "was received in 2027, more than EUR 25000.00" in next_year.err
