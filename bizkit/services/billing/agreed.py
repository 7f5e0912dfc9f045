"""What was agreed with the quote for later bills, and the yes that a charge needs where it states nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from bizkit.domain.billing.agreed import needs_yes
from bizkit.domain.errors import RuleBroken
from bizkit.domain.payment_terms import LateTerms
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import Job
    from bizkit.store.stamp import Stamp

Row = Mapping[str, Any]


def check_agreed(work: Connection, stamp: Stamp, job: Job, charges: Sequence[Row], agreed: str) -> None:
    """Refuse to bill charges that the quote of a job does not state, unless `agreed` says who said yes to them.

    charges: rows with `kind`, `item`, `amount`, `currency` and, where there is one, `working`. The yes is kept as an
    event. What gives something back needs none. Raises RuleBroken.
    """
    from bizkit.services.job.jobs import quote_of
    from bizkit.store.events import record

    quote = quote_of(work, job)
    unsaid = [
        row
        for row in charges
        if Decimal(row["amount"]) > 0 and needs_yes(quote.document, row["kind"], row.get("working"))
    ]
    if not unsaid:
        return
    items = [f"{row['item']} {row['currency']} {row['amount']}" for row in unsaid]
    if not agreed.strip():
        raise RuleBroken(
            f"{job.key}: {quote.number} revision {quote.revision} does not state {'; '.join(items)}: bill it once "
            "the client has said yes to it, with --agreed saying who and when, or give it up with bizkit charge waive"
        )
    record(work, stamp, "agreed", job.key, items=items, agreed=agreed.strip())


def late_terms(folder: StudioFolder, work: Connection, job: Job) -> LateTerms:
    """What lateness costs on a job: as its quote states it; today's settings for a quote that is silent on it."""
    from bizkit.services.job.jobs import quote_of
    from bizkit.store.issued import members_of

    said, today = members_of(work, job.quote_number, job.quote_revision, "extras"), folder.studio.late
    extras = (quote_of(work, job).document if said is None else said).get("extras")
    return today if extras is None else today.agreed(extras["late"])
