"""What a handover that was stopped left in its folder."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from bizkit.services.delivery.handovers import BEGUN, MANIFEST, our_notes
from bizkit.services.studio.fingerprint import HALF_WRITTEN
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.store.events import Event


def stopped_handovers(folder: StudioFolder, work: Connection) -> tuple[list[str], list[str]]:
    """Folders in which a stopped handover left its note or list, a line each; and what is only worth a look: those
    that nobody can see from here, and files left half-written in one that was handed over."""
    from bizkit.store.events import of_verb

    begun: dict[str, Event] = {}
    places: dict[str, None] = {}
    for event in of_verb(work, BEGUN, "handed over"):
        begun.pop(event.data.get("place", ""), None)
        if event.verb == BEGUN:
            begun[event.data["place"]] = event
            places[event.data["place"]] = None
    left, unseen = (
        [],
        [
            f"{place}: {name} was left half-written by a command that was stopped: delete it there"
            for place in places
            if place not in begun
            for name in _half_written(place)
        ],
    )
    for place, event in begun.items():
        began = f"{place}: a handover of {event.subject} was begun on {event.at[:10]}"
        try:
            names = [one for one in sorted(os.listdir(place)) if one == MANIFEST or our_notes(folder).fullmatch(one)]
        except OSError:
            unseen.append(f"{began} and is not recorded; the folder cannot be seen from here")
            continue
        if names := [*_half_written(place), *names]:
            left.append(
                f"{began} and stopped before it was recorded: delete {' and '.join(names)} there, then repeat it"
            )
    return left, unseen


def _half_written(place: str) -> list[str]:
    """What a stopped handover left half-written in a folder, or in its history of media hash lists."""
    from bizkit.exchange.mhl import FOLDER

    found = [*Path(place).glob(f"{HALF_WRITTEN}*"), *Path(place, FOLDER).glob(f"{HALF_WRITTEN}*")]
    return sorted(path.relative_to(place).as_posix() for path in found)
