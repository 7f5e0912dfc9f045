"""A job's worksheet, jobs/KEY.toml: shots, what they fill, and the steps of its plan, written by hand."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.names import as_key
from bizkit.domain.work.shots import appearances, rate_facts, rate_hints
from bizkit.domain.work.spec import rate_of, rate_text
from bizkit.domain.work.storage import StorageData, estimate_storage
from bizkit.domain.work.worksheet import Worksheet
from bizkit.services.studio.file_kind import read_as
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.work import PlannedShot, ShotRate


def worksheet(folder: StudioFolder, job: str) -> Worksheet:
    """The worksheet of the job with this key; an empty one where there is no file. Raises BadInput."""
    from bizkit.services.studio.toml_file import read_toml

    path = folder.path / "jobs" / f"{job}.toml"
    if not path.is_file():
        for other in path.parent.glob("*.toml"):
            if other.stem != job and as_key(other.stem) == job:
                hint = f"Rename jobs/{other.name} to jobs/{job}.toml, or it belongs to no job"
                raise BadInput(
                    wanted="a worksheet called by the key of its job", got=other.name, where="jobs", hint=hint
                )
        return Worksheet(f"jobs/{job}.toml")
    file = read_toml(path, "a job's worksheet")
    with read_as("job", file):
        return read_input(Worksheet, file.tree, where=file.name)


def list_shots(folder: StudioFolder, job: str) -> ShotsListed:
    """The shot list: every shot, who and where in which cut, hints on frame rates. Raises RuleBroken without one."""
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        row = the_job(work, job)
        sheet = worksheet(folder, row.key)
        if not sheet.shots:
            raise RuleBroken(f"{row.key} has no shot list: write [[shots]] into {sheet.where}")
        seen = appearances(sheet.shots, _keys(work, row.key), where=sheet.where)
        timeline = sheet.timeline or asked_rate(work, row.key)
    return {
        "job": row.key,
        "title": row.title,
        "shots": [shot.data() for shot in sheet.shots],
        "cuts": [
            {
                "deliverable": one.deliverable,
                "who": list(one.who),
                "places": list(one.places),
                "shots": list(one.shots),
            }
            for one in seen
        ],
        "timeline": rate_text(timeline),
        "hints": list(rate_hints(sheet.shots, timeline)),
        "rates": rate_facts(sheet.shots, timeline),
    }


def write_shot_list(folder: StudioFolder, job: str, on: date, out: Path) -> ShotListWritten:
    """The shot list as a PDF to take along. Raises RuleBroken without one."""
    from bizkit.services.studio.filing import paper_pdf
    from bizkit.services.studio.logo import keep_logo
    from bizkit.services.studio.out_file import write_out

    listed = list_shots(folder, job)
    studio = folder.studio
    document = {
        "kind": "shot_list",
        "number": "",
        "issued_on": on.isoformat(),
        "language": studio.language,
        "locale": studio.locale,
        "paper_size": studio.paper_size,
        "studio": studio.data(on, logo_sha256=keep_logo(folder)),
        "job": listed["job"],
        "title": listed["title"],
        "shots": sorted(listed["shots"], key=lambda shot: shot["on"] or "9"),
        "hints": listed["hints"],
        "rates": listed["rates"],
    }
    write_out(folder, out, paper_pdf(folder, document))
    return {**listed, "file": str(out)}


def carry_shots(folder: StudioFolder, job: str, on: date) -> ShotsListed:
    """Say by the shot list who and which places are in each cut, for clearance. What was said before is replaced."""
    from bizkit.services.rights.needs import NOBODY, say_shown

    listed = list_shots(folder, job)
    for cut in listed["cuts"]:
        said: Mapping[str, list[str]] = {"who": cut["who"] or [NOBODY]}
        if cut["places"]:
            said = {**said, "place": cut["places"]}
        say_shown(folder, listed["job"], [cut["deliverable"]], said, on)
    return listed


def job_storage(folder: StudioFolder, job: str) -> JobStorage:
    """Cards a day and drives for a job, with the working. Raises RuleBroken where the worksheet does not say."""
    from bizkit.services.job.jobs import the_job

    with folder.book.read() as work:
        key = the_job(work, job).key
    sheet = worksheet(folder, key)
    if sheet.storage is None or not sheet.rushes:
        raise RuleBroken(f"{key}: write [storage] and [[rushes]] into {sheet.where}")
    return {"job": key, **estimate_storage(list(sheet.rushes), sheet.storage).data()}


def asked_rate(work: Connection, job: str) -> Fraction:
    """Frames a second that the specs of a job's deliverables agree on; 25 where they do not say one."""
    from bizkit.store.deliveries import deliverables

    rates = set()
    for one in deliverables(work, job):
        asked = ((one.data.get("asks") or {}).get("picture") or {}).get("frame_rates", [])
        if len(asked) == 1:
            rates.add(rate_of(asked[0]))
    return rates.pop() if len(rates) == 1 else Fraction(25)


def _keys(work: Connection, job: str) -> list[tuple[str, str]]:
    from bizkit.store.deliveries import deliverables

    return [(one.key, one.data.get("cut_of", "")) for one in deliverables(work, job)]


class ShotsListed(TypedDict):
    """The shot list of a job."""

    job: str
    title: str
    shots: list[PlannedShot]
    cuts: list[CutShown]
    timeline: str
    hints: list[str]
    rates: list[ShotRate]


class CutShown(TypedDict):
    """Who and what places are in a cut."""

    deliverable: str
    who: list[str]
    places: list[str]
    shots: list[str]


class ShotListWritten(ShotsListed):
    """The shot list, and where it was written."""

    file: str


class JobStorage(StorageData):
    """What a job needs to be stored."""

    job: str
