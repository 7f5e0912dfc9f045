"""What documents of every kind have in them."""

from __future__ import annotations

from typing import NotRequired, TypedDict


class Bank(TypedDict):
    """A bank account. sort_code, account_number: of the United Kingdom, 6 and 8 digits."""

    account_name: str
    iban: str
    bic: str
    bank: str
    sort_code: NotRequired[str]
    account_number: NotRequired[str]


class Studio(TypedDict):
    """Who issues the paper. accent: #rrggbb. logo: SHA-256 of a PNG or JPEG, or empty. endpoint: electronic address
    as SCHEME:ID. local_tax_number: the tax office's own, where it is no number of value added tax. Address lines hold
    town and postcode too; they stand apart for electronic invoices."""

    name: str
    address: list[str]
    country: str
    email: str
    phone: str
    website: str
    people: list[str]
    tax_number: str
    company_number: str
    accent: str
    logo: str
    local_tax_number: NotRequired[str]
    bank: NotRequired[Bank]
    city: NotRequired[str]
    postcode: NotRequired[str]
    endpoint: NotRequired[str]


class Client(TypedDict):
    """Who the paper is for. The country is printed when it is not the studio's. endpoint, city: as for the studio.
    business: as against a consumer."""

    key: str
    name: str
    contact: str
    address: list[str]
    country: str
    email: str
    tax_number: str
    company_number: NotRequired[str]
    city: NotRequired[str]
    postcode: NotRequired[str]
    endpoint: NotRequired[str]
    business: NotRequired[bool]


class Base(TypedDict):
    """What every document has. language picks the wording, locale the form of amounts and dates."""

    kind: str
    number: str
    language: str
    locale: str
    paper_size: str
    studio: Studio


class Issued(Base):
    """A document that says its date."""

    issued_on: str


class JobPaper(Issued):
    """A dated document of one job. title: the job's, as it is printed."""

    job: str
    title: str


class Form(Base):
    """A paper of one job to be filled in and signed, dated by hand. Its number may be empty."""

    job: NotRequired[str]
    title: str
    issued_on: NotRequired[str]


class Territory(TypedDict):
    """A phrase, and the ISO 3166-1 codes it was expanded to."""

    phrase: str
    codes: list[str]


class Scope(TypedDict):
    """Media, territory and dates, both ends included; `sentences` say it in place of the facts.

    Without starts it begins on the day of signature, where it says ends, months or open_end; else it is left blank.
    """

    media: list[str]
    territory: Territory
    starts: NotRequired[str]
    ends: NotRequired[str]
    months: NotRequired[int | None]
    open_end: NotRequired[bool]
    sentences: NotRequired[list[str]]


class Clip(TypedDict):
    """An archive clip that a licence includes."""

    title: str
    seconds: str


class Licence(TypedDict):
    """What a client may do. affiliates and credit are printed on the certificate. works: keys, none for all that is
    delivered; work_titles: what they are called. limits: what it is not for."""

    licensee: str
    media: list[str]
    territory: Territory
    starts: str
    ends: str
    months: int
    on_full_payment: bool
    exclusivity: str
    sentences: list[str]
    affiliates: NotRequired[list[str]]
    credit: NotRequired[str]
    works: NotRequired[list[str]]
    work_titles: NotRequired[list[str]]
    clips: NotRequired[list[Clip]]
    first_use_by: NotRequired[str]
    sector: NotRequired[str]
    limits: NotRequired[list[str]]
    edits: NotRequired[bool]
    transfer: NotRequired[bool]
    buy_out: NotRequired[bool]


class Payment(TypedDict):
    """How to pay. sort_code, account_number: as of a bank account. qr: the text of a payment QR code, such as an
    EPC069-12 code for euro transfers."""

    terms: str
    account_name: str
    iban: str
    bic: str
    sort_code: NotRequired[str]
    account_number: NotRequired[str]
    reference: str
    qr: NotRequired[str]


class Fee(TypedDict):
    """What somebody is paid; note: when and how."""

    amount: str
    currency: str
    note: NotRequired[str]
