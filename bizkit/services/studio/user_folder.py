"""Where a user's programs keep what belongs to no studio: caches, reports of faults, the mark of the machine."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Final

#: What is kept -> (variable, folder without it) of the XDG Base Directory Specification, and the folder on a Mac.
_FOLDERS: Final = {
    "data": ("XDG_DATA_HOME", "~/.local/share", "~/Library/Application Support"),
    "cache": ("XDG_CACHE_HOME", "~/.cache", "~/Library/Caches"),
    "state": ("XDG_STATE_HOME", "~/.local/state", "~/Library/Logs"),
}


def user_folder(kept: str) -> Path:
    """This user's folder for "data", "cache" or "state"; whether it exists or not."""
    variable, usual, mac = _FOLDERS[kept]
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA") or "~"
    elif sys.platform == "darwin":
        base = mac
    else:
        base = os.environ.get(variable) or usual
    return Path(os.path.expanduser(base)) / "bizkit"
