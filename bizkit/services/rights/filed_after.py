"""Papers filed where consent was taken back before: in what order they came, and what to look at."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from bizkit.services.rights.holdings import held
from bizkit.services.rights.persons import compared

if TYPE_CHECKING:
    from sqlalchemy import Connection


def withdrawals_before(work: Connection, job: str, kind: str, subject: str) -> dict[str, list[int]]:
    """What a paper filed now comes after, as `signing` keeps it: ids of papers on which consent was taken back."""
    from bizkit.store.jobs import holdings

    about = [one for one in holdings(work, key=job, kinds=(kind,)) if compared(one.subject) == subject]
    found = sorted({int(one.data["withdrawal_of"]) for one in about if one.data.get("withdrawal_of")})
    return {"after": found} if found else {}


def order_to_look_at(work: Connection, job: str, paper_id: int) -> Iterator[str]:
    """That a paper just filed holds nothing, or counts because it was filed after consent was taken back."""
    papers = {int(one.key): one for one in held(work, [job])}
    mine = papers[paper_id]
    if mine.overtaken_on is not None:
        yield (
            f"it holds {'nothing' if not mine.held else f'nothing from {mine.overtaken_on} on'}: {mine.why_nothing}. "
            "Was it given after that, have it signed anew"
        )
        return
    for one in papers.values():
        same = (one.kind, one.subject, one.withdrawn_on) == (mine.kind, mine.subject, mine.signed_on)
        if same and one.withdrawn_on is not None and not mine.owners.isdisjoint(one.owners):
            yield (
                f"consent was taken back on that very day, on paper {one.key}: this counts as given after it, as it "
                "was filed after it. Was it signed before, take it back too: bizkit holding withdraw "
                f"{job} {paper_id}"
            )
