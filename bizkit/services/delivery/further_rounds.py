"""The client's yes or no to a review round beyond those included; a yes becomes a charge."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.typed_numbers import amount_of
from bizkit.domain.work.rounds import (
    RoundTerms,
    extra_round_lines,
)
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    pass
    from bizkit.services.delivery.deliverables import DeliverableRow
from bizkit.services.delivery.reviews import _words, agreed_terms, counted


def answer_round(
    folder: StudioFolder,
    job: str,
    key: str,
    on: date,
    *,
    yes: bool,
    by: str,
    number: int | None = None,
    price: str = "",
    reason: str = "",
) -> DeliverableRow:
    """Record the client's yes or no to a round beyond those included; a yes becomes a charge.

    number: the round, the first that waits without it. price: another than the agreed one, with a `reason`. Raises
    RuleBroken when no round waits, or there is no price.
    """
    from bizkit.services.delivery.deliverables import the_deliverable
    from bizkit.services.job.charges import put_charges
    from bizkit.store.deliveries import deliverables
    from bizkit.store.events import record
    from bizkit.store.reviews import add_round_answer

    if not by.strip():
        raise BadInput(wanted="who said so, on the client's side", got="nothing", field="--by")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_deliverable(folder, work, job, key, on)
        waiting = row["waits_for_yes"]
        if not waiting:
            raise RuleBroken(f"{key}: no round beyond the {row['rounds_included']} included waits for an answer")
        chosen = waiting[0] if number is None else number
        if chosen not in waiting:
            raise BadInput(wanted=f"a round that waits ({', '.join(map(str, waiting))})", got=chosen, field="--round")
        terms = agreed_terms(folder, work, row["job"])
        currency = row["currency"]
        if price:
            terms = RoundTerms(terms.included, _price(price, currency, terms, reason), 1, False)
        (one,) = [each for each in deliverables(work, row["job"]) if each.key == key]
        amount = Money(0, currency)
        if yes:
            item = _words(folder, work, row["job"]).say("charges.further_round", title=one.title)
            lines = extra_round_lines(counted(one, terms), terms, agreed=[chosen], item=item)
            amount = lines[0].amount
            put_charges(work, stamp, row["job"], "round", lines, source=f"round {chosen} of {key}")
        add_round_answer(
            work,
            stamp,
            {
                "job": row["job"],
                "deliverable": key,
                "number": chosen,
                "answer": "yes" if yes else "no",
                "by": by.strip(),
                "amount_minor": amount.minor,
                "currency": currency,
                "reason": reason,
            },
        )
        verb = "agreed to a round" if yes else "declined a round"
        record(work, stamp, verb, row["job"], deliverable=key, round=chosen, by=by.strip(), amount=amount.text)
        return the_deliverable(folder, work, job, key, on)


def _price(text: str, currency: str, terms: RoundTerms, reason: str) -> Money:
    price = amount_of(text, currency, "--price")
    if price.amount < 0:
        raise BadInput(wanted="an amount of zero or more", got=text, field="--price")
    if terms.extra_round is not None and price != terms.extra_round and not reason.strip():
        raise RuleBroken(f"{terms.extra_round} is agreed for a further round: say with --reason why it is {price}")
    return price
