"""What a brief promises: a film or a set of stills, with its spec, review rounds and due date."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bizkit.domain.fields import Fields

DELIVERABLE_KINDS = ("film", "stills")


@dataclass(frozen=True, slots=True)
class Deliverable:
    """One deliverable of a brief.

    quantity: how many films like this, or stills in the set. rounds: review rounds included in the price.
    due_days: working days after the last shoot day. due_on: a fixed date instead. At most one of the two.
    """

    key: str
    title: str
    kind: str
    quantity: int
    spec: str
    rounds: int
    due_days: int | None
    due_on: date | None

    @classmethod
    def read(cls, fields: Fields) -> Deliverable:
        """One `[[deliverables]]` table. Raises BadInput naming the key."""
        deliverable = cls(
            key=slug(fields, "key"),
            title=fields.text("title"),
            kind=fields.choice("kind", DELIVERABLE_KINDS),
            quantity=fields.whole("quantity", 1, least=1),
            spec=fields.text("spec", "", blank=True),
            rounds=fields.whole("rounds", 2),
            due_days=fields.whole("due_days", most=2500) if "due_days" in fields else None,
            due_on=fields.day("due_on", None),
        )
        fields.done()
        if deliverable.due_days is not None and deliverable.due_on is not None:
            raise fields.wrong("due_on", "either due_days or due_on", "both")
        return deliverable


def slug(fields: Fields, key: str) -> str:
    """A name fit for file names and commands: lower-case letters, digits and single hyphens between them."""
    text = fields.text(key)
    parts = text.split("-")
    if not all(part and part.isascii() and part.isalnum() and part == part.lower() for part in parts):
        raise fields.wrong(key, "lower-case letters, digits and hyphens, such as follow-the-kelp", text)
    return text
