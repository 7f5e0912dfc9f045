"""Conditions in the papers on file: what stays inside, and what is passed on to the client.

What the studio must do for somebody is nobody else's business. Only what binds the client as well goes on, and never
a telephone number or an address with it.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bizkit.domain.contact_data import contact_data

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.studio.studio_folder import StudioFolder


@dataclass(frozen=True, slots=True)
class Conditions:
    """Those of the papers about some works. passed_on: for the client. inside: what is not, each with why."""

    passed_on: list[str]
    inside: list[str]


def conditions_of(folder: StudioFolder, work: Connection, works: Collection[str]) -> Conditions:
    """Conditions of the papers on file about who and what is in any of `works` (ids), or what clips come from, each
    once."""
    from bizkit.services.rights.holdings import held
    from bizkit.services.rights.needs import needed_in
    from bizkit.services.rights.origins import with_origins_of

    works = with_origins_of(work, works)
    needed = needed_in(folder, work, works)
    passed_on: list[str] = []
    inside: list[str] = []
    for paper in held(work, sorted({one.partition("/")[0] for one in works})):
        shows = needed.get((paper.kind, paper.subject), set())
        if paper.why_nothing or not any(map(paper.is_about, shows)):
            continue
        for condition in paper.client_conditions:
            if contact_data(condition):
                inside.append(f"kept back for the contact data in it, paper {paper.key}: {condition}")
            else:
                passed_on.append(condition)
        inside += (f"for you to keep, paper {paper.key}: {condition}" for condition in paper.conditions)
    return Conditions(list(dict.fromkeys(passed_on)), list(dict.fromkeys(inside)))
