"""What was granted or sent although something stood against it: recorded once, shown for ever."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NotRequired, TypedDict

from bizkit.domain.plain_text import some
from bizkit.domain.rights.holding import HOLDING_KINDS
from bizkit.domain.rights.scope import Scope
from bizkit.services.rights.persons import names

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.stamp import Stamp


def record_override(work: Connection, stamp: Stamp, job: str, override: Overridden | None) -> None:
    """Write down an override, when there was one."""
    from bizkit.store.events import record

    if override is not None:
        record(work, stamp, "overridden", job, on=stamp.on.isoformat(), **override)


def override_rows(work: Connection, job: str | None = None) -> list[OverrideRow]:
    """Every override of one job or all, in the order made: what was done, when, by whom, why, against what."""
    from bizkit.store.events import of_verb
    from bizkit.store.rights import persons

    called = names(persons(work))
    rows: list[OverrideRow] = []
    for event in of_verb(work, "overridden"):
        if job is not None and event.subject != job:
            continue
        data = event.data
        rows.append(
            {
                "job": event.subject,
                "on": data["on"],
                "by": event.by,
                "licence": data.get("licence", ""),
                "handover": data.get("handover", ""),
                "doing": data["doing"],
                "reason": data["reason"],
                "against": [_gap_line(gap, called) for gap in data["gaps"]]
                + data["questions"]
                + [f"{one['second']} against {one['first']}: {one['why']}" for one in data["conflicts"]],
            }
        )
    return rows


def overridden(work: Connection, licence: str) -> set[tuple[str, str]]:
    """(kind, subject) of all that a licence was granted in spite of, by its number."""
    return all_overridden(work).get(licence, set())


def all_overridden(work: Connection) -> dict[str, set[tuple[str, str]]]:
    """The same of every licence that was granted in spite of anything."""
    from bizkit.store.events import of_verb

    found: dict[str, set[tuple[str, str]]] = {}
    for event in of_verb(work, "overridden"):
        if number := event.data.get("licence"):
            found.setdefault(number, set()).update((gap["kind"], gap["subject"]) for gap in event.data["gaps"])
    return found


def _gap_line(gap: dict[str, Any], called: dict[str, str]) -> str:
    name = called.get(gap["subject"]) or gap["name"]
    works = some([one.partition("/")[2] for one in gap["works"]])
    missing = Scope.from_data(gap["missing"]).text()
    return f"{HOLDING_KINDS[gap['kind']]}: {name} ({gap['why']}), missing for {works}: {missing}"


class OverrideRow(TypedDict):
    """Something done although something stood against it, and why. licence, handover: by number, where it was one."""

    job: str
    on: str
    by: str
    licence: str
    handover: str
    doing: str
    reason: str
    against: list[str]


class Overridden(TypedDict):
    """What something was done in spite of, to be kept; nobody is named in it."""

    doing: str
    reason: str
    gaps: list[dict[str, Any]]
    questions: list[str]
    conflicts: list[dict[str, Any]]
    licence: NotRequired[str]
    handover: NotRequired[str]
