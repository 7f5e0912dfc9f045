"""Whether files are what they are said to be: versions of a work, known by the SHA-256 of their bytes."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from bizkit.domain.errors import RuleBroken

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.rights.works import Work


def look_at_files(work: Connection, one: Work, digests: Mapping[Path, str]) -> list[str]:
    """What to look at in files said to be of a work, a sentence each: those never sent, those of an older version.

    digests: SHA-256 of each file. Raises RuleBroken for a file that is of another work and not of this one.
    """
    from bizkit.store.deliveries import deliverables

    own: dict[str, int] = {}
    others: dict[str, str] = {}
    newest = 0
    for each in deliverables(work):
        for version in each.versions:
            if (each.job, each.key) != (one.job, one.key):
                what = f"v{version.number} of {each.key} of the job {each.job}"
                others |= dict.fromkeys(version.contents.values(), what)
                continue
            newest = each.data.get("final") or version.number
            own |= dict.fromkeys(version.contents.values(), version.number)
            own |= dict.fromkeys(each.versions[newest - 1].contents.values(), newest)
    for path, digest in digests.items():
        if digest not in own and digest in others:
            raise RuleBroken(f"{path.name} is {others[digest]}, and none of {one.id}: write it for that one")
    unknown = [path.name for path, digest in digests.items() if digest not in own]
    looks = []
    if unknown:
        more = f" and {len(unknown) - 1} more" if len(unknown) > 1 else ""
        looks.append(
            f"{unknown[0]}{more} is no version of {one.key} that was sent: what is written of people, places and "
            "licence is that of the records, whatever the file shows"
        )
    older = [(path.name, own[digest]) for path, digest in digests.items() if own.get(digest, newest) != newest]
    return looks + [f"{name} is v{number} of {one.key}, and v{newest} counts" for name, number in older]
