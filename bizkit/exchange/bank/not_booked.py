"""Rows of a bank's CSV that are no movements: balances, totals, what is pending or was declined. Common practice.

The words are those of English, German and French statements. A row is never left out for its amount, and a dated row
only where a whole cell says it: a fuel station may be called Total.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Final

_PENDING: Final = frozenset(
    {"pending", "authorised", "authorized", "on hold", "reserved", "in progress", "vorgemerkt", "ausstehend"}
    | {"vorgemerkter umsatz", "en attente", "en cours"}
)
_NEVER: Final = frozenset(
    {"declined", "reverted", "failed", "rejected", "cancelled", "canceled", "abgelehnt", "storniert", "refusé"}
)
#: What no client writes as the reason of a payment.
_BALANCE: Final = frozenset(
    {"opening balance", "closing balance", "start balance", "starting balance", "end balance", "ending balance"}
    | {"balance brought forward", "balance carried forward", "brought forward", "carried forward"}
    | {"anfangssaldo", "endsaldo", "schlusssaldo", "abschlusssaldo", "saldovortrag", "tagessaldo", "alter saldo"}
    | {"neuer saldo", "alter kontostand", "neuer kontostand", "anfangskontostand", "endkontostand"}
    | {"ancien solde", "nouveau solde", "solde initial", "solde final"}
)
#: The same where the row has no date either.
_UNDATED_BALANCE: Final = frozenset(
    {"balance", "previous balance", "current balance", "available balance", "ledger balance"}
    | {"saldo", "kontostand", "aktueller kontostand", "solde"}
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


def reason(cells: Sequence[str], headings: Sequence[str], telling: Iterable[str], *, dated: bool) -> str:
    """Why a row is no movement; empty where no word of it says so.

    headings: of the columns, lower case. telling: the cells that may name a balance (its day, text and name).
    dated: whether its day can be read; a row without one is also left out for a total.
    """
    for place, cell in enumerate(cells):
        said = _words(cell)
        if said in _PENDING:
            return "pending"
        if said in _NEVER and place < len(headings) and headings[place] in _STATUS:
            return said
    for cell in telling:
        said = _words(cell)
        if said in _BALANCE or (not dated and said in _UNDATED_BALANCE):
            return "a balance"
        if said in _TOTAL and not dated:
            return "a total"
        if not dated and said.split(" ")[0] in ("pending", "vorgemerkt"):
            return "pending"
    return ""


def _words(cell: str) -> str:
    """The words of a cell without signs, figures and what only says of which day."""
    words = re.findall(r"[^\W\d_]+", cell.casefold())
    bare = [word for word in words if word not in _AROUND]
    return " ".join(bare)
