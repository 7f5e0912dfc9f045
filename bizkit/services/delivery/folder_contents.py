"""What lies in a folder to hand over: names and sizes at once, contents when they are read, each file once."""

from __future__ import annotations

import hashlib
import os
import stat
import tempfile
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.work.manifest import check_name as check_listed
from bizkit.services.studio.fingerprint import Progress, digest_of, files_below

#: A list of checksums is no larger: some 200,000 files.
LIST_MOST_BYTES = 20_000_000
#: A line of a list beside its name: 64 digits, two blanks, a line end.
_LINE_BYTES = 67


@dataclass(frozen=True, slots=True)
class Contents:
    """A folder before any file in it is read. sizes: name below it, by slashes -> bytes. links: left out.

    states: name -> what tells whether a file was written to since: bytes, the moment of the last change, its place.
    """

    folder: Path
    sizes: Mapping[str, int]
    links: tuple[str, ...]
    states: Mapping[str, tuple[int, int, int]]

    @classmethod
    def of(cls, folder: Path) -> Contents:
        """List `folder`. Raises BadInput for an empty one, and for names, or too many, that no list can hold."""
        links: list[Path] = []
        states = {path.relative_to(folder).as_posix(): _state(path) for path in files_below(folder, links=links)}
        sizes = {name: state[0] for name, state in states.items()}
        if not sizes:
            raise BadInput(wanted="a folder with files in it", got="an empty one", where=str(folder))
        for name in sizes:
            check_listed(name, where=str(folder))
        length = sum(len(os.fsencode(name)) + _LINE_BYTES for name in sizes)
        if length > LIST_MOST_BYTES:
            raise BadInput(
                wanted="files whose list of checksums is 20 MB or less",
                got=f"{len(sizes)} files",
                where=str(folder),
                hint="Pack folders of many small files into one file each",
            )
        return cls(folder, sizes, tuple(path.relative_to(folder).as_posix() for path in links), states)

    def refuse_changed(self, but: Collection[str] = ()) -> None:
        """Refuse a folder in which a file came, went or was written to since it was listed. Raises RuleBroken.

        but: names that were written since by ourselves.
        """
        now = {path.relative_to(self.folder).as_posix(): _state(path) for path in files_below(self.folder)}
        changed = sorted(name for name in {*now, *self.states} - set(but) if now.get(name) != self.states.get(name))
        if changed:
            more = f" and {len(changed) - 1} more" if len(changed) > 1 else ""
            raise RuleBroken(
                f"{self.folder}: {changed[0]}{more} changed while the folder was read, so its list would be wrong: "
                "let whatever writes there finish, then repeat this"
            )

    @property
    def bytes(self) -> int:
        """Of all files."""
        return sum(self.sizes.values())

    def read(self, progress: Progress | None = None, *, sha512: bool = False) -> Read:
        """The checksums of every file, each read once. Raises BadInput for one that cannot be read or changes."""
        plain: dict[str, str] = {}
        long: dict[str, bytes] = {}
        done, whole = 0, self.bytes
        for name, size in self.sizes.items():

            def tell(now: int, of: int, before: int = done) -> None:
                if progress:
                    progress(before + now, whole)

            also = hashlib.sha512() if sha512 else None
            plain[name] = digest_of(self.folder / name, tell, also=also)
            if also is not None:
                long[name] = also.digest()
            done += size
        return Read(plain, long)

    def closed(self) -> list[str]:
        """Names of files and folders that nobody but their owner can read, where the system has such a thing."""
        if os.name != "posix":
            return []
        folders = {parent for name in self.sizes for parent in (self.folder / name).parents}
        inside = sorted(path for path in folders if path == self.folder or self.folder in path.parents)
        return [
            path.relative_to(self.folder).as_posix()
            for path, needed in (
                *((path, stat.S_IROTH | stat.S_IXOTH) for path in inside),
                *((self.folder / name, stat.S_IROTH) for name in self.sizes),
            )
            if path.stat().st_mode & needed != needed
        ]


def _state(path: Path) -> tuple[int, int, int]:
    found = path.stat()
    return found.st_size, found.st_mtime_ns, found.st_ino


@dataclass(frozen=True, slots=True)
class Read:
    """Name -> SHA-256 as hexadecimal text; name -> SHA-512, where asked for."""

    sha256: Mapping[str, str]
    sha512: Mapping[str, bytes]


def check_writable(folder: Path) -> None:
    """Refuse a folder in which nothing can be written. Raises BadInput."""
    try:
        with tempfile.TemporaryFile(dir=folder):
            pass
    except OSError as error:
        raise BadInput(wanted="a folder that can be written to", got=error.strerror, where=str(folder)) from None
