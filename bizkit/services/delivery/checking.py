"""Looking at files before the client does: each held against its spec, captions read, frames laid out to see."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path
from stat import S_ISREG
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.errors import BadInput, BizkitError, RuleBroken
from bizkit.domain.money import plain
from bizkit.domain.work.facts import Facts
from bizkit.domain.work.judge import judge, ratio, refused_metadata, seconds
from bizkit.domain.work.point import Point
from bizkit.domain.work.spec import CAPTION_FORMATS, Spec, rate_text
from bizkit.services.delivery.caption_files import check_caption_file
from bizkit.services.delivery.held_against import Asked, asked
from bizkit.services.delivery.version_files import pieces
from bizkit.services.studio.fingerprint import Progress, check_name, digest_of, files_below, fingerprint, is_plain
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.work.point import PointData
    from bizkit.services.delivery.caption_files import CaptionFile


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
) -> FilesChecked:
    """Hold files, or every file of a folder, against the spec of a deliverable or a named one.

    A file that cannot be read, or not in time, is wrong as "unreadable"; the others are judged. With a job and a
    deliverable the outcome of each path is kept in the book under its checksum as soon as it is known. sheet: where
    to write a contact sheet of `frames`. The result's `wrong` counts points that failed; `no_sheet` says why there
    is none. Raises NotFound and BadInput for paths that are no files or folders with files; RuleBroken for a
    deliverable whose spec is in words, or when the optional extra `masters` is not installed.
    """
    from bizkit.masters.look import TIME_LIMIT_S, check_sheet, contact_sheet
    from bizkit.services.studio.out_file import refuse_kept

    if bool(job) != bool(key):
        raise BadInput(wanted="both --job and --deliverable", got="one of them", field="--job")
    if job:
        folder.stamp(on)  # a day that cannot be is refused before a large file is read
    against = asked(folder, job, key, spec, on)
    found, lost = _found(paths)
    if sheet is not None:
        check_sheet(sheet, frames, [one for files in found.values() for one in files])
        refuse_kept(folder, sheet, field="--sheet")
    limit_s = TIME_LIMIT_S if time_limit_s is None else time_limit_s
    result: list[Looked] = []
    looked_at: list[Path] = []
    result += lost
    for path, files in found.items():
        rows = [_look(one, against, limit_s, progress) for one in files]
        looked_at += [one for one, row in zip(files, rows, strict=True) if row["kind"] in ("film", "stills")]
        if against.quantity is not None and path.is_dir():
            point = Point("how many", str(against.quantity), str(len(files)), len(files) == against.quantity)
            rows[0]["points"].insert(0, point.data())
            rows[0]["wrong"] += point.ok is False
        if job:
            _keep(folder, path, rows, job, key, on, against.instead)
        result += rows
    no_sheet = ""
    if sheet is not None:
        try:
            if not looked_at:
                raise RuleBroken("a contact sheet needs a film or stills: there is no picture in these files")
            contact_sheet(looked_at if len(looked_at) > 1 else looked_at[0], sheet, frames=frames, progress=progress)
        except BizkitError as error:
            no_sheet = str(error)
    return {
        "spec": against.spec.title if against.spec else "",
        "files": [_without_facts(row) for row in result],
        "wrong": sum(row["wrong"] for row in result),
        "sheet": str(sheet) if sheet and not no_sheet else "",
        "no_sheet": no_sheet,
    }


def _without_facts(row: Looked) -> FileChecked:
    return {
        "file": row["file"],
        "kind": row["kind"],
        "sha256": row["sha256"],
        "points": row["points"],
        "seen": row["seen"],
        "captions": row["captions"],
        "wrong": row["wrong"],
    }


def _found(paths: Sequence[Path]) -> tuple[dict[Path, list[Path]], list[Looked]]:
    """The files to look at of each path, and verdicts on paths without any. Raises BadInput where no path has one."""
    found: dict[Path, list[Path]] = {}
    lost: list[Looked] = []
    for path in paths:
        try:
            found[path] = _files_of(path)
        except BadInput as error:
            if len(paths) == 1:
                raise
            named = str(path).encode("utf-8", "surrogateescape").decode("utf-8", "replace")
            lost.append(_unreadable(path, named, error))
    return found, lost


def _files_of(path: Path) -> list[Path]:
    """The files to look at: one, or those of a folder. Raises BadInput for what is neither, before any is read."""
    check_name(path)
    if not path.is_dir():
        with suppress(PermissionError):
            if not path.exists() or not S_ISREG(path.stat().st_mode):
                from bizkit.masters.source import open_regular

                open_regular(path)
        return [path]
    found = {str(one): one for one in files_below(path)}
    chosen = [found[name] for name in pieces(found)]
    if not chosen:
        raise BadInput(wanted="a folder with films or stills in it", got="none", where=str(path))
    return chosen


def _look(path: Path, against: Asked, limit_s: float, progress: Progress | None) -> Looked:
    """The verdict on one file."""
    row: Looked = {
        "file": str(path), "kind": "captions", "sha256": "", "points": [], "seen": [], "captions": [], "wrong": 0,
        "facts": None,
    }  # fmt: skip
    if path.suffix.lower().lstrip(".") in CAPTION_FORMATS:
        captions = [check_caption_file(path)]
    else:
        from bizkit.masters.look import TooSlow, look

        try:
            facts = look(path, progress=progress, time_limit_s=limit_s)
            for name in facts.sidecars:
                check_name(path.parent / name)
        except (BadInput, TooSlow) as error:
            return _unreadable(path, str(path), error)
        row["kind"], row["sha256"] = facts.kind, facts.sha256
        row["facts"] = {**facts.data(), "beside": _beside(path, facts.sidecars)}
        if against.spec:
            points = [*judge(against.spec, facts, against.words_for(facts)), *against.impostor(facts)]
            points += _said_beside(path, against.spec)
            row["points"] = [point.data() for point in points]
        else:
            row["seen"] = [list(pair) for pair in seen(facts)]
        captions = [
            check_caption_file(path.parent / name, duration_s=facts.duration_s or None) for name in facts.sidecars
        ]
    wrong = [point for point in row["points"] if point["ok"] is False]
    row["captions"] = captions
    row["wrong"] = len(wrong) + sum(len(each["faults"]) for each in captions)
    return row


def _said_beside(picture: Path, spec: Spec) -> Iterator[Point]:
    """What XMP sidecars of a photograph say and must not."""
    from bizkit.masters.xmp import PACKET_MOST_BYTES, read_xmp

    for sidecar in (picture.with_name(f"{picture.name}.xmp"), picture.with_suffix(".xmp")):
        if spec.stills.metadata_refused and is_plain(sidecar):
            with suppress(OSError), sidecar.open("rb") as file:
                yield from refused_metadata(spec.stills, read_xmp(file.read(PACKET_MOST_BYTES)), sidecar.name)


def _beside(film: Path, names: Sequence[str]) -> dict[str, str]:
    """Name -> SHA-256 of the captions looked at with a film; of those that can be read."""
    found = {}
    for name in names:
        with suppress(BadInput):
            found[name] = digest_of(film.parent / name)
    return found


def _unreadable(path: Path, named: str, error: BizkitError) -> Looked:
    """The verdict on a file of which nothing can be made. named: as it is shown."""
    said = str(error).removeprefix(f"{path.name}: ")
    if isinstance(error, BadInput):
        point = Point("unreadable", error.wanted, error.got, False, f"{error.hint}." if error.hint else "")
    else:
        point = Point("unreadable", "a file that can be read", said, False)
    digest = ""
    with suppress(BadInput):
        digest = digest_of(path)
    return {
        "file": named,
        "kind": "unreadable",
        "sha256": digest,
        "points": [point.data()],
        "seen": [],
        "captions": [],
        "wrong": 1,
        "facts": {"kind": "unreadable", "picture": None, "damage": [said]},
    }


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


def _keep(folder: StudioFolder, path: Path, rows: list[Looked], job: str, key: str, on: date, instead: str) -> None:
    """Write down what was found, under the checksum of the file or of the folder's list of files.

    A folder with a file that cannot be read at all has no checksum: then each of the others is kept by itself.
    """
    kept = [(path.name, rows[0]["sha256"], rows[0]["facts"] or {}, rows)]
    if path.is_dir():
        facts: dict[str, Any] = {
            "kind": rows[0]["kind"],
            "picture": None,
            "files": [_below(row, path) for row in rows],
        }
        facts["inside"] = {
            row["sha256"]: next((point for point in row["points"] if point["ok"] is False), None)
            for row in rows
            if row["sha256"]
        }
        try:
            kept = [(path.name, fingerprint(path).sha256, facts, rows)]
        except BadInput:
            kept = [(_below(row, path), row["sha256"], row["facts"] or {}, [row]) for row in rows]
    for name, digest, facts, about in kept:
        if instead:
            facts["against"] = instead
        if digest:  # else captions by themselves, or nothing to know it by
            _keep_one(folder, path, name, digest, facts, about, job, key, on)


def _keep_one(
    folder: StudioFolder,
    path: Path,
    name: str,
    digest: str,
    facts: dict[str, Any],
    rows: list[Looked],
    job: str,
    key: str,
    on: date,
) -> None:
    from bizkit.services.delivery.deliverables import the_deliverable
    from bizkit.store.events import record
    from bizkit.store.reviews import add_check

    points: list[PointData] = []
    for row in rows:
        within = f"{_below(row, path)}: " if path.is_dir() and len(rows) > 1 else ""
        points += [{**point, "name": f"{within}{point['name']}"} for point in row["points"]]
        for captions in row["captions"]:
            points += [
                Point(f"{within}captions", "no faults", fault["text"], False).data() for fault in captions["faults"]
            ]
    stamp = folder.stamp(on)
    wrong = sum(row["wrong"] for row in rows)
    with folder.book.work() as work:
        owner = the_deliverable(folder, work, job, key, on)["job"]
        about = {"sha256": digest, "file": name, "job": owner, "deliverable": key, "on": on.isoformat()}
        add_check(work, stamp, {**about, "wrong": wrong, "points": points, "facts": facts})
        record(work, stamp, "looked at a file", owner, deliverable=key, file=name, sha256=digest, wrong=wrong)


def _below(row: Looked, folder: Path) -> str:
    return Path(row["file"]).relative_to(folder).as_posix()


class FilesChecked(TypedDict):
    """What looking at files found; wrong: points that failed; no_sheet: why there is no contact sheet."""

    spec: str
    files: list[FileChecked]
    wrong: int
    sheet: str
    no_sheet: str


class FileChecked(TypedDict):
    """The verdict on one file. seen: names and values, where it was held against no spec."""

    file: str
    kind: str
    sha256: str
    points: list[PointData]
    seen: list[list[str]]
    captions: list[CaptionFile]
    wrong: int


class Looked(FileChecked):
    """The same with its facts as JSON, to be kept; None where nothing was measured."""

    facts: dict[str, Any] | None
