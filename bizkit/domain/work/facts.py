"""What was found in one delivered file: plain values, JSON-ready, with no judgement in them.

Times are exact fractions of a second counted from the first frame of the picture (from the first sample where
there is no picture). Frame rates and aspects are exact fractions. Levels are decimals as measured. Whoever looks
at files fills these in; `bizkit.domain.work.judge` holds them against a spec.
"""

from __future__ import annotations

import re
import types
import typing
from collections.abc import Mapping
from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, Self

from bizkit.domain.errors import BadInput

#: What a file is, by its content.
KINDS = ("film", "sound", "stills")

#: How `data()` writes a fraction or a decimal.
_NUMBER = re.compile(r"-?\d{1,30}(\.\d{1,30}|/0*[1-9]\d{0,30})?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of time in seconds: `starts_s` belongs to it, `ends_s` does not."""

    starts_s: Fraction
    ends_s: Fraction

    @property
    def length_s(self) -> Fraction:
        """How long it lasts, in seconds."""
        return self.ends_s - self.starts_s


@dataclass(frozen=True, slots=True)
class Picture:
    """The moving picture of a film.

    width_px, height_px: as stored, before `turned_degrees` (0, 90, 180, 270, clockwise as the file asks).
    pixel_aspect: width of one pixel over its height. frame_rate: exact; `even` when every frame lasts equally long,
    else `uneven_frames` counts those that do not.
    scan: progressive, top_first, bottom_first or mixed, as the file flags it; `combed_percent` of the frames looked
    at for it show the comb lines of two fields, whatever the flag.
    primaries, transfer, matrix: names by ISO/IEC 23091-2 code points ("bt709"), or "unsaid". value_range: limited,
    full or unsaid. chroma: "4:2:0"... or "rgb" or "grey". black, frozen: spans, black ones not counted as frozen.
    frames_promised: by the header; 0 when it says nothing.
    """

    codec: str
    profile: str
    width_px: int
    height_px: int
    pixel_aspect: Fraction
    turned_degrees: int
    frame_rate: Fraction
    even: bool
    uneven_frames: int
    scan: str
    combed_percent: Decimal
    bit_depth: int
    chroma: str
    primaries: str
    transfer: str
    matrix: str
    value_range: str
    frames: int
    frames_promised: int
    duration_s: Fraction
    start_timecode: str
    black: tuple[Span, ...]
    frozen: tuple[Span, ...]

    @property
    def aspect(self) -> Fraction:
        """Width over height as seen, turned and with the pixels' own shape."""
        seen = self.width_px * self.pixel_aspect / self.height_px
        return 1 / seen if self.turned_degrees in (90, 270) else seen

    def head_s(self, spans: tuple[Span, ...]) -> Fraction:
        """How long the span that begins with the first frame lasts; zero when there is none."""
        return next((span.length_s for span in spans if span.starts_s <= 0), Fraction(0))

    def tail_s(self, spans: tuple[Span, ...]) -> Fraction:
        """How long the span that runs to the last frame lasts; zero when there is none."""
        return next((span.length_s for span in spans if span.ends_s >= self.duration_s), Fraction(0))


@dataclass(frozen=True, slots=True)
class Silence:
    """A stretch of digital silence. channel: counted from 1; 0 means every channel of the track at once."""

    channel: int
    span: Span


@dataclass(frozen=True, slots=True)
class Track:
    """One sound track.

    starts_s, ends_s: against the first frame of the picture. silent_channels: silent from end to end, counted from 1.
    gaps: stretches for which the file holds no sound at all.
    """

    codec: str
    channels: int
    layout: str
    sample_rate_hz: int
    bit_depth: int
    language: str
    starts_s: Fraction
    ends_s: Fraction
    silent_channels: tuple[int, ...]
    silences: tuple[Silence, ...]
    gaps: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Loudness:
    """Programme loudness by EBU R 128.

    integrated_lufs: None when all of it lies under the gate or is too short to measure. range_lu: EBU Tech 3342.
    true_peak_dbtp: None in digital silence. measured_on: which tracks and channels, in words.
    """

    integrated_lufs: Decimal | None
    range_lu: Decimal | None
    true_peak_dbtp: Decimal | None
    measured_on: str


@dataclass(frozen=True, slots=True)
class CaptionTrack:
    """Captions carried inside the file."""

    codec: str
    language: str


@dataclass(frozen=True, slots=True)
class Still:
    """One photograph.

    width_px, height_px: as seen, after the orientation flag. colour: RGB, CMYK, grey... profile: name of the embedded
    colour profile, "sRGB" too where the file only says so in a tag, or "none". per_inch: printing resolution or 0.
    metadata: plain name -> value, sorted by name; "position" says that the file tells where it was taken, by
    coordinates ("yes") or "in words: ...".
    """

    format: str
    width_px: int
    height_px: int
    colour: str
    bit_depth: int
    profile: str
    per_inch: int
    metadata: tuple[tuple[str, str], ...]

    @property
    def aspect(self) -> Fraction:
        """Width over height as seen."""
        return Fraction(self.width_px, self.height_px)


@dataclass(frozen=True, slots=True)
class Facts:
    """All that was found in one file.

    name: the file name without its folder. container: the wrapper's name ("mp4", "mov", "mxf", "wav"...), for stills
    the format. sidecars: names of the caption files that lie beside it under the same name. damage: one sentence for
    each thing that shows the file is not whole; empty when it is. unheard: why the sound of a film could not be
    looked at; empty when it was.
    """

    name: str
    size_bytes: int
    sha256: str
    kind: str
    container: str
    duration_s: Fraction
    picture: Picture | None
    tracks: tuple[Track, ...]
    loudness: Loudness | None
    captions: tuple[CaptionTrack, ...]
    sidecars: tuple[str, ...]
    still: Still | None
    damage: tuple[str, ...]
    unheard: str = ""

    def data(self) -> dict[str, Any]:
        """As JSON-ready data: fractions and decimals as text ("30000/1001", "-23.0")."""
        result: dict[str, Any] = _plain(self)
        return result

    @classmethod
    def read(cls, tree: object) -> Self:
        """Back from `data()`. Raises BadInput, naming the member, when the tree is not of that form."""
        result: Self = _built(cls, tree, "facts")
        return result


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    if isinstance(value, Fraction | Decimal):
        return str(value)
    return value


def _built(kind: Any, value: Any, field: str) -> Any:
    """`value` from JSON as `kind`: a dataclass, a tuple, an optional, a number or text."""
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin is types.UnionType:
        return None if value is None else _built(arguments[0], value, field)
    if origin is tuple and isinstance(value, list):
        if arguments[-1] is not Ellipsis and len(value) != len(arguments):
            raise BadInput(wanted=f"{len(arguments)} values", got=len(value), field=field)
        each = [arguments[0]] * len(value) if arguments[-1] is Ellipsis else arguments
        return tuple(
            _built(part, item, f"{field}[{at}]") for at, (part, item) in enumerate(zip(each, value, strict=True))
        )
    if is_dataclass(kind) and isinstance(kind, type) and isinstance(value, Mapping):
        hints = typing.get_type_hints(kind)
        names = [each.name for each in fields(kind)]
        if sorted(names) != sorted(value):
            raise BadInput(wanted=", ".join(names), got=", ".join(map(str, value)), field=field)
        return kind(**{name: _built(hints[name], value[name], f"{field}.{name}") for name in names})
    if kind in (Fraction, Decimal) and isinstance(value, str):
        if not _NUMBER.fullmatch(value):
            raise BadInput(wanted="a number as text", got=value, field=field)
        return kind(value)
    if kind in (str, int, bool) and type(value) is kind:
        return value
    raise BadInput(wanted=getattr(kind, "__name__", str(kind)), got=value, field=field)
