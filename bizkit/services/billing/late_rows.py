"""What is said of what is late: as listed, as reminded of."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from bizkit.domain.documents.letters import Reminder


class ReminderSent(TypedDict):
    """A step of the reminders as it was sent."""

    step: str
    on: str


class LateRow(TypedDict):
    """An invoice that is late, or cost something for having been: what is due for it and what comes next."""

    number: str
    job: str
    client: str
    client_name: str
    due_on: str
    days_late: int
    currency: str
    left: str
    interest: str
    compensation: str
    sent: list[ReminderSent]
    next: str
    next_on: str
    due_now: bool
    paused_until: str
    problem: str


class LateTotal(TypedDict):
    """What is late in one currency."""

    currency: str
    left: str


class LateShown(TypedDict):
    """What is late on a day, in all too."""

    on: str
    late: list[LateRow]
    totals: list[LateTotal]


class Paused(TypedDict):
    """Until when an invoice is not reminded of, and why."""

    number: str
    until: str
    reason: str


class Reminded(TypedDict):
    """A reminder written: what it asks for, and the mail to go with it."""

    name: str
    number: str
    step: str
    currency: str
    left: str
    interest: str
    compensation: str
    total: str
    working: list[str]
    pay_by: str
    licence_suspended: bool
    others: list[str]
    subject: str
    text: str
    file: str
    document: Reminder
