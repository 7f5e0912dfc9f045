"""What a brief promises: a film or a set of stills, with its spec, review rounds and due date."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bizkit.domain.fields import Fields
from bizkit.domain.work.spec import Spec

DELIVERABLE_KINDS = ("film", "stills")


@dataclass(frozen=True, slots=True)
class Deliverable:
    """One deliverable of a brief.

    quantity: how many films like this, or stills in the set. spec: in words, or the name of a delivery spec.
    rounds: review rounds included in the price, None for as many as the card says.
    due_days: working days after the last shoot day. due_on: a fixed date instead. At most one of the two.
    asks: what the file must be, once the name was looked up. cut_of: key of the set it comes from, or empty.
    cut: what tells it from the others of its set, in words ("9:16, 30 s, clean").
    """

    key: str
    title: str
    kind: str
    quantity: int
    spec: str
    rounds: int | None
    due_days: int | None
    due_on: date | None
    asks: Spec | None = None
    cut_of: str = ""
    cut: str = ""

    @classmethod
    def read(cls, fields: Fields) -> Deliverable:
        """One `[[deliverables]]` table. Raises BadInput naming the key."""
        due_days, due_on = read_due(fields)
        deliverable = cls(
            key=slug(fields, "key"),
            title=fields.text("title"),
            kind=fields.choice("kind", DELIVERABLE_KINDS),
            quantity=fields.whole("quantity", 1, least=1),
            spec=fields.text("spec", "", blank=True),
            rounds=read_rounds(fields),
            due_days=due_days,
            due_on=due_on,
        )
        fields.done()
        return deliverable


def read_rounds(fields: Fields) -> int | None:
    """Review rounds included, None where the brief leaves it to the card."""
    return fields.whole("rounds", None)


def read_due(fields: Fields) -> tuple[int | None, date | None]:
    """due_days and due_on of a table. Raises BadInput where both are given."""
    due_days = fields.whole("due_days", None, most=2500)
    due_on = fields.day("due_on", None)
    if due_days is not None and due_on is not None:
        raise fields.wrong("due_on", "either due_days or due_on", "both")
    return due_days, due_on


def slug(fields: Fields, key: str) -> str:
    """A name fit for file names and commands: lower-case letters, digits and single hyphens between them."""
    text = fields.text(key)
    parts = text.split("-")
    if not all(part and part.isascii() and part.isalnum() and part == part.lower() for part in parts):
        raise fields.wrong(key, "lower-case letters, digits and hyphens, such as follow-the-kelp", text)
    return text
