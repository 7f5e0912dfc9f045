"""What bizkit says when something goes wrong that no rule foresaw: one line, and a report file with the rest."""

from __future__ import annotations

import errno
import os
import platform
import re
import tempfile
import traceback
from collections.abc import Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from bizkit import __version__
from bizkit.services.studio.user_folder import user_folder

#: What to do about an error of the operating system, by its number.
_CURES = {
    errno.ENOSPC: "make room on that disk, then repeat the command",
    errno.EDQUOT: "make room in your quota, then repeat the command",
    errno.EFBIG: "the disk or a limit takes no file of that size",
    errno.EACCES: "check its permissions, then repeat the command",
    errno.EPERM: "check its permissions, then repeat the command",
    errno.EROFS: "make it writable, then repeat the command",
    errno.EIO: "the disk does not answer: check it, then repeat the command",
    errno.EISDIR: "a folder lies there: move it away or choose another name",
    errno.ENOTDIR: "a file lies where a folder is wanted: move it away or choose another name",
    errno.ENOENT: "it is not there: check the name",
    errno.ENAMETOOLONG: "choose a shorter name",
}


def of_system(error: OSError) -> str:
    """One line for an error of the operating system: the file, what it said, what to do."""
    place = f"{error.filename}: " if error.filename else ""
    cure = _CURES.get(error.errno or 0, "put that right, then repeat the command")
    return f"{place}{error.strerror or error}: {cure}"


def of_output(error: OSError) -> str:
    """One line for what could not be printed; the command itself had its effect before."""
    said = error.strerror or error
    return f"the output could not be written: {said}. What the command did is done: see bizkit status"


def of_fault(error: BaseException, words: Sequence[str]) -> str:
    """Write the report of a fault of bizkit itself and return the one line that says where it is.

    words: the command line; values and file names in it are left out of the report, they may be anybody's.
    """
    kind = type(error).__name__
    try:
        path = _write(_report(error, words))
    except OSError as trouble:
        return f"a fault of bizkit itself ({kind}), and no report of it could be written: {trouble}"
    return (
        f"a fault of bizkit itself ({kind}). What happened is in {path}: read it through, then send it to whoever "
        "looks after bizkit. Check what was recorded with bizkit status and bizkit verify"
    )


def _report(error: BaseException, words: Sequence[str]) -> str:
    """Versions, the command without its values, and the way to the fault. No passwords in addresses of databases."""
    options = [word.partition("=")[0] if word.startswith("-") else "…" for word in words]
    trace = "".join(traceback.format_exception(error))
    return "\n".join(
        [
            f"bizkit {__version__}, Python {platform.python_version()}, {platform.platform()}",
            f"on {datetime.now(UTC).isoformat(timespec='seconds')}",
            f"command: bizkit {' '.join(options)}",
            "",
            re.sub(r"://[^/\s]*@", "://***@", trace),
        ]
    )


def _write(text: str) -> Path:
    """Write a report for the owner's eyes only; in the folder for temporary files where their own cannot be used."""
    name = f"report-{datetime.now(UTC):%Y%m%d-%H%M%S}-{os.getpid()}.txt"
    for folder in (user_folder("state"), Path(tempfile.gettempdir())):
        with suppress(OSError):
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            path = folder / (name if folder.name == "bizkit" else f"bizkit-{name}")
            with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w", encoding="utf-8") as file:
                file.write(text)
            return path
    raise OSError(errno.ENOSPC, "no folder takes it", str(user_folder("state")))
