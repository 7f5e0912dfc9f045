"""What lies in a folder that is about to be handed over: final versions, known by their checksums, and the rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Parcel:
    """A version of a deliverable as it lies in the folder. files: names in the folder. missing: names it lacks."""

    deliverable: Row
    version: Row
    files: tuple[str, ...]
    missing: tuple[str, ...] = ()

    @property
    def final(self) -> bool:
        """Whether it is the version that the client approved."""
        return bool(self.version["number"] == self.deliverable["data"].get("final"))

    @property
    def name(self) -> str:
        """`v2 of campaign-film`."""
        return f"v{self.version['number']} of {self.deliverable['key']}"


def parcels_in(promised: Sequence[Row], found: Mapping[str, str]) -> list[Parcel]:
    """Versions whose files are among `found` (name -> SHA-256), in the order promised.

    promised: deliverables of the store with their `versions`. A set of stills is there when any of its files is; a
    file that belongs to two versions of a set counts for the final one, else for the newest.
    """
    parcels: list[Parcel] = []
    for deliverable in promised:
        final = deliverable["data"].get("final")
        taken: set[str] = set()
        for version in sorted(
            deliverable["versions"], key=lambda one: (one["number"] == final, one["number"]), reverse=True
        ):
            inside: Mapping[str, str] = version["data"].get("files") or {version["file"]: version["sha256"]}
            names = [name for name, digest in found.items() if digest in inside.values() and name not in taken]
            if not names:
                continue
            taken.update(names)
            have = {found[name] for name in names}
            missing = tuple(name for name, digest in inside.items() if digest not in have)
            parcels.append(Parcel(deliverable, version, tuple(names), missing))
    return parcels


def whats_wrong(promised: Sequence[Row], parcels: Sequence[Parcel], found: Mapping[str, str]) -> list[str]:
    """Why this should not leave, one sentence each."""
    wrong = []
    finals = {parcel.deliverable["key"] for parcel in parcels if parcel.final}
    for parcel in parcels:
        approved = parcel.deliverable["data"].get("final")
        if not parcel.final:
            state = f"v{approved} is the final version" if approved else "nothing of it is approved yet"
            wrong.append(f"{parcel.files[0]} is {parcel.name}: {state}")
        if parcel.missing:
            wrong.append(f"{parcel.name} lacks {parcel.missing[0]}" + _more(len(parcel.missing) - 1))
    wrong += [f"{name} is not what was sent: {whose}" for name, whose in _changed(promised, parcels, found)]
    if not finals and not wrong:
        wrong.append("nothing in the folder is the final version of anything promised")
    return wrong


def whats_worth_a_look(promised: Sequence[Row], parcels: Sequence[Parcel], found: Mapping[str, str]) -> list[str]:
    """What is promised and not in the folder, and what is in the folder and not promised, one sentence each."""
    here = {parcel.deliverable["key"] for parcel in parcels}
    looks = [
        f"{one['key']} is not among the files" + ("" if one["data"].get("final") else " and not approved yet")
        for one in promised
        if one["key"] not in here
    ]
    known = {name for parcel in parcels for name in parcel.files}
    strangers = [name for name in found if name not in known]
    if strangers:
        looks.append(f"{strangers[0]}{_more(len(strangers) - 1)} goes along without being a version of anything")
    return looks


def _changed(promised: Sequence[Row], parcels: Sequence[Parcel], found: Mapping[str, str]) -> list[tuple[str, str]]:
    """Files that carry the name of a version sent, with other content."""
    known = {name for parcel in parcels for name in parcel.files}
    sent: dict[str, str] = {}
    for deliverable in promised:
        for version in deliverable["versions"]:
            for name in version["data"].get("files") or [version["file"]]:
                sent[name.rpartition("/")[2]] = (
                    f"v{version['number']} of {deliverable['key']} had this name and other content"
                )
    return [
        (name, sent[name.rpartition("/")[2]])
        for name in found
        if name not in known and name.rpartition("/")[2] in sent
    ]


def _more(count: int) -> str:
    return f" and {count} more" if count > 0 else ""
