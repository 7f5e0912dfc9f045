"""The last look at a file or folder for one deliverable: what sending refuses and what is shown of a version."""

from __future__ import annotations

from typing import TYPE_CHECKING

from bizkit.services.studio.fingerprint import Fingerprint

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.work.point import PointData
    from bizkit.services.delivery.deliverables import DeliverableRow
    from bizkit.store.reviews import FileCheck


def last_look(work: Connection, row: DeliverableRow, sha256: str) -> FileCheck | None:
    """The last look at a content against what the deliverable `row` asks; else against another spec; None for none.

    A look against another spec, named in the facts as `against`, takes nothing away from what was promised.
    """
    from bizkit.store.reviews import checks

    looks = [one for one in checks(work, sha256=sha256, job=row["job"]) if one.deliverable == row["key"]]
    asked = [one for one in looks if not against(one)]
    found = asked or looks
    return found[-1] if found else None


def against(look: FileCheck | None) -> str:
    """The spec, by name, that a look held the file against in place of the one promised; empty for that one."""
    return str(look.facts.get("against", "")) if look else ""


def found_wrong_inside(work: Connection, row: DeliverableRow, print_: Fingerprint) -> list[tuple[str, PointData]]:
    """Files of a folder that were found wrong when last looked at, alone or in another folder: name and a point."""
    from bizkit.store.reviews import checks

    if not print_.files:
        return []
    last: dict[str, PointData | None] = {}
    for look in checks(work, job=row["job"]):
        if look.deliverable != row["key"] or against(look) or look.sha256 == print_.sha256:
            continue
        wrong = [point for point in look.points if point["ok"] is False and not point["name"].endswith("captions")]
        last[look.sha256] = wrong[0] if wrong else None
        inside: dict[str, PointData | None] = look.facts.get("inside", {})
        last |= inside
    return [(name, point) for name, digest in print_.files.items() if (point := last.get(digest))]
