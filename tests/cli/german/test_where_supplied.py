"""Where a German studio's services are taxed, whether it charges tax at home or not, and whose law a refusal names.

Sources: UStG § 3a Abs. 1 and 2 (place of supply), § 14a Abs. 1 (what the invoice says and whose numbers it shows),
§ 19 Abs. 1 (small business), each from memory of the published statute; EN 16931 BR-AE-02, BR-O-02.
"""

from __future__ import annotations

import pytest

from .conftest import CLIENT, JOB, text_of

SMALL = 'registered = false\nname = "USt."\nnumber = "DE136695976"\nlocal_number = "29/815/08157"'


def test_a_small_business_bills_a_firm_in_austria_under_reverse_charge(taxed, client, opened, issue):
    taxed(SMALL)
    client("AT")
    opened()
    bill = issue(on="2027-05-05")
    (tax,) = bill["document"]["taxes"]
    assert (tax["category"], tax["note"]) == ("AE", "Steuerschuldnerschaft des Leistungsempfängers")
    text = text_of(bill["file"])
    assert "DE136695976" in text
    assert "ATU13585627" in text
    assert "§ 19" not in text


def test_a_small_business_bills_a_firm_in_switzerland_as_not_taxable_at_home(taxed, client, opened, issue):
    taxed(SMALL)
    client("CH")
    opened()
    bill = issue(on="2027-05-05")
    assert [tax["category"] for tax in bill["document"]["taxes"]] == ["O"]
    assert "Nicht im Inland steuerbar, § 3a Abs. 2 UStG" in text_of(bill["file"])


@pytest.mark.parametrize("which", ["firm", "person"])
def test_at_home_it_stays_exempt(taxed, client, opened, issue, which):
    taxed(SMALL)
    client(which)
    opened()
    bill = issue(on="2027-05-05")
    assert [tax["category"] for tax in bill["document"]["taxes"]] == ["E"]


def test_a_firm_in_the_union_without_a_number_is_told_of_the_reverse_charge(client, opened, issue):
    client("AT without number")
    opened()
    text = text_of(issue(on="2027-05-05")["file"])
    assert "Steuerschuldnerschaft des Leistungsempfängers. Nicht im Inland steuerbar, § 3a Abs. 2 UStG" in text


def test_without_its_own_vat_number_no_reverse_charge_is_issued(bizkit, taxed, client, opened):
    taxed('registered = true\nname = "USt."\nlocal_number = "29/815/08157"')
    client("AT")
    opened()
    done = bizkit("invoice", "issue", JOB, "--on", "2027-05-05")
    assert done.code == 1
    assert "the supplier's own VAT number; UStG § 14a Abs. 1 Satz 3; BT-31" in done.err
    assert "write number under [tax] in studio.toml" in done.err
    assert bizkit("invoice", "list", "--json").data == []


def test_refusals_name_german_law_and_the_file(bizkit, german, taxed, client, opened):
    (german / "clients" / f"{CLIENT}.toml").write_text('name = "Zürisee Tourismus"\ncountry = "CH"\n', "utf-8")
    abroad = bizkit("price", JOB, "--on", "2027-05-04")
    assert "(UStG § 3a Abs. 2, UStAE 3a.2)" in abroad.err
    assert f"clients/{CLIENT}.toml" in abroad.err
    (german / "clients" / f"{CLIENT}.toml").write_text('name = "Bodden-Werft"\ncountry = "DE"\n', "utf-8")
    opened()
    done = bizkit("invoice", "issue", JOB, "--on", "2027-05-05")
    assert "UStG § 14 Abs. 4 Nr. 1; BG-8" in done.err
    assert f"clients/{CLIENT}.toml, then bizkit job client {JOB}" in done.err
    for said in (abroad.err, done.err):
        assert "reg 1" not in said
        assert "Notice" not in said


def test_another_country_of_the_union_names_the_directive(bizkit, german, change, opened):
    change(german / "studio.toml", 'country = "DE"', 'country = "AT"')
    change(german / "studio.toml", 'subdivision = "MV"', "")
    change(german / "studio.toml", 'number = "DE136695976"', 'number = "ATU13585627"')
    change(german / "studio.toml", "local_number", "# local_number")
    (german / "clients" / f"{CLIENT}.toml").write_text('name = "Zürisee Tourismus"\ncountry = "CH"\n', "utf-8")
    done = bizkit("price", JOB, "--on", "2027-05-04")
    assert "(Directive 2006/112/EC art. 44, Regulation 282/2011 art. 18)" in done.err
