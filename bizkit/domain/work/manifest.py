"""A list of files with their SHA-256, as coreutils `sha256sum` writes and checks it.

One line a file: 64 hexadecimal digits, a space, a space or `*`, the name. A name with a backslash, line feed or
carriage return is escaped, and the line then begins with a backslash (coreutils manual, "cksum output modes").
Hashing the files is not done here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from bizkit.domain.errors import BadInput

_LINE = re.compile(r"(\\?)([0-9a-fA-F]{64}) [ *](.+)", re.ASCII | re.DOTALL)
_TAGGED = re.compile(r"(\\?)SHA256 \((.+)\) = ([0-9a-fA-F]{64})", re.ASCII | re.DOTALL)
_ESCAPES = {"\\\\": "\\", "\\n": "\n", "\\r": "\r"}
_HASH = re.compile(r"[0-9a-f]{64}", re.ASCII)


def write_manifest(hashes: Mapping[str, str]) -> str:
    """The manifest for `hashes` (name -> SHA-256), sorted by name; names are relative, folders set off by `/`.

    Raises BadInput for a name that leaves the folder or a hash that is none.

    >>> write_manifest({"a.mov": "0" * 64})
    '0000000000000000000000000000000000000000000000000000000000000000  a.mov\\n'
    """
    lines = []
    for name in sorted(hashes):
        check_name(name)
        if not _HASH.fullmatch(hashes[name]):
            raise BadInput(wanted="a SHA-256 of 64 lower-case hexadecimal digits", got=hashes[name], field=name)
        escaped = name
        for written, meant in _ESCAPES.items():
            escaped = escaped.replace(meant, written)
        mark = "\\" if escaped != name else ""
        lines.append(f"{mark}{hashes[name]}  {escaped}\n")
    return "".join(lines)


def read_manifest(text: str, *, where: str = "") -> dict[str, str]:
    """name -> SHA-256 in lower case, in the order of the file. Empty lines and lines from `#` on are passed over.

    Takes the tagged form too (`SHA256 (name) = hash`), and `./name` for name. Raises BadInput naming the line for
    another form, a name that appears twice, or one that leaves the folder; for a text without any file.
    """
    result: dict[str, str] = {}
    for number, line in enumerate(text.removeprefix("\ufeff").split("\n"), start=1):
        place = f"{where}, line {number}" if where else f"line {number}"
        line = line.removesuffix("\r")
        if not line.strip() or line.startswith("#"):
            continue
        if found := _LINE.fullmatch(line):
            escaped, digest, name = found.groups()
        elif found := _TAGGED.fullmatch(line):
            escaped, name, digest = found.groups()
        else:
            raise BadInput(wanted="a SHA-256, two spaces and a file name", got=line, where=place)
        if escaped:
            name = _plain(name, place)
        name = name.removeprefix("./")
        check_name(name, where=place)
        if name in result:
            raise BadInput(wanted="each file once", got=f"{name} again", where=place)
        result[name] = digest.lower()
    if not result:
        raise BadInput(wanted="one file or more", got="none", where=where)
    return result


def check_name(name: str, *, where: str = "") -> None:
    """Refuse a name that is not a plain path below the folder: absolute, with `..`, a drive, or a zero character.

    A manifest comes from others; such a name would have a check look at files elsewhere.
    """
    parts = name.split("/")
    if not name or "\0" in name or ".." in parts or "" in parts or re.match(r"[A-Za-z]:[\\/]", name):
        raise BadInput(wanted="a file name inside the folder", got=name, where=where)
    if "\\" in name and ".." in name.split("\\"):
        raise BadInput(wanted="a file name inside the folder", got=name, where=where)


@dataclass(frozen=True, slots=True)
class Comparison:
    """A folder held against its manifest; every tuple is sorted by name.

    moved: (name in the manifest, name found), the same content under another name. extra: found, not listed.
    """

    intact: tuple[str, ...]
    changed: tuple[str, ...]
    missing: tuple[str, ...]
    moved: tuple[tuple[str, str], ...]
    extra: tuple[str, ...]

    @property
    def whole(self) -> bool:
        """Whether every file of the manifest is there, unchanged, under its name."""
        return not (self.changed or self.missing or self.moved)


def compare(wanted: Mapping[str, str], found: Mapping[str, str]) -> Comparison:
    """`found` (name -> SHA-256 of what lies there) against the manifest `wanted`.

    A listed file that is gone but whose content lies under a name the manifest does not know counts as moved.
    """
    intact = [name for name in wanted if found.get(name) == wanted[name]]
    changed = [name for name in wanted if name in found and found[name] != wanted[name]]
    gone = [name for name in wanted if name not in found]
    unlisted: dict[str, list[str]] = {}
    for name in sorted(set(found) - set(wanted), reverse=True):
        unlisted.setdefault(found[name], []).append(name)
    moved, missing = [], []
    for name in sorted(gone):
        places = unlisted.get(wanted[name])
        if places:
            moved.append((name, places.pop()))
        else:
            missing.append(name)
    extra = sorted(name for names in unlisted.values() for name in names)
    return Comparison(tuple(sorted(intact)), tuple(sorted(changed)), tuple(missing), tuple(moved), tuple(extra))


def _plain(name: str, place: str) -> str:
    """An escaped name as it is."""

    def one(found: re.Match[str]) -> str:
        if found[0] not in _ESCAPES:
            raise BadInput(wanted="\\\\, \\n or \\r in an escaped name", got=found[0], where=place)
        return _ESCAPES[found[0]]

    return re.sub(r"\\.?", one, name, flags=re.DOTALL)
