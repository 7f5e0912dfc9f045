"""The two sides of every paper: the studio and its client, as their settings files say.

`studio.toml`                                   `clients/KEY.toml`

    name = "Gannet & Lark Films"                    name = "Skerrow Islands Tourism"
    address = ["2 Slipway", "Port Skerrow"]         contact = "Una Flett"
    country = "GB"                                  address = ["1 Harbour Street", "Skerrow"]
    subdivision = "SCT"                             country = "GB"
    currency = "GBP"                                business = true
    [tax]                                           payment_days = 30
    registered = true
    number = "GB980780684"
    [bank]
    iban = "GB29 NWBK 6016 1331 9268 19"
    [numbers]
    invoice = "GL-{year}-{number:04}"
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from dataclasses import fields as members
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Final

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Given, Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.mail_server import MailServer
from bizkit.domain.money import currency_code
from bizkit.domain.numbering import Numbers
from bizkit.domain.payment_terms import COUNTED_IN, LADDER, LateTerms, Step, check_ladder
from bizkit.domain.registrations import Bank, TaxStatus, tax_number
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree, OwnMedium, check_own_media
from bizkit.domain.statement_columns import StatementColumns
from bizkit.domain.tables.electronic_addresses import EAS
from bizkit.domain.tables.territories import NAMES

if TYPE_CHECKING:
    from bizkit.domain.documents import base as papers


PAPER_SIZES: Final = ("A4", "Letter")
#: Forms of electronic invoice: EN 16931 as CII or UBL, or as XML inside the PDF.
EINVOICES: Final = ("cii", "ubl", "hybrid")

#: Countries that write the town before the postcode. Universal Postal Union addressing guides, from memory.
TOWN_FIRST: Final = frozenset({"AU", "CA", "GB", "IE", "IN", "NZ", "US", "ZA"})

_ACCENT = re.compile(r"#[0-9a-fA-F]{6}")
_LOCALE = re.compile(r"[a-z]{2,3}(_[A-Z][a-z]{3})?(_[A-Z]{2}|_[0-9]{3})?")
_LANGUAGE = re.compile(r"[a-z]{2,3}")
_EMAIL = re.compile(r"[^@\s<>,;]+@[^@\s<>,;]+\.[^@\s<>,;]+")
_SUBDIVISION = re.compile(r"[A-Z0-9]{1,3}")
_ENDPOINT = re.compile(r"[0-9A-Z]{2,4}:\S+")


def _country_code(given: str) -> str:
    code = given.upper()
    if code not in NAMES:
        raise BadInput(wanted="a country code such as GB (ISO 3166-1)", got=given, hint=_country_hint(given))
    return code


#: Codes that are often written for a country and are not its own.
_OFTEN_MEANT: Final = {
    "UK": "GB",
    "EN": "GB",
    "EL": "GR",
    "ENGLAND": "GB",
    "SCOTLAND": "GB",
    "WALES": "GB",
    "USA": "US",
}


def _country_hint(given: str) -> str:
    code = _OFTEN_MEANT.get(given.upper()) or next(
        (code for code, name in NAMES.items() if name.casefold() == given.casefold()), ""
    )
    article = "The " if code in ("GB", "NL", "US") else ""
    return f"{article}{NAMES[code]} is {code}" if code else ""


def _locale_code(given: str) -> str:
    code = given.replace("-", "_")
    if not _LOCALE.fullmatch(code):
        raise BadInput(wanted="a locale such as en_GB", got=given)
    return code


def _endpoint_scheme(given: str) -> str:
    if given.partition(":")[0] not in EAS:
        hint = "The scheme is a code of the EAS list (EN 16931 BR-CL-25)"
        raise BadInput(wanted=_ENDPOINT_WANTED, got=given, hint=hint)
    return given


_ENDPOINT_WANTED: Final = "an electronic address as SCHEME:ID, such as 0088:5060012349998"
_Country = Annotated[str, Key("Where the business is (ISO 3166-1).", rule=_country_code, example="GB")]
_Address = Annotated[tuple[str, ...], Key("Lines of the address.", example=["2 Slipway Cottages"])]
_City = Annotated[str, Key("The town, apart from the address.")]
_Postcode = Annotated[str, Key("The postcode, apart from the address.")]
_Email = Annotated[
    str,
    Key("Where mail is sent.", pattern=_EMAIL, wanted="an address such as office@example.com"),
]
_Endpoint = Annotated[
    str,
    Key(
        "Electronic address for invoices through Peppol.",
        pattern=_ENDPOINT,
        wanted=_ENDPOINT_WANTED,
        rule=_endpoint_scheme,
        example="0088:5060012349998",
    ),
]


@dataclass(frozen=True, slots=True)
class BookPlace:
    """The `[book]` table: where a team's book is."""

    url: Annotated[str, Key("The database of a team's book; without it book.sqlite in this folder.")] = ""


@dataclass(frozen=True, slots=True)
class Studio:
    """The business using bizkit. `logo` is a file name in the studio folder; `payment_days` are calendar days.

    endpoint: electronic address as SCHEME:ID by the EAS code list ("0088:5060012349998"), empty for the email.
    practice: a studio to practise in, never for real business: dates after today are taken without a reason.
    """

    name: Annotated[str, Key("What the studio is called on papers.", example="Gannet & Lark Films")]
    country: _Country
    address: _Address = ()
    city: _City = ""
    postcode: _Postcode = ""
    subdivision: Annotated[
        str,
        Key(
            "Whose public holidays count within the country (ISO 3166-2).",
            pattern=_SUBDIVISION,
            wanted="a subdivision such as SCT (ISO 3166-2)",
            example="SCT",
        ),
    ] = ""
    email: _Email = ""
    phone: Annotated[str, Key("As papers print it.")] = ""
    website: Annotated[str, Key("As papers print it.")] = ""
    company_number: Annotated[str, Key("Number in the register of companies.")] = ""
    endpoint: _Endpoint = ""
    people: Annotated[tuple[str, ...], Key("Who the studio is, as papers name them.")] = ()
    currency: Annotated[str, Key("What you are paid in (ISO 4217).", rule=currency_code, example="GBP")] = "GBP"
    locale: Annotated[
        str,
        Key("How amounts and dates are written, unless a client wants another.", rule=_locale_code, example="en_GB"),
    ] = "en_GB"
    language: Annotated[
        str, Key("Language of your papers.", pattern=_LANGUAGE, wanted="a language code such as en", example="en")
    ] = "en"
    paper_size: Annotated[str, Key("Paper of your printer.", choices=PAPER_SIZES)] = "A4"
    accent: Annotated[
        str,
        Key(
            "The one colour of your papers.",
            pattern=_ACCENT,
            wanted="a colour such as #0b6e6e",
            rule=str.lower,
            example="#0b6e6e",
        ),
    ] = "#0b6e6e"
    logo: Annotated[str, Key("File name of a PNG or JPEG in this folder.", example="logo.png")] = ""
    payment_days: Annotated[int, Key("How long an invoice may wait.", unit="days", most=365)] = 30
    payment_counted_in: Annotated[str, Key("How these days are counted.", choices=COUNTED_IN)] = "days"
    tax: Annotated[TaxStatus, Key("How you stand towards value added tax.")] = field(default_factory=TaxStatus)
    bank: Annotated[Bank, Key("Where you are paid.")] = field(default_factory=Bank)
    numbers: Annotated[Numbers, Key("How your numbers look: {year} and {number} are filled in.")] = field(
        default_factory=Numbers
    )
    late: Annotated[LateTerms, Key("What you charge when paid late.")] = field(default_factory=LateTerms)
    reminders: Annotated[
        tuple[Step, ...], Key("Your own steps of reminding; without them three: friendly, firm, final.")
    ] = LADDER
    statements: Annotated[
        Mapping[str, StatementColumns], Key("How your bank writes its CSV, one table an account.", name="statement")
    ] = field(default_factory=dict)
    mail: Annotated[MailServer | None, Key("The server that sends mails, where bizkit shall.")] = None
    book: Annotated[BookPlace, Key("Where a team's book is.")] = field(default_factory=BookPlace)
    own_media: Annotated[Mapping[str, OwnMedium], Key("Media of your own, beside those of bizkit.", name="media")] = (
        field(default_factory=dict)
    )
    practice: Annotated[bool, Key("A studio to practise in: dates after today are taken without a reason.")] = False

    def settled(self, at: Table) -> "Studio":
        """With the letters of its country before its tax number; reminders and own media agree with themselves."""
        if at.says("reminders"):
            check_ladder(self.reminders, at)
        check_own_media(self.own_media, at)
        number = tax_number(self.tax.number, self.country)
        return replace(self, tax=replace(self.tax, number=number), reminders=self.reminders or LADDER)

    @property
    def media(self) -> MediaTree:
        """The media it deals in, its own among them."""
        return MEDIA_TREE.with_own(self.own_media)

    @property
    def postal(self) -> tuple[str, ...]:
        """Address lines as printed: the address, then postcode and city where they are given apart."""
        return postal_lines(self.address, self.city, self.postcode, self.country)

    def data(self, on: date, *, logo_sha256: str = "") -> "papers.Studio":
        """The `studio` member of a document of that day. `logo_sha256`: of the logo as filed, empty for none."""
        return {
            "name": self.name,
            "address": list(self.postal),
            "city": self.city,
            "postcode": self.postcode,
            "country": self.country,
            "email": self.email,
            "phone": self.phone,
            "website": self.website,
            "people": list(self.people),
            "tax_number": self.tax.number_on(on, self.country),
            "local_tax_number": self.tax.local_number,
            "company_number": self.company_number,
            "endpoint": self.endpoint,
            "accent": self.accent,
            "logo": logo_sha256,
            "bank": self.bank.data(),
        }


@dataclass(frozen=True, slots=True)
class Client:
    """Who commissions. None or empty where the studio's own setting holds.

    business: a business, as against a consumer. business_evidence: what shows it, kept for clients abroad
    ("VAT number checked with the tax office on 2027-01-12", "company register extract").
    buyer_reference: what the client wants on every invoice so that it finds its way (EN 16931 BT-10).
    sector: the line of business, for licences that protect one; empty when not known.
    einvoice: the electronic form that goes with every invoice, one of `EINVOICES`; empty for none.
    """

    key: Annotated[str, Given.NAME]
    name: Annotated[str, Key("What the client is called on papers.", example="Skerrow Islands Tourism")]
    country: _Country
    contact: Annotated[str, Key("Whom you deal with.")] = ""
    address: _Address = ()
    city: _City = ""
    postcode: _Postcode = ""
    email: _Email = ""
    phone: Annotated[str, Key("Where to ring.")] = ""
    tax_number: Annotated[str, Key("Their number of value added tax.", example="GB980780684")] = ""
    company_number: Annotated[str, Key("Number in the register of companies.")] = ""
    endpoint: _Endpoint = ""
    business: Annotated[bool, Key("A business, as against a consumer.")] = True
    business_evidence: Annotated[str, Key("What shows that a client abroad is a business.")] = ""
    currency: Annotated[
        str, Key("What they pay in (ISO 4217), where it is not your own.", rule=currency_code, example="EUR")
    ] = ""
    locale: Annotated[str, Key("How amounts and dates are written for them.", rule=_locale_code, example="de_DE")] = (
        ""
    )
    language: Annotated[
        str, Key("Language of their papers.", pattern=_LANGUAGE, wanted="a language code such as en", example="de")
    ] = ""
    payment_days: Annotated[int | None, Key("How long their invoices may wait.", unit="days", most=365)] = None
    payment_counted_in: Annotated[str, Key("How these days are counted.", choices=COUNTED_IN)] = ""
    purchase_order: Annotated[str, Key("Printed on every invoice.", example="PO-1234")] = ""
    wants_order: Annotated[bool, Key("They pay no invoice without an order number.")] = False
    buyer_reference: Annotated[
        str, Key("What they want on every invoice so that it finds its way (EN 16931 BT-10).")
    ] = ""
    sector: Annotated[str, Key("Line of business, for licences that protect one.", example="tourism")] = ""
    einvoice: Annotated[
        str, Key("Electronic form of every invoice, made and attached by bizkit send.", choices=EINVOICES)
    ] = ""

    def settled(self, at: Table) -> "Client":
        """With the letters of its country before its tax number."""
        return replace(self, tax_number=tax_number(self.tax_number, self.country))

    @property
    def postal(self) -> tuple[str, ...]:
        """Address lines as printed: the address, then postcode and city where they are given apart."""
        return postal_lines(self.address, self.city, self.postcode, self.country)

    def data(self) -> "papers.Client":
        """The `client` member of a document."""
        return {
            "key": self.key,
            "name": self.name,
            "contact": self.contact,
            "address": list(self.postal),
            "city": self.city,
            "postcode": self.postcode,
            "country": self.country,
            "email": self.email,
            "tax_number": self.tax_number,
            "company_number": self.company_number,
            "endpoint": self.endpoint,
            "business": self.business,
        }

    def record(self) -> dict[str, Any]:
        """Everything its file says, to be frozen with what is agreed: `of_record` gives back the same client."""
        return {one.name: _plain(getattr(self, one.name)) for one in members(self)}

    @classmethod
    def of_record(cls, data: Mapping[str, Any]) -> "Client":
        """The client of a record; what an older one lacks is as in a file that does not say it."""
        known = {one.name: data[one.name] for one in members(cls) if one.name in data}
        return cls(**known | {"address": tuple(known.get("address", ()))})


def _plain(value: Any) -> Any:
    return list(value) if isinstance(value, tuple) else value


def postal_lines(address: tuple[str, ...], city: str, postcode: str, country: str) -> tuple[str, ...]:
    """Address lines with postcode and city as the last one, where those are given apart.

    >>> postal_lines(("Strandgata 1",), "Bergen", "5003", "NO")
    ('Strandgata 1', '5003 Bergen')
    """
    parts = (city, postcode) if country in TOWN_FIRST else (postcode, city)
    last = " ".join(part for part in parts if part)
    return (*address, last) if last else address
