"""What kind of income a cancelled job brought: that of its charges, and nothing of the quote that fell away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bizkit.domain.money import Money, total
from bizkit.services.billing.earlier import papers_of
from bizkit.services.billing.fell_away import charged_by_section

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import Job


def settled_income(work: Connection, job: Job, net: Money) -> dict[str, str]:
    """By kind, what the paper that settles a cancelled job adds to the papers before it, `net` in all.

    Below zero where a kind loses what a stage of the quote had counted as it. Empty where papers from before kinds
    were kept make it come to another sum.
    """
    sums: dict[str, Money] = {}

    def add(kind: str, amount: Money) -> None:
        sums[kind] = sums.get(kind, Money(0, net.currency)) + amount

    for section, amount in charged_by_section(work, job):
        add(section, amount)
    for paper in papers_of(work, job.key):
        sign = 1 if paper["kind"] == "credit_note" else -1
        for kind, text in paper.get("income", {}).items():
            add(kind, Money(text, net.currency) * sign)
    found = {kind: amount.rounded() for kind, amount in sums.items() if amount}
    return {kind: amount.text for kind, amount in found.items()} if total(found.values(), net.currency) == net else {}


def income_after_settling(work: Connection, job: str, net: Money) -> dict[str, str]:
    """By kind, what a credit note of `net` takes of a settled job: of what it counts as by now, in proportion.

    The invoices of the quote then bill the fee, whatever kinds they were of before.
    """
    sums: dict[str, Money] = {}
    for paper in papers_of(work, job):
        sign = -1 if paper["kind"] == "credit_note" else 1
        for kind, text in paper.get("income", {}).items():
            sums[kind] = sums.get(kind, Money(0, net.currency)) + Money(text, net.currency) * sign
    kinds = {kind: amount.amount for kind, amount in sums.items() if amount.amount > 0}
    if not kinds:
        return {}
    parts = zip(kinds, net.allocate(list(kinds.values())), strict=True)
    return {kind: part.text for kind, part in parts if part}
