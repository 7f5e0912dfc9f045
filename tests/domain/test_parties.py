"""Studio and client as their settings files say."""

import tomllib
from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.parties import Client, Studio

STUDIO = """
name = "Gannet & Lark Films"
address = ["2 Slipway", "Port Skerrow", "ZE9 9ZZ"]
country = "GB"
subdivision = "SCT"
email = "hello@gannetlark.example"
phone = "01632 960123"
people = ["Isla Gannet", "Rob Lark"]
currency = "GBP"
locale = "en-GB"
accent = "#0B6E6E"
[tax]
registered = true
number = "980 7806 84"
[bank]
account_name = "Gannet & Lark Films"
iban = "GB29 NWBK 6016 1331 9268 19"
[numbers]
invoice = "GL-{year}-{number:04}"
"""


def studio_of(text):
    return read_input(Studio, tomllib.loads(text, parse_float=Decimal), where="studio.toml")


def client_of(text, key=""):
    return read_input(Client, tomllib.loads(text, parse_float=Decimal), where=f"clients/{key}.toml", name=key)


def test_a_studio_is_read_and_printed_as_the_contract_of_documents_says():
    studio = studio_of(STUDIO)
    assert studio.tax.number == "GB980780684"
    assert studio.bank.iban == "GB29NWBK60161331926819"
    assert studio.locale == "en_GB"
    assert studio.numbers.quote == "Q-{year}-{number:04}"
    data = studio.data(date(2027, 5, 1), logo_sha256="ab")
    assert data["tax_number"] == "GB980780684"
    assert data["address"] == ["2 Slipway", "Port Skerrow", "ZE9 9ZZ"]
    assert data["accent"] == "#0b6e6e"
    assert data["logo"] == "ab"
    assert data["bank"] == {
        "account_name": "Gannet & Lark Films",
        "iban": "GB29NWBK60161331926819",
        "bic": "",
        "bank": "",
    }


def test_a_client_leaves_open_what_the_studio_decides():
    text = 'name = "Skerrow Islands Tourism"\ncountry = "gb"\ntax_number = "gb 980 780 684"'
    client = client_of(text, key="skerrow")
    assert (client.country, client.currency, client.payment_days, client.business) == ("GB", "", None, True)
    assert client.data()["key"] == "skerrow"
    assert client.data()["tax_number"] == "GB980780684"


def test_greek_numbers_begin_with_el_and_american_ones_stay_as_they_are():
    # Directive 2006/112/EC article 215: Greece may use the prefix EL.
    greek = client_of('name = "A"\ncountry = "GR"\ntax_number = "094259216"')
    american = client_of('name = "A"\ncountry = "US"\ntax_number = "12-3456789"')
    assert greek.tax_number == "EL094259216"
    assert american.tax_number == "123456789"


def test_town_and_postcode_given_apart_are_printed_in_the_order_of_the_country():
    german = client_of('name="A"\ncountry="DE"\naddress=["Kai 1"]\ncity="Kiel"\npostcode="24103"')
    british = client_of('name="A"\ncountry="GB"\naddress=["Quay 1"]\ncity="Port Skerrow"\npostcode="ZE9 9ZZ"')
    assert german.data()["address"] == ["Kai 1", "24103 Kiel"]
    assert british.data()["address"] == ["Quay 1", "Port Skerrow ZE9 9ZZ"]


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (
            ('country = "GB"', 'country = "UK"'),
            "studio.toml: country: wanted a country code .* got UK. The United Kingdom is GB",
        ),
        (('country = "GB"', 'country = "Atlantis"'), "studio.toml: country: wanted a country code .* got Atlantis"),
        (('country = "GB"', 'country = "Norway"'), "got Norway. Norway is NO"),
        (('currency = "GBP"', 'currency = "STG"'), "studio.toml: currency: wanted an ISO 4217 .* got STG"),
        (('"#0B6E6E"', '"teal"'), "studio.toml: accent: wanted a colour such as #0b6e6e, got teal"),
        (('number = "980 7806 84"', ""), "studio.toml: tax.number: wanted the tax number of a registered studio"),
        (("registered = true", "registered = true\nstandrad_rate = 20"), "studio.toml: tax: wanted a known key"),
        (('"en-GB"', '"English"'), "studio.toml: locale: wanted a locale such as en_GB, got English"),
        (('"hello@gannetlark.example"', '"hello"'), "studio.toml: email: wanted an address"),
        (
            ("registered = true", "registered = true\nflat_rate = 130"),
            r"studio.toml: tax.flat_rate: wanted a number 0..100",
        ),
    ],
)
def test_a_wrong_setting_is_refused_in_one_line(change, message):
    with pytest.raises(BadInput, match=message) as refused:
        studio_of(STUDIO.replace(*change))
    assert "\n" not in str(refused.value)


def test_what_is_charged_when_late_and_how_clients_are_reminded_is_the_studios_own():
    text = (
        STUDIO
        + """
[late]
interest = "contract"
rate = 4.5
[[reminders]]
name = "nudge"
days_after_due = 2
"""
    )
    studio = studio_of(text)
    assert studio.late.rate == Decimal("4.5")
    assert [step.name for step in studio.reminders] == ["nudge"]
    assert [step.name for step in studio_of(STUDIO).reminders] == ["friendly", "firm", "final"]
