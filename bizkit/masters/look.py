"""Looking at a delivered file, safely: `look` for its facts, `contact_sheet` for its frames.

    facts = look(Path("follow-the-kelp_hero_16x9_60s_v2.mp4"))
    points = judge(spec, facts)

Importing this loads no decoder; those live in the process that is started for each file.
"""

from __future__ import annotations

import base64
import os
import tempfile
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from bizkit.domain.errors import BadInput
from bizkit.domain.work.captions import captions_beside
from bizkit.domain.work.facts import Facts
from bizkit.masters.guard import Stopped, TooSlow, watched
from bizkit.masters.source import SHEET_MARK, Progress, checksum, open_regular

__all__ = ["Progress", "TooSlow", "check_sheet", "checksum", "contact_sheet", "look", "sidecars"]

#: Four hours: an hour of film in the heaviest codecs on a small machine.
TIME_LIMIT_S = 4 * 3600.0


def look(path: Path, *, progress: Progress | None = None, time_limit_s: float = TIME_LIMIT_S) -> Facts:
    """What is in the film, sound or image file at `path`. The file is read once and decoded once, as a stream.

    progress: called a few times a second with bytes done and bytes in all; what it raises stops the work.
    Raises NotFound; BadInput for what is no regular file, cannot be read at all or stops its reader; TooSlow past
    `time_limit_s` seconds; RuleBroken when the optional extra `masters` is not installed. A file that can be read in
    part has its harm told in `Facts.damage`; a film whose sound stops the reader is looked at without it
    (`Facts.unheard`).
    """
    os.close(open_regular(path))

    def read(task: str) -> tuple[Facts, tuple[str, ...]]:
        tree, complaints = watched(
            task, [path.absolute()], name=path.name, time_limit_s=time_limit_s, progress=progress
        )
        return Facts.read(tree), complaints

    try:
        facts, complaints = read("look")
    except Stopped as stopped:
        try:
            facts, complaints = read("look_unheard")
        except BadInput:
            raise stopped from None
        facts = replace(facts, unheard=f"it stops its reader ({stopped.how})")
    damage = facts.damage
    if complaints:
        many = f"{len(complaints)} times" if len(complaints) < 20 else "20 times or more"
        damage += (f"the decoder complained {many}, first: {complaints[0]}",)
    return replace(facts, sidecars=sidecars(path), damage=damage)


def contact_sheet(
    paths: Path | Sequence[Path],
    out: Path,
    *,
    frames: int = 12,
    progress: Progress | None = None,
    time_limit_s: float = 900.0,
) -> Path:
    """Writes small pictures on one page to `out` (.jpg or .png): `frames` of one film, or one of each of many files.

    The first and the last frame of a film are among them, each with its time. Returns `out`. Raises as `look` does,
    and BadInput for another ending or more than 400 pictures.
    """
    paths = [paths] if isinstance(paths, Path) else list(paths)
    form = check_sheet(out, frames, paths)
    for path in paths:
        os.close(open_regular(path))
    answer, _ = watched(
        "sheet",
        [str(frames), form, *(path.absolute() for path in paths)],
        name=paths[0].name,
        time_limit_s=time_limit_s,
        progress=progress,
    )
    try:
        handle, unfinished = tempfile.mkstemp(dir=out.parent, prefix=".", suffix=out.suffix)
        with os.fdopen(handle, "wb") as file:
            file.write(base64.b64decode(answer))
        os.chmod(unfinished, 0o644)
        os.replace(unfinished, out)
    except OSError as error:
        raise BadInput(wanted="a place that can be written to", got=error, field="out", where=str(out)) from None
    return out


def check_sheet(out: Path, frames: int, paths: Sequence[Path]) -> str:
    """The form of a contact sheet called `out`, as Pillow names it, before anything is decoded.

    An earlier contact sheet is replaced, nothing else. Raises BadInput for a picture or file that lies there, another
    ending, a folder that is not there, and more than 400 pictures or none.
    """
    form = {".jpg": "JPEG", ".jpeg": "JPEG", ".png": "PNG"}.get(out.suffix.lower())
    if form is None:
        raise BadInput(wanted="a contact sheet called .jpg or .png", got=out.name, field="out")
    if out.exists() and not out.is_file():
        raise BadInput(wanted="a contact sheet that is a file", got="a folder, pipe or device", field="out")
    if out.exists() and (any(out.samefile(path) for path in paths if path.exists()) or not _is_sheet(out)):
        raise BadInput(
            wanted="a new file, or an earlier contact sheet", got="another file that lies there", field="out",
            where=str(out), hint="Choose another name: it would be written over",
        )  # fmt: skip
    if not out.absolute().parent.is_dir():
        raise BadInput(wanted="a folder that is there", got=out.parent, field="out")
    if not 1 <= frames <= 400 or not 1 <= len(paths) <= 400:
        raise BadInput(wanted="1 to 400 pictures", got=max(frames, len(paths)), field="frames")
    return form


def _is_sheet(path: Path) -> bool:
    """Whether a file was drawn as a contact sheet."""
    try:
        with path.open("rb") as file:
            return SHEET_MARK in file.read(4096)
    except OSError:
        return False


def sidecars(path: Path) -> tuple[str, ...]:
    """Names of the caption files beside the film at `path`."""
    try:
        names = os.listdir(path.parent)
    except OSError:
        return ()
    return captions_beside(path.name, names)
