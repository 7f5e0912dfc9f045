"""Looking at files before the client does: each held against its spec, captions read, frames laid out to see."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.fields import Fields
from bizkit.domain.money import plain
from bizkit.domain.work.facts import Facts
from bizkit.domain.work.judge import Point, judge, ratio, seconds
from bizkit.domain.work.naming import WORDS
from bizkit.domain.work.spec import CAPTION_FORMATS, Spec, rate_text
from bizkit.services.delivery.caption_files import check_caption_file
from bizkit.services.studio.fingerprint import Progress, check_name, files_below, fingerprint
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.store.stamp import Stamp

Row = dict[str, Any]

#: Endings of what may lie in a folder of stills or films without being looked at.
BESIDE = (".xmp", ".txt", ".csv", ".pdf", ".md", ".json", ".sha256", *(f".{form}" for form in CAPTION_FORMATS))


@dataclass(frozen=True, slots=True)
class Asked:
    """What files are held against. spec: None to be told what is in them and no more. words: of the name pattern.

    quantity: how many files there should be, None where nothing says.
    """

    spec: Spec | None
    words: dict[str, str]
    quantity: int | None = None


def check_files(
    folder: StudioFolder,
    paths: Sequence[Path],
    on: date,
    *,
    job: str = "",
    key: str = "",
    spec: str = "",
    sheet: Path | None = None,
    frames: int = 12,
    time_limit_s: float | None = None,
    progress: Progress | None = None,
) -> Row:
    """Hold files, or every file of a folder, against the spec of a deliverable or a named one.

    With a job and a deliverable the outcome is kept in the book under the file's checksum. sheet: where to write a
    contact sheet of `frames`. The result's `wrong` counts points that failed. Raises NotFound; BadInput for what
    cannot be read at all; RuleBroken for a deliverable whose spec is in words, past the time limit, or when the
    optional extra `masters` is not installed.
    """
    from bizkit.masters.look import TIME_LIMIT_S, contact_sheet

    if bool(job) != bool(key):
        raise BadInput(wanted="both --job and --deliverable", got="one of them", field="--job")
    stamp = folder.stamp(on) if job else None
    asked = _asked(folder, job, key, spec, on)
    limit_s = TIME_LIMIT_S if time_limit_s is None else time_limit_s
    result: list[Row] = []
    looked_at: list[Path] = []
    for path in paths:
        check_name(path)
        found = [one for one in files_below(path) if one.suffix.lower() not in BESIDE] if path.is_dir() else [path]
        if not found:
            raise BadInput(wanted="a folder with films or stills in it", got="none", where=str(path))
        rows = [_look(one, asked, limit_s, progress) for one in found]
        pictures = [one for one, row in zip(found, rows, strict=True) if row["kind"] in ("film", "stills")]
        looked_at += pictures
        if asked.quantity is not None and path.is_dir():
            point = Point("how many", str(asked.quantity), str(len(found)), len(found) == asked.quantity)
            rows[0]["points"].insert(0, point.data())
            rows[0]["wrong"] += point.ok is False
        if stamp:
            _keep(folder, path, rows, job, key, stamp)
        result += rows
    if sheet is not None:
        if not looked_at:
            raise RuleBroken("a contact sheet needs a film or stills: there is no picture in these files")
        contact_sheet(looked_at if len(looked_at) > 1 else looked_at[0], sheet, frames=frames, progress=progress)
    return {
        "spec": asked.spec.title if asked.spec else "",
        "files": [{name: value for name, value in row.items() if name != "facts"} for row in result],
        "wrong": sum(row["wrong"] for row in result),
        "sheet": str(sheet) if sheet else "",
    }


def _look(path: Path, asked: Asked, limit_s: float, progress: Progress | None) -> Row:
    row: Row = {"file": str(path), "kind": "captions", "sha256": "", "points": [], "seen": [], "facts": None}
    if path.suffix.lower().lstrip(".") in CAPTION_FORMATS:
        captions = [check_caption_file(path)]
    else:
        from bizkit.masters.look import look

        facts = look(path, progress=progress, time_limit_s=limit_s)
        for name in facts.sidecars:
            check_name(path.parent / name)
        row |= {"kind": facts.kind, "sha256": facts.sha256, "facts": facts.data()}
        if asked.spec:
            row["points"] = [point.data() for point in judge(asked.spec, facts, asked.words)]
        else:
            row["seen"] = [list(pair) for pair in seen(facts)]
        captions = [
            check_caption_file(path.parent / name, duration_s=facts.duration_s or None) for name in facts.sidecars
        ]
    wrong = [point for point in row["points"] if point["ok"] is False]
    row["captions"] = captions
    row["wrong"] = len(wrong) + sum(len(each["faults"]) for each in captions)
    return row


def seen(facts: Facts) -> Iterator[tuple[str, str]]:
    """What is in a file, as names and values for people."""
    yield "kind", f"{facts.kind}, {facts.container}"
    yield "size", f"{facts.size_bytes} bytes"
    if facts.picture:
        picture = facts.picture
        yield "picture", f"{picture.width_px} x {picture.height_px}, {ratio(picture.aspect)}, {picture.codec}"
        even = "" if picture.even else f", {picture.uneven_frames} uneven"
        yield "frame rate", f"{rate_text(picture.frame_rate)} fps, {picture.frames} frames{even}"
        yield "scan", picture.scan.replace("_", " ")
        yield "colour", f"{picture.primaries}, {picture.transfer}, {picture.matrix}, {picture.value_range}"
        yield "depth", f"{picture.bit_depth} bit, {picture.chroma}"
    if facts.duration_s:
        yield "length", seconds(facts.duration_s)
    for number, track in enumerate(facts.tracks, start=1):
        yield f"sound {number}", f"{track.codec}, {track.layout}, {track.sample_rate_hz} Hz"
    if facts.loudness and facts.loudness.integrated_lufs is not None:
        yield "loudness", f"{plain(facts.loudness.integrated_lufs)} LUFS"
    if facts.loudness and facts.loudness.true_peak_dbtp is not None:
        yield "true peak", f"{plain(facts.loudness.true_peak_dbtp)} dBTP"
    if facts.still:
        still = facts.still
        yield "image", f"{still.width_px} x {still.height_px}, {still.colour}, {still.profile}, {still.bit_depth} bit"
        for name, value in still.metadata:
            yield name.replace("_", " "), value
    if facts.unheard:
        yield "sound", f"not looked at: {facts.unheard}"
    for name in facts.sidecars:
        yield "captions beside it", name
    for harm in facts.damage:
        yield "damage", harm


def _asked(folder: StudioFolder, job: str, key: str, name: str, on: date) -> Asked:
    """The spec to hold files against, and the words their names should have."""
    chosen = None
    if name:
        if name not in folder.specs:
            raise NotFound("delivery spec", name, folder.specs, field="--spec")
        chosen = folder.specs[name]
    if not job:
        return Asked(chosen, {})
    from bizkit.services.delivery.deliverables import the_deliverable
    from bizkit.services.shooting.jobs import the_job

    with folder.book.read() as work:
        row = the_deliverable(folder, work, job, key, on)
        client = the_job(work, job)["client"]
    if chosen is None:
        if row["asks"] is None:
            raise RuleBroken(
                f'{key} has its spec in words ("{row["spec"]}"): name one to hold the file against with --spec '
                f"({', '.join(sorted(folder.specs))})"
            )
        chosen = Spec.read(Fields(row["asks"], where=f"the quote of {row['job']}"))
    return Asked(chosen, _words(row, chosen, client), row["quantity"] if row["kind"] == "stills" else None)


def _words(row: Row, spec: Spec, client: str) -> dict[str, str]:
    """What the words of the name pattern must be for a deliverable's next version."""
    pattern = spec.file.name.text if spec.file.name else ""
    by_shape = "{aspect}" in pattern or "{seconds}" in pattern
    words = {
        "job": row["job"],
        "client": client,
        "cut": row["cut_of"] if row["cut_of"] and by_shape else row["key"],
        "version": f"v{row['version'] + (row['state'] != 'approved')}",
    }
    if spec.picture.aspect:
        words["aspect"] = ratio(spec.picture.aspect).replace(":", "x").replace(".", "-")
    if spec.length.most_s is not None and spec.length.most_s == spec.length.least_s:
        words["seconds"] = f"{plain(spec.length.most_s)}s"
    if spec.picture.width_px and spec.picture.height_px:
        words["size"] = f"{spec.picture.width_px}x{spec.picture.height_px}"
    # A word that the pattern cannot hold is left free rather than asked for in vain.
    return {word: text for word, text in words.items() if re.fullmatch(WORDS[word][0], text, re.ASCII)}


def _keep(folder: StudioFolder, path: Path, rows: list[Row], job: str, key: str, stamp: Stamp) -> None:
    """Write down what was found, under the checksum of the file or of the folder's list of files."""
    from bizkit.services.delivery.deliverables import the_deliverable
    from bizkit.store.events import record
    from bizkit.store.reviews import add_check

    points: list[Row] = []
    for row in rows:
        within = f"{_below(row, path)}: " if path.is_dir() else ""
        points += [{**point, "name": f"{within}{point['name']}"} for point in row["points"]]
        for captions in row["captions"]:
            points += [
                Point(f"{within}captions", "no faults", fault["text"], False).data() for fault in captions["faults"]
            ]
    digest, facts = rows[0]["sha256"], rows[0]["facts"]
    if path.is_dir():
        digest = fingerprint(path).sha256
        facts = {"kind": rows[0]["kind"], "picture": None, "files": [_below(row, path) for row in rows]}
    if not digest:
        return  # captions by themselves
    wrong = sum(row["wrong"] for row in rows)
    with folder.book.work() as work:
        name = the_deliverable(folder, work, job, key, stamp.on)["job"]
        about = {"sha256": digest, "file": path.name, "job": name, "deliverable": key, "on": stamp.on.isoformat()}
        add_check(work, stamp, {**about, "wrong": wrong, "points": points, "facts": facts})
        record(work, stamp, "looked at a file", name, deliverable=key, file=path.name, sha256=digest, wrong=wrong)


def _below(row: Row, folder: Path) -> str:
    return Path(row["file"]).relative_to(folder).as_posix()
