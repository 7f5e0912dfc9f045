"""Withdrawing a signed paper, and taking out one noted by mistake."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.rights.shoot_papers import SHOOT_PAPER_KINDS
from bizkit.services.rights.holdings import CORRECTED, VOID, HoldingRow, held, holding_of, holding_rows, the_paper
from bizkit.services.rights.persons import people_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.services.rights.licences import LicenceRow


def withdraw_holding(folder: StudioFolder, job: str, holding_id: int, on: date, *, reason: str) -> Withdrawn:
    """Record that consent was taken back: from now on nothing new can be granted on it.

    The result's `live` lists the grants that rest on it, for a person to decide about, `in` the works it is needed
    for, `older` the papers about the same that say nothing more either, as they were signed before, `stays` those
    that others gave, `elsewhere` those about the same person in other jobs. What was done before stays covered.
    Raises RuleBroken for a paper that is not signed.
    """
    from bizkit.services.rights.licences import resting_on_subject
    from bizkit.services.rights.needs import works_that_need
    from bizkit.store.events import record
    from bizkit.store.jobs import holdings, set_holding

    if not reason.strip():
        raise BadInput(wanted="why it is withdrawn", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_paper(work, job, holding_id)
        if row.kind in SHOOT_PAPER_KINDS or row.status != "signed":
            raise RuleBroken(f"paper {holding_id} is {row.status}: only a signed one can be withdrawn")
        holding = holding_of(row, people_of(work))
        if holding.signed_on and on < holding.signed_on:
            raise RuleBroken(f"paper {holding_id} was signed on {holding.signed_on}: not withdrawn before, on {on}")
        withdrawn = replace(holding, status="withdrawn", withdrawn_on=on)
        # withdrawal_of stays with it when it is corrected: papers filed later say that they came after it.
        data = {**row.data, **withdrawn.data(), "withdrawal": reason.strip(), "withdrawal_of": holding_id}
        set_holding(work, holding_id, status="withdrawn", data=data)
        record(work, stamp, "withdrawn", row.job, holding=holding_id, kind=row.kind)
        subject = (holding.kind, holding.subject)
        live = resting_on_subject(folder, work, row.job, subject, on)
        shown_in = works_that_need(folder, work, row.job, subject)
        (found,) = [one for one in holding_rows(work, row.job) if one["id"] == holding_id]
        about = [one for one in held(work, [row.job]) if (one.kind, one.subject) == subject]
        older = [int(one.key) for one in about if one.overtaken_by == str(holding_id)]
        stays: list[PaperStays] = [
            {"paper": int(one.key), "by": " and ".join(signer.name for signer in one.signers)}
            for one in about
            if one.status == "signed" and not one.why_nothing and one.signed_on and one.signed_on <= on
        ]
        elsewhere: list[PaperElsewhere] = [
            {"job": other.job, "paper": other.id, "kind": other.kind}
            for other in holdings(work)
            if other.subject == row.subject and other.status == "signed" and other.job != row.job
            if row.subject.startswith("person-")
        ]
    keys = sorted(one.partition("/")[2] for one in shown_in)
    return {
        **found,
        "live": live,
        "in": keys,
        "withdrawn_on": on.isoformat(),
        "older": older,
        "stays": stays,
        "elsewhere": elsewhere,
    }


def drop_holding(folder: StudioFolder, job: str, holding_id: int, on: date, *, reason: str) -> HoldingRow:
    """Take out a paper that was noted by mistake. Raises RuleBroken for one that somebody signed."""
    from bizkit.store.events import record
    from bizkit.store.jobs import set_holding

    if not reason.strip():
        raise BadInput(wanted="why it is taken out", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_paper(work, job, holding_id)
        if row.status == CORRECTED:
            raise RuleBroken(
                f"paper {holding_id} was signed, and stays on file beside paper {row.data.get('corrected_by')}, "
                "which puts "
                "right what was recorded of it"
            )
        if row.status in ("signed", "withdrawn"):
            raise RuleBroken(
                f"paper {holding_id} was signed: it stays on file. Was it recorded wrongly: bizkit holding correct "
                f"{row.job} {holding_id} --reason WHY; was consent taken back: bizkit holding withdraw "
                f"{row.job} {holding_id} --reason WHY"
            )
        (found,) = [one for one in holding_rows(work, row.job) if one["id"] == holding_id]
        set_holding(work, holding_id, status=VOID)
        record(work, stamp, "taken out", row.job, holding=holding_id, reason=reason.strip())
    return {**found, "status": VOID}


#: Keys of works that the paper is needed for.
_In = TypedDict("_In", {"in": list[str]})


class Withdrawn(HoldingRow, _In):
    """A paper on which consent was taken back, and what that means: see `withdraw_holding`."""

    live: list[LicenceRow]
    withdrawn_on: str
    older: list[int]
    stays: list[PaperStays]
    elsewhere: list[PaperElsewhere]


class PaperStays(TypedDict):
    """A paper about the same that still holds, and who signed it."""

    paper: int
    by: str


class PaperElsewhere(TypedDict):
    """A paper about the same person in another job."""

    job: str
    paper: int
    kind: str
