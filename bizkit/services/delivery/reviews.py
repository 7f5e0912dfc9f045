"""Review rounds: counted, priced from what was agreed, waiting for the client's yes, then charged."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.money import Money
from bizkit.domain.work.rounds import (
    ReviewEvent,
    RoundCount,
    RoundTerms,
    count_rounds,
    silence,
    waiting_for_yes,
)
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.delivery.deliverables import DeliverableRow
    from bizkit.services.studio.wording import Wording
    from bizkit.store.deliveries import Deliverable, ReviewRound
    from bizkit.store.reviews import RoundAnswer


def agreed_terms(folder: StudioFolder, work: Connection, job: str) -> RoundTerms:
    """What the job's quote says about rounds; the card's word where the quote is silent.

    How many are included each deliverable says for itself.
    """
    from bizkit.services.job.jobs import said_in_quote
    from bizkit.store.jobs import jobs

    (row,) = jobs(work, job)
    said = said_in_quote(work, row, "rounds")
    if said is None:
        return folder.card.rounds
    price = Money(said["extra_round"], row.currency) if said["extra_round"] else None
    return RoundTerms(said.get("included", 0), price, said["silence_days"], said["silence_approves"])


def _words(folder: StudioFolder, work: Connection, job: str) -> Wording:
    """Words in the language of the job's quote."""
    from bizkit.services.studio.wording import wording, words_of
    from bizkit.store.issued import by_number
    from bizkit.store.jobs import jobs

    (row,) = jobs(work, job)
    quote = by_number(work, row.quote_number, row.quote_revision)
    studio = folder.studio
    return words_of(folder, quote.document) if quote else wording(folder, studio.language, studio.locale)


def counted(one: Deliverable, terms: RoundTerms) -> RoundCount:
    """The rounds of a deliverable, a row of the store with its `versions` and `review_rounds`."""
    events: list[ReviewEvent] = []
    latest = date.min
    for version in one.versions:
        latest = max(latest, date.fromisoformat(version.sent_on))
        events.append(ReviewEvent("sent", latest, version.number))
        for intake in one.review_rounds:
            if newest_at(intake) == version.number:
                latest = max(latest, date.fromisoformat(intake.received_on))
                events.append(
                    ReviewEvent(
                        "notes",
                        latest,
                        intake.version,
                        bool(intake.data.get("ours")),
                        bool(intake.data.get("re_edit")),
                    )
                )
    included = RoundTerms(one.rounds, terms.extra_round, terms.silence_days, terms.silence_approves)
    return count_rounds(events, included)


def newest_at(intake: ReviewRound) -> int:
    """The version that was the newest when these notes came."""
    return int(intake.data.get("newest", intake.version))


def review_state(
    folder: StudioFolder, one: Deliverable, terms: RoundTerms, said: Sequence[RoundAnswer], on: date, state: str
) -> ReviewState:
    """Further rounds and the deadline for an answer, as members of a deliverable's row.

    said: the client's yes and no so far. state: as `Progress` has it.
    """
    count = counted(one, terms)
    answers = {row.number: row for row in said}
    waits = waiting_for_yes(count, agreed=list(answers))
    price = terms.extra_round
    result: ReviewState = {
        "extra_rounds": [
            {
                "number": each.number,
                "version": each.version,
                "opened_on": each.opened_on.isoformat(),
                "answer": answers[each.number].answer if each.number in answers else "",
                "price": price.text if price else "",
            }
            for each in count.extra
        ],
        "waits_for_yes": list(waits),
        "next_is_extra": count.next_is_extra,
        "extra_round": price.text if price else "",
        "answer_by": "",
        "silence": "",
    }
    if state == "with the client":
        sent = date.fromisoformat(one.versions[-1].sent_on)
        quiet = silence(sent, max(on, sent), terms, folder.day_off)
        result |= {"answer_by": quiet.answer_by.isoformat(), "silence": quiet.state}
    return result


def waiting_rows(rows: list[DeliverableRow]) -> list[WaitingRow]:
    """What waits for the client's word, one sentence each; rows: of `deliverable_rows`."""
    found = []
    for row in rows:
        for number in row["waits_for_yes"]:
            price = f" at {row['currency']} {row['extra_round']}" if row["extra_round"] else ""
            found.append(f"round {number} of {row['title']}{price}: a yes or no")
        if row["silence"] == "remind":
            found.append(f"{row['title']} v{row['version']}: no answer since {row['answer_by']}, remind the client")
        if row["silence"] == "approved":
            found.append(
                f"{row['title']} v{row['version']}: no answer since {row['answer_by']}, approved by the terms agreed"
            )
    return [{"job": rows[0]["job"], "what": what} for what in found]


class ReviewStateExtraRound(TypedDict):
    """A round beyond those included, with the client's answer, empty while there is none."""

    number: int
    version: int
    opened_on: str
    answer: str
    price: str


class ReviewState(TypedDict):
    """Further rounds and the deadline for an answer."""

    extra_rounds: list[ReviewStateExtraRound]
    waits_for_yes: list[int]
    next_is_extra: bool
    extra_round: str
    answer_by: str
    silence: str


class WaitingRow(TypedDict):
    """What waits for the client's word, as a sentence."""

    job: str
    what: str
