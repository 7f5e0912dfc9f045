"""A delivery spec: what a file must be, as data. Whatever a spec leaves out is not asked.

Specs are TOML files (`templates/specs/`). Frame rates are exact fractions ("30000/1001", never 29.97); aspects are
written "16:9"; codecs, profiles, chroma and colour tags carry the names that `bizkit.domain.work.facts` uses.
`bizkit.domain.work.judge` holds a file's facts against a spec.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, fields, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
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


@dataclass(frozen=True, slots=True)
class FileSpec:
    """The file itself. size_most_mb: in millions of bytes. name: pattern of the file name without its ending."""

    containers: tuple[str, ...] = ()
    size_most_mb: Decimal | None = None
    name: NamePattern | None = None


@dataclass(frozen=True, slots=True)
class PictureSpec:
    """Moving picture: any of the listed rates, codecs, profiles, chromas will do; empty means not asked.

    width_px, height_px: upright pixels. The `_most_s` members are the longest stretch allowed, in seconds, at the
    head, at the tail and anywhere between.
    """

    width_px: int | None = None
    height_px: int | None = None
    aspect: Fraction | None = None
    frame_rates: tuple[Fraction, ...] = ()
    scan: str = ""
    codecs: tuple[str, ...] = ()
    profiles: tuple[str, ...] = ()
    bit_depth_least: int | None = None
    chroma: tuple[str, ...] = ()
    primaries: str = ""
    transfer: str = ""
    matrix: str = ""
    value_range: str = ""
    start_timecode: str = ""
    black_head_most_s: Decimal | None = None
    black_tail_most_s: Decimal | None = None
    black_inside_most_s: Decimal | None = None
    frozen_head_most_s: Decimal | None = None
    frozen_tail_most_s: Decimal | None = None
    frozen_inside_most_s: Decimal | None = None


@dataclass(frozen=True, slots=True)
class LengthSpec:
    """From `least_s` to `most_s`, both included, give or take `slack_frames` frames of the file's own rate."""

    least_s: Decimal | None = None
    most_s: Decimal | None = None
    slack_frames: int = 1


@dataclass(frozen=True, slots=True)
class SoundSpec:
    """Sound. tracks = 0 asks for none. channels and bit_depth_least hold for every track.

    loudness_lufs: target of the whole programme, met within `loudness_tolerance_lu` either way, both ends included.
    silence_most_s: longest digital silence; in one channel alone already where a track has one or two.
    """

    tracks: int | None = None
    channels: int | None = None
    sample_rates_hz: tuple[int, ...] = ()
    codecs: tuple[str, ...] = ()
    bit_depth_least: int | None = None
    loudness_lufs: Decimal | None = None
    loudness_tolerance_lu: Decimal = Decimal(1)
    true_peak_most_dbtp: Decimal | None = None
    silence_most_s: Decimal | None = None


@dataclass(frozen=True, slots=True)
class CaptionSpec:
    """How captions travel ("" is not asked), in which file formats and languages (ISO 639 codes)."""

    how: str = ""
    formats: tuple[str, ...] = ()
    languages: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StillSpec:
    """Photographs. long_edge_least_px: of the upright image. metadata_wanted, metadata_refused: names of METADATA."""

    formats: tuple[str, ...] = ()
    width_px: int | None = None
    height_px: int | None = None
    aspect: Fraction | None = None
    long_edge_least_px: int | None = None
    colour: tuple[str, ...] = ()
    profiles: tuple[str, ...] = ()
    bit_depth_least: int | None = None
    per_inch_least: int | None = None
    metadata_wanted: tuple[str, ...] = ()
    metadata_refused: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Spec:
    """What one kind of delivered file must be. kind: film, sound or stills."""

    title: str
    kind: str
    about: str = ""
    file: FileSpec = FileSpec()
    picture: PictureSpec = PictureSpec()
    length: LengthSpec = LengthSpec()
    sound: SoundSpec = SoundSpec()
    captions: CaptionSpec = CaptionSpec()
    stills: StillSpec = StillSpec()

    @classmethod
    def read(cls, fields: Fields) -> Spec:
        """From a parsed TOML file. Raises BadInput naming file and field, also for keys nobody knows."""
        kind = fields.choice("kind", KINDS)
        spec = cls(
            title=fields.text("title"),
            kind=kind,
            about=fields.text("about", "", blank=True),
            file=_file(fields.table("file", optional=True)),
        )
        if kind == "stills":
            spec = replace(spec, stills=_stills(fields.table("stills", optional=True)))
        else:
            spec = replace(
                spec,
                length=_length(fields.table("length", optional=True)),
                sound=_sound(fields.table("sound", optional=True)),
            )
        if kind == "film":
            spec = replace(
                spec,
                picture=_picture(fields.table("picture", optional=True)),
                captions=_captions(fields.table("captions", optional=True)),
            )
        fields.done()
        return spec

    def data(self) -> dict[str, Any]:
        """As JSON-ready data in the form of the file, to be frozen: `Spec.read` gives back the same spec."""
        parts: dict[str, Any] = {"file": self.file}
        if self.kind == "stills":
            parts["stills"] = self.stills
        else:
            parts |= {"length": self.length, "sound": self.sound}
        if self.kind == "film":
            parts |= {"picture": self.picture, "captions": self.captions}
        tables = {name: _written(part) for name, part in parts.items()}
        return {"title": self.title, "kind": self.kind, "about": self.about, **tables}

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


def _written(part: Any) -> dict[str, Any]:
    """One table of a spec file; what is not asked is left out."""
    table: dict[str, Any] = {}
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


def _file(fields: Fields) -> FileSpec:
    spec = FileSpec(
        containers=fields.texts("containers", ()),
        size_most_mb=_number(fields, "size_most_mb"),
        name=NamePattern.read(fields, "name"),
    )
    fields.done()
    return spec


def _picture(fields: Fields) -> PictureSpec:
    spec = PictureSpec(
        width_px=_whole(fields, "width_px", most=16384),
        height_px=_whole(fields, "height_px", most=16384),
        aspect=_aspect(fields),
        frame_rates=tuple(_rate(fields, text) for text in fields.texts("frame_rates", ())),
        scan=fields.choice("scan", SCANS, None) or "",
        codecs=fields.texts("codecs", ()),
        profiles=fields.texts("profiles", ()),
        bit_depth_least=_whole(fields, "bit_depth_least", most=32),
        chroma=fields.texts("chroma", ()),
        primaries=fields.text("primaries", ""),
        transfer=fields.text("transfer", ""),
        matrix=fields.text("matrix", ""),
        value_range=fields.choice("value_range", ("limited", "full"), None) or "",
        start_timecode=fields.text("start_timecode", ""),
        black_head_most_s=_number(fields, "black_head_most_s"),
        black_tail_most_s=_number(fields, "black_tail_most_s"),
        black_inside_most_s=_number(fields, "black_inside_most_s"),
        frozen_head_most_s=_number(fields, "frozen_head_most_s"),
        frozen_tail_most_s=_number(fields, "frozen_tail_most_s"),
        frozen_inside_most_s=_number(fields, "frozen_inside_most_s"),
    )
    fields.done()
    return spec


def _length(fields: Fields) -> LengthSpec:
    least, most = _number(fields, "least_s"), _number(fields, "most_s")
    if least is not None and most is not None and most < least:
        raise fields.wrong("most_s", f"{plain(least)} (least_s) or more", plain(most))
    spec = LengthSpec(least, most, fields.whole("slack_frames", 1, most=1000))
    fields.done()
    return spec


def _sound(fields: Fields) -> SoundSpec:
    rates = fields.texts("sample_rates_hz", ())
    for rate in rates:
        if not re.fullmatch(r"[1-9]\d{3,5}", rate, re.ASCII):
            raise fields.wrong("sample_rates_hz", 'rates in quotes such as "48000"', rate)
    spec = SoundSpec(
        tracks=_whole(fields, "tracks", least=0, most=64),
        channels=_whole(fields, "channels", most=64),
        sample_rates_hz=tuple(int(rate) for rate in rates),
        codecs=fields.texts("codecs", ()),
        bit_depth_least=_whole(fields, "bit_depth_least", most=64),
        loudness_lufs=_number(fields, "loudness_lufs", least=-70, most=0),
        loudness_tolerance_lu=fields.number("loudness_tolerance_lu", Decimal(1), most=20),
        true_peak_most_dbtp=_number(fields, "true_peak_most_dbtp", least=-70, most=20),
        silence_most_s=_number(fields, "silence_most_s"),
    )
    fields.done()
    return spec


def _captions(fields: Fields) -> CaptionSpec:
    formats = fields.texts("formats", ())
    for name in formats:
        if name not in CAPTION_FORMATS:
            raise fields.unknown("formats", "caption format", name, CAPTION_FORMATS)
    spec = CaptionSpec(fields.choice("how", CAPTIONS, None) or "", formats, fields.texts("languages", ()))
    fields.done()
    return spec


def _stills(fields: Fields) -> StillSpec:
    wanted, refused = fields.texts("metadata_wanted", ()), fields.texts("metadata_refused", ())
    for key, names in (("metadata_wanted", wanted), ("metadata_refused", refused)):
        for name in names:
            if name not in METADATA:
                raise fields.unknown(key, "piece of metadata", name, METADATA)
    spec = StillSpec(
        formats=fields.texts("formats", ()),
        width_px=_whole(fields, "width_px", most=100_000),
        height_px=_whole(fields, "height_px", most=100_000),
        aspect=_aspect(fields),
        long_edge_least_px=_whole(fields, "long_edge_least_px", most=100_000),
        colour=fields.texts("colour", ()),
        profiles=fields.texts("profiles", ()),
        bit_depth_least=_whole(fields, "bit_depth_least", most=32),
        per_inch_least=_whole(fields, "per_inch_least", most=10_000),
        metadata_wanted=wanted,
        metadata_refused=refused,
    )
    fields.done()
    return spec


def _number(fields: Fields, key: str, *, least: int = 0, most: int | None = None) -> Decimal | None:
    # Read even when absent, so that the key is known to spelling suggestions.
    number = fields.number(key, least, least=least, most=most)
    return number if key in fields else None


def _whole(fields: Fields, key: str, *, least: int = 1, most: int) -> int | None:
    whole = fields.whole(key, least, least=least, most=most)
    return whole if key in fields else None


def _aspect(fields: Fields) -> Fraction | None:
    text = fields.text("aspect", "")
    if "aspect" not in fields:
        return None
    try:
        return aspect_of(text)
    except BadInput as error:
        raise fields.wrong("aspect", error.wanted, text) from None


def _rate(fields: Fields, text: str) -> Fraction:
    try:
        return rate_of(text)
    except BadInput as error:
        raise fields.wrong("frame_rates", error.wanted, text, error.hint) from None
