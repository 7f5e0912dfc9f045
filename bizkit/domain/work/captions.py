"""Caption files: reading SRT and WebVTT, and checking them before the client does.

SRT has no standard; what is read is the form that players agree on. WebVTT is read by the W3C's "WebVTT: The Web
Video Text Tracks Format". Limits of reading speed and line length differ by client; the defaults are common practice.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TypedDict

from bizkit.domain.errors import BadInput
from bizkit.domain.money import plain, round_half_away
from bizkit.domain.work.languages import lacking, language_in_name
from bizkit.domain.work.spec import CaptionSpec

#: File endings and what they hold.
FORMS = ("srt", "vtt")

_SRT_TIME = r"(\d{1,3}):(\d{2}):(\d{2})[,.](\d{3})"
_VTT_TIME = r"(?:(\d{2,4}):)?(\d{2}):(\d{2})\.(\d{3})"
_TIMINGS = {
    form: re.compile(rf"\s*{time}\s*-->\s*{time}(?:[ \t].*)?\s*", re.ASCII)
    for form, time in (("srt", _SRT_TIME), ("vtt", _VTT_TIME))
}
_SHAPES = {"srt": "00:00:01,000 --> 00:00:02,500", "vtt": "00:00:01.000 --> 00:00:02.500"}
#: Characters that WebVTT text writes as references; `&amp;` comes last so that nothing is read twice.
_REFERENCES = {"&lt;": "<", "&gt;": ">", "&nbsp;": "\u00a0", "&lrm;": "", "&rlm;": "", "&amp;": "&"}
_TAG = re.compile(r"<[^<>]*>|\{\\[^{}]*\}")


@dataclass(frozen=True, slots=True)
class Cue:
    """One caption. number: counted from 1 in the file. line: of its timing. starts_s to ends_s: seconds, exact."""

    number: int
    line: int
    starts_s: Fraction
    ends_s: Fraction
    text: str

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines as seen, without styling."""
        seen = _TAG.sub("", self.text)
        for written, meant in _REFERENCES.items():
            seen = seen.replace(written, meant)
        return tuple(unicodedata.normalize("NFC", line).strip() for line in seen.split("\n") if line.strip())

    @property
    def letters(self) -> int:
        """Characters to read, spaces counted, line breaks not."""
        return sum(len(line) for line in self.lines)


@dataclass(frozen=True, slots=True)
class CaptionRules:
    """Limits, all common practice: characters a second, characters a line, lines, shortest and longest time in s."""

    speed_most: Decimal = Decimal(17)
    line_most: int = 42
    lines_most: int = 2
    shortest_s: Decimal = Decimal(1)
    longest_s: Decimal = Decimal(7)


@dataclass(frozen=True, slots=True)
class CaptionFault:
    """What is wrong with one caption. kind: backwards, order, overlap, beyond_end, empty, too_fast, too_short,
    too_long, wide or tall.
    """

    kind: str
    cue: Cue
    wanted: str
    got: str

    @property
    def text(self) -> str:
        """As one line."""
        return f"caption {self.cue.number} (line {self.cue.line}): wanted {self.wanted}, got {self.got}"

    def data(self) -> CaptionFaultData:
        """As JSON-ready data."""
        return {"kind": self.kind, "cue": self.cue.number, "line": self.cue.line, "text": self.text}


def captions_beside(film: str, names: Iterable[str]) -> tuple[str, ...]:
    """Those of `names` that are captions of `film`: its own name with another ending, or a language before that.

    >>> captions_beside("a/film.mov", ["a/film.srt", "a/film.en.vtt", "a/film2.srt", "b/film.srt"])
    ('a/film.en.vtt', 'a/film.srt')
    """
    folder, slash, name = film.rpartition("/")
    start = f"{folder}{slash}{name.rpartition('.')[0] or name}."
    endings = tuple(f".{form}" for form in FORMS)
    return tuple(
        sorted(
            each
            for each in names
            if each.startswith(start)
            and each != film
            and each.lower().endswith(endings)
            and each[len(start) - 1 :].count(".") <= 2
        )
    )


def promised_beside(spec: CaptionSpec, beside: Collection[str]) -> str:
    """What is missing among the caption files `beside` a film, in words; "" where none are promised or all are there.

    >>> promised_beside(CaptionSpec("sidecar", ("srt",), ("en",)), ["film.de.srt"])
    'srt file in en'
    """
    if spec.how != "sidecar":
        return ""
    names = [name for name in beside if not spec.formats or name.rpartition(".")[2].lower() in spec.formats]
    missing = lacking(spec.languages, [language_in_name(name) for name in names], unmarked=True)
    if names and not missing:
        return ""
    return f"{' or '.join(spec.formats) or 'caption'} file" + (f" in {', '.join(missing)}" if missing else "")


def decode_captions(data: bytes, *, where: str = "") -> str:
    """The text of a caption file: UTF-8, or UTF-16 with a byte order mark. Raises BadInput otherwise."""
    utf16 = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    try:
        return data.decode("utf-16" if utf16 else "utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(
            wanted="captions in UTF-8",
            got=f"another encoding (at byte {error.start})",
            where=where,
            hint="Save the file as UTF-8",
        ) from None


def read_captions(text: str, form: str, *, where: str = "") -> tuple[Cue, ...]:
    """The captions in `text`, in the order of the file. form: "srt" or "vtt".

    Raises BadInput naming the line for a block without timings, a minute or second past 59, a WebVTT file without its
    first line, and a file without captions.
    """
    if form not in FORMS:
        raise BadInput(wanted=f"one of {', '.join(FORMS)}", got=form, where=where)
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    first = 0
    if form == "vtt":
        if not re.fullmatch(r"WEBVTT(?:[ \t].*)?", lines[0]):
            raise BadInput(wanted="WEBVTT as the first line", got=lines[0], where=_at(where, 1))
        first = next((number for number, line in enumerate(lines) if not line.strip()), len(lines))
    cues: list[Cue] = []
    for at, block in _blocks(lines, first):
        if form == "vtt" and re.match(r"(NOTE|STYLE|REGION)(?:[ \t]|$)", block[0]) and "-->" not in block[0]:
            continue
        skip = 0 if "-->" in block[0] else 1
        if skip == len(block) or (form == "srt" and skip and not block[0].strip().isdigit()):
            raise BadInput(wanted=f"timings such as {_SHAPES[form]}", got=block[0], where=_at(where, at))
        starts, ends = _timings(block[skip], form, _at(where, at + skip))
        cues.append(Cue(len(cues) + 1, at + skip, starts, ends, "\n".join(block[skip + 1 :])))
    if not cues:
        raise BadInput(wanted="one caption or more", got="none", where=where)
    return tuple(cues)


def check_captions(
    cues: tuple[Cue, ...], rules: CaptionRules | None = None, *, duration_s: Fraction | None = None
) -> tuple[CaptionFault, ...]:
    """Every fault of `cues`, in the order of the file. duration_s: of the film they belong to; None where not known.

    A caption that ends exactly when the next begins does not overlap it.
    """
    rules = rules or CaptionRules()
    faults: list[CaptionFault] = []
    latest_start = latest_end = Fraction(0)
    for cue in cues:

        def add(kind: str, wanted: str, got: str, cue: Cue = cue) -> None:
            faults.append(CaptionFault(kind, cue, wanted, got))

        lasts = cue.ends_s - cue.starts_s
        if lasts <= 0:
            add("backwards", f"an end after {_clock(cue.starts_s)}", _clock(cue.ends_s))
        if cue.starts_s < latest_start:
            add(
                "order", f"a start at {_clock(latest_start)} or later, after the caption before", _clock(cue.starts_s)
            )
        elif cue.starts_s < latest_end:
            add("overlap", f"a start at {_clock(latest_end)} or later, where another ends", _clock(cue.starts_s))
        if duration_s is not None and cue.ends_s > duration_s:
            add("beyond_end", f"an end by {_clock(duration_s)}, where the film ends", _clock(cue.ends_s))
        if not cue.lines:
            add("empty", "something to read", "nothing")
        elif lasts > 0:
            _check_reading(cue, lasts, rules, add)
        latest_start, latest_end = max(latest_start, cue.starts_s), max(latest_end, cue.ends_s)
    return tuple(faults)


def _check_reading(cue: Cue, lasts: Fraction, rules: CaptionRules, add: Callable[[str, str, str], None]) -> None:
    """Speed, time on screen, width and height of one caption."""
    speed = cue.letters / lasts
    if speed > rules.speed_most:
        add("too_fast", f"{plain(rules.speed_most)} characters a second or fewer", _short(speed))
    if lasts < rules.shortest_s:
        add("too_short", f"{plain(rules.shortest_s)} s on screen or more", f"{_short(lasts)} s")
    if lasts > rules.longest_s:
        add("too_long", f"{plain(rules.longest_s)} s on screen or less", f"{_short(lasts)} s")
    widest = max(len(line) for line in cue.lines)
    if widest > rules.line_most:
        add("wide", f"{rules.line_most} characters a line or fewer", str(widest))
    if len(cue.lines) > rules.lines_most:
        add("tall", f"{rules.lines_most} lines or fewer", str(len(cue.lines)))


def _blocks(lines: list[str], first: int) -> Iterator[tuple[int, list[str]]]:
    """(number of its first line, lines) of each run of lines that are not empty."""
    block: list[str] = []
    for number, line in enumerate(lines[first:], start=first + 1):
        if line.strip():
            block.append(line)
        elif block:
            yield number - len(block), block
            block = []
    if block:
        yield len(lines) - len(block) + 1, block


def _timings(line: str, form: str, where: str) -> tuple[Fraction, Fraction]:
    found = _TIMINGS[form].fullmatch(line)
    if not found:
        raise BadInput(wanted=f"timings such as {_SHAPES[form]}", got=line, where=where)
    parts = [int(part or 0) for part in found.groups()]
    if any(part > 59 for at in (1, 2, 5, 6) for part in parts[at : at + 1]):
        raise BadInput(wanted="minutes and seconds up to 59", got=line, where=where)
    starts, ends = (
        hours * 3600 + minutes * 60 + seconds + Fraction(thousandths, 1000)
        for hours, minutes, seconds, thousandths in (parts[:4], parts[4:])
    )
    return starts, ends


def _at(where: str, line: int) -> str:
    return f"{where}, line {line}" if where else f"line {line}"


def _clock(seconds: Fraction) -> str:
    """Seconds as HH:MM:SS.mmm, rounded down to a thousandth."""
    thousandths = seconds.numerator * 1000 // seconds.denominator
    whole, rest = divmod(thousandths, 1000)
    minutes, second = divmod(whole, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours:02d}:{minute:02d}:{second:02d}.{rest:03d}"


def _short(number: Fraction) -> str:
    return plain(round_half_away(Decimal(number.numerator) / Decimal(number.denominator), 3))


class CaptionFaultData(TypedDict):
    """A fault of a caption as JSON."""

    kind: str
    cue: int
    line: int
    text: str
