"""A delivery spec: what a file must be, as data. Whatever a spec leaves out is not asked.

Specs are TOML files (`templates/specs/`). Frame rates are exact fractions ("30000/1001", never 29.97); aspects are
written "16:9"; codecs, profiles, chroma and colour tags carry the names that `bizkit.domain.work.facts` uses.
`bizkit.domain.work.judge` holds a file's facts against a spec.
"""

import re
from dataclasses import dataclass, fields
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, NotRequired, TypedDict, cast

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import plain, round_half_away
from bizkit.domain.work.facts import KINDS
from bizkit.domain.work.naming import NamePattern

SCANS = ("progressive", "interlaced", "top_first", "bottom_first")
#: How captions travel with a cut. "clean" carries none.
CAPTIONS = ("clean", "sidecar", "embedded", "burned_in")
CAPTION_FORMATS = ("srt", "vtt")
#: Plain names that look() gives to what a photograph says about itself.
METADATA = (
    "camera_serial",
    "caption",
    "copyright",
    "creator",
    "credit",
    "model_release",
    "position",
    "property_release",
    "rights_page",
    "taken_on",
    "title",
    "usage_terms",
)

_ASPECT = re.compile(r"([1-9]\d{0,4}(?:\.\d{1,4})?):([1-9]\d{0,4}(?:\.\d{1,4})?)", re.ASCII)
_RATE = re.compile(r"([1-9]\d{0,6})(?:/([1-9]\d{0,6}))?", re.ASCII)


def aspect_of(text: str) -> Fraction:
    """Width over height from "16:9" or "2.39:1". Raises BadInput otherwise."""
    found = _ASPECT.fullmatch(text.strip())
    aspect = Fraction(found[1]) / Fraction(found[2]) if found else None
    if aspect is None or max(aspect.numerator, aspect.denominator) > 99_999:
        raise BadInput(wanted='an aspect ratio such as "16:9"', got=text, field="aspect")
    return aspect


def rate_of(text: str) -> Fraction:
    """Frames a second from "25" or "30000/1001". Raises BadInput for a rounded decimal such as "29.97".

    >>> rate_of("30000/1001")
    Fraction(30000, 1001)
    >>> rate_of("29.97")
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: frame_rate: wanted a frame rate as a fraction, got 29.97. Write "30000/1001"
    """
    found = _RATE.fullmatch(text.strip())
    if not found:
        exact = {"23.98": 24, "23.976": 24, "29.97": 30, "47.952": 48, "59.94": 60, "119.88": 120}.get(text.strip())
        hint = f'Write "{exact}000/1001"' if exact else 'Write "25" or "30000/1001"'
        raise BadInput(wanted="a frame rate as a fraction", got=text, field="frame_rate", hint=hint)
    return Fraction(int(found[1]), int(found[2] or 1))


def rate_text(rate: Fraction) -> str:
    """Frames a second for people, to three decimals: "25", "29.97", "23.976".

    >>> rate_text(Fraction(30000, 1001))
    '29.97'
    """
    return plain(round_half_away(Decimal(rate.numerator) / Decimal(rate.denominator), 3))


def _sample_rate(text: str) -> int:
    if not re.fullmatch(r"[1-9]\d{3,5}", text, re.ASCII):
        raise BadInput(wanted='rates in quotes such as "48000"', got=text)
    return int(text)


#: A table of a spec file: key -> what is asked.
SpecTable = dict[str, str | int | list[str]]


@dataclass(frozen=True, slots=True)
class FileSpec:
    """The file itself. size_most_mb: in millions of bytes. name: pattern of the file name without its ending."""

    containers: Annotated[tuple[str, ...], Key("Any of these will do.", example=["mov", "mp4"])] = ()
    size_most_mb: Annotated[Decimal | None, Key("Its size at most.", "millions of bytes")] = None
    name: Annotated[
        NamePattern | None,
        Key(
            "Pattern of its name without the ending.",
            written=str,
            rule=NamePattern.of,
            example="{job}_{cut}_{version}",
        ),
    ] = None


_Width = Annotated[int | None, Key("Width, upright.", "pixels", least=1, most=100_000)]
_Height = Annotated[int | None, Key("Height, upright.", "pixels", least=1, most=100_000)]
_Aspect = Annotated[Fraction | None, Key("Width to height.", written=str, rule=aspect_of, example="16:9")]
_Codecs = Annotated[tuple[str, ...], Key("Any of these will do, as ffprobe names them.", example=["prores"])]
_Profiles = Annotated[tuple[str, ...], Key("Any of these will do.")]
_Tag = Annotated[str, Key("As the file's tag names it.", example="bt709")]
_Depth = Annotated[int | None, Key("At least so many.", "bits", least=1, most=32)]
_Seconds = Annotated[Decimal | None, Key("The longest stretch allowed.", "seconds")]


@dataclass(frozen=True, slots=True)
class PictureSpec:
    """Moving picture: any of the listed rates, codecs, profiles, chromas will do; empty means not asked.

    width_px, height_px: upright pixels. The `_most_s` members are the longest stretch allowed, in seconds, at the
    head, at the tail and anywhere between.
    """

    width_px: Annotated[int | None, Key("Width, upright.", "pixels", least=1, most=16384)] = None
    height_px: Annotated[int | None, Key("Height, upright.", "pixels", least=1, most=16384)] = None
    aspect: _Aspect = None
    frame_rates: Annotated[
        tuple[Fraction, ...],
        Key(
            "Frames a second; any of these will do.",
            written=tuple[str, ...],
            each=rate_of,
            example=["25", "30000/1001"],
        ),
    ] = ()
    scan: Annotated[str, Key("Whole frames, or fields and which comes first.", choices=SCANS)] = ""
    codecs: _Codecs = ()
    profiles: _Profiles = ()
    bit_depth_least: _Depth = None
    chroma: Annotated[tuple[str, ...], Key("Any of these will do.", example=["4:2:2"])] = ()
    primaries: _Tag = ""
    transfer: _Tag = ""
    matrix: _Tag = ""
    value_range: Annotated[str, Key("Range of the values.", choices=("limited", "full"))] = ""
    start_timecode: Annotated[str, Key("Where its timecode begins.", example="10:00:00:00")] = ""
    black_head_most_s: _Seconds = None
    black_tail_most_s: _Seconds = None
    black_inside_most_s: _Seconds = None
    frozen_head_most_s: _Seconds = None
    frozen_tail_most_s: _Seconds = None
    frozen_inside_most_s: _Seconds = None


@dataclass(frozen=True, slots=True)
class LengthSpec:
    """From `least_s` to `most_s`, both included, give or take `slack_frames` frames of the file's own rate."""

    least_s: Annotated[Decimal | None, Key("It runs no shorter.", "seconds")] = None
    most_s: Annotated[Decimal | None, Key("It runs no longer.", "seconds")] = None
    slack_frames: Annotated[int, Key("Give or take so many.", "frames", most=1000)] = 1

    def settled(self, at: Table) -> "LengthSpec":
        """The longest is no shorter than the shortest."""
        if self.least_s is not None and self.most_s is not None and self.most_s < self.least_s:
            at.problem("most_s", f"{plain(self.least_s)} (least_s) or more", plain(self.most_s))
        return self


@dataclass(frozen=True, slots=True)
class SoundSpec:
    """Sound. tracks = 0 asks for none. channels and bit_depth_least hold for every track.

    loudness_lufs: target of the whole programme, met within `loudness_tolerance_lu` either way, both ends included.
    silence_most_s: longest digital silence; in one channel alone already where a track has one or two.
    """

    tracks: Annotated[int | None, Key("How many; 0 for none at all.", "tracks", most=64)] = None
    channels: Annotated[int | None, Key("Of every track.", "channels", least=1, most=64)] = None
    sample_rates_hz: Annotated[
        tuple[int, ...],
        Key("Any of these will do.", "Hz", written=tuple[str, ...], each=_sample_rate, example=["48000"]),
    ] = ()
    codecs: _Codecs = ()
    bit_depth_least: Annotated[int | None, Key("At least so many.", "bits", least=1, most=64)] = None
    loudness_lufs: Annotated[
        Decimal | None, Key("Of the whole programme.", "LUFS", least=-70, most=0, example=-23)
    ] = None
    loudness_tolerance_lu: Annotated[Decimal, Key("Either way.", "LU", most=20)] = Decimal(1)
    true_peak_most_dbtp: Annotated[
        Decimal | None, Key("The highest true peak.", "dBTP", least=-70, most=20, example=-1)
    ] = None
    silence_most_s: _Seconds = None


@dataclass(frozen=True, slots=True)
class CaptionSpec:
    """How captions travel ("" is not asked), in which file formats and languages (ISO 639 codes)."""

    how: Annotated[str, Key("How captions travel; clean carries none.", choices=CAPTIONS)] = ""
    formats: Annotated[
        tuple[str, ...], Key("Any of these will do.", choices=CAPTION_FORMATS, wanted="a known caption format")
    ] = ()
    languages: Annotated[tuple[str, ...], Key("Each of these is wanted (ISO 639).", example=["en"])] = ()


_Metadata = Annotated[
    tuple[str, ...],
    Key("What a photograph says about itself.", choices=METADATA, wanted="a known piece of metadata"),
]


@dataclass(frozen=True, slots=True)
class StillSpec:
    """Photographs. long_edge_least_px: of the upright image. metadata_wanted, metadata_refused: names of METADATA."""

    formats: Annotated[tuple[str, ...], Key("Any of these will do.", example=["jpeg"])] = ()
    width_px: _Width = None
    height_px: _Height = None
    aspect: _Aspect = None
    long_edge_least_px: Annotated[int | None, Key("Long edge at least.", "pixels", least=1, most=100_000)] = None
    colour: Annotated[tuple[str, ...], Key("Any of these will do.", example=["rgb"])] = ()
    profiles: _Profiles = ()
    bit_depth_least: _Depth = None
    per_inch_least: Annotated[int | None, Key("Pixels an inch at least.", least=1, most=10_000)] = None
    metadata_wanted: _Metadata = ()
    metadata_refused: _Metadata = ()


#: Kind of a spec -> the tables it may have.
TABLES = {
    "film": ("file", "picture", "length", "sound", "captions"),
    "sound": ("file", "length", "sound"),
    "stills": ("file", "stills"),
}


@dataclass(frozen=True, slots=True)
class Spec:
    """What one kind of delivered file must be. kind: film, sound or stills."""

    title: Annotated[str, Key("What it is called.", example="Film for the web")]
    kind: Annotated[str, Key("What it is a spec of.", choices=KINDS)]
    about: Annotated[str, Key("What it is for.")] = ""
    file: Annotated[FileSpec, Key("The file itself.")] = FileSpec()
    picture: Annotated[PictureSpec, Key("Moving picture, of a film.")] = PictureSpec()
    length: Annotated[LengthSpec, Key("How long it runs, of a film or sound.")] = LengthSpec()
    sound: Annotated[SoundSpec, Key("Its sound, of a film or sound.")] = SoundSpec()
    captions: Annotated[CaptionSpec, Key("Its captions, of a film.")] = CaptionSpec()
    stills: Annotated[StillSpec, Key("The photographs, of stills.")] = StillSpec()

    def settled(self, at: Table) -> "Spec":
        """Each kind has its own tables."""
        for name in TABLES["film"] + TABLES["stills"]:
            if at.says(name) and name not in TABLES[self.kind]:
                known = ", ".join(TABLES[self.kind])
                at.problem("", "a known key", name, f"A spec of {self.kind} has the tables {known}")
        return self

    def data(self) -> "SpecData":
        """As JSON-ready data in the form of the file, to be frozen: `read_input` gives back the same spec."""
        tables = {name: _written(getattr(self, name)) for name in TABLES[self.kind]}
        return cast("SpecData", {"title": self.title, "kind": self.kind, "about": self.about, **tables})

    @property
    def summary(self) -> str:
        """What is asked in a few words, for a quote: "1920 x 1080, 25 fps, 60 s"."""
        if self.kind == "stills":
            edge = self.stills.long_edge_least_px
            parts = [" or ".join(self.stills.formats).upper(), " or ".join(self.stills.profiles)]
            parts += [f"long edge {edge} px or more"] if edge else []
            return ", ".join(part for part in parts if part)
        parts = []
        if self.picture.width_px and self.picture.height_px:
            parts.append(f"{self.picture.width_px} x {self.picture.height_px}")
        if 1 <= len(self.picture.frame_rates) <= 2:
            parts.append(" or ".join(rate_text(rate) for rate in self.picture.frame_rates) + " fps")
        if self.length.most_s is not None:
            least = self.length.least_s
            low = "" if least == self.length.most_s else f"{plain(least)} to " if least is not None else "up to "
            parts.append(f"{low}{plain(self.length.most_s)} s")
        return ", ".join(parts)


def _written(part: Any) -> SpecTable:
    """One table of a spec file; what is not asked is left out."""
    table: SpecTable = {}
    for field in fields(part):
        value = getattr(part, field.name)
        if value is None or value in ("", ()):
            continue
        if field.name == "aspect":
            value = f"{value.numerator}:{value.denominator}"
        elif isinstance(value, tuple):
            value = [str(item) for item in value]
        elif isinstance(value, NamePattern):
            value = value.text
        elif not isinstance(value, int):
            value = str(value)
        table[field.name] = value
    return table


class SpecData(TypedDict):
    """A spec as JSON in the form of its file: the tables of its kind."""

    title: str
    kind: str
    about: str
    file: NotRequired[SpecTable]
    picture: NotRequired[SpecTable]
    length: NotRequired[SpecTable]
    sound: NotRequired[SpecTable]
    captions: NotRequired[SpecTable]
    stills: NotRequired[SpecTable]
