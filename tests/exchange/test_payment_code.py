"""The EPC payment code, read back by a decoder that is not ours."""

import io

import pytest
import zxingcpp
from PIL import Image

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money
from bizkit.exchange.payment_code import qr_modules, qr_png, transfer_code

# ISO 13616 samples of Germany and the United Kingdom
GERMAN, BRITISH = "DE89370400440532013000", "GB29NWBK60161331926819"


def code(**more):
    details = {"name": "Gannet & Lark Films", "iban": GERMAN, "amount": Money("1455.49", "EUR")}
    return transfer_code(**{**details, **more})


def test_the_lines_stand_where_the_guidelines_put_them():
    # EPC069-12: service tag, version, character set 1 = UTF-8, identification, BIC, name, IBAN, amount, purpose,
    # structured reference, unstructured text.
    assert code(text="GL-2027-0001").split("\n") == [
        "BCD",
        "002",
        "1",
        "SCT",
        "",
        "Gannet & Lark Films",
        GERMAN,
        "EUR1455.49",
        "",
        "",
        "GL-2027-0001",
    ]
    assert code(reference="RF18539007547034").split("\n")[9] == "RF18539007547034"


@pytest.mark.parametrize("text", ["GL-2027-0001", "Möwen über dem Tang", "x" * 140])
def test_an_independent_decoder_reads_the_code_back(text):
    payload = code(text=text)
    (found,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(qr_png(payload))))
    assert found.text == payload
    assert found.format == zxingcpp.BarcodeFormat.QRCode
    assert found.ec_level == "M"


def test_the_modules_are_the_picture():
    payload = code(reference="RF18539007547034")
    modules = qr_modules(payload)
    picture = Image.open(io.BytesIO(qr_png(payload, pixels_per_module=1, quiet_modules=0))).convert("L")
    assert [[picture.getpixel((x, y)) < 128 for x in range(picture.width)] for y in range(picture.height)] == modules
    # at most version 13 of the symbol, which has 69 modules a side (ISO/IEC 18004)
    assert len(qr_modules(code(text="x" * 140))) <= 69


def test_a_code_of_a_page_is_read_too():
    # any text, such as the id of a licence certificate
    (found,) = zxingcpp.read_barcodes(Image.open(io.BytesIO(qr_png("LIC-2027-0001 sha256:0123456789abcdef"))))
    assert found.text == "LIC-2027-0001 sha256:0123456789abcdef"


@pytest.mark.parametrize(
    ("change", "error", "message"),
    [
        ({"amount": Money(10, "GBP")}, RuleBroken, "carries euro only, this is GBP 10.00"),
        ({"amount": Money(0, "EUR")}, BadInput, "amount: wanted EUR 0.01 to 999999999.99"),
        ({"amount": Money("1000000000", "EUR")}, BadInput, "amount: wanted"),
        ({"amount": Money("1.005", "EUR")}, BadInput, "in whole cents, got EUR 1.005"),
        ({"iban": "DE89370400440532013001"}, BadInput, "iban: wanted an IBAN whose check digits agree"),
        ({"iban": BRITISH}, BadInput, "bic: wanted the BIC of the bank, for an account in GB"),
        ({"reference": "RF19539007547034"}, BadInput, "wanted a creditor reference"),
        ({"reference": "RF18539007547034", "text": "x"}, BadInput, "wanted a reference or a text, got both"),
        ({"text": "x" * 141}, BadInput, "text: wanted at most 140 characters"),
        ({"name": " "}, BadInput, "name: wanted the account's name, got nothing"),
        ({"name": "x" * 71}, BadInput, "name: wanted at most 70 characters"),
        ({"text": "ü" * 140, "name": "ü" * 70}, BadInput, "wanted at most 331 bytes in all"),
    ],
)
def test_what_the_code_cannot_carry_is_refused(change, error, message):
    with pytest.raises(error, match=message):
        code(**change)


def test_line_breaks_cannot_smuggle_in_another_line():
    assert code(text="one\ntwo\rthree").count("\n") == 10
