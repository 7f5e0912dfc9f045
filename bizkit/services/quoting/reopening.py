"""Taking back an answer recorded by mistake, while nothing has left on it: the quote is open again as it was.

What an acceptance began (the job with its days, stages and deliverables) goes out of the book; the history keeps that
it was there, and why it is not. A revision that was issued with the options taken stays as it was issued and stands
no more, see `store.offers`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.services.quoting.states import QuoteRow
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.quotes import Answer

Row = Mapping[str, Any]

#: Table -> what one row of it says has happened on a job. Whatever may name a job stands here or is begun with it.
HAPPENED: Final[dict[str, Callable[[Row], str]]] = {
    "worked_day": lambda row: f"{row['on']} was logged as worked",
    "moved_day": lambda row: f"{row['moved_from'] or 'a day'} was moved to {row['moved_to'] or 'an open date'}",
    "called_off": lambda row: f"{row['kind']} by notice on {row['notice_on']}",
    "cost": lambda row: f"{row['what'] or row['kind']} was paid for",
    "charge": lambda row: f"{row['item']} is charged",
    "holding": lambda row: f"a paper is on file ({row['kind'].replace('_', ' ')} {row['id']})",
    "form": lambda row: f"the form {row['number']} was written to be signed",
    "licence": lambda row: f"{row['number']} was granted",
    "version": lambda row: f"{row['deliverable']} v{row['number']} was sent",
    "review_round": lambda row: f"notes came on {row['deliverable']} v{row['version']}",
    "note": lambda row: f"notes came on {row['deliverable']} v{row['version']}",
    "note_answer": lambda row: f"notes on {row['deliverable']} were answered",
    "round_answer": lambda row: f"a further round of {row['deliverable']} was answered",
    "file_check": lambda row: f"{row['file']} was looked at for {row['deliverable']}",
    "handover": lambda row: f"files were handed over with {row['number']}",
    "archive": lambda row: f"{row['what']} is kept in the archive",
    "schedule": lambda row: f"its plan was saved on {row['on']}",
    "journey": lambda row: f"a journey of {row['on']} was logged",
}


def reopen_quote(folder: StudioFolder, name: str, on: date, *, reason: str, preview: bool = False) -> Reopened:
    """Take back the answer to a quote (a yes, a no, or that it was taken back itself) that was a mistake.

    preview: only say what would be. Raises RuleBroken for a quote that has no answer or was replaced since, and once
    anything has happened on the job, naming all of it; BadInput without a reason.
    """
    from bizkit.services.quoting.quote_list import find_quote
    from bizkit.services.quoting.states import quote_row
    from bizkit.store.events import record
    from bizkit.store.job_rows import forget_job
    from bizkit.store.offers import newest_standing
    from bizkit.store.quotes import answers, drop_answer

    if not reason.strip():
        raise BadInput(wanted="why it was no answer", got="nothing", field="--reason")
    stamp = folder.draft_stamp(on) if preview else folder.stamp(on)
    with folder.book.work() as work:
        quote = find_quote(work, name)
        said = next((one for one in answers(work, quote.number) if one.revision == quote.revision), None)
        if said is None:
            raise RuleBroken(f"{quote.number} revision {quote.revision} waits for its answer: nothing to take back")
        left = list(happened(work, quote.key, said)) if said.answer == "accepted" else []
        if left:
            raise RuleBroken(
                f"{quote.number} revision {quote.revision} was {said.answer} on {said.on}, and that cannot be taken "
                f"back any more: {'; '.join(left)}. End the job with bizkit quote cancel {quote.key}"
            )
        if not preview:
            if said.answer == "accepted":
                forget_job(work, quote.key)
            drop_answer(work, quote.number, quote.revision)
            record(
                work, stamp, "reopened", quote.key, number=quote.number, revision=quote.revision, answer=said.answer,
                answered_on=said.on, by=said.by, reason=reason.strip(),
            )  # fmt: skip
            open_again = newest_standing(work, quote.number)
        else:
            accepted = quote.document.get("accepted")
            open_again = accepted["of_revision"] if accepted else quote.revision
        row = quote_row(work, quote.number, open_again, on, without=said)
    return {
        **row,
        "was": said.answer,
        "was_revision": quote.revision,
        "was_answered_on": said.on,
        "by": said.by,
        "reason": reason.strip(),
        "preview": preview,
    }


def happened(work: Connection, job: str, said: Answer) -> Iterator[str]:
    """What has happened on a job since it was opened by this acceptance, one sentence each, none twice."""
    from bizkit.store.job_rows import papers_of_job, rows_of_job
    from bizkit.store.letters import letters

    found = [f"{number} was issued" for number in papers_of_job(work, job)]
    found += [f"{letter.name} was written" for letter in letters(work, about=job)]
    for table, rows in rows_of_job(work, job).items():
        found += [HAPPENED[table](row) for row in rows if table != "charge" or not row["waived"]]
    found += _mailed(work, job, said)
    found += _resting_on(work, job)
    yield from dict.fromkeys(found)


def _mailed(work: Connection, job: str, said: Answer) -> Iterator[str]:
    """Mails that carried the revision issued as accepted: the client has it in writing."""
    from bizkit.store.events import history
    from bizkit.store.issued import by_number

    quote = by_number(work, said.number, said.revision)
    if quote is None or not quote.document.get("accepted"):
        return
    accepted = False
    for event in history(work, job):
        if event.verb == "accepted" and event.data.get("revision") == said.revision:
            accepted = True
        elif accepted and event.verb in ("mailed", "wrote mail") and event.data["name"] == said.number:
            yield f"a mail with {said.number} revision {said.revision} was written"


def _resting_on(work: Connection, job: str) -> Iterator[str]:
    """Other jobs, quotes and drafts that license what this job makes."""
    from bizkit.store.jobs import jobs
    from bizkit.store.offers import standing
    from bizkit.store.quotes import drafts
    from bizkit.store.rights import origins

    for (other, clip), origin in origins(work).items():
        if other != job and origin.startswith(f"{job}/"):
            yield f"the clip {clip} of the job {other} comes from what it makes"
    offers: list[tuple[str, str, Mapping[str, Any] | None]]
    offers = [(f"the job {row.key}", row.key, row.licence) for row in jobs(work)]
    offers += [(f"the quote {one.number}", one.key, one.document["licence"]) for one in standing(work)]
    offers += [(f"the draft {one.key}", one.key, one.document["licence"]) for one in drafts(work)]
    for what, key, licence in offers:
        if key != job and any(str(name).startswith(f"{job}/") for name in (licence or {}).get("works", ())):
            yield f"{what} licenses what it makes"


class Reopened(QuoteRow):
    """A quote whose answer was taken back: as it stands now, and as it was."""

    was: str
    was_revision: int
    was_answered_on: str
    by: str
    reason: str
    preview: bool
