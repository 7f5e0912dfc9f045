"""Reading a file that somebody names: a regular file of a sensible size, or one line that says why not.

A pipe would be waited on for ever, a device such as /dev/zero never ends, and a file of some gigabytes fills the
memory: each is refused before anything of it is read.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path

from bizkit.domain.errors import BadInput, meant

MB = 1_000_000


def read_source(path: Path, what: str, *, most: int, field: str = "", where: str = "", hint: str = "") -> bytes:
    """The bytes of the file at `path`, at most `most` of them.

    what: what it should be, in messages ("a scan (PDF, PNG or JPEG)"). where: how the file is named in them, its path
    without. Raises BadInput for a file that is missing, cannot be read, is no regular file or is larger.
    """

    def wrong(got: object, wanted: str = what) -> BadInput:
        return BadInput(wanted=wanted, got=got, field=field, where=where or str(path), hint=hint)

    flags = os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0)
    try:
        with os.fdopen(os.open(path, flags), "rb") as file:
            found = os.fstat(file.fileno())
            if not stat.S_ISREG(found.st_mode):
                raise wrong("a pipe or a device")
            too_large = wrong("a larger file", f"{what} of {most / MB:g} MB or less")
            if found.st_size > most:
                raise too_large
            content = file.read(most + 1)
    except FileNotFoundError:
        hint = hint or _nearest(path)
        raise wrong("no such file") from None
    except IsADirectoryError:
        raise wrong("a folder") from None
    except OSError as error:
        raise wrong(error.strerror or error) from None
    except ValueError:  # a zero byte, or a name that the system cannot hold
        raise wrong("no such file") from None
    if len(content) > most:
        raise too_large
    return content


def _nearest(path: Path) -> str:
    """What may be meant by a file that is not there: the nearest name in its folder, or that there is no folder."""
    try:
        names = [one.name for one in os.scandir(path.parent)]
    except (OSError, ValueError):
        return f"There is no folder {path.parent} seen from {Path.cwd()}"
    return meant(path.name, names) or f"Looked for in {path.parent.resolve()}"


def read_source_text(path: Path, what: str, *, most: int, field: str = "", where: str = "", hint: str = "") -> str:
    """The same as UTF-8 text, a byte order mark left out and line ends as one sign."""
    content = read_source(path, what, most=most, field=field, where=where, hint=hint)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise BadInput(
            wanted=f"{what} as UTF-8 text", got="other bytes", field=field, where=where or str(path)
        ) from None
    return text.replace("\r\n", "\n").replace("\r", "\n")
