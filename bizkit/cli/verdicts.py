"""The verdicts on files that were looked at, as text."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from bizkit.cli.show import table
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.delivery.checking import FileChecked, FilesChecked


def verdicts(data: FilesChecked) -> Iterator[str]:
    """What looking at files found, file by file, point by point."""
    marks = {True: "ok", False: "WRONG", None: "look"}
    for file in data["files"]:
        yield f"{file['file']}: {data['spec'] or file['kind']}"
        yield from table([[name, value] for name, value in file["seen"]], indent=2)
        points = [[marks[one["ok"]], one["name"], one["wanted"], one["got"]] for one in file["points"]]
        if points:
            yield from table([["", "POINT", "WANTED", "GOT"], *points], indent=2)
        for one in file["points"]:
            if one["ok"] is not True and one["why"]:
                yield f"  {one['name']}: {one['why']}"
        for captions in file["captions"]:
            said = f"{len(captions['faults'])} faults" if captions["faults"] else "nothing wrong"
            yield f"  {captions['file']}: {captions['cues']} captions, {said}"
            yield from (f"    {fault['text']}" for fault in captions["faults"][:20])
            if len(captions["faults"]) > 20:
                yield f"    and {len(captions['faults']) - 20} more"
    if data["sheet"]:
        yield f"Contact sheet: {data['sheet']}"
    if data["no_sheet"]:
        yield f"No contact sheet: {data['no_sheet']}"
    if data["wrong"]:
        yield f"{data['wrong']} {'thing is' if data['wrong'] == 1 else 'things are'} wrong{_wherein(data['files'])}"
    elif data["spec"]:
        yield "Everything a machine can see is as asked. Watch and listen to it all the same."


def _wherein(files: list[FileChecked]) -> str:
    """In which of several files something is wrong."""
    names = [Path(file["file"]).name for file in files if file["wrong"]]
    if len(files) < 2:
        return ""
    more = f" and {len(names) - 12} more" if len(names) > 12 else ""
    return f" in {len(names)} of {many(len(files), 'file')}: {', '.join(names[:12])}{more}"
