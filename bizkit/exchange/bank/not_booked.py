"""Rows of a bank's CSV that are no movements: balances, totals, what is pending or was declined. Common practice.

The words are those of English, German and French statements. A row is never left out for its amount, and a dated row
only where a whole cell says it: a fuel station may be called Total. Words that a client may write too ("Saldo", for
the rest of a bill) count in a dated row only where nothing else in it says whose money it is; and what is left out is
always named, so that it can be taken in.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Final

_PENDING: Final = frozenset(
    {"pending", "authorised", "authorized", "on hold", "reserved", "in progress", "vorgemerkt", "ausstehend"}
    | {"en attente", "en cours", "nicht gebucht", "noch nicht gebucht", "not booked", "not yet booked"}
)
#: A cell of these words and no others, one of the first at least, says it: "Umsatz vorgemerkt und nicht gebucht".
_PENDING_WORDS: Final = frozenset(
    {"pending", "vorgemerkt", "vorgemerkte", "vorgemerkter", "ausstehend", "ausstehende"}
)
_BESIDE_PENDING: Final = frozenset(
    {"umsatz", "umsätze", "buchung", "buchungen", "zahlung", "und", "noch", "nicht", "gebucht", "not", "yet", "and"}
    | {"transaction", "transactions", "payment", "booking", "entry", "card", "booked", "posted"}
)
_NEVER: Final = frozenset(
    {"declined", "reverted", "failed", "rejected", "cancelled", "canceled", "abgelehnt", "storniert", "refusé"}
)
#: Those of them that no client writes either.
_FAILED: Final = frozenset({"declined", "reverted", "failed", "rejected", "abgelehnt", "refusé"})
#: What a column of states says of a movement.
_BOOKED: Final = frozenset(
    {"completed", "booked", "posted", "cleared", "settled", "executed", "gebucht", "verbucht", "comptabilisé"}
)
#: What no client writes as the reason of a payment.
_BALANCE: Final = frozenset(
    {"opening balance", "closing balance", "start balance", "starting balance", "end balance", "ending balance"}
    | {"balance brought forward", "balance carried forward", "brought forward", "carried forward"}
    | {"anfangssaldo", "endsaldo", "schlusssaldo", "abschlusssaldo", "saldovortrag", "tagessaldo", "alter saldo"}
    | {"neuer saldo", "alter kontostand", "neuer kontostand", "anfangskontostand", "endkontostand"}
    | {"ancien solde", "nouveau solde", "solde initial", "solde final"}
)
#: What a client may write too.
_PERHAPS_BALANCE: Final = frozenset(
    {"balance", "previous balance", "current balance", "available balance", "ledger balance", "new balance"}
    | {"account balance", "total balance", "final balance", "saldo", "kontosaldo", "kontostand", "solde"}
    | {"aktueller kontostand", "aktueller saldo", "saldo neu", "saldo alt"}
)
_TOTAL: Final = frozenset(
    {"total", "totals", "grand total", "subtotal", "sum", "total in", "total out", "total paid in", "total paid out"}
    | {"total debits", "total credits", "summe", "gesamt", "gesamtsumme", "umsatzsumme", "zwischensumme", "totaux"}
)
#: Headings of a column that says whether a row is booked.
_STATUS: Final = frozenset({"status", "state", "transaction status", "booking status", "buchungsstatus", "statut"})
#: Words around a balance that say only of which day and money it is.
_AROUND: Final = frozenset(
    {"at", "on", "as", "of", "per", "the", "date", "day", "am", "vom", "zum", "des", "au", "du", "le"}
    | {"eur", "gbp", "usd", "chf", "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}
    | {"january", "february", "march", "april", "june", "july", "august", "september", "october", "november"}
    | {"december", "januar", "februar", "märz", "mai", "juni", "juli", "oktober", "dezember"}
)


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a statement. headings: of its cells, lower case. dated: whether its day can be read.

    day: as written. said: name, text and reference, where columns are described for them. mapped: places of those.
    """

    cells: Sequence[str]
    headings: Sequence[str]
    dated: bool
    day: str
    said: Sequence[str]
    mapped: Collection[int]


def reason(row: Row) -> str:
    """Why a row is no movement; empty where no word of it says so."""
    states = {place for place, heading in enumerate(row.headings) if heading in _STATUS}
    told = {_words(cell) for place, cell in enumerate(row.cells) if place in states}
    if row.dated and told & _BOOKED:
        return ""
    for place, cell in enumerate(row.cells):
        words = _words(cell)
        if _is_pending(words):
            return "pending"
        if words in _NEVER and (place in states or (not states and (place not in row.mapped or words in _FAILED))):
            return words
    if not row.dated:
        return next((why for cell in row.cells if (why := _undated(_words(cell)))), "")
    said = [cell for cell in row.said if cell]
    if any(_words(cell) in _BALANCE for cell in (row.day, *said)):
        return "a balance"
    if said and all(_words(cell) in _PERHAPS_BALANCE | _TOTAL for cell in said):
        return "a total" if _words(said[0]) in _TOTAL else "a balance"
    return ""


def _undated(words: str) -> str:
    if words in _BALANCE | _PERHAPS_BALANCE:
        return "a balance"
    if words in _TOTAL:
        return "a total"
    return "pending" if words.split(" ")[0] in ("pending", "vorgemerkt") else ""


def _is_pending(words: str) -> bool:
    if words in _PENDING:
        return True
    each = set(words.split())
    return bool(each & _PENDING_WORDS) and each <= _PENDING_WORDS | _BESIDE_PENDING


def _words(cell: str) -> str:
    """The words of a cell without signs, figures and what only says of which day."""
    words = re.findall(r"[^\W\d_]+", cell.casefold())
    bare = [word for word in words if word not in _AROUND]
    return " ".join(bare)
