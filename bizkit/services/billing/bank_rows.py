"""What is said of movements of an account: as listed, as booked, as left."""

from __future__ import annotations

from typing import TYPE_CHECKING, NotRequired, TypedDict

from bizkit.services.billing.bank_sums import SumRow
from bizkit.services.billing.payment_rows import SumBooked
from bizkit.store.bank import Became

if TYPE_CHECKING:
    from bizkit.domain.billing.payment import BalanceState


class NamedInvoice(TypedDict):
    """An invoice that a movement names, and its state."""

    invoice: str
    state: BalanceState


class SuggestedPart(TypedDict):
    """What of a movement may be for an invoice."""

    invoice: str
    amount: str
    currency: str


class SuggestionRow(TypedDict):
    """Invoices that a movement may pay, how well that fits, and why."""

    parts: list[SuggestedPart]
    score: int
    why: list[str]


class SuggestionOf(SuggestionRow):
    """The same of a movement, by its number."""

    entry: int


class MayBe(TypedDict):
    """Sums recorded by hand that a movement may be: one each, or several of one client together."""

    same: list[SumRow]
    together: list[list[SumRow]]


class MovementRow(Became, MayBe):
    """A movement: what became of it, or what it may be and may pay. names: a settled invoice that it names."""

    entry: int
    on: str
    amount: str
    currency: str
    original: str
    original_currency: str
    name: str
    text: str
    reference: str
    account: str
    names: NamedInvoice | None
    suggestions: list[SuggestionRow]


class MayBeOf(MayBe):
    """Sums recorded by hand that a movement may be."""

    entry: int


class MovementBooked(SumBooked):
    """A movement booked as a sum that came in."""

    entry: int


class SureBooked(TypedDict):
    """What book_sure found, booked, and left for a person."""

    found: list[SuggestionOf]
    booked: list[MovementBooked]
    same: list[MayBeOf]
    ahead: list[MovementAhead]


class MovementAhead(TypedDict):
    """A movement dated after today."""

    entry: int
    on: str
    why: str


class MovementDecided(TypedDict):
    """A movement set aside, or open again."""

    entry: int
    state: str
    reason: str


#: Sums recorded by hand that a movement is.
_Is = TypedDict("_Is", {"is": list[SumRow]}, total=False)


class EntryBooked(_Is):
    """What booking a movement came to; booked: None where it was only looked at."""

    entry: int
    booked: MovementBooked | None
    suggestions: list[SuggestionRow]
    same: NotRequired[list[SumRow]]
    together: NotRequired[list[list[SumRow]]]
