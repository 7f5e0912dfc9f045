"""The files on a delivery note: each film, set and caption; of many others their folders, with counts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from bizkit.domain.money import plain, round_half_away
from bizkit.domain.work.judge import seconds
from bizkit.services.delivery.parcels import Parcel
from bizkit.services.delivery.version_files import pieces

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.work import DeliveredFile

#: More files than this beside the versions are not named one by one: the list of checksums names them.
FILES_MOST = 60
#: More folders than this are joined into those that hold them.
FOLDERS_MOST = 200
#: Kinds of files named of a folder.
KINDS_MOST = 4
#: Sizes as drives are sold: SI prefixes.
UNITS = ((10**12, "TB"), (10**9, "GB"), (10**6, "MB"), (10**3, "kB"))


@dataclass(frozen=True, slots=True)
class Wording:
    """How the note writes sizes, numbers and names. named: a file name as the note's fonts can draw it."""

    locale: str
    language: str
    named: Callable[[str], str] = str

    def number(self, value: int) -> str:
        """A count with its thousands set off."""
        from bizkit.papers.locale import Drawn

        return Drawn(self.locale, self.language).number(str(value))

    def size(self, size_bytes: int) -> str:
        """In the largest unit that gives one or more: `4.2 GB`, `1.5 kB`, `512 B`."""
        from bizkit.papers.locale import Drawn

        for unit, name in UNITS:
            if size_bytes >= unit:
                value = round_half_away(Decimal(size_bytes) / unit, 0 if size_bytes >= 100 * unit else 1)
                return f"{Drawn(self.locale, self.language).number(plain(value))} {name}"
        return f"{size_bytes} B"


def file_rows(
    work: Connection,
    parcels: Sequence[Parcel],
    digests: Mapping[str, str],
    sizes: Mapping[str, int],
    wording: Wording,
) -> list[DeliveredFile]:
    """The rows of the note. digests, sizes: by name, of every file in the folder."""
    rows: list[DeliveredFile] = []
    for parcel in parcels:
        rows += _parcel_rows(work, parcel, digests, sizes, wording)
    known = {name for parcel in parcels for name in parcel.files}
    others = [name for name in digests if name not in known]
    if len(others) <= FILES_MOST:
        return rows + [
            {
                "title": wording.named(_kind(name)),
                "version": "",
                "name": wording.named(name),
                "size": wording.size(sizes[name]),
                "sha256": digests[name],
            }
            for name in others
        ]
    return rows + [
        _folder_row(place, names, sizes, wording) for place, names in folders(others, FOLDERS_MOST).items()
    ]


def folders(names: Iterable[str], most: int) -> dict[str, list[str]]:
    """`names` by the folder they lie in, folders joined from the deepest up until there are `most` or fewer.

    >>> folders(["a/b/1", "a/c/2", "3"], 2)
    {'a/': ['a/b/1', 'a/c/2'], './': ['3']}
    """
    every = list(names)
    depth = max((name.count("/") for name in every), default=0)
    while True:
        found: dict[str, list[str]] = {}
        for name in every:
            place = "/".join(name.split("/")[:-1][:depth])
            found.setdefault(f"{place or '.'}/", []).append(name)
        if len(found) <= most or not depth:
            return found
        depth -= 1


def _parcel_rows(
    work: Connection, parcel: Parcel, digests: Mapping[str, str], sizes: Mapping[str, int], wording: Wording
) -> list[DeliveredFile]:
    from bizkit.store.reviews import checks

    one, version = parcel.deliverable, parcel.version
    main = pieces(parcel.files) or list(parcel.files)
    is_set = bool(version.data.get("files"))
    looks = checks(work, sha256=version.sha256)
    length = Fraction(looks[-1].facts.get("duration_s", 0)) if looks else Fraction(0)
    inside = parcel.files if is_set else main
    first: DeliveredFile = {
        "title": f"{one.title} ({wording.number(len(main))})" if is_set else one.title,
        "version": f"v{version.number}",
        "spec": one.spec,
        "duration": seconds(length) if length else "",
        "name": wording.named(_common(inside) if is_set else main[0]),
        "size": wording.size(sum(sizes[name] for name in inside)),
        "sha256": "" if is_set else version.sha256,
    }
    rows = [first]
    for name in [] if is_set else [name for name in parcel.files if name not in main]:
        rows.append(
            {
                "title": f"{one.title} ({_kind(name)})",
                "version": f"v{version.number}",
                "name": wording.named(name),
                "size": wording.size(sizes[name]),
                "sha256": digests[name],
            }
        )
    return rows


def _folder_row(place: str, names: Sequence[str], sizes: Mapping[str, int], wording: Wording) -> DeliveredFile:
    kinds = Counter(_kind(name) for name in names)
    title = ", ".join(wording.named(kind) for kind, _ in kinds.most_common(KINDS_MOST))
    title += "…" if len(kinds) > KINDS_MOST else ""
    return {
        "title": f"{title} ({wording.number(len(names))})",
        "version": "",
        "name": wording.named(place),
        "size": wording.size(sum(sizes[name] for name in names)),
        "sha256": "",
    }


def _kind(name: str) -> str:
    """The ending of a file name in capitals, a dash for none."""
    return PurePosixPath(name).suffix.lstrip(".").upper()[:12] or "-"


def _common(names: Sequence[str]) -> str:
    """The folder that holds all of `names`, with a slash; the first name where they lie in none."""
    places = {name.rpartition("/")[0] for name in names}
    inside = places.pop() if len(places) == 1 else ""
    return f"{inside}/" if inside else f"{names[0]} …" if len(names) > 1 else names[0]
