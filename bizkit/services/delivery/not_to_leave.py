"""What must not leave with the files of a job: films of another job, papers on file, the studio's own files."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from bizkit.domain.errors import RuleBroken
from bizkit.domain.work.spec import CAPTION_FORMATS
from bizkit.services.delivery.version_files import pieces
from bizkit.services.studio.studio_folder import BESIDE_BOOK, BOOK, MARK, StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.deliveries import Deliverable

#: Files that make a folder a studio or a copy of one, by name.
STUDIO_FILES = (MARK, "floor.toml", "rate-card.toml", BOOK, *(f"{BOOK}{end}" for end in BESIDE_BOOK))
_CAPTIONS = tuple(f".{form}" for form in CAPTION_FORMATS)


def refuse_studio(folder: StudioFolder, target: Path, names: Collection[str]) -> None:
    """Refuse a folder that is, holds or copies a studio, and its book or rates by themselves.

    names: of the files below `target`, by slashes; of a single file its own. No reason lifts this: what things cost
    and who signed is for nobody else. Raises RuleBroken.
    """
    here, studio = target.resolve(), folder.path.resolve()
    papers = folder.papers.resolve()
    if studio == here or here in studio.parents or here == papers or papers in here.parents:
        raise RuleBroken(f"{target} is or holds the studio's own folder: give the files of the job one of their own")
    own = sorted(name for name in names if name.rpartition("/")[2].lower() in STUDIO_FILES)
    if own:
        more = f" and {len(own) - 1} more" if len(own) > 1 else ""
        raise RuleBroken(f"{own[0]}{more} is the studio's own and leaves with no delivery: take it out of the folder")


@dataclass(frozen=True, slots=True)
class Stranger:
    """A file that is none of a job's. whose: what it is. work: id of the deliverable it is, empty for a paper."""

    whose: str
    work: str = ""


def of_others(
    work: Connection,
    job: str,
    found: Mapping[str, str],
    *,
    same_client: bool = True,
    promised: Collection[Deliverable] = (),
) -> dict[str, Stranger]:
    """Name -> what it is, for files that were filed or belong to other jobs and are none of this one's.

    found: name -> SHA-256 of what is about to leave. same_client: those of the client's own other jobs too.
    promised: what this job may hand over, though another made it.
    """
    from bizkit.store.deliveries import deliverables
    from bizkit.store.filed import all_filed
    from bizkit.store.jobs import jobs

    clients = {row.key: row.client for row in jobs(work)}
    whose: dict[str, Stranger] = {}
    ours: set[str] = set()
    here = {(one.job, one.key) for one in promised}
    for row in all_filed(work):
        if row.file.startswith("papers/scans/"):
            whose[row.sha256] = Stranger(f"a paper on file ({row.kind.replace('_', ' ')})")
    for one in deliverables(work):
        for version in one.versions:
            inside = version.contents
            if one.job == job or (one.job, one.key) in here:
                ours.update(inside.values())
                continue
            if not same_client and clients[one.job] == clients[job]:
                continue
            who = "" if clients[one.job] == clients[job] else f" for another client, {clients[one.job]}"
            for name in (*pieces(inside), *(name for name in inside if name.lower().endswith(_CAPTIONS))):
                what = f"v{version.number} of {one.key} of the job {one.job}{who}"
                whose[inside[name]] = Stranger(what, f"{one.job}/{one.key}")
    return {
        name: replace(whose[digest], whose=f"{name} is {whose[digest].whose}")
        for name, digest in found.items()
        if digest in whose and digest not in ours
    }
