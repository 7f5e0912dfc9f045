"""An invoice says the same to people and to machines: the PDF, and the XML of every form it is exported in.

Both ways. What the XML says of numbers, dates, parties, lines, sums, references and accounts is on the pages, written
as the reader's locale writes it; and every amount, date, IBAN, tax number and document number on the pages is in the
XML. Locale data: CLDR, as babel has it.
"""

from __future__ import annotations

import re
import subprocess
from datetime import date
from decimal import Decimal
from pathlib import Path

import pikepdf
import pytest
from babel.dates import format_date, format_skeleton
from babel.numbers import format_decimal
from lxml import etree

RAM = "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100}"
UDT = "{urn:un:unece:uncefact:data:standard:UnqualifiedDataType:100}"
CBC = "{urn:oasis:names:specification:ubl:schema:xsd:CommonBasicComponents-2}"
LOCALES = {"british": "en_GB", "german": "de_DE"}


@pytest.fixture(scope="module", params=["british", "german"])
def bills(request, outside):
    """Locale, and each invoice and credit note: its pages as one line, its XML inside, its UBL."""
    folder = request.getfixturevalue(request.param)
    found = []
    for path in sorted((folder / "papers").glob("*.hybrid.pdf")):
        number = path.name.removesuffix(".hybrid.pdf")
        found.append((number, words_on(path), inside(path), etree.parse(str(path.with_name(f"{number}.ubl.xml")))))
    return LOCALES[request.param], found


def words_on(path: Path) -> str:
    done = subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, check=True)
    return " ".join(done.stdout.decode().split())


def inside(path: Path) -> etree._Element:
    with pikepdf.open(path) as book:
        return etree.fromstring(bytes(book.attachments["factur-x.xml"].get_file().read_bytes()))


def said(root, path: str) -> list[str]:
    return [node.text for node in root.iterfind(f".//{path}") if node.text]


def figure(text: str, locale: str) -> str:
    return format_decimal(abs(Decimal(text)), "#,##0.00", locale=locale)


def days(root) -> dict[str, date]:
    """Name -> each date the XML says, but those inside sentences."""
    found = {}
    for node in root.iter(f"{UDT}DateTimeString", f"{UDT}DateString", "{*}DateTimeString"):
        text = node.text
        found[etree.QName(node.getparent()).localname] = date(int(text[:4]), int(text[4:6]), int(text[6:8]))
    return found


def on_page(day: date, locale: str) -> tuple[str, str]:
    return format_date(day, "long", locale=locale), format_skeleton("yMMMd", day, locale=locale)


def test_what_the_xml_says_is_on_the_pages(bills):
    locale, papers = bills
    assert len(papers) >= 6
    for number, page, root, _ in papers:
        flat = re.sub(r"\s+", "", page)

        def printed(text: str, flat=flat) -> bool:
            return re.sub(r"\s+", "", text) in flat

        for node in root.iter(f"{RAM}SellerTradeParty", f"{RAM}BuyerTradeParty"):
            for path in ("Name", "PostalTradeAddress/{0}LineOne", "PostalTradeAddress/{0}LineTwo",
                         "PostalTradeAddress/{0}CityName", "PostalTradeAddress/{0}PostcodeCode",
                         "SpecifiedTaxRegistration/{0}ID", "SpecifiedLegalOrganization/{0}ID", "ID"):  # fmt: skip
                for text in said(node, RAM + path.format(RAM)):
                    assert printed(text), (number, path, text)
        for path in ("DefinedTradeContact/{0}PersonName", "BuyerReference", "BuyerOrderReferencedDocument/"
                     "{0}IssuerAssignedID", "PaymentReference", "IBANID", "BICID", "AccountName",
                     "SpecifiedTradeProduct/{0}Name", "InvoiceReferencedDocument/{0}IssuerAssignedID",
                     "ExemptionReason", "SpecifiedTradePaymentTerms/{0}Description",
                     "SpecifiedProcuringProject/{0}ID"):  # fmt: skip
            for text in said(root, RAM + path.format(RAM)):
                assert printed(text), (number, path, text)
        assert printed(root.findtext(f".//{{*}}ExchangedDocument/{RAM}ID"))
        for name, day in days(root).items():
            assert any(printed(text) for text in on_page(day, locale)), (number, name, day)
        for note in said(root, f"IncludedNote/{RAM}Content"):
            for part in re.split(r" / ", note):
                assert printed(part), (number, note)
        for line in root.iter(f"{RAM}IncludedSupplyChainTradeLineItem"):
            amount = line.findtext(f".//{RAM}LineTotalAmount")
            quantity = Decimal(line.findtext(f".//{RAM}BilledQuantity"))
            assert figure(amount, locale) in page, (number, amount)
            assert format_decimal(abs(quantity), "#,##0.######", locale=locale) in page, (number, quantity)
        for name in ("TaxBasisTotalAmount", "TaxTotalAmount", "GrandTotalAmount", "TotalPrepaidAmount",
                     "DuePayableAmount", "BasisAmount", "CalculatedAmount"):  # fmt: skip
            for text in said(root, RAM + name):
                if name != "DuePayableAmount" or Decimal(text):
                    assert figure(text, locale) in page, (number, name, text)


def test_what_is_on_the_pages_is_in_the_xml(bills):
    locale, papers = bills
    point = format_decimal(1.5, locale=locale)[1]
    for number, page, root, _ in papers:
        everything = " ".join(root.itertext())
        of_lines = " ".join([*said(root, f"{RAM}Name"), *said(root, f"{RAM}Content")])
        numbers = {Decimal(one) for one in re.findall(r"-?\d+\.\d+|-?\d+", everything)}
        numbers |= {-one for one in numbers}
        for shown in re.findall(rf"(?<![\d.,])[\d.,]+\{point}\d\d(?![\d])", page):
            exact = Decimal(re.sub(r"[^\d]", "", shown[:-3]) + "." + shown[-2:])
            assert exact in numbers or shown in of_lines, (number, shown)
        known = {text for day in days(root).values() for text in on_page(day, locale)}
        month = "|".join(format_date(date(2027, one, 1), "MMMM", locale=locale) for one in range(1, 13))
        for shown in re.findall(rf"(?<!\d)\d{{1,2}}\.? (?:{month}) \d{{4}}", page):
            quoted = re.search(rf"(?:accepted|angenommen am) {shown}", page)  # of the quote, whose number is in both
            assert shown in known or shown in of_lines or quoted, (number, shown)
        for shown in re.findall(r"\b(?:GB|DE)\d{9}\b|\bGLF?G?C?-\d{4}-\d{4}\b|\b(?:Q|AN)-\d{4}-\d{4}\b", page):
            assert shown in everything, (number, shown)
        # Both published samples have 22 characters.
        accounts = {re.sub(r"\s", "", one) for one in re.findall(r"\b(?:GB|DE)\d\d(?: ?\w{4}){4}(?: ?\w\w)\b", page)}
        assert accounts == set(said(root, f"{RAM}IBANID")), number


def test_the_two_syntaxes_say_the_same(bills):
    for number, _, root, other in bills[1]:
        assert other.findtext(f"{CBC}ID") == root.findtext(f".//{{*}}ExchangedDocument/{RAM}ID") == number
        for in_cii, in_ubl in (
            (f"{RAM}IBANID", "{*}PayeeFinancialAccount/{*}ID"),
            (f"{RAM}BuyerReference", "{*}BuyerReference"),
            (f"{RAM}BuyerOrderReferencedDocument/{RAM}IssuerAssignedID", "{*}OrderReference/{*}ID"),
            (f"{RAM}SpecifiedTradeProduct/{RAM}Name", "{*}Item/{*}Name"),
            (f"{RAM}SpecifiedTradePaymentTerms/{RAM}Description", "{*}PaymentTerms/{*}Note"),
            (f"{RAM}DuePayableAmount", "{*}PayableAmount"),
            (f"{RAM}LineTotalAmount", "{*}LineExtensionAmount"),
        ):
            theirs = [node.text for node in other.iterfind(f".//{in_ubl}")]
            assert sorted(said(root, in_cii)) == sorted(theirs), (number, in_cii)


def test_kinds_of_document(bills, outside):
    """UNTDID 1001: 386 a prepayment, 326 a bill in part, 380 an invoice, 381 a credit note. A German studio's bills
    before the work are partial ones."""
    kinds = {number: root.findtext(f".//{{*}}ExchangedDocument/{RAM}TypeCode") for number, _, root, _ in bills[1]}
    british = ["380", "380", "380", "380", "381", "386"]
    german = ["326", "326", "380", "380", "381", "386"]
    assert sorted(kinds.values()) == (british if bills[0] == "en_GB" else german)


def test_the_license_is_said_in_the_readers_language_in_both(bills):
    locale, papers = bills
    first = {"en_GB": "You may use ", "de_DE": "Sie dürfen "}[locale]
    for number, page, root, _ in papers:
        notes = said(root, f"IncludedNote/{RAM}Content") + said(root, f"{RAM}IncludedNote/{RAM}Content")
        mine = [note for note in notes if note.startswith(("You may", "Sie dürfen", "It ", "Die Rechte"))]
        assert all(note.startswith(("You", "It")) == (locale == "en_GB") for note in mine), (number, mine)
        assert (first in page) == any(note.startswith(first.strip()) for note in mine), number
