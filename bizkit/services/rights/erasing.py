"""Erasing somebody: what the law asks to keep stays, and is said with its reason; the rest is taken out, files too.

First `plan_erasure` says what would happen; `erase_person` does it. Nothing that was issued or recorded for ever is
touched, nor any file or paper that is about somebody else: it is reported instead.

It is three steps, so that it can be stopped anywhere and finished by the same command: the book notes that it was
begun and which files go, by their SHA-256; they are deleted; the book forgets the person. In between they can still
be found, by name too, and `bizkit verify` says what is still to erase.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, NotRequired, TypedDict

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.names import Spelling, same_name
from bizkit.domain.plain_text import many
from bizkit.domain.rights.personal_data import AS_LONG_AS_IT_RUNS, CLAIMS, TAX, YEARS_KEPT, keep_until
from bizkit.services.rights.erasure_files import (
    Search,
    forms_for,
    half_written,
    in_order,
    in_use,
    of_events,
    scans_and_copies,
    search,
)
from bizkit.services.rights.keeping import disputed_until, resting_on
from bizkit.services.rights.person_file import papers_of, what_of
from bizkit.services.rights.persons import ERASED, People, is_about, subject_of, the_person, without_name
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.rights.licences import LicenceRow
    from bizkit.store.events import Event
    from bizkit.store.jobs import PaperOnFile
    from bizkit.store.rights import Person
    from bizkit.store.stamp import Stamp

#: Records that never change: (table, why they stay).
_RECORDS = {
    "issued": TAX,
    "basis": TAX,
    "payment": TAX,
    "cost": TAX,
    "letter": TAX,
    "worked_day": TAX,
}
#: Members of a paper that say something of the person.
_SAID = {"signers": [], "conditions": [], "client_conditions": [], "document": "", "signing": {}, "number": "",
         "correction": ""}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Choice:
    """Which papers and files of a person go. keep: own papers that a licence rests on, each with the licences.

    others: papers about somebody or something else that they signed. digests: SHA-256 of scans that nothing else
    needs. until: day to which what is kept is kept; empty when nothing is.
    """

    person: Person
    erase: tuple[PaperOnFile, ...]
    keep: tuple[tuple[PaperOnFile, tuple[LicenceRow, ...]], ...]
    others: tuple[PaperOnFile, ...]
    digests: frozenset[str]
    files: tuple[Path, ...]
    until: str

    @property
    def kept(self) -> list[PaperOnFile]:
        """Every paper that stays with the name on it."""
        return [*(row for row, _ in self.keep), *self.others]


def plan_erasure(folder: StudioFolder, name: str, on: date) -> Erasure:
    """What erasing somebody would keep, and why, and what it would take out. Raises NotFound."""
    with folder.book.read() as work:
        choice = _choose(folder, work, _found(folder, work, name), on)
        return _said(folder, work, choice)


def erase_person(folder: StudioFolder, name: str, on: date, *, reason: str) -> Erasure:
    """Erase somebody as `plan_erasure` says; `reason` is kept without their name. Raises NotFound, BadInput.

    Papers that a licence rests on are kept with name and signature, everything else known of the person goes; asking
    again once they are not needed any more takes out the rest. Asking again also finishes what was stopped, and what
    is found later of somebody who was erased, by `person-ID`. Raises RuleBroken for a file that cannot be deleted.
    """
    from bizkit.store.events import record

    if not reason.strip():
        raise BadInput(wanted="why they are erased, such as asked on a day", got="nothing", field="--reason")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        choice = _choose(folder, work, _found(folder, work, name), on)
        subject = subject_of(choice.person)
        if choice.files:
            record(work, stamp, "erasing", subject, files=sorted(choice.digests))
    with folder.book.work() as work:
        # Chosen anew under the write turn: nobody can come to need one of the files meanwhile.
        choice = _choose(folder, work, _found(folder, work, subject), on)
        said = _said(folder, work, choice)
        _delete(folder, [*choice.files, *half_written(folder)])
        if not choice.person.erased_on:
            _take_out(work, stamp, choice)
        if not choice.person.erased_on or choice.files:
            record(
                work,
                stamp,
                "erased",
                subject,
                papers=said["papers_erased"],
                papers_kept=said["papers_kept"],
                kept=_without_titles(said["kept"]),
                files=sorted(choice.digests),
                reason=without_name(reason, choice.person.name),
                on=stamp.on.isoformat(),
            )
    return {**said, "done": True}


def still_to_erase(folder: StudioFolder, work: Connection) -> tuple[list[str], set[str]]:
    """What erasing left undone, a line each with the command that finishes it; and SHA-256 of files that may be gone.

    A scan that another record needs is none of those: it stays and is held against the book.
    """
    from bizkit.store.events import of_verb

    begun: dict[str, Event] = {}
    for event in of_verb(work, "erasing", "erased"):
        begun.pop(event.subject, None)
        if event.verb == "erasing":
            begun[event.subject] = event
    finished = [one for one in of_verb(work, "erased") if one.subject not in begun]
    gone = of_events(finished) - in_use(work)
    cure = "bizkit person erase {} --yes --reason WHY"
    lines = [
        f"{subject}: erasing was begun on {event.at[:10]} and is not finished: {cure.format(subject)}"
        for subject, event in begun.items()
    ]
    whose = {digest: event.subject for event in finished for digest in event.data["files"] if digest in gone}
    lines += [
        f"{file}: of {whose[digest]}, who was erased, still to erase: {cure.format(whose[digest])}"
        for file, digest in _on_record(folder, work, whose).items()
    ]
    return lines, gone | of_events(list(begun.values()))


def _found(folder: StudioFolder, work: Connection, name: str) -> Person:
    """The person, also one who was erased by `person-ID`. Raises NotFound that says what may be meant."""
    from bizkit.store.mentions import mentions
    from bizkit.store.rights import persons

    rows = persons(work)
    for row in rows:
        if row.erased_on and name == subject_of(row):
            return row
    try:
        return the_person(rows, name)
    except NotFound as error:
        left, _ = still_to_erase(folder, work)
        if left:
            raise NotFound("person", name, (), field="PERSON", hint=f"Is it this? {left[0]}") from None
        places = len(mentions(work, name)) if name.strip() else 0
        if places and "Did you mean" not in str(error):
            hint = f"Named in {many(places, 'record')} all the same: put them on record first with bizkit person set"
            raise NotFound("person", name, (), field="PERSON", hint=hint) from None
        raise


def _choose(folder: StudioFolder, work: Connection, person: Person, on: date) -> Choice:
    """What goes and what stays of a person's papers and files."""
    from bizkit.store.events import of_verb

    if person.erased_on:
        events = [one for one in of_verb(work, "erased", "erasing") if one.subject == subject_of(person)]
        digests = of_events(events) - in_use(work)
        files = scans_and_copies(folder, work, digests)
        return Choice(person, (), (), (), frozenset(digests if files else ()), tuple(files), "")
    papers = papers_of(work, person)
    own = [row for row in papers if is_about(row, person)]
    others = [row for row in papers if row not in own]
    resting = resting_on(folder, work, papers, on)
    standing = {
        row.id: [one for one in resting.get(row.id, ()) if disputed_until(one) >= on.isoformat()] for row in own
    }
    keep = tuple((row, tuple(standing[row.id])) for row in own if standing.get(row.id))
    erase = tuple(row for row in own if not standing.get(row.id))
    digests = {row.paper for row in erase if row.paper} - in_use(work, [row.id for row in erase])
    files = [*scans_and_copies(folder, work, digests), *forms_for(folder, work, person.name)]
    until = [disputed_until(one) for _, licences in keep for one in licences]
    until += [disputed_until(one) for row in others for one in resting.get(row.id, ())]
    until += [_other_until(work, row) for row in others]
    return Choice(
        person, erase, keep, tuple(others), frozenset(digests), tuple(sorted(set(files))), max(until, default="")
    )


def _said(folder: StudioFolder, work: Connection, choice: Choice) -> Erasure:
    """A choice as JSON-ready data, with what else names the person and why it stays."""
    from bizkit.store.filed import all_filed
    from bizkit.store.mentions import mentions

    person, name = choice.person, str(choice.person.name)
    reasons = [
        (
            f"{len(choice.keep)} signed paper{'s' if len(choice.keep) > 1 else ''} with name and signature",
            f"licence {number} rests on it, and for {YEARS_KEPT} years after its end it may be disputed ({CLAIMS})",
        )
        for number in dict.fromkeys(one["number"] for _, licences in choice.keep for one in licences)
    ]
    called = {row.id: _title(work, row) for row in choice.others}
    reasons += [
        (f"paper {row.id}, {called[row.id]}, which they signed", f"it is about somebody else ({CLAIMS})")
        for row in choice.others
    ]
    gone = {("holding", str(row.id)) for row in (*choice.erase, *choice.kept)} | {("person", str(person.id))}
    counts: dict[tuple[str, str], int] = {}
    by_hand: set[Path] = set()
    found = Search((), {})
    if name:
        for one in mentions(work, _spelling(work, person)):
            if one.kept and (one.table, one.row) not in gone:
                why = _RECORDS.get(one.table, f"record of what was agreed and done ({CLAIMS})")
                counts[what_of(one), why] = counts.get((what_of(one), why), 0) + 1
        # Of a paper on file the book says above why it stays; a copy of it is for a person to look at.
        filed = {folder.path / row.file for row in all_filed(work)}
        signed = {row.paper for row in (*choice.erase, *choice.kept)} - {""}
        found = search(folder, name, [*filed, *choice.files])
        by_hand = {*found.naming, *scans_and_copies(folder, work, signed)} - filed - set(choice.files)
    reasons += [(f"{count} x {what}", why) for (what, why), count in counts.items()]

    def names(paths: Sequence[Path]) -> list[str]:
        return [path.relative_to(folder.path).as_posix() for path in paths]

    return {
        "name": name or f"{ERASED} {person.id}",
        "person": subject_of(person),
        "papers_kept": [row.id for row in choice.kept],
        "papers_erased": [row.id for row in choice.erase],
        "kept": [{"what": what, "why": why} for what, why in reasons],
        "kept_until": None if choice.until == AS_LONG_AS_IT_RUNS else choice.until,
        "files_deleted": names(choice.files),
        "change_by_hand": names(in_order(folder, by_hand)),
        "not_looked_into": dict(found.closed),
    }


def _delete(folder: StudioFolder, paths: Sequence[Path]) -> None:
    for path in paths:
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            name = path.relative_to(folder.path).as_posix()
            raise RuleBroken(
                f"{name} could not be deleted: {error.strerror or error}. Put that right, then run the same command "
                "again; until then nothing more is erased"
            ) from None


def _take_out(work: Connection, stamp: Stamp, choice: Choice) -> None:
    """Take the person out of every row that may change and is not somebody else's."""
    from bizkit.services.rights.holdings import VOID, holding_of
    from bizkit.store.forms import forms, set_form
    from bizkit.store.jobs import holdings, set_holding
    from bizkit.store.mentions import take_out
    from bizkit.store.rights import persons, set_person

    person, put = choice.person, f"{ERASED} {choice.person.id}"
    rows = persons(work)
    for row in choice.erase:
        set_holding(
            work, row.id, status=VOID, paper="", signed_on="", expires_on="",
            data={**row.data, "name": put, **_SAID},
        )  # fmt: skip
    for form in forms(work):
        if same_name(form.data["subject"]) == same_name(person.name):
            said = {"subject": put, "conditions": [], "client_conditions": []}
            set_form(work, form.number, data={**form.data, **said})
        elif same_name(form.data.get("guardian", "")) == same_name(person.name):
            set_form(work, form.number, data={**form.data, "guardian": put})
    people = People.of(rows)
    for row in choice.kept:  # the date of birth goes: what it decided about the paper stays
        if row.data.get("scope") is not None:
            set_holding(work, row.id, data={**row.data, "minor": holding_of(row, people).young})
    theirs = {subject_of(row) for row in rows} - {subject_of(person)}
    # A row and a paper of somebody else whose name holds this one, or is the same, are left as they are.
    spared = [("person", str(row.id)) for row in rows]
    spared += [("holding", str(row.id)) for row in holdings(work) if row.subject in theirs]
    spared += [("holding", str(row.id)) for row in choice.kept]
    take_out(work, _spelling(work, person), put, but=spared)
    changes: dict[str, Any] = {"born_on": "", "contact": {}}
    changes |= (
        {"keep_until": choice.until}
        if choice.kept
        else {"name": "", "purpose": "", "erased_on": stamp.on.isoformat()}
    )
    set_person(work, person.id, **changes)


def _spelling(work: Connection, person: Person) -> Spelling:
    """How the person's name is looked for, other people's names passed over."""
    from bizkit.store.rights import persons

    others = {row.name for row in persons(work) if same_name(row.name) != same_name(person.name)}
    return Spelling(person.name, tuple(sorted(others - {""})))


def _without_titles(kept: Sequence[KeptAnd]) -> list[KeptAnd]:
    """The same for the history, which never changes: papers of others by their number, not by whom they are about."""
    return [{**row, "what": re.sub(r"^(paper \d+), .*, which", r"\1, which", row["what"])} for row in kept]


def _title(work: Connection, paper: PaperOnFile) -> str:
    """What a paper is called: `talent release of Finn Sinclair`."""
    from bizkit.services.rights.persons import names
    from bizkit.store.rights import persons

    called = names(persons(work)).get(paper.subject, paper.data["name"])
    return f"{paper.kind.replace('_', ' ')} of {called}"


def _on_record(folder: StudioFolder, work: Connection, digests: Collection[str]) -> dict[str, str]:
    """Path -> SHA-256 of the files on record with one of these that are still there."""
    from bizkit.store.filed import all_filed

    files = {one.file: one.sha256 for one in all_filed(work) if one.sha256 in digests} if digests else {}
    return {file: digest for file, digest in files.items() if (folder.path / file).is_file()}


def _other_until(work: Connection, paper: PaperOnFile) -> str:
    """How long a paper about somebody or something else is kept: as they are, or while it may be asked for."""
    from bizkit.store.rights import persons

    for row in persons(work):
        if subject_of(row) == paper.subject:
            return str(row.keep_until)
    signed_on = date.fromisoformat(paper.signed_on)
    return keep_until(date.fromisoformat(paper.expires_on) if paper.expires_on else None, signed_on).isoformat()


class Erasure(TypedDict):
    """What erasing somebody keeps, and why, and what it takes out; done: by this. kept_until: None without an end."""

    name: str
    person: str
    papers_kept: list[int]
    papers_erased: list[int]
    kept: list[KeptAnd]
    kept_until: str | None
    files_deleted: list[str]
    change_by_hand: list[str]
    not_looked_into: dict[str, int]
    done: NotRequired[bool]


class KeptAnd(TypedDict):
    """What is kept of somebody erased, and why."""

    what: str
    why: str
