"""Quotes, invoices and credit notes as the book holds them: what leaves the studio, and what is its own beside it.

The shapes of `sales` say what may leave; the members here never do (see `outgoing`). Those under `NotRequired` came
later than the first documents, or are there for some documents alone.
"""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict, cast

from bizkit.domain.documents.sales import Credited, Invoice, InvoiceLine, Quote, Weather
from bizkit.domain.pricing.working import WorkingData

#: The parts of `rate_card` as a quote keeps it.
CardUsed = TypedDict("CardUsed", {"name": str, "from": str, "sha256": str})


class Reckoned(TypedDict):
    """How one line came about: a sentence, and the steps as a tree where there were any."""

    why: NotRequired[str]
    working: NotRequired[WorkingData]


class Observed(TypedDict):
    """Past days that chances come from: by month the chance of a water day and a dry one, and the days seen."""

    chance: dict[str, str]
    dry: dict[str, str]
    memory: str
    days: dict[str, int]
    pairs: int


class WeatherOnFile(Weather):
    """The weather plan with the past days that its chances come from."""

    observed: NotRequired[Observed]


class QuoteOnFile(Quote):
    """A quote with its basis. client_record: the whole file of the client as it stood; specs: of the deliveries, by
    name; media: of the studio's own, by code; both so that what was agreed is never read from the files of today.
    of_job: what of the record the brief said for this job alone."""

    reckoning: NotRequired[list[Reckoned]]
    warnings: NotRequired[list[str]]
    client_record: NotRequired[dict[str, Any]]
    of_job: NotRequired[list[str]]
    specs: NotRequired[dict[str, Any]]
    media: NotRequired[dict[str, Any]]
    rate_card: CardUsed
    brief_sha256: str


class LineOnFile(InvoiceLine):
    """A line with the kind of work it is of, and what it bills: a stage, a charge, a line of another invoice."""

    section: NotRequired[str]
    source: NotRequired[str]


class Deducted(TypedDict):
    """What a later invoice takes off a deposit, net."""

    number: str
    net: str


class StageBilled(TypedDict):
    """What of the job an invoice bills: a stage by its position, 0 for none; reason: why it went out beside them."""

    position: int
    title: str
    reason: NotRequired[str]


class BillOnFile(Invoice):
    """An invoice or a credit note with what the studio keeps of it. income: net by kind of work. charges: ids of
    those it bills. deducts: deposits it takes off. settles: it sets the fee of a cancelled job against what was
    invoiced. no_supply: why it is no supply, where it is none. late_payment_of: the invoice whose interest and
    compensation it is of.

    Of a credit note alone: what it credits, why and what the client reads of the refund; of_lines: what it takes off
    each line of the invoice, by position. undoes: all that the invoice billed is to be billed again; again: ids of
    the charges of what is, where that is a part. lowers_price: it is kept as a change agreed with the client.
    """

    revision: NotRequired[int]
    stage: NotRequired[StageBilled]
    income: NotRequired[dict[str, str]]
    reasons: NotRequired[dict[str, str]]
    reckoning: NotRequired[list[Reckoned]]
    charges: NotRequired[list[int]]
    deducts: NotRequired[list[Deducted]]
    advances: NotRequired[dict[str, Any] | None]
    settles: NotRequired[bool]
    no_supply: NotRequired[str]
    late_payment_of: NotRequired[str]
    credits: NotRequired[Credited]
    reason: NotRequired[str]
    refund: NotRequired[str]
    of_lines: NotRequired[dict[str, str]]
    undoes: NotRequired[bool]
    again: NotRequired[list[int]]
    lowers_price: NotRequired[bool]


def lines_of(bill: BillOnFile) -> list[LineOnFile]:
    """The lines of an invoice or credit note with what the studio keeps of each."""
    return cast("list[LineOnFile]", bill["lines"])


def weather_of(quote: QuoteOnFile) -> WeatherOnFile | None:
    """The weather plan of a quote with what the studio keeps of it; None where it has none."""
    return cast("WeatherOnFile | None", quote["weather"])
