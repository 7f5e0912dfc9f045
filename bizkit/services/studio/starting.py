"""Making a studio folder: starter files to change, an empty book, a papers folder."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import TypedDict

from bizkit.domain.errors import BadInput, NotFound
from bizkit.resources import templates
from bizkit.services.studio.studio_folder import BOOK, MARK, StudioFolder

#: starter -> (client file, brief file); studio and rate card carry the starter's own name.
STARTERS = {
    "gbp-uk": ("skerrow-islands-tourism", "follow-the-kelp"),
    "eur-de": ("nationalpark-hagebutt", "seegras-im-bodden"),
}

#: Where the schemas of settings files are, for editors; the first line of a starter names its own.
SCHEMAS = "schema"

#: The line of studio.toml that makes a studio one to practise in. A studio for real business never carries it.
PRACTICE = "practice = true  # a practice studio: dates after today are taken without a reason\n"


def init_studio(path: Path, starter: str = "gbp-uk", *, book_url: str = "", practice: bool = False) -> Started:
    """Make the studio folder at `path`, for the owner's eyes only (permissions 0700).

    practice: to try things out, see `Studio.practice`. The book is made where `book_url` says, which the settings
    then say too, else where BIZKIT_BOOK does, else in the folder.
    Raises BadInput when something is there already, NotFound for an unknown starter. Nothing half-made stays.
    """
    from bizkit.services.studio.toml_edit import rewritten, with_table
    from bizkit.services.studio.whereabouts import begin_here
    from bizkit.store.book import Book

    if starter not in STARTERS:
        raise NotFound("starter", starter, STARTERS, field="--starter")
    if path.exists() and (not path.is_dir() or any(path.iterdir())):
        raise BadInput(wanted="a new or empty folder", got=path, field="FOLDER", hint="Choose another name")
    existed = path.exists()
    elsewhere = book_url or os.environ.get("BIZKIT_BOOK", "")
    client, brief = STARTERS[starter]
    shelf = templates()
    try:
        path.mkdir(parents=True, exist_ok=True)
        os.chmod(path, 0o700)
        for name in ("clients", "briefs", "jobs", "papers", SCHEMAS):
            (path / name).mkdir(mode=0o700)
        copies = {
            shelf / "studios" / f"{starter}.toml": path / MARK,
            shelf / "cards" / f"{starter}.toml": path / "rate-card.toml",
            shelf / "floors" / f"{starter}.toml": path / "floor.toml",
            shelf / "clients" / f"{client}.toml": path / "clients" / f"{client}.toml",
            shelf / "briefs" / f"{brief}.toml": path / "briefs" / f"{brief}.toml",
            shelf / "jobs" / f"{brief}.toml": path / "jobs" / f"{brief}.toml",
        } | {schema: path / SCHEMAS / schema.name for schema in sorted((shelf / SCHEMAS).iterdir())}
        for source, target in copies.items():
            target.write_bytes(source.read_bytes())
        if practice:
            schema_line, settings = (path / MARK).read_text(encoding="utf-8").split("\n", 1)
            (path / MARK).write_text(f"{schema_line}\n{PRACTICE}{settings}", encoding="utf-8")
        if book_url:
            settings = with_table((path / MARK).read_text(encoding="utf-8"), "book", MARK)
            (path / MARK).write_text(rewritten(settings, {("book", "url"): book_url}, MARK), encoding="utf-8")
        Book.create(elsewhere or (path / BOOK).resolve()).close()
        begin_here(StudioFolder(path.resolve()))
    except BaseException:
        if existed:
            for child in path.iterdir():
                shutil.rmtree(child) if child.is_dir() else child.unlink()
        else:
            shutil.rmtree(path, ignore_errors=True)
        raise
    folder = StudioFolder(path.resolve())
    return {
        "folder": str(folder.path),
        "starter": starter,
        "studio": folder.studio.name,
        "files": [
            MARK,
            "rate-card.toml",
            "floor.toml",
            f"clients/{client}.toml",
            f"briefs/{brief}.toml",
            f"jobs/{brief}.toml",
            *([] if elsewhere else [BOOK]),
            "papers/",
            f"{SCHEMAS}/",
        ],
        "brief": f"briefs/{brief}.toml",
    }


class Started(TypedDict):
    """A studio that was begun: its folder and the files written into it."""

    folder: str
    starter: str
    studio: str
    files: list[str]
    brief: str
