"""Client notes with timecodes, from plain text or rows of a table, as frames of one version.

A time is a timecode (00:01:12:08, or 00:01:12;08 for drop-frame), or minutes and seconds as a player shows them
(1:12, 01:12.5, 0:01:12) or as people write them (1m12s, 72s, 1'12"), counted in real time from the first frame.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.work.mail_lines import not_notes
from bizkit.domain.work.note_times import TimedLine, in_seconds, leading_time, speaks_of_a_time, time_inside
from bizkit.domain.work.timecode import can_drop, frame_at, read_timecode, write_timecode

#: Lines of this many letters were broken by the mail program, not by who wrote them: they hold some 65 to 78.
_BROKEN_FROM = 60
_BULLET = re.compile(r"(?:[-*•]|\d{1,3}[.)])\s+", re.ASCII)
_CLOCK = re.compile(r"(?:(\d{1,2}):)?(\d{1,2}):(\d{2})(?:[.,](\d{1,3}))?", re.ASCII)

#: Column names of a table of notes, in lower case.
COLUMNS = {"from": "timecode", "to": "to", "text": "note", "who": "who"}


@dataclass(frozen=True, slots=True)
class Cut:
    """The version that notes are about.

    frames: its length; None where not known. start: its first timecode ("10:00:00:00"), empty for zero. drop: its
    timecode is drop-frame: then timecodes typed with colons are read as drop-frame too, as people seldom type `;`.
    """

    rate: Fraction
    frames: int | None = None
    start: str = ""
    drop: bool = False

    @property
    def first(self) -> int:
        """Number of the first frame in timecode. Raises BadInput for a start that does not exist."""
        return read_timecode(self._dropped(self.start), self.rate, field="start") if self.start else 0

    def frame(self, time: str, *, where: str = "") -> int:
        """The frame, counted from the first one, that `time` names. Raises BadInput outside the version."""
        if re.fullmatch(r"\d{2}[:;]\d{2}[:;]\d{2}[:;]\d{2,3}", time, re.ASCII):
            frame = read_timecode(self._dropped(time), self.rate, where=where) - self.first
            if frame < 0:
                raise BadInput(wanted=f"a timecode from {self.start} on", got=time, where=where)
        else:
            frame = self._by_clock(time, where)
        if self.frames is not None and frame >= self.frames:
            seconds = float(self.frames / self.rate)
            raise BadInput(
                wanted=f"a time within the {seconds:.2f} s of this version",
                got=time,
                where=where,
                hint="Are the notes about another version?",
            )
        return frame

    def timecode(self, frame: int) -> str:
        """Name of the frame `frame`, counted from the first one, as the version carries it."""
        return write_timecode(frame + self.first, self.rate, drop=self.drop)

    def _by_clock(self, time: str, where: str) -> int:
        plain = in_seconds(time)
        if plain is not None:
            return frame_at(plain, self.rate)
        found = _CLOCK.fullmatch(time)
        if not found or int(found[3]) > 59 or (found[1] and int(found[2]) > 59):
            raise BadInput(wanted="a time such as 1:12, 0:01:12 or 00:01:12:08", got=time, where=where)
        seconds = Fraction((int(found[1] or 0) * 60 + int(found[2])) * 60 + int(found[3]))
        seconds += Fraction(f"0.{found[4] or 0}")
        first_s = self.first / self.rate
        if found[1] and self.start and seconds >= int(first_s):
            # Hours as in the start timecode: the player shows timecode without frames.
            seconds -= int(first_s)
        return frame_at(seconds, self.rate)

    def _dropped(self, time: str) -> str:
        """A timecode with its last separator turned to `;` where the version is drop-frame."""
        if not (self.drop and can_drop(self.rate)):
            return time
        head, _, tail = time.replace(";", ":").rpartition(":")
        return f"{head};{tail}"


@dataclass(frozen=True, slots=True)
class Note:
    """One remark. frame: counted from the first frame of the version; None for a note on the whole. to_frame: last
    frame of a range, else None. line: where it stands in the text or table.
    """

    frame: int | None
    to_frame: int | None
    text: str
    who: str
    line: int


@dataclass(frozen=True, slots=True)
class NotesRead:
    """Notes from a text. left_out: lines that are greetings and the like. unplaced: lines with something like a time
    in them that became notes on the whole, as it is a time of the day or outside the version.
    """

    notes: tuple[Note, ...]
    left_out: tuple[str, ...] = ()
    unplaced: tuple[str, ...] = ()


def read_notes(text: str, cut: Cut, *, who: str = "", where: str = "") -> tuple[Note, ...]:
    """The notes of `read_mail`."""
    return read_mail(text, cut, who=who, where=where).notes


def read_mail(text: str, cut: Cut, *, who: str = "", where: str = "") -> NotesRead:
    """Notes from plain text: a line that begins with a time (after a bullet, if any) begins a note, and one that has
    a time elsewhere is one.

    A line right below a note belongs to it where it goes on with it: it is indented further, begins with a small
    letter, or the line above was broken at its end (`_goes_on`). Every other line is a note on the whole. What is
    polite, a signature or quoted (`mail_lines.not_notes`) is left out.
    Raises BadInput naming the line for a time that does not exist, a range that runs backwards, a time without
    words, and a text without notes.
    """
    raw = text.removeprefix("\ufeff").splitlines()
    lines = [" ".join(line.split()) for line in raw]
    outside = not_notes(raw, lambda line: leading_time(" ".join(line.split())) is not None)
    found: list[Note] = []
    unplaced: list[str] = []
    open_note = False
    for number, line in enumerate(lines, start=1):
        place = f"{where}, line {number}" if where else f"line {number}"
        if not line or number - 1 in outside:
            open_note = False
            continue
        timed = leading_time(line)
        if timed:
            found.append(_note(cut, timed.starts, timed.ends, timed.text, who, number, place))
            open_note = True
            continue
        bullet = _BULLET.match(line)
        words = line[bullet.end() if bullet else 0 :]
        inside = _inside(cut, words, who, number, place)
        if inside:
            found.append(inside)
            open_note = True
            continue
        if speaks_of_a_time(words):
            unplaced.append(words)
        if open_note and not bullet and _goes_on(raw[number - 2], raw[number - 1]):
            last = found[-1]
            found[-1] = replace(last, text=f"{last.text} {line}".strip())
        else:
            found.append(Note(None, None, words, who, number))
            open_note = True
    left_out = tuple(lines[number] for number in sorted(outside))
    return NotesRead(_with_words(found, where, left_out), left_out, tuple(unplaced))


def _goes_on(above: str, line: str) -> bool:
    """Whether a line goes on with what the one above it says."""
    words = line.strip()
    indented = len(line) - len(line.lstrip()) > len(above) - len(above.lstrip())
    broken = len(above.rstrip()) >= _BROKEN_FROM and not above.rstrip().endswith((".", "!", "?", ":", ";"))
    return indented or broken or words[:1].islower()


def _inside(cut: Cut, words: str, who: str, number: int, place: str) -> Note | None:
    """The note of a line with a time somewhere in it; None where that is no time of the version."""
    timed: TimedLine | None = time_inside(words)
    if timed is None:
        return None
    try:
        return _note(cut, timed.starts, timed.ends, timed.text, who, number, place)
    except BadInput:
        return None


def read_note_rows(
    rows: Iterable[Mapping[str, str]], cut: Cut, *, columns: Mapping[str, str] = COLUMNS, where: str = ""
) -> tuple[Note, ...]:
    """Notes from rows of a table, the heading being line 1. columns: which column holds from, to, text and who.

    Column names are compared without regard to case; those for `to` and `who` may be missing, and so may a time
    (a note on the whole). Raises BadInput as `read_notes` does, NotFound for a missing column.
    """
    found = []
    for number, row in enumerate(rows, start=2):
        place = f"{where}, line {number}" if where else f"line {number}"
        cells = {str(name).strip().lower(): str(value or "").strip() for name, value in row.items()}
        for key in ("from", "text"):
            if columns[key] not in cells:
                raise NotFound("column", columns[key], cells, where=place)
        starts, ends = cells[columns["from"]], cells.get(columns.get("to", ""), "")
        text, who = cells[columns["text"]], cells.get(columns.get("who", ""), "")
        if not any((starts, ends, text)):
            continue
        if starts:
            found.append(_note(cut, starts, ends, text, who, number, place))
        else:
            found.append(Note(None, None, text, who, number))
    return _with_words(found, where)


def _note(cut: Cut, starts: str, ends: str, text: str, who: str, line: int, place: str) -> Note:
    frame = cut.frame(starts, where=place)
    to_frame = cut.frame(ends, where=place) if ends else None
    if to_frame is not None and to_frame < frame:
        raise BadInput(wanted=f"a range that ends at {starts} or later", got=ends, where=place)
    return Note(frame, to_frame, " ".join(text.split()), who, line)


def _with_words(notes: list[Note], where: str, left_out: tuple[str, ...] = ()) -> tuple[Note, ...]:
    """Refuse notes without words, and no notes at all."""
    for note in notes:
        if not note.text:
            place = f"{where}, line {note.line}" if where else f"line {note.line}"
            raise BadInput(wanted="words after the time", got="nothing", where=place)
    if not notes:
        hint = (
            "A line that begins with > is quoted mail, and greetings and signatures are no notes" if left_out else ""
        )
        raise BadInput(wanted="one note or more", got="none", where=where, hint=hint)
    return tuple(notes)


def named_columns(typed: Iterable[str]) -> dict[str, str]:
    """What is under which heading of a table, from texts such as `text=Comment`. Raises BadInput, NotFound."""
    found = {}
    for each in typed:
        what, equals, heading = each.partition("=")
        if not equals or not heading.strip():
            raise BadInput(wanted="a column such as text=Comment", got=each, field="--column")
        if what not in COLUMNS:
            raise NotFound("column", what, COLUMNS, field="--column")
        found[what] = heading.strip().lower()
    return found
