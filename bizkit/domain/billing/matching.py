"""Which invoice a sum on the bank statement may be for. Only suggestions: a person says yes."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from difflib import SequenceMatcher
from itertools import combinations

from bizkit.domain.billing.payment import Owed
from bizkit.domain.money import Money, total


@dataclass(frozen=True, slots=True)
class BankEntry:
    """One movement on an account. amount: above zero came in, below went out.

    id: the same for the same movement, however often its file is read. name: who paid. reference: a structured one.
    original: what was sent where the bank converted it, None otherwise. account: whose movement it is. own_id: what
    the statement itself calls it, as written. place: where in its file it stands.
    """

    id: str
    booked_on: date
    amount: Money
    name: str = ""
    text: str = ""
    reference: str = ""
    original: Money | None = None
    account: str = ""
    own_id: str = ""
    place: str = ""


@dataclass(frozen=True, slots=True)
class Candidate:
    """An invoice that money may be for: what is left of it, and who it was sent to.

    left: below zero where it is overpaid, which money that goes out may pay back. notes: its credit notes.
    """

    owed: Owed
    left: Money
    client_name: str
    reference: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Suggestion:
    """One way to book an entry: parts per invoice. score: 0 to 100. why: what agreed, and what did not."""

    parts: tuple[tuple[str, Money], ...]
    score: int
    why: tuple[str, ...]

    @property
    def signed(self) -> bool:
        """Whether more than the amount speaks for it: the invoice's number or reference, the payer's name."""
        return self.score > BY_AMOUNT

    @property
    def named(self) -> bool:
        """Whether the entry names an invoice that it would pay."""
        return any(one.startswith("names ") for one in self.why)


#: What each sign of agreement counts. Our own weights; a suggestion below `LEAST` is not worth showing.
BY_REFERENCE, BY_AMOUNT, BY_NAME = 60, 30, 10
LEAST = 30
#: Most invoices tried together for one sum of money.
MOST_TOGETHER = 4


def suggest(
    entry: BankEntry, candidates: Sequence[Candidate], already_booked: Collection[str] = ()
) -> list[Suggestion]:
    """Suggestions for one entry, the best first; none for an entry booked before.

    already_booked: ids of entries that became payments. Candidates in another currency, or issued after the money
    came, are left out. Several invoices of one client that add up to the sum are suggested together. Money that went
    out may be what was overpaid of an invoice, going back.
    """
    if entry.id in already_booked or not entry.amount:
        return []
    if entry.amount.amount < 0:
        return _refunds(entry, candidates)
    sums = [entry.amount] + ([entry.original] if entry.original else [])
    result = []
    for candidate in candidates:
        amount = next((money for money in sums if money.currency == candidate.left.currency), None)
        if amount is None or candidate.left.amount <= 0 or candidate.owed.issued_on > entry.booked_on:
            continue
        score, why = 0, []
        if names(entry, candidate):
            score += BY_REFERENCE
            why.append(f"names {candidate.owed.number}")
        if amount == candidate.left:
            score += BY_AMOUNT
            why.append(f"is exactly the {candidate.left} left")
        elif score:
            more = "more" if amount > candidate.left else "less"
            why.append(f"is {more} than the {candidate.left} left")
        if comes_from(entry, candidate.client_name):
            score += BY_NAME
            why.append(f"comes from {candidate.client_name}")
        if score >= LEAST:
            part = min(amount.amount, candidate.left.amount)
            parts = ((candidate.owed.number, Money(part, amount.currency)),)
            result.append(Suggestion(parts, score, tuple(why)))
    result += _together(entry, candidates, sums)
    return sorted(result, key=lambda found: (-found.score, len(found.parts), found.parts[0][0]))


def _refunds(entry: BankEntry, candidates: Sequence[Candidate]) -> list[Suggestion]:
    """Invoices that are overpaid, of which money that went out may be the refund."""
    sums, result = [entry.amount] + ([entry.original] if entry.original else []), []
    for one in candidates:
        amount = next((money for money in sums if money.currency == one.left.currency), None)
        if amount is None or one.left.amount >= 0 or one.owed.issued_on > entry.booked_on:
            continue
        numbers = [number for number in (one.owed.number, *one.notes) if says(entry, number)]
        if not numbers and says(entry, one.reference):
            numbers = [one.owed.number]
        score, why = BY_REFERENCE * bool(numbers), [f"names {number}" for number in numbers]
        if amount == one.left:
            score += BY_AMOUNT
            why.append(f"is exactly the {-one.left} overpaid")
        elif score:
            why.append(f"is {'more' if amount < one.left else 'less'} than the {-one.left} overpaid")
        if comes_from(entry, one.client_name):
            score += BY_NAME
            why.append(f"goes to {one.client_name}")
        if score >= LEAST:
            part = max(amount.amount, one.left.amount)
            result.append(Suggestion(((one.owed.number, Money(part, amount.currency)),), score, tuple(why)))
    return sorted(result, key=lambda found: (-found.score, found.parts[0][0]))


def _together(entry: BankEntry, candidates: Sequence[Candidate], sums: Sequence[Money]) -> list[Suggestion]:
    """Two or more open invoices of one client whose sum is the entry's."""
    result = []
    by_client: dict[tuple[str, str], list[Candidate]] = {}
    for candidate in candidates:
        if candidate.left.amount > 0 and candidate.owed.issued_on <= entry.booked_on:
            by_client.setdefault((candidate.client_name, candidate.left.currency), []).append(candidate)
    for (client, currency), mine in by_client.items():
        amount = next((money for money in sums if money.currency == currency), None)
        if amount is None:
            continue
        oldest = sorted(mine, key=lambda candidate: (candidate.owed.due_on, candidate.owed.number))[:12]
        for size in range(2, MOST_TOGETHER + 1):
            for group in combinations(oldest, size):
                if total((candidate.left for candidate in group), currency) != amount:
                    continue
                named = [candidate.owed.number for candidate in group if names(entry, candidate)]
                score = BY_AMOUNT + BY_REFERENCE * len(named) // size
                why = [f"is exactly the sum of {size} open invoices"]
                if named:
                    why.insert(0, f"names {', '.join(named)}")
                if comes_from(entry, client):
                    score += BY_NAME
                    why.append(f"comes from {client}")
                parts = tuple((candidate.owed.number, candidate.left) for candidate in group)
                result.append(Suggestion(parts, score, tuple(why)))
    return result


def names(entry: BankEntry, candidate: Candidate) -> bool:
    """Whether the entry's text or reference holds the invoice's number or payment reference."""
    return says(entry, candidate.owed.number) or says(entry, candidate.reference)


def says(entry: BankEntry, number: str) -> bool:
    """Whether the entry's text or reference holds a number.

    Signs and spaces inside it do not count, and a longer number that merely begins or ends the same is not it.
    """
    bare = re.sub(r"[^A-Za-z0-9]", "", number)
    if len(bare) < 3:
        return False
    pattern = re.compile(r"(?<![0-9])" + r"[^A-Za-z0-9]*".join(bare) + r"(?![0-9])", re.IGNORECASE | re.ASCII)
    return any(pattern.search(text) for text in (entry.reference, entry.text, entry.name))


def comes_from(entry: BankEntry, client: str) -> bool:
    """Whether the client is named as the payer; by the text where the statement has no name."""
    if entry.name:
        return alike(entry.name, client)
    wanted, said = _words(client), _words(entry.text)
    length = len(wanted)
    return bool(wanted) and any(said[at : at + length] == wanted for at in range(len(said) - length + 1))


_FORMS = frozenset("ltd limited llp plc inc gmbh ag kg ug sarl sas sa bv nv oy ab as aps srl spa the and und".split())  # noqa: SIM905


def alike(one: str, other: str) -> bool:
    """Whether two names are of the same person or firm, as far as letters tell: accents and legal forms left out.

    >>> alike("SKERROW ISLANDS TOURISM LTD", "Skerrow Islands Tourism")
    True
    """
    first, second = _words(one), _words(other)
    if not first or not second:
        return False
    if set(first) <= set(second) or set(second) <= set(first):
        return True
    return SequenceMatcher(None, " ".join(first), " ".join(second)).ratio() >= 0.85


def _words(name: str) -> list[str]:
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return [word for word in re.findall(r"[a-z0-9]+", plain) if word not in _FORMS]
