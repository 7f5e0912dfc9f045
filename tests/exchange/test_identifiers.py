"""Numbers with check digits."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from stdnum import iso11649

from bizkit.domain.errors import BadInput, Problems
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.parties import Client, Studio
from bizkit.exchange.identifiers import (
    check_bic,
    check_creditor_reference,
    check_iban,
    check_local_tax_number,
    check_tax_number,
    creditor_reference,
    report_client,
    report_studio,
)


def test_the_published_sample_iban_is_valid_and_one_digit_off_is_not():
    # ISO 13616 sample; python-stdnum and schwifty agree.
    assert check_iban("GB29 NWBK 6016 1331 9268 19") == "GB29NWBK60161331926819"
    with pytest.raises(BadInput, match="wanted an IBAN whose check digits agree, got GB29NWBK60161331926818"):
        check_iban("GB29NWBK60161331926818")


def test_the_published_creditor_reference_is_valid():
    # ISO 11649 sample.
    assert check_creditor_reference("RF18539007547034") == "RF18539007547034"
    with pytest.raises(BadInput, match="wanted a creditor reference"):
        check_creditor_reference("RF19539007547034")


def test_the_sample_vat_number_is_valid():
    # python-stdnum's own example of a British number.
    assert check_tax_number("GB", "GB980780684") == "GB980780684"
    with pytest.raises(BadInput, match="wanted a VAT number of GB"):
        check_tax_number("GB", "GB980780685")


@pytest.mark.parametrize(
    ("country", "number"),
    # python-stdnum documentation, one example each
    [
        ("DE", "DE136695976"),
        ("AT", "ATU13585627"),
        ("IE", "IE6433435F"),
        ("GR", "EL094259216"),
        ("NL", "NL004495445B01"),
    ],
)
def test_european_numbers_are_checked_by_their_own_rule(country, number):
    assert check_tax_number(country, number) == number
    wrong = number[:6] + str((int(number[6]) + 1) % 10) + number[7:]
    with pytest.raises(BadInput, match=f"VAT number of {country}"):
        check_tax_number(country, wrong)


def test_numbers_of_other_countries_are_taken_as_they_are():
    assert check_tax_number("US", "12-3456789") == "123456789"


def test_a_bank_code_has_8_or_11_characters():
    assert check_bic("nwbkgb2l") == "NWBKGB2L"
    with pytest.raises(BadInput, match="bic: wanted a BIC"):
        check_bic("NWBK")


@settings(max_examples=60)
@given(st.from_regex(r"[A-Z]{2,4}-20[0-9]{2}-[0-9]{4,6}", fullmatch=True))
def test_references_made_here_pass_the_check_of_another_library(number):
    reference = creditor_reference(number)
    assert iso11649.is_valid(reference)
    assert reference[4:] == number.replace("-", "")


def test_a_reference_of_nothing_or_too_much_is_refused():
    for number in ("--", "A" * 22):
        with pytest.raises(BadInput, match="wanted 1 to 21 letters and digits"):
            creditor_reference(number)


def test_the_settings_of_studio_and_client_are_checked_with_file_and_field():
    tree = {"name": "A", "country": "GB", "tax": {"registered": True, "number": "980 7806 84"}}

    def read(**more):
        return read_input(Studio, {**tree, **more}, where="studio.toml", also=report_studio)

    assert read().tax.number == "GB980780684"
    with pytest.raises(BadInput, match=r"clients/kelp\.toml: tax_number: wanted a VAT number of IE"):
        read_input(
            Client, {"name": "Kelp", "country": "IE", "tax_number": "IE6433435G"}, where="clients/kelp.toml",
            also=report_client,
        )  # fmt: skip
    # All of them in one run, with whatever else is wrong.
    with pytest.raises(Problems) as error:
        read(
            colour="blue",
            bank={"iban": "GB29NWBK60161331926818", "bic": "NWBK", "bnk": "x"},
            tax={"registered": True, "number": "GB980780683"},
            statement={"tidal": {"iban": "DE00"}},
        )
    said = [str(one) for one in error.value.problems]
    for field, wanted in (
        ("tax.number", "a VAT number of GB whose check digits agree, got GB980780683"),
        ("bank.iban", "an IBAN whose check digits agree, got GB29NWBK60161331926818"),
        ("bank.bic", "a BIC of 8 or 11 characters, got NWBK"),
        ("statement.tidal.iban", "an IBAN whose check digits agree, got DE00"),
    ):
        assert f"studio.toml: {field}: wanted {wanted}" in said
    assert any("got colour" in one for one in said)
    assert any("got bnk. Did you mean bank?" in one for one in said)


@pytest.mark.parametrize(("number", "right"), [("29/815/08157", True), ("2181508150", True), ("29/815/0815", False)])
def test_a_steuernummer_has_its_form(number, right):
    # python-stdnum de.stnr: 10, 11 or 13 digits by the form of a Land; it has no check digit.
    if right:
        assert check_local_tax_number("DE", number) == number
        return
    with pytest.raises(
        BadInput, match=r"tax\.local_number: wanted a Steuernummer such as 29/815/08157, got 29/815/0815"
    ):
        check_local_tax_number("DE", number)


def test_tax_numbers_of_other_offices_are_taken_as_they_are():
    assert check_local_tax_number("IE", "6433435F") == "6433435F"
