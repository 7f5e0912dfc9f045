"""Who appears in each work, where it was shot, which music is in it and who shot it: what it cannot be used without.

Without a word about it, everything of a part is in every deliverable: everybody with a release on file, every place
of the shoot days, all crew of the brief. `say_shown` names those of one deliverable instead. An archive clip
shows nothing of its job's: it needs a licence of its own, or brings the needs of the deliverable it comes from.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, Final, TypedDict

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.names import same_name
from bizkit.domain.plain_text import some
from bizkit.domain.rights.clearance import Need
from bizkit.domain.rights.personal_data import PERSON_KINDS
from bizkit.services.rights.origins import FROM, named_origin, with_clips_of
from bizkit.services.rights.persons import compared, keep_person, names, subject_id, subject_of
from bizkit.services.rights.works import Work, works_of_job
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.jobs import Job

#: part of a work -> the kinds of paper that each of its subjects needs
PARTS: Final[dict[str, tuple[str, ...]]] = {
    "who": ("talent_release",),
    "place": ("location_permission",),
    "music": ("composition", "recording"),
    "crew": ("crew_assignment",),
    "performer": ("performer_consent",),
    "property": ("property_release",),
    "artwork": ("artwork",),
    "archive": ("archive",),
}

#: Parts that somebody must have spoken of, and in which kinds of work. Silence proves nothing.
ASKED: Final[dict[str, tuple[str, ...]]] = {"who": ("film", "stills"), "music": ("film",)}

NOBODY: Final = "none"

#: Known subjects of each part, id -> name.
Known = dict[str, dict[str, str]]


def needs_of(folder: StudioFolder, work: Connection, job: Job, works: Sequence[Work]) -> tuple[list[Need], list[str]]:
    """The needs of some works of one job, and the questions nobody has answered about them."""
    from bizkit.store.rights import persons, shown_in

    known = _known(folder, work, job)
    said = shown_in(work, job.key)
    called = names(persons(work))
    needed: dict[tuple[str, str], set[str]] = defaultdict(set)
    questions: dict[str, list[str]] = defaultdict(list)
    unknown: list[str] = []
    for one in works:
        from_ours = bool(said.get((one.key, FROM)))
        if one.kind == "clip" and not from_ours and _is_unknown(one, said, known):
            unknown.append(_where_from(job.key, one.key))
        for part, kinds in PARTS.items():
            spoken = said.get((one.key, part))
            subjects = list(_by_id(spoken)) if spoken is not None else [] if from_ours else _unsaid(one, part, known)
            if spoken is None and not subjects and one.kind in ASKED.get(part, ()):
                questions[part].append(one.key)
            for subject in subjects:
                for kind in kinds:
                    needed[kind, subject].add(one.id)
    subjects_known = {subject: name for spoken in said.values() for subject, name in _by_id(spoken).items()}
    subjects_known |= {same_name(one.title): one.title for one in works if one.kind == "clip"}
    subjects_known |= {subject: name for part in known.values() for subject, name in part.items()}
    needs = [
        Need(kind, subject, called.get(subject) or subjects_known.get(subject, subject), frozenset(ids))
        for (kind, subject), ids in needed.items()
    ]
    return needs, [*(Question.about(job.key, part, keys) for part, keys in questions.items()), *unknown]


def needed_in(folder: StudioFolder, work: Connection, works: Collection[str]) -> dict[tuple[str, str], set[str]]:
    """(kind, subject) -> the ids among `works`, of whatever jobs, that cannot be used without papers about it."""
    from bizkit.store.jobs import jobs

    found: dict[tuple[str, str], set[str]] = defaultdict(set)
    for key in sorted({one.partition("/")[0] for one in works}):
        for row in jobs(work, key):
            mine = [one for one in works_of_job(work, row) if one.id in works]
            for need in needs_of(folder, work, row, mine)[0]:
                found[need.kind, need.subject] |= need.works
    return found


def works_that_need(folder: StudioFolder, work: Connection, job: str, subject: tuple[str, str]) -> set[str]:
    """Ids of works that cannot be used without what a job holds about one (kind, subject): its own, clips of them."""
    from bizkit.store.jobs import jobs

    (row,) = jobs(work, job)
    needs, _ = needs_of(folder, work, row, works_of_job(work, row))
    return with_clips_of(work, {one for need in needs if (need.kind, need.subject) == subject for one in need.works})


def say_shown(
    folder: StudioFolder, job: str, deliverables: Sequence[str], said: Mapping[str, Sequence[str]], on: date
) -> list[ShownRow]:
    """Say who or what is in works of a job: for each part named, the whole list; "none" for nobody and nothing.

    deliverables: keys, or "all". A number is the id of a paper on file. Raises BadInput or NotFound.
    """
    from bizkit.services.job.jobs import the_job
    from bizkit.store.events import record
    from bizkit.store.rights import put_shown

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        row = the_job(work, job)
        known_works = {one.key: one for one in works_of_job(work, row)}
        keys = [key for key, one in known_works.items() if one.kind != "clip"] if "all" in deliverables else []
        for key in deliverables:
            if key != "all" and key not in known_works:
                raise NotFound("deliverable", key, [*known_works, "all"], where=row.key)
        keys += [key for key in deliverables if key != "all" and key not in keys]
        if said and not keys:
            raise BadInput(wanted="the deliverables it is in, or all", got="none", field="DELIVERABLE")
        for part, wanted in said.items():
            if part == FROM and list(wanted) != [NOBODY]:
                subjects = [named_origin(work, [known_works[key] for key in keys], wanted)]
            else:
                subjects = [] if part == FROM else _subjects(folder, work, stamp, row, part, wanted)
            for key in keys:
                put_shown(work, row.key, key, part, subjects)
            record(work, stamp, "shown", row.key, works=keys, part=part, count=len(subjects))
        return shown_rows(folder, work, row)


def list_shown(folder: StudioFolder, job: str) -> list[ShownRow]:
    """Who and what is in each work of a job, as far as anything is known."""
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        return shown_rows(folder, work, the_job(work, job))


def shown_rows(folder: StudioFolder, work: Connection, job: Job) -> list[ShownRow]:
    """One row a work and part: names, and whether somebody said so or it is taken to be all."""
    from bizkit.store.rights import persons, shown_in

    known = _known(folder, work, job)
    said = shown_in(work, job.key)
    called = names(persons(work))
    rows: list[ShownRow] = []
    for one in works_of_job(work, job):
        origin = said.get((one.key, FROM), [])
        if origin:
            rows.append({"work": one.key, "part": FROM, "names": origin, "said": True})
        for part in PARTS:
            spoken = said.get((one.key, part))
            taken = _unsaid(one, part, known) if spoken is None else list(_by_id(spoken))
            named = _by_id([*(spoken or ()), *([one.title] if one.kind == "clip" else [])]) | known[part]
            if spoken is None and (origin or not taken) and one.kind not in ASKED.get(part, ()):
                continue
            rows.append(
                {
                    "work": one.key,
                    "part": part,
                    "names": [called.get(subject) or named.get(subject, subject) for subject in taken],
                    "said": spoken is not None,
                }
            )
    return rows


def _is_unknown(one: Work, said: Mapping[tuple[str, str], list[str]], known: Known) -> bool:
    """Whether nothing tells whose footage a clip is, or it is ours and nobody said who and which place is in it."""
    if (one.key, "archive") not in said:
        return same_name(one.title) not in known["archive"]
    return not said[one.key, "archive"] and not {(one.key, "who"), (one.key, "place")} <= said.keys()


def _where_from(job: str, clip: str) -> str:
    link = f'bizkit rights link {job} "{clip}"'
    return (
        f'nobody has said where the clip "{clip}" comes from: {link} --from JOB/DELIVERABLE, or of older footage of '
        f"your own --archive {NOBODY} --who NAME --place NAME; of footage of others note their paper (archive)"
    )


def _unsaid(one: Work, part: str, known: Known) -> list[str]:
    """What a work is taken to show of a part while nobody has said."""
    if one.kind == "clip":
        return [same_name(one.title)] if part == "archive" else []
    return [] if (one.kind, part) == ("stills", "music") else list(known[part])


def _by_id(spoken: Sequence[str]) -> dict[str, str]:
    """What was said of a part, by subject: `person-3` stands for itself, a thing's name for what it compares as."""
    return {one if one.startswith("person-") else same_name(one): one for one in spoken}


class Question(str):
    """What nobody has said, naming the first of many works; `whole`: the same naming all, for what is kept."""

    __slots__ = ("whole",)
    whole: str

    @classmethod
    def about(cls, job: str, part: str, keys: Sequence[str]) -> Question:
        """Who or what is in some works of a job."""
        asked = "who appears in" if part == "who" else "which music is in"
        what = f"bizkit rights link {job} {keys[0]} --{part} NAME, or --{part} {NOBODY}"
        found = cls(f"nobody has said {asked} {some(keys)}: {what}")
        found.whole = f"nobody has said {asked} {', '.join(keys)}"
        return found


def _subjects(
    folder: StudioFolder, work: Connection, stamp: Any, job: Job, part: str, wanted: Sequence[str]
) -> list[str]:
    """What was named: ids of persons, who are put on record, and names of things."""
    from bizkit.store.jobs import holdings
    from bizkit.store.rights import persons

    if part not in PARTS:
        raise NotFound("part of a work", part, PARTS)
    if NOBODY in wanted:
        if len(wanted) > 1:
            raise BadInput(wanted=f"names, or {NOBODY} alone", got=", ".join(wanted), field=f"--{part}")
        return []
    papers = {str(row.id): row for row in holdings(work, key=job.key, kinds=PARTS[part])}
    known = _known(folder, work, job)[part]
    found = []
    for name in wanted:
        if name.isdigit():
            if name not in papers:
                raise NotFound(f"paper for {part}", name, papers, field=f"--{part}")
            paper = papers[name]
            found.append(paper.subject if PARTS[part][0] in PERSON_KINDS else paper.data["name"])
        elif part in ("place", "crew") and known and subject_id(persons(work), PARTS[part][0], name) not in known:
            raise NotFound(part, name, known.values(), field=f"--{part}", hint=_note_first(part, name, known))
        elif PARTS[part][0] in PERSON_KINDS:
            found.append(subject_of(keep_person(work, stamp, name, PERSON_KINDS[PARTS[part][0]])))
        else:
            found.append(" ".join(name.split()))
    return list(_by_id(found).values())


def _note_first(part: str, name: str, known: Mapping[str, str]) -> str:
    kind = PARTS[part][0]
    listed = ", ".join(known.values())
    return f"Known: {listed}. Note another with bizkit holding add JOB --kind {kind} --about '{name}'"


def _known(folder: StudioFolder, work: Connection, job: Job) -> Known:
    """Every subject of each part that the days, the brief or the papers on file name."""
    from bizkit.services.job.jobs import SHOOTS
    from bizkit.services.rights.holdings import OUT
    from bizkit.store.jobs import holdings, shoot_days
    from bizkit.store.rights import persons

    people = persons(work)
    known: Known = {part: {} for part in PARTS}
    part_of = {kind: part for part, kinds in PARTS.items() for kind in kinds}
    for day in shoot_days(work, job.key):
        if day.kind in SHOOTS and day.place:
            known["place"][same_name(day.place)] = day.place
    for name in crew_names(folder, job):
        known["crew"][subject_id(people, "crew_assignment", name)] = name
    for row in holdings(work, key=job.key, kinds=tuple(part_of)):
        if row.status not in OUT:
            known[part_of[row.kind]].setdefault(compared(row.subject), row.data["name"])
    called = names(people)
    return {part: {key: called.get(key, name) for key, name in found.items()} for part, found in known.items()}


def crew_names(folder: StudioFolder, job: Job) -> list[str]:
    """Everybody the brief names on a day who is not of the studio: their work is theirs until they assign it."""
    own = {same_name(name) for name in folder.studio.people}
    return [name for name in job.crew if same_name(name) not in own]


class ShownRow(TypedDict):
    """Who or what of one part is in a work; said: whether somebody said so."""

    work: str
    part: str
    names: list[str]
    said: bool
