"""A file's facts held against a spec, point by point. Pure: no file is touched here."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from decimal import Decimal
from fractions import Fraction

from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import plain, round_half_away
from bizkit.domain.work.captions import promised_beside
from bizkit.domain.work.facts import Facts, Picture, Span, Still, Track
from bizkit.domain.work.languages import lacking
from bizkit.domain.work.point import Point
from bizkit.domain.work.spec import CaptionSpec, PictureSpec, SoundSpec, Spec, StillSpec, rate_text

#: Sound may start late or stop early by this much before it counts as dropped: codecs work in blocks of some 20 ms.
SOUND_SLACK_S = Fraction(1, 10)
#: Share of looked-at frames with comb lines from which a picture flagged progressive is taken for interlaced.
COMBED_MOST_PERCENT = 5


def judge(spec: Spec, facts: Facts, names: Mapping[str, str] | None = None) -> tuple[Point, ...]:
    """Every point of `spec`, in the order picture, length, sound, captions, file.

    names: what the words of the name pattern must be in this case ({"job": "follow-the-kelp", "version": "v2"});
    words left out may be anything of their form.
    """
    kind = Point(
        "kind", spec.kind, facts.kind, spec.kind == facts.kind, "" if spec.kind == facts.kind else _WRONG_KIND
    )
    points = [kind, *_whole(facts)]
    if kind.ok:
        if facts.picture:
            points += _picture(spec.picture, facts.picture)
        points += _length(spec, facts)
        if spec.kind != "stills":
            points += _sound(spec.sound, facts)
            points += _captions(spec.captions, facts)
        if facts.still:
            points += _still(spec.stills, facts.still)
    points += _file(spec, facts, names or {})
    return tuple(points)


def failed(points: Collection[Point]) -> tuple[Point, ...]:
    """The points a machine found wrong."""
    return tuple(point for point in points if point.ok is False)


def require(points: Collection[Point], name: str) -> None:
    """Raises RuleBroken naming the first failing point of the file `name`, if there is one."""
    wrong = failed(points)
    if wrong:
        more = f" and {len(wrong) - 1} more" if len(wrong) > 1 else ""
        first = wrong[0]
        raise RuleBroken(f"{name}: {first.name}: the spec asks for {first.wanted}, the file has {first.got}{more}")


_WRONG_KIND = "This is another kind of file: check that the right one was picked."


def _one_of(name: str, wanted: Collection[str], got: str, why: str) -> Iterator[Point]:
    """Nothing when nothing is asked."""
    if wanted:
        ok = got in wanted
        yield Point(name, " or ".join(wanted), got or "nothing", ok, "" if ok else why)


def _least(name: str, wanted: int | None, got: int, unit: str, why: str) -> Iterator[Point]:
    if wanted is not None:
        ok = got >= wanted
        yield Point(name, f"{wanted} {unit} or more", f"{got} {unit}" if got else "not said", ok, "" if ok else why)


def seconds(value: Fraction | Decimal) -> str:
    """Seconds to the millisecond for people: "59.96 s"."""
    exact = Fraction(value)
    return f"{plain(round_half_away(Decimal(exact.numerator) / Decimal(exact.denominator), 3))} s"


def _whole(facts: Facts) -> Iterator[Point]:
    got = facts.damage[0] if facts.damage else "whole"
    if len(facts.damage) > 1:
        got += f" (and {len(facts.damage) - 1} more)"
    why = "Copy or export it again, and check the copy against the original's checksum." if facts.damage else ""
    yield Point("whole", "whole", got, not facts.damage, why)


def _picture(spec: PictureSpec, picture: Picture) -> Iterator[Point]:
    if spec.width_px or spec.height_px:
        wanted = f"{spec.width_px or 'any'} x {spec.height_px or 'any'}"
        got = f"{picture.width_px} x {picture.height_px}"
        ok = spec.width_px in (None, picture.width_px) and spec.height_px in (None, picture.height_px)
        why = "" if ok else "Export at the size asked for; do not let the player scale it."
        if picture.turned_degrees:
            got, ok = f"{got}, turned {picture.turned_degrees} degrees by a flag", False
            why = "Turn the pixels on export: players and sites do not all obey the flag."
        yield Point("frame size", wanted, got, ok, why)
    aspect = spec.aspect
    if aspect is None and spec.width_px and spec.height_px:
        aspect = Fraction(spec.width_px, spec.height_px)
    if aspect is not None:
        off_px = abs(picture.aspect / aspect - 1) * min(picture.width_px, picture.height_px)
        ok = off_px <= 1
        why = "" if ok else "Reframe it, or correct the pixel shape the file claims."
        yield Point("aspect", ratio(aspect), ratio(picture.aspect), ok, why)
    if spec.frame_rates:
        ok = picture.frame_rate in spec.frame_rates
        wanted = " or ".join(rate_text(rate) for rate in spec.frame_rates)
        why = "" if ok else "Export from a timeline of that rate: converting afterwards makes the movement stutter."
        yield Point("frame rate", wanted, rate_text(picture.frame_rate), ok, why)
        got = "even" if picture.even else f"{picture.uneven_frames} of {picture.frames} frames are longer or shorter"
        why = "" if picture.even else "Frames were dropped or the rate varies: export with a constant rate."
        yield Point("frame lengths", "even", got, picture.even, why)
    if spec.scan:
        yield _scan(spec.scan, picture)
    yield from _one_of("codec", spec.codecs, picture.codec, "Export with the codec asked for.")
    yield from _one_of("codec profile", spec.profiles, picture.profile, "Export with the profile asked for.")
    yield from _least("bit depth", spec.bit_depth_least, picture.bit_depth, "bit", "Export again from the timeline.")
    yield from _one_of("chroma", spec.chroma, picture.chroma, "Export with that chroma sampling.")
    untagged = "Tag the file on export: untagged colour is guessed, and each player guesses differently."
    retag = "Check the colour management of the export: the tag must say what the pixels are."
    for name, tag, found in (
        ("colour primaries", spec.primaries, picture.primaries),
        ("colour transfer", spec.transfer, picture.transfer),
        ("colour matrix", spec.matrix, picture.matrix),
        ("value range", spec.value_range, picture.value_range),
    ):
        yield from _one_of(name, (tag,) if tag else (), found, untagged if found == "unsaid" else retag)
    if spec.start_timecode:
        yield from _one_of(
            "start timecode", (spec.start_timecode,), picture.start_timecode, "Set the start of the timeline."
        )
    yield from _stretches("black", spec.black_head_most_s, spec.black_tail_most_s, spec.black_inside_most_s, picture)
    yield from _stretches(
        "frozen", spec.frozen_head_most_s, spec.frozen_tail_most_s, spec.frozen_inside_most_s, picture
    )


def _scan(wanted: str, picture: Picture) -> Point:
    got = picture.scan.replace("_", " ")
    combed = picture.combed_percent > COMBED_MOST_PERCENT
    ok, why = True, ""
    if wanted == "progressive":
        ok = picture.scan == "progressive" and not combed
        if combed:
            got += f", comb lines in {plain(picture.combed_percent)}% of the frames looked at"
        why = "" if ok else "Deinterlace the material on the timeline and export progressive."
    else:
        fields = ("top_first", "bottom_first") if wanted == "interlaced" else (wanted,)
        ok = picture.scan in fields
        why = "" if ok else "Export with the field order asked for."
    return Point("scan", wanted.replace("_", " "), got, ok, why)


def _stretches(
    what: str, head_s: Decimal | None, tail_s: Decimal | None, inside_s: Decimal | None, picture: Picture
) -> Iterator[Point]:
    spans = picture.black if what == "black" else picture.frozen
    for place, most_s, got_s in (
        ("head", head_s, picture.head_s(spans)),
        ("tail", tail_s, picture.tail_s(spans)),
    ):
        if most_s is not None:
            ok = got_s <= most_s
            why = "" if ok else "Check the in and out points of the export."
            yield Point(f"{what} {place}", _at_most(most_s), seconds(got_s), ok, why)
    if inside_s is not None:
        inside = [span for span in spans if span.starts_s > 0 and span.ends_s < picture.duration_s]
        longest = max(inside, key=lambda span: span.length_s, default=None)
        ok = longest is None or longest.length_s <= inside_s
        yield Point(f"{what} inside", _at_most(inside_s), _stretch(longest), ok, "" if ok else "Look at that place.")


def _at_most(limit_s: Decimal) -> str:
    return f"{seconds(limit_s)} or less" if limit_s else "none"


def _stretch(span: Span | None) -> str:
    return "none" if span is None else f"{seconds(span.length_s)} at {seconds(span.starts_s)}"


def _length(spec: Spec, facts: Facts) -> Iterator[Point]:
    least, most = spec.length.least_s, spec.length.most_s
    if least is None and most is None:
        return
    slack = Fraction(0)
    if facts.picture and facts.picture.frame_rate:
        slack = spec.length.slack_frames / facts.picture.frame_rate
    ok = (least is None or facts.duration_s >= Fraction(least) - slack) and (
        most is None or facts.duration_s <= Fraction(most) + slack
    )
    if least == most and most is not None:
        wanted = seconds(most)
    elif least is None or most is None:
        wanted = f"{seconds(most)} or less" if most is not None else f"{seconds(least or Decimal(0))} or more"
    else:
        wanted = f"{seconds(least)} to {seconds(most)}"
    yield Point("length", wanted, seconds(facts.duration_s), ok, "" if ok else "Check the in and out points.")


def _sound(spec: SoundSpec, facts: Facts) -> Iterator[Point]:
    if spec == SoundSpec():
        return
    if facts.unheard:
        # Whether it is as asked nobody knows, but that it is there.
        wanted = "none" if spec.tracks == 0 else "sound that can be looked at"
        why = "Listen to it and measure its loudness in another program."
        yield Point("sound", wanted, facts.unheard, False if spec.tracks == 0 else None, why)
        return
    tracks = facts.tracks
    if spec.tracks is not None:
        ok = len(tracks) == spec.tracks
        why = "" if ok else "Check the sound routing of the export."
        yield Point("sound tracks", str(spec.tracks or "none"), str(len(tracks) or "none"), ok, why)
    elif not tracks:
        yield Point("sound tracks", "1 or more", "none", False, "The file has no sound: check the export.")
    if not tracks or spec.tracks == 0:
        return
    for number, track in enumerate(tracks, start=1):
        yield from _track(spec, track, f"track {number} " if len(tracks) > 1 else "", facts)
    if spec.loudness_lufs is not None:
        yield _loudness(spec.loudness_lufs, spec.loudness_tolerance_lu, facts)
    if spec.true_peak_most_dbtp is not None:
        peak = facts.loudness.true_peak_dbtp if facts.loudness else None
        ok = peak is None or peak <= spec.true_peak_most_dbtp
        why = "" if ok else "Lower the limiter's true-peak ceiling and export again."
        got = "silence" if peak is None else f"{plain(peak)} dBTP"
        yield Point("true peak", f"{plain(spec.true_peak_most_dbtp)} dBTP or less", got, ok, why)


def _track(spec: SoundSpec, track: Track, label: str, facts: Facts) -> Iterator[Point]:
    routing = "Check the sound routing of the export."
    channels = (str(spec.channels),) if spec.channels else ()
    rates = tuple(f"{rate} Hz" for rate in spec.sample_rates_hz)
    yield from _one_of(f"{label}channels", channels, str(track.channels), routing)
    yield from _one_of(f"{label}sample rate", rates, f"{track.sample_rate_hz} Hz", "Export at that sample rate.")
    yield from _one_of(f"{label}sound codec", spec.codecs, track.codec, "Export with the sound codec asked for.")
    yield from _least(
        f"{label}sound bit depth", spec.bit_depth_least, track.bit_depth, "bit", "Export again from the mix."
    )
    silent = track.silent_channels
    dead = bool(silent) and (track.channels <= 2 or len(silent) == track.channels)
    got = f"channel {', '.join(map(str, silent))} silent" if silent else "sound on all"
    yield Point(f"{label}every channel", "sound on all", got, not dead, routing if dead else "")
    if facts.picture:
        late = track.starts_s > SOUND_SLACK_S
        early = track.ends_s < facts.picture.duration_s - SOUND_SLACK_S
        got = f"{seconds(track.starts_s)} to {seconds(track.ends_s)}"
        why = "Sound is missing at the start or end: extend it and export again." if late or early else ""
        yield Point(
            f"{label}sound runs", f"0 s to {seconds(facts.picture.duration_s)}", got, not (late or early), why
        )
    gap = max(track.gaps, key=lambda span: span.length_s, default=None)
    yield Point(
        f"{label}gaps", "none", _stretch(gap), gap is None, "Sound was lost there: export again." if gap else ""
    )
    if spec.silence_most_s is not None and not dead:
        counted = [
            silence.span
            for silence in track.silences
            if (silence.channel > 0) == (track.channels <= 2) and silence.channel not in silent
        ]
        longest = max(counted, key=lambda span: span.length_s, default=None)
        ok = longest is None or longest.length_s <= spec.silence_most_s
        why = "" if ok else "Listen there: a clip may be muted or off line; lay room tone under a wanted silence."
        yield Point(f"{label}silence", _at_most(spec.silence_most_s), _stretch(longest), ok, why)


def _loudness(target: Decimal, tolerance: Decimal, facts: Facts) -> Point:
    """Compared at one decimal, as meters show it (EBU Tech 3341 asks for 0.1 LU, from memory)."""
    wanted = f"{plain(target)} LUFS, {plain(tolerance)} LU either way"
    measured = facts.loudness.integrated_lufs if facts.loudness else None
    if measured is None or facts.loudness is None:
        return Point(
            "loudness", wanted, "too quiet or too short to measure", False, "Check that the mix is in the file."
        )
    shown = round_half_away(measured, 1)
    off = shown - target
    ok = abs(off) <= tolerance
    why = f"Measured on {facts.loudness.measured_on}."
    if not ok:
        why = f"{'Lower' if off > 0 else 'Raise'} the mix by {plain(abs(off))} LU. {why}"
    return Point("loudness", wanted, f"{shown} LUFS", ok, why)


def _captions(spec: CaptionSpec, facts: Facts) -> Iterator[Point]:
    if not spec.how:
        return
    languages = f" in {', '.join(spec.languages)}" if spec.languages else ""
    embedded = [track.language or "unsaid" for track in facts.captions]
    sidecars = [
        name for name in facts.sidecars if not spec.formats or name.rpartition(".")[2].lower() in spec.formats
    ]
    if spec.how == "clean":
        ok = not embedded
        got = "none inside" if ok else f"inside: {', '.join(embedded)}"
        yield Point(
            "captions", "none", got, None if ok else False, "Burned-in text is for eyes: see the contact sheet."
        )
    elif spec.how == "burned_in":
        yield Point("captions", f"burned in{languages}", "for eyes", None, "See the contact sheet.")
    elif spec.how == "embedded":
        ok = bool(embedded) and not lacking(spec.languages, embedded)
        why = "" if ok else "Add the caption track, with its language, on export."
        yield Point("captions", f"inside the file{languages}", ", ".join(embedded) or "none", ok, why)
    else:
        ok = promised_beside(spec, facts.sidecars) == ""
        wanted = f"{' or '.join(spec.formats) or 'caption'} file beside it{languages}"
        why = "" if ok else "Put it beside the film under the same name; one per language: NAME.en.srt, NAME.de.srt."
        yield Point("captions", wanted, ", ".join(sidecars) or "none", ok, why)


def _still(spec: StillSpec, still: Still) -> Iterator[Point]:
    export = "Export again from the original."
    yield from _one_of("format", spec.formats, still.format, "Export in the format asked for.")
    if spec.width_px or spec.height_px:
        ok = spec.width_px in (None, still.width_px) and spec.height_px in (None, still.height_px)
        wanted = f"{spec.width_px or 'any'} x {spec.height_px or 'any'}"
        yield Point("size", wanted, f"{still.width_px} x {still.height_px}", ok, "" if ok else export)
    if spec.aspect is not None:
        ok = abs(still.aspect / spec.aspect - 1) * min(still.width_px, still.height_px) <= 1
        yield Point("aspect", ratio(spec.aspect), ratio(still.aspect), ok, "" if ok else "Crop it to that shape.")
    long_edge = max(still.width_px, still.height_px)
    yield from _least("long edge", spec.long_edge_least_px, long_edge, "px", f"{export} Do not enlarge a small one.")
    yield from _one_of("colour", spec.colour, still.colour, "Convert it on export.")
    yield from _one_of("colour profile", spec.profiles, still.profile, "Convert to that profile and embed it.")
    yield from _least("bit depth", spec.bit_depth_least, still.bit_depth, "bit", export)
    yield from _least("resolution", spec.per_inch_least, still.per_inch, "per inch", "Set it on export.")
    found = dict(still.metadata)
    for name in spec.metadata_wanted:
        ok = name in found
        label = name.replace("_", " ")
        yield Point(label, "said in the file", found.get(name, "not said"), ok, "" if ok else f"Fill in the {label}.")
    yield from refused_metadata(spec, found)


def refused_metadata(spec: StillSpec, found: Mapping[str, str], beside: str = "") -> Iterator[Point]:
    """A point for each piece of metadata that must not be said; of a sidecar `beside`, for those that it says."""
    for name in spec.metadata_refused:
        ok = name not in found
        if ok and beside:
            continue
        why = "" if ok else "Strip it on export: it may give away a person, a kit list or a nest."
        words = f" {found[name]}" if not ok and found[name].startswith("in words") else ""
        label = name.replace("_", " ") + (f" in {beside}" if beside else "")
        yield Point(label, "not in the file", "not said" if ok else f"in the file{words}", ok, why)


def _file(spec: Spec, facts: Facts, names: Mapping[str, str]) -> Iterator[Point]:
    if spec.kind == facts.kind:
        yield from _one_of("container", spec.file.containers, facts.container, "Export in the wrapper asked for.")
    if spec.file.size_most_mb is not None:
        size = Decimal(facts.size_bytes) / 1_000_000
        ok = size <= spec.file.size_most_mb
        why = "" if ok else "Lower the bit rate."
        got = f"{plain(round_half_away(size, 1))} MB"
        yield Point("file size", f"{plain(spec.file.size_most_mb)} MB or less", got, ok, why)
    if spec.file.name is not None:
        stem = facts.name.rpartition(".")[0] or facts.name
        parts = spec.file.name.parts(stem)
        wrong = [] if parts is None else [word for word in parts if word in names and parts[word] != names[word]]
        ok = parts is not None and not wrong
        if parts is None:
            why = f"A good name: {spec.file.name.good(names)}."
        else:
            why = "; ".join(f"{word} should be {names[word]}" for word in wrong)
        yield Point("file name", spec.file.name.text, stem, ok, "" if ok else why)


def ratio(aspect: Fraction) -> str:
    """An aspect for people: "16:9", or "2.39:1" when it has no short whole form."""
    if aspect.numerator <= 32 and aspect.denominator <= 32:
        return f"{aspect.numerator}:{aspect.denominator}"
    return f"{plain(round_half_away(Decimal(aspect.numerator) / Decimal(aspect.denominator), 3))}:1"
