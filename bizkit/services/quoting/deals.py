"""Days bought ahead, and how many of them accepted jobs have drawn."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import plain
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.issued import IssuedQuote


def draws(work: Connection) -> list[DrawRow]:
    """What each accepted job has drawn from a deal, cancelled jobs left out."""
    from bizkit.services.job.called_off import cancellations
    from bizkit.services.job.jobs import said_in_quote
    from bizkit.store.ahead import reading_ahead
    from bizkit.store.jobs import jobs

    cancelled = cancellations(work)
    found: list[DrawRow] = []
    with reading_ahead(work):
        for job in jobs(work):
            drawn = said_in_quote(work, job, "deal")
            if drawn and job.key not in cancelled:
                found.append({"deal": drawn["name"], "job": job.key, "days": drawn["days"], "on": job.opened_on})
    return found


def days_drawn(folder: StudioFolder, deal: str, *, but: str = "") -> Decimal:
    """Days of `deal` that jobs in the book have drawn; the job `but` left out."""
    with folder.book.read() as work:
        return _drawn(draws(work), deal, but)


def check_draw(work: Connection, folder: StudioFolder, quote: IssuedQuote) -> None:
    """Refuse to accept a quote that draws more days than its deal has left by now. Raises RuleBroken."""
    from bizkit.services.job.basis import read_basis
    from bizkit.store.basis import basis_of

    wanted = quote.document.get("deal")
    basis = basis_of(work, quote.number, quote.revision)
    if not wanted or basis is None:
        return
    card, brief, _ = read_basis(folder, basis.brief, basis.brief_file, basis.card, quote.document)
    deal = card.deals[wanted["name"]]
    typed = brief.deal.used_before if brief.deal else Decimal(0)
    left = deal.days - typed - _drawn(draws(work), deal.key, quote.key)
    if Decimal(wanted["days"]) > left:
        raise RuleBroken(
            f"{quote.number} draws {wanted['days']} days from {deal.title}, which has "
            f"{plain(max(left, Decimal(0)))} left by now: make a new revision with bizkit quote draft"
        )


def list_deals(folder: StudioFolder) -> list[DealRow]:
    """Every deal of the rate card: bought, drawn by which jobs, left."""
    with folder.book.read() as work:
        drawn = draws(work)
    rows: list[DealRow] = []
    for deal in folder.card.deals.values():
        mine = [one for one in drawn if one["deal"] == deal.key]
        used = _drawn(mine, deal.key, "")
        rows.append(
            {
                "key": deal.key,
                "title": deal.title,
                "client": deal.client,
                "starts": deal.starts.isoformat() if deal.starts else "",
                "ends": deal.ends.isoformat() if deal.ends else "",
                "bought": plain(deal.days),
                "drawn": plain(used),
                "left": plain(deal.days - used),
                "jobs": mine,
            }
        )
    return rows


def _drawn(rows: list[DrawRow], deal: str, but: str) -> Decimal:
    days = (Decimal(row["days"]) for row in rows if row["deal"] == deal and row["job"] != but)
    return sum(days, Decimal(0))


class DrawRow(TypedDict):
    """Days that an accepted job draws from a deal."""

    deal: str
    job: str
    days: str
    on: str


class DealRow(TypedDict):
    """A deal: the days bought, drawn and left, and by which jobs."""

    key: str
    title: str
    client: str
    starts: str
    ends: str
    bought: str
    drawn: str
    left: str
    jobs: list[DrawRow]
