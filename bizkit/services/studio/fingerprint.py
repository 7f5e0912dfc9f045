"""What a file or a folder of files is known by: the SHA-256 of its bytes, of a folder's list of files."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput
from bizkit.domain.work.manifest import write_manifest

if TYPE_CHECKING:
    from hashlib import _Hash as Hash

#: Told now and then how many bytes are done, and of how many.
Progress = Callable[[int, int], None]

#: Files that systems leave in folders; nobody delivers them.
LITTER = (".DS_Store", "Thumbs.db", "desktop.ini")
#: How names of such files begin: the second half of a file on drives that have no place for it.
LITTER_BEFORE = "._"

#: How the name of a file begins that bizkit is writing. One that stays was left by a command that was stopped.
HALF_WRITTEN = ".writing-"


@dataclass(frozen=True, slots=True)
class Fingerprint:
    """name: of the file or folder, a folder's with a slash. bytes: of all of it. files: name -> SHA-256 of each file
    inside, names by slashes; empty for a single file.
    """

    name: str
    sha256: str
    bytes: int
    files: dict[str, str]


def fingerprint(path: Path, progress: Progress | None = None) -> Fingerprint:
    """Read the file at `path`, or every file below it, in pieces. Raises BadInput for what cannot be read.

    An empty file in a folder is one of its files; by itself it is refused.
    """
    from bizkit.masters.source import checksum
    from bizkit.store.canonical import sha256

    check_name(path)
    if not path.is_dir():
        return Fingerprint(path.name, checksum(path, progress), path.stat().st_size, {})
    found = list(files_below(path))
    if not found:
        raise BadInput(wanted="a folder with files in it", got="an empty one", where=str(path))
    files, size = digests_of(path, found, progress)
    # The same bytes under the same names give the same list, whatever lies around the folder.
    return Fingerprint(f"{path.resolve().name}/", sha256(write_manifest(files)), size, files)


def digests_of(folder: Path, paths: Sequence[Path], progress: Progress | None = None) -> tuple[dict[str, str], int]:
    """Name below `folder`, with slashes -> SHA-256 of each of `paths`; and their bytes in all. Raises BadInput."""
    sizes = [path.stat().st_size for path in paths]
    whole, done = sum(sizes), 0
    files: dict[str, str] = {}
    for path, size in zip(paths, sizes, strict=True):

        def tell(now: int, of: int, before: int = done) -> None:
            if progress:
                progress(before + now, whole)

        files[path.relative_to(folder).as_posix()] = digest_of(path, tell)
        done += size
    return files, whole


def digest_of(path: Path, progress: Progress | None = None, *, also: Hash | None = None) -> str:
    """SHA-256 of a file, of an empty one too; `also` is fed the same bytes. Raises BadInput."""
    from bizkit.masters.source import checksum

    with suppress(OSError):
        if path.is_file() and path.stat().st_size == 0:
            return hashlib.sha256().hexdigest()
    return checksum(path, progress, also=also)


def files_below(folder: Path, *, links: list[Path] | None = None) -> Iterator[Path]:
    """Every regular file below `folder`, in order of name; links to elsewhere and litter left out.

    links: takes in what was left out for being a link. Raises BadInput for a folder that cannot be read, and for
    what lies in it and is neither file, folder nor link: a pipe, a socket or a device holds nothing to hand on.
    """

    def refuse(error: OSError) -> None:
        raise BadInput(wanted="a folder that can be read", got=error.strerror or error, where=str(error.filename))

    for here, folders, names in os.walk(folder, onerror=refuse):
        folders.sort()
        if links is not None:
            links += [Path(here) / name for name in (*folders, *sorted(names)) if (Path(here) / name).is_symlink()]
        for name in sorted(names):
            path = Path(here) / name
            if name in LITTER or name.startswith((LITTER_BEFORE, HALF_WRITTEN)) or path.is_symlink():
                continue
            check_name(path)
            if not path.is_file():
                raise BadInput(
                    wanted="files, folders and links in the folder",
                    got=f"{path.relative_to(folder).as_posix()}, {_what(path)}",
                    where=str(folder),
                    hint="Take it out of the folder",
                )
            yield path


def _what(path: Path) -> str:
    """What something is that is neither file, folder nor link; it may have gone since it was listed."""
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return "which is gone"
    names = ((stat.S_ISFIFO, "a pipe"), (stat.S_ISSOCK, "a socket"), (stat.S_ISBLK, "a device"),
             (stat.S_ISCHR, "a device"))  # fmt: skip
    return next((name for is_it, name in names if is_it(mode)), "no file")


def is_plain(path: Path) -> bool:
    """Whether something is a regular file and no link to one."""
    return path.is_file() and not path.is_symlink()


def check_name(path: Path) -> None:
    """Refuse a name that is not Unicode text: no list, paper or book could hold it. Raises BadInput."""
    try:
        str(path).encode()
    except UnicodeEncodeError:
        plain = str(path).encode("utf-8", "surrogateescape").decode("utf-8", "replace")
        raise BadInput(wanted="a file name in UTF-8", got=plain, hint="Rename the file") from None
