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

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from dataclasses import fields as members
from datetime import date
from types import MappingProxyType
from typing import Any, Final

from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
from bizkit.domain.mail_server import MailServer
from bizkit.domain.money import minor_digits
from bizkit.domain.numbering import Numbers
from bizkit.domain.payment_terms import COUNTED_IN, LADDER, LateTerms, Step, read_ladder
from bizkit.domain.registrations import Bank, TaxStatus, tax_number
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.statement_columns import StatementColumns
from bizkit.domain.tables.electronic_addresses import EAS
from bizkit.domain.tables.territories import NAMES

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


@dataclass(frozen=True, slots=True)
class Studio:
    """The business using bizkit. `logo` is a file name in the studio folder; `payment_days` are calendar days.

    endpoint: electronic address as SCHEME:ID by the EAS code list ("0088:5060012349998"), empty for the email.
    book_url: the database of a team's book, empty for book.sqlite in the studio folder.
    media: the media it deals in, its own `[media.NAME]` tables among them.
    practice: a studio to practise in, never for real business: dates after today are taken without a reason.
    """

    name: str
    country: str
    address: tuple[str, ...] = ()
    city: str = ""
    postcode: str = ""
    subdivision: str = ""
    email: str = ""
    phone: str = ""
    website: str = ""
    company_number: str = ""
    endpoint: str = ""
    people: tuple[str, ...] = ()
    currency: str = "GBP"
    locale: str = "en_GB"
    language: str = "en"
    paper_size: str = "A4"
    accent: str = "#0b6e6e"
    logo: str = ""
    payment_days: int = 30
    payment_counted_in: str = "days"
    tax: TaxStatus = field(default_factory=TaxStatus)
    bank: Bank = field(default_factory=Bank)
    numbers: Numbers = field(default_factory=Numbers)
    late: LateTerms = field(default_factory=LateTerms)
    reminders: tuple[Step, ...] = LADDER
    statements: Mapping[str, StatementColumns] = field(default_factory=lambda: MappingProxyType({}))
    mail: MailServer | None = None
    book_url: str = ""
    media: MediaTree = MEDIA_TREE
    practice: bool = False

    @classmethod
    def read(cls, fields: Fields) -> Studio:
        """From the tree of `studio.toml`. Raises BadInput naming file and field, also for unknown keys."""
        country = _country(fields)
        studio = cls(
            name=fields.text("name"),
            country=country,
            address=fields.texts("address", ()),
            city=fields.text("city", "", blank=True),
            postcode=fields.text("postcode", "", blank=True),
            subdivision=_matching(fields, "subdivision", _SUBDIVISION, "a subdivision such as SCT (ISO 3166-2)"),
            email=_email(fields),
            phone=fields.text("phone", "", blank=True),
            website=fields.text("website", "", blank=True),
            company_number=fields.text("company_number", "", blank=True),
            endpoint=_endpoint(fields),
            people=fields.texts("people", ()),
            currency=_currency(fields),
            locale=_locale(fields, "en_GB"),
            language=_matching(fields, "language", _LANGUAGE, "a language code such as en", "en"),
            paper_size=fields.choice("paper_size", PAPER_SIZES, "A4"),
            accent=_matching(fields, "accent", _ACCENT, "a colour such as #0b6e6e", "#0b6e6e").lower(),
            logo=fields.text("logo", "", blank=True),
            payment_days=fields.whole("payment_days", 30, most=365),
            payment_counted_in=fields.choice("payment_counted_in", COUNTED_IN, "days"),
            tax=TaxStatus.read(fields.table("tax", optional=True), country),
            bank=Bank.read(fields.table("bank", optional=True)),
            numbers=Numbers.read(fields.table("numbers", optional=True)),
            late=LateTerms.read(fields.table("late", optional=True)),
            reminders=read_ladder(fields.rows("reminders")),
            statements=MappingProxyType(
                {name: StatementColumns.read(table) for name, table in fields.tables("statement")}
            ),
            mail=MailServer.read(fields.table("mail")) if "mail" in fields else None,
            book_url=_book_url(fields.table("book", optional=True)),
            media=MEDIA_TREE.with_own(fields),
            practice=fields.flag("practice", False),
        )
        fields.done()
        return studio

    @property
    def postal(self) -> tuple[str, ...]:
        """Address lines as printed: the address, then postcode and city where they are given apart."""
        return postal_lines(self.address, self.city, self.postcode, self.country)

    def data(self, on: date, *, logo_sha256: str = "") -> dict[str, Any]:
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

    key: str
    name: str
    country: str
    contact: str = ""
    address: tuple[str, ...] = ()
    city: str = ""
    postcode: str = ""
    email: str = ""
    phone: str = ""
    tax_number: str = ""
    company_number: str = ""
    endpoint: str = ""
    business: bool = True
    business_evidence: str = ""
    currency: str = ""
    locale: str = ""
    language: str = ""
    payment_days: int | None = None
    payment_counted_in: str = ""
    purchase_order: str = ""
    buyer_reference: str = ""
    sector: str = ""
    einvoice: str = ""

    @classmethod
    def read(cls, fields: Fields, *, key: str = "") -> Client:
        """From the tree of `clients/KEY.toml`; `key` is the file's name. Raises BadInput naming file and field."""
        country = _country(fields)
        has_days = "payment_days" in fields
        client = cls(
            key=key,
            name=fields.text("name"),
            country=country,
            contact=fields.text("contact", "", blank=True),
            address=fields.texts("address", ()),
            city=fields.text("city", "", blank=True),
            postcode=fields.text("postcode", "", blank=True),
            email=_email(fields),
            phone=fields.text("phone", "", blank=True),
            tax_number=tax_number(fields.text("tax_number", "", blank=True), country),
            company_number=fields.text("company_number", "", blank=True),
            endpoint=_endpoint(fields),
            business=fields.flag("business", True),
            business_evidence=fields.text("business_evidence", "", blank=True),
            currency=_currency(fields, default=""),
            locale=_locale(fields, ""),
            language=_matching(fields, "language", _LANGUAGE, "a language code such as en"),
            payment_days=fields.whole("payment_days", 0, most=365) if has_days else None,
            payment_counted_in=fields.choice("payment_counted_in", COUNTED_IN, None) or "",
            purchase_order=fields.text("purchase_order", "", blank=True),
            buyer_reference=fields.text("buyer_reference", "", blank=True),
            sector=fields.text("sector", "", blank=True),
            einvoice=fields.choice("einvoice", EINVOICES, None) or "",
        )
        fields.done()
        return client

    @property
    def postal(self) -> tuple[str, ...]:
        """Address lines as printed: the address, then postcode and city where they are given apart."""
        return postal_lines(self.address, self.city, self.postcode, self.country)

    def data(self) -> dict[str, Any]:
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
        }

    def record(self) -> dict[str, Any]:
        """Everything its file says, to be frozen with what is agreed: `of_record` gives back the same client."""
        return {one.name: _plain(getattr(self, one.name)) for one in members(self)}

    @classmethod
    def of_record(cls, data: Mapping[str, Any]) -> Client:
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


def _country(fields: Fields) -> str:
    given = fields.text("country")
    code = given.upper()
    if code not in NAMES:
        raise fields.wrong("country", "a country code such as GB (ISO 3166-1)", given, _country_hint(given))
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


def _currency(fields: Fields, default: str = "GBP") -> str:
    code = fields.text("currency", default, blank=True).upper()
    if code:
        try:
            minor_digits(code)
        except BadInput as error:
            raise fields.wrong("currency", error.wanted, code) from None
    return code


def _book_url(fields: Fields) -> str:
    url = fields.text("url", "", blank=True)
    fields.done()
    return url


def _matching(fields: Fields, key: str, pattern: re.Pattern[str], wanted: str, default: str = "") -> str:
    text = fields.text(key, default, blank=True)
    if text and not pattern.fullmatch(text):
        raise fields.wrong(key, wanted, text)
    return text or default


def _locale(fields: Fields, default: str) -> str:
    given = fields.text("locale", default, blank=True).replace("-", "_")
    if given and not _LOCALE.fullmatch(given):
        raise fields.wrong("locale", "a locale such as en_GB", given)
    return given or default


def _email(fields: Fields) -> str:
    return _matching(fields, "email", _EMAIL, "an address such as office@example.com")


def _endpoint(fields: Fields) -> str:
    wanted = "an electronic address as SCHEME:ID, such as 0088:5060012349998"
    given = _matching(fields, "endpoint", _ENDPOINT, wanted)
    if given and given.partition(":")[0] not in EAS:
        hint = "The scheme is a code of the EAS list (EN 16931 BR-CL-25)"
        raise fields.wrong("endpoint", wanted, given, hint)
    return given
