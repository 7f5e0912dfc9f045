"""Where the shipped templates are: inside the installed package, or beside it in a checkout."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path


def templates() -> Path:
    """The folder with cards/, briefs/ and papers/. Raises FileNotFoundError when the installation lacks it."""
    package = Path(str(files("bizkit")))
    for folder in (package / "templates", package.parent / "templates"):
        if folder.is_dir():
            return folder
    raise FileNotFoundError("bizkit is installed without its templates: install it again")
