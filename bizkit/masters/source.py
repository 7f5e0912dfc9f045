"""The file being looked at: one open handle, read once where possible, its SHA-256 made from the very same bytes."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, BinaryIO, Self

from bizkit.domain.errors import BadInput, NotFound, meant

if TYPE_CHECKING:
    from hashlib import _Hash as Hash

#: Told now and then how many bytes are done, and of how many.
Progress = Callable[[int, int], None]

CHUNK_BYTES = 1 << 20
#: What a contact sheet carries as its comment: one of an earlier look may be replaced, no other picture.
SHEET_MARK = b"bizkit contact sheet"


def open_regular(path: Path) -> int:
    """A file descriptor to read `path`. Raises BadInput for anything that is not a regular, non-empty file.

    Pipes and devices are refused without waiting on them.
    """
    flags = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)
    try:
        handle = os.open(path, flags)
    except FileNotFoundError:
        if path.is_symlink():
            raise BadInput(wanted="a file", got="a link to one that is not there", where=path.name) from None
        try:
            near = os.listdir(path.parent)
        except OSError:
            near = []
        hint = meant(path.name, near[:1000]) or f"Looked for in {path.parent.resolve()}"
        where = "" if path.parent == Path() else str(path.parent)
        raise NotFound("file", path.name, (), where=where, hint=hint) from None
    except (OSError, ValueError) as error:
        raise BadInput(wanted="a file that can be read", got=error, where=path.name) from None
    found = os.fstat(handle)
    if not stat.S_ISREG(found.st_mode):
        os.close(handle)
        raise BadInput(wanted="a regular file", got="a folder, pipe or device", where=path.name)
    if found.st_size == 0:
        os.close(handle)
        raise BadInput(wanted="a file with something in it", got="an empty file", where=path.name)
    return handle


class Source:
    """A seekable reader that hashes what it hands out.

    Readers of films go through a file once from front to back, apart from a look at the index: each byte is hashed
    when it first comes by in order, and `sha256` reads only what is left. The checksum is therefore that of the bytes
    that were looked at. also: another checksum to feed with them.
    """

    def __init__(self, path: Path, tell: Progress, also: Hash | None = None) -> None:
        self.path = path
        self._handle = os.fdopen(open_regular(path), "rb", buffering=0)
        found = os.fstat(self._handle.fileno())
        self.size_bytes = found.st_size
        self._changed_ns = found.st_mtime_ns
        self._tell = tell
        self._hash = hashlib.sha256()
        self._also = also
        self._hashed = 0
        self._at = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._handle.close()

    def read(self, size: int = -1) -> bytes:
        """Up to `size` bytes, a megabyte at most when it is not said; empty at the end."""
        data = self._handle.read(CHUNK_BYTES if size < 0 else size) or b""
        fresh = self._hashed - self._at
        if 0 <= fresh < len(data):
            self._hash.update(memoryview(data)[fresh:])
            if self._also is not None:
                self._also.update(memoryview(data)[fresh:])
            self._hashed = self._at + len(data)
            self.beat()
        self._at += len(data)
        return data

    def beat(self) -> None:
        """A sign of life: says how far it is."""
        self._tell(self._hashed, self.size_bytes)

    def seek(self, offset: int, whence: int = 0) -> int:
        """As of any binary file."""
        self._at = self._handle.seek(offset, whence)
        return self._at

    def tell(self) -> int:
        """As of any binary file."""
        return self._at

    def plain(self) -> BinaryIO:
        """The same open file for a reader that wants a real one. `sha256` may be asked for all the same."""
        handle = os.fdopen(os.dup(self._handle.fileno()), "rb")
        handle.seek(0)
        return handle

    def sha256(self) -> str:
        """The checksum of the whole file, as hexadecimal text. Raises BadInput when the file changed meanwhile."""
        self.seek(self._hashed)
        while self.read(CHUNK_BYTES):
            pass
        found = os.fstat(self._handle.fileno())
        if (found.st_size, found.st_mtime_ns) != (
            self.size_bytes,
            self._changed_ns,
        ) or self._hashed != self.size_bytes:
            raise BadInput(
                wanted="a finished file",
                got="a file that changed while it was read",
                where=self.path.name,
                hint="Wait for the export or the copy to end",
            )
        return self._hash.hexdigest()


def checksum(path: Path, progress: Progress | None = None, *, also: Hash | None = None) -> str:
    """SHA-256 of `path` as hexadecimal text, read a megabyte at a time; what `sha256sum` prints.

    also: another checksum that is fed the same bytes. Raises NotFound, or BadInput for what is no regular file or
    changes meanwhile. Needs no optional extra.
    """
    with Source(path, progress or (lambda done, of: None), also) as source:
        return source.sha256()
