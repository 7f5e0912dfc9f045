"""What kind of income a cancelled job brought: that of its charges, and nothing of the quote that fell away."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bizkit.domain.money import Money, total
from bizkit.services.billing.earlier import papers_of
from bizkit.services.billing.fell_away import fell_away
from bizkit.services.job.charges import WAIVED, charge_rows

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

    fell = {f"credit note {number}": sum_ for number, sum_ in fell_away(work, job).items()}
    for row in charge_rows(work, job.key):
        amount = Money(row["amount"], net.currency)
        if row["state"] != WAIVED:
            add(row["section"], amount)
        if row["source"] in fell and row["kind"] == "credit" and not row["working"].get("inputs"):
            part = min(fell[row["source"]], -amount)
            add(row["section"], part)
            fell[row["source"]] = fell[row["source"]] - part
    for paper in papers_of(work, job.key):
        sign = 1 if paper["kind"] == "credit_note" else -1
        for kind, text in paper.get("income", {}).items():
            add(kind, Money(text, net.currency) * sign)
    found = {kind: amount.rounded() for kind, amount in sums.items() if amount}
    return {kind: amount.text for kind, amount in found.items()} if total(found.values(), net.currency) == net else {}
