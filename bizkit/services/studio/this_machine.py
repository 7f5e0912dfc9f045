"""What a user's own folder keeps of the machine: its mark, and the newest numbered papers of each book used here.

The mark is drawn at random once. It holds the inode of its own file, so that a home folder copied to another machine
makes another mark there. BIZKIT_MACHINE names the machine where nothing of the user's is kept (containers). What is
remembered of a book is written after the commit and may be behind it, never ahead.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import socket
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from bizkit.services.studio.user_folder import user_folder

#: A numbered paper: its number, its path in the studio folder (empty for a form), its SHA-256.
Numbered = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Remembered:
    """The newest numbered papers of a book used here, in which file, and at which moment (ISO, UTC)."""

    papers: tuple[Numbered, ...]
    file: str
    at: str


def machine_mark(*, make: bool) -> str:
    """The mark of this user's machine; empty where there is none, or with `make` where none can be kept."""
    named = os.environ.get("BIZKIT_MACHINE", "").strip()
    if named:
        return f"named {named}"
    try:
        file = user_folder("data") / "machine"
        return _mark_in(file) or (_new_mark(file) if make else "")
    except (OSError, RuntimeError):
        return ""


def _mark_in(file: Path) -> str:
    try:
        found = re.fullmatch(r"([0-9a-f]{32}) (\d+)\n", file.read_text(encoding="ascii"))
        return found[1] if found and int(found[2]) == file.stat().st_ino else ""
    except (FileNotFoundError, ValueError):
        return ""


def _new_mark(file: Path) -> str:
    file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    fresh = file.with_name(f"machine.{secrets.token_hex(4)}")
    try:
        with open(os.open(fresh, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "w", encoding="ascii") as out:
            mark = secrets.token_hex(16)
            out.write(f"{mark} {os.fstat(out.fileno()).st_ino}\n")
            out.flush()
            os.fsync(out.fileno())
        os.replace(fresh, file)
    except BaseException:
        with suppress(OSError):
            fresh.unlink()
        raise
    # Another command may have made one at the same moment: the one that stands counts.
    return _mark_in(file)


def host_name() -> str:
    """What this machine is called, for people."""
    with suppress(OSError):
        return socket.gethostname().partition(".")[0]
    return ""


def remembered(book: str) -> Remembered | None:
    """What is remembered of a book; None where nothing is, or it cannot be read."""
    try:
        found = json.loads(_file(book).read_text(encoding="utf-8"))
        papers = tuple((str(number), str(file), str(digest)) for number, file, digest in found["papers"])
        return Remembered(papers, str(found["file"]), str(found["at"]))
    except (OSError, ValueError, KeyError, TypeError, RuntimeError):
        return None


def remember(book: str, papers: Sequence[Numbered], file: str, at: str) -> None:
    """Remember the newest papers of a book. Where nothing can be kept, nothing is."""
    try:
        target = _file(book)
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        fresh = target.with_name(f"{target.name}.{secrets.token_hex(4)}")
        try:
            fresh.write_text(json.dumps(asdict(Remembered(tuple(papers), file, at))), encoding="utf-8")
            os.replace(fresh, target)
        finally:
            fresh.unlink(missing_ok=True)
    except (OSError, RuntimeError):
        pass


def _file(book: str) -> Path:
    name = book if re.fullmatch(r"[0-9a-f]{16,64}", book) else "unnamed"
    return user_folder("data") / "books" / f"{name}.json"
