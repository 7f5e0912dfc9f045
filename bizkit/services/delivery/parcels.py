"""What lies in a folder that is about to be handed over: final versions, known by their checksums, and the rest."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bizkit.domain.work.captions import captions_beside, promised_beside
from bizkit.services.delivery.held_against import promised_spec
from bizkit.services.delivery.version_files import pieces

if TYPE_CHECKING:
    from bizkit.store.deliveries import Deliverable, Version


@dataclass(frozen=True, slots=True)
class Parcel:
    """A version of a deliverable as it lies in the folder. files: names in the folder. missing: names it lacks."""

    deliverable: Deliverable
    version: Version
    files: tuple[str, ...]
    missing: tuple[str, ...] = ()

    @property
    def final(self) -> bool:
        """Whether it is the version that the client approved."""
        return bool(self.version.number == self.deliverable.data.get("final"))

    @property
    def name(self) -> str:
        """`v2 of campaign-film`."""
        return f"v{self.version.number} of {self.deliverable.key}"


def parcels_in(promised: Sequence[Deliverable], found: Mapping[str, str]) -> list[Parcel]:
    """Versions whose files are among `found` (name -> SHA-256), in the order promised.

    promised: deliverables of the store with their `versions`. A set of stills is there when any of its files is; a
    file that belongs to two versions of a set counts for the final one, else for the newest. Captions alone are not a
    version: the same ones may belong to many cuts.
    """
    parcels: list[Parcel] = []
    for deliverable in promised:
        final = deliverable.data.get("final")
        taken: set[str] = set()
        for version in sorted(deliverable.versions, key=lambda one: (one.number == final, one.number), reverse=True):
            inside = version.contents
            names = _there(inside, {name: digest for name, digest in found.items() if name not in taken})
            if not names:
                continue
            taken.update(names)
            have = {found[name] for name in names}
            missing = tuple(name for name, digest in inside.items() if digest not in have)
            parcels.append(Parcel(deliverable, version, tuple(names), missing))
    return parcels


def _there(inside: Mapping[str, str], found: Mapping[str, str]) -> list[str]:
    """Names among `found` of the files of a version: films and stills by their content, what goes with them if it
    has its name too or lies beside them."""
    main = pieces(inside) or list(inside)
    digests = {inside[name] for name in main}
    names = [name for name, digest in found.items() if digest in digests]
    extra = {(inside[name], _base(name)) for name in inside if name not in main}
    if not names or not extra:
        return names
    beside = {caption for name in names for caption in captions_beside(name, found)}
    known = {digest for digest, _ in extra}
    taken = set(names)
    return names + [
        name
        for name, digest in found.items()
        if name not in taken and ((digest, _base(name)) in extra or (digest in known and name in beside))
    ]


def whats_wrong(promised: Sequence[Deliverable], parcels: Sequence[Parcel], found: Mapping[str, str]) -> list[str]:
    """Why this should not leave, one sentence each."""
    wrong = []
    finals = {parcel.deliverable.key for parcel in parcels if parcel.final}
    for parcel in parcels:
        wrong += not_final(parcel)
        if parcel.missing:
            wrong.append(f"{parcel.name} lacks {parcel.missing[0]}" + _more(len(parcel.missing) - 1))
        wrong += too_little(parcel, found)
    wrong += [f"{name} is not what was sent: {whose}" for name, whose in _changed(promised, parcels, found)]
    if not finals and not wrong:
        wrong.append("nothing in the folder is the final version of anything promised")
    return wrong


def not_final(parcel: Parcel) -> list[str]:
    """A sentence where the client approved another version, or none."""
    if parcel.final:
        return []
    approved = parcel.deliverable.data.get("final")
    state = f"v{approved} is the final version" if approved else "nothing of it is approved yet"
    return [f"{parcel.files[0]} is {parcel.name}: {state}"]


def too_little(parcel: Parcel, names: Collection[str]) -> list[str]:
    """Sentences where the version has fewer films or stills than were promised, or promised captions do not lie
    beside its films. names: of everything in the folder."""
    wrong = []
    promised, sent = parcel.deliverable.quantity, len(pieces(parcel.version.contents))
    if sent < promised:
        wrong.append(f"{parcel.name} has {sent} of {promised} promised")
    asks = parcel.deliverable.data.get("asks")
    if asks is not None:
        captions = promised_spec(parcel.deliverable.job, asks).captions
        gaps = [promised_beside(captions, captions_beside(name, names)) for name in pieces(parcel.files)]
        wrong += [f"{parcel.name} lacks its captions: {gap}" for gap in sorted(set(gaps) - {""})]
    return wrong


def whats_worth_a_look(
    promised: Sequence[Deliverable],
    parcels: Sequence[Parcel],
    found: Mapping[str, str],
    strange: Collection[str] = (),
) -> list[str]:
    """What is promised and not in the folder, and what is in the folder and not promised, one sentence each.

    strange: names about which more was said already.
    """
    here = {parcel.deliverable.key for parcel in parcels}
    looks = [
        f"{one.key} is not among the files" + ("" if one.data.get("final") else " and not approved yet")
        for one in promised
        if one.key not in here
    ]
    for parcel in parcels:
        promised_here, sent = parcel.deliverable.quantity, len(pieces(parcel.version.contents))
        if sent > promised_here:
            looks.append(f"{parcel.name} has {sent} of {promised_here} promised: what is more is licensed to nobody")
    known = {name for parcel in parcels for name in parcel.files} | set(strange)
    strangers = [name for name in found if name not in known]
    if strangers:
        looks.append(f"{strangers[0]}{_more(len(strangers) - 1)} goes along without being a version of anything")
    return looks


def _changed(
    promised: Sequence[Deliverable], parcels: Sequence[Parcel], found: Mapping[str, str]
) -> list[tuple[str, str]]:
    """Files that carry the name of a version sent, with other content."""
    known = {name for parcel in parcels for name in parcel.files}
    sent: dict[str, str] = {}
    contents: set[tuple[str, str]] = set()
    for deliverable in promised:
        for version in deliverable.versions:
            for name, digest in version.contents.items():
                contents.add((_base(name), digest))
                sent[_base(name)] = f"v{version.number} of {deliverable.key} had this name and other content"
    return [
        (name, sent[_base(name)])
        for name, digest in found.items()
        if name not in known and _base(name) in sent and (_base(name), digest) not in contents
    ]


def _base(name: str) -> str:
    """The name without its folders."""
    return name.rpartition("/")[2]


def _more(count: int) -> str:
    return f" and {count} more" if count > 0 else ""
