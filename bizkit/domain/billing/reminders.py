"""When to remind a client, and how firmly: a ladder of steps, climbed one at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.domain.payment_terms import Step

#: Days between two reminders of one invoice, at the least.
GAP_DAYS: Final = 7


@dataclass(frozen=True, slots=True)
class Reminder:
    """The next reminder of an invoice: the step, and from which day on it may go out."""

    step: Step
    on: date
    days_late: int


def next_reminder(
    ladder: Sequence[Step],
    due_on: date,
    left: Money,
    sent: Sequence[tuple[str, date]],
    today: date,
    *,
    paused: bool = False,
) -> Reminder | None:
    """The reminder to send today, or None.

    sent: names of steps already sent with their days. One step at a time, in order, at least `GAP_DAYS` apart;
    nothing for a paid invoice, one not late yet, or one whose reminders are `paused` (a dispute, a promise to pay).
    Raises BadInput for a sent step that the ladder does not have.
    """
    if left.amount <= 0 or paused or today <= due_on:
        return None
    names = [step.name for step in ladder]
    climbed = -1
    for name, _ in sent:
        if name not in names:
            raise BadInput(wanted=f"a step of the ladder ({', '.join(names)})", got=name, field="reminder")
        climbed = max(climbed, names.index(name))
    if climbed + 1 >= len(ladder):
        return None
    step = ladder[climbed + 1]
    earliest = due_on + timedelta(days=step.days_after_due)
    if sent:
        earliest = max(earliest, max(day for _, day in sent) + timedelta(days=GAP_DAYS))
    if today < earliest:
        return None
    return Reminder(step, earliest, (today - due_on).days)
