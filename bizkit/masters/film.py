"""Looking at a film or a sound file: one pass of reading and decoding feeds every check."""

from __future__ import annotations

import os
from collections import Counter
from fractions import Fraction
from typing import Literal

import av
from av.container import InputContainer

from bizkit.domain.errors import BadInput, one_line
from bizkit.domain.work.facts import CaptionTrack, Facts, Loudness, Picture
from bizkit.domain.work.judge import seconds
from bizkit.masters.channels import settle_order
from bizkit.masters.fields import FieldWatch
from bizkit.masters.picture import FrameClock, PictureWatch
from bizkit.masters.sound import LoudnessMeter, TrackWatch
from bizkit.masters.source import CHUNK_BYTES, Source
from bizkit.masters.tags import MATRIX, PRIMARIES, RANGE, TRANSFER, chroma_of, container_of

#: Wrappers that are opened. Playlists, scripts and anything that names other files or addresses are not among them.
WRAPPERS = (
    "mov,mp4,m4a,3gp,3g2,mj2",
    "matroska,webm",
    "mxf",
    "avi",
    "mpegts",
    "mpeg",
    "wav",
    "w64",
    "aiff",
    "flac",
    "mp3",
    "ogg",
    "aac",
    "caf",
)
#: Larger frames are refused before they are decoded (8192 x 8192).
PIXELS_MOST = 1 << 26
STREAMS_MOST = 64
#: After so many bad packets in a row the rest is not worth trying.
BAD_MOST = 500
#: A file that ends this much before its header says is cut off.
SHORT_S = Fraction(1, 4)


def look_at_film(source: Source, *, sound: bool = True) -> Facts:
    """Raises BadInput when nothing in the file can be decoded; lesser harm is told in `Facts.damage`.

    sound: False leaves every sound track alone.
    """
    with open_film(source) as container:
        return _Look(container, source, sound).facts()


def open_film(source: Source) -> InputContainer:
    """The container, open. Raises BadInput for what is no film or sound file."""
    try:
        container = av.open(
            source,
            "r",
            container_options={"format_whitelist": ",".join(WRAPPERS)},
            options={"max_pixels": str(PIXELS_MOST)},
            metadata_errors="replace",
            buffer_size=min(CHUNK_BYTES, max(1 << 16, source.size_bytes // 200)),
        )
    except (av.error.FFmpegError, ValueError, OverflowError) as error:
        raise unreadable(source.path.name, error) from None
    if len(container.streams) > STREAMS_MOST:
        raise BadInput(wanted=f"{STREAMS_MOST} tracks or fewer", got=len(container.streams), where=source.path.name)
    return container


def picture_of(container: InputContainer) -> av.VideoStream | None:
    """The first moving picture; a cover image carried along is none."""
    for stream in container.streams.video:
        cover = bool(stream.disposition & av.stream.Disposition.attached_pic)
        if not cover and stream.codec_context is not None:
            # Slices and frames at once, on no more cores than a film needs: every frame in flight costs memory.
            stream.thread_type = "AUTO"
            stream.codec_context.thread_count = min(8, os.cpu_count() or 1)
            return stream
    return None


def unreadable(name: str, error: object) -> BadInput:
    """The error for a file nothing can be made of, saying why as the decoder put it."""
    return BadInput(
        wanted="a film, sound or image file",
        got=f"something that cannot be read as one ({one_line(getattr(error, 'strerror', '') or error, 60)})",
        where=name,
        hint="It may be cut off or no media file: copy or export it again",
    )


class _Look:
    """One pass over an open container."""

    def __init__(self, container: InputContainer, source: Source, sound: bool) -> None:
        self.container = container
        self.sound = sound
        self.source = source
        self.picture = picture_of(container)
        heard = container.streams.audio if sound else ()
        self.sounds = [stream for stream in heard if stream.codec_context is not None]
        orders = [settle_order(stream) for stream in self.sounds]
        self.watch = PictureWatch()
        self.fields = FieldWatch()
        self.clock: FrameClock | None = None
        self.first: av.VideoFrame | None = None
        self.corrupt = 0
        self.discarded = 0
        self.sizes = 0
        self.bad: Counter[str] = Counter()
        self.tracks = {
            stream.index: TrackWatch(stream, order) for stream, order in zip(self.sounds, orders, strict=True)
        }
        self.meter = LoudnessMeter(self.sounds, orders) if self.sounds else None
        self.damage: list[str] = []
        if self.picture is not None:
            self.clock = FrameClock(
                self.picture.time_base or Fraction(0), self.picture.guessed_rate or self.picture.average_rate
            )

    def facts(self) -> Facts:
        name = self.source.path.name
        if self.picture is None and not self.sounds:
            raise BadInput(wanted="a file with picture or sound", got="neither in it", where=name)
        self._pass()
        if (not self.clock or not self.clock.frames) and not any(watch.samples for watch in self.tracks.values()):
            raise unreadable(name, next(iter(self.bad), "nothing in it can be decoded"))
        picture = self._picture()
        origin_s = self.clock.first_s if self.clock and picture else self._sound_starts()
        tracks = tuple(self.tracks[stream.index].track(origin_s) for stream in self.sounds)
        self._tell_damage(picture)
        duration_s = picture.duration_s if picture else max((track.ends_s for track in tracks), default=Fraction(0))
        return Facts(
            name=name,
            size_bytes=self.source.size_bytes,
            sha256=self.source.sha256(),
            kind="film" if picture else "sound",
            container=container_of(self.container, self.source),
            duration_s=duration_s,
            picture=picture,
            tracks=tracks,
            loudness=self._loudness(),
            captions=self._captions(),
            sidecars=(),
            still=None,
            damage=tuple(one_line(line, 200) for line in self.damage),
        )

    def _pass(self) -> None:
        streams = [stream for stream in (self.picture, *self.sounds) if stream is not None]
        in_a_row = 0
        packets = self.container.demux(streams)
        while True:
            try:
                packet = next(packets, None)
                if packet is None:
                    break
                self.discarded += packet.is_discard and packet.stream is self.picture
                frames = packet.decode()
                in_a_row = 0
            except (av.error.FFmpegError, ValueError) as error:
                self.bad[type(error).__name__ + ": " + one_line(getattr(error, "strerror", "") or error, 80)] += 1
                in_a_row += 1
                if in_a_row > BAD_MOST:
                    break
                continue
            if frames:
                self.source.beat()
            for frame in frames:
                if isinstance(frame, av.VideoFrame):
                    self._see(frame)
                elif isinstance(frame, av.AudioFrame):
                    self._hear(packet.stream_index, frame)

    def _see(self, frame: av.VideoFrame) -> None:
        assert self.clock is not None
        at_s = self.clock.frame(frame.pts)
        if self.first is None:
            self.first = frame
        self.sizes += (frame.width, frame.height) != (self.first.width, self.first.height)
        self.fields.frame(frame)
        self.corrupt += frame.is_corrupt
        self.watch.frame(frame, at_s)

    def _hear(self, index: int, frame: av.AudioFrame) -> None:
        self.tracks[index].frame(frame)
        if self.meter:
            number = [stream.index for stream in self.sounds].index(index)
            if number < self.meter.tracks:
                try:
                    self.meter.push(number, frame)
                except (av.error.FFmpegError, ValueError):
                    self.meter = None
                    self.damage.append(
                        "the loudness of the sound cannot be measured: it has an odd form or changes it on the way"
                    )

    def _loudness(self) -> Loudness | None:
        if self.meter is None:
            return None
        try:
            self.meter.end()
        except (av.error.FFmpegError, ValueError):
            self.damage.append("the loudness could not be measured to the end")
        return self.meter.loudness()

    def _picture(self) -> Picture | None:
        if self.picture is None or self.clock is None or self.first is None:
            return None
        stream, frame, clock = self.picture, self.first, self.clock
        duration_s, rate = clock.duration_s(), clock.rate()
        black, frozen = self.watch.end(duration_s)
        context = stream.codec_context
        shape = stream.sample_aspect_ratio
        return Picture(
            codec=context.codec.canonical_name,
            profile=str(stream.profile or ""),
            width_px=frame.width,
            height_px=frame.height,
            pixel_aspect=shape if shape and shape > 0 else Fraction(1),
            turned_degrees=-frame.rotation % 360,
            frame_rate=rate,
            even=clock.uneven() == 0,
            uneven_frames=clock.uneven(),
            scan=self.fields.scan(context.codec.canonical_name, context.field_order),
            combed_percent=self.watch.combed_percent,
            bit_depth=frame.format.components[0].bits,
            chroma=chroma_of(frame.format),
            primaries=_tag(PRIMARIES, frame.color_primaries, context.color_primaries),
            transfer=_tag(TRANSFER, frame.color_trc, context.color_trc),
            matrix=_tag(MATRIX, frame.colorspace, context.colorspace),
            value_range=_tag(RANGE, frame.color_range, context.color_range),
            frames=clock.frames,
            frames_promised=max(0, stream.frames),
            duration_s=duration_s,
            start_timecode=self._timecode(),
            black=black,
            frozen=frozen,
        )

    def _timecode(self) -> str:
        places = [self.container.metadata, *(stream.metadata for stream in self.container.streams)]
        found = next((place["timecode"] for place in places if place.get("timecode")), "")
        return one_line(found, 16) if found else ""

    def _captions(self) -> tuple[CaptionTrack, ...]:
        return tuple(
            CaptionTrack(
                one_line(stream.codec_context.codec.canonical_name if stream.codec_context else "unknown", 40),
                language,
            )
            for stream in self.container.streams.subtitles
            for language in [stream.metadata.get("language", "")[:8].replace("und", "")]
        )

    def _sound_starts(self) -> Fraction:
        starts = [self.tracks[stream.index].track(Fraction(0)).starts_s for stream in self.sounds]
        return min(starts, default=Fraction(0))

    def _tell_damage(self, picture: Picture | None) -> None:
        if self.bad:
            most, _ = self.bad.most_common(1)[0]
            self.damage.append(f"{self.bad.total()} pieces could not be decoded ({most})")
        if self.corrupt:
            self.damage.append(f"{self.corrupt} frames were decoded with errors in them")
        if self.sizes:
            self.damage.append(f"{self.sizes} frames have another size than the first")
        changes = sum(watch.changes for watch in self.tracks.values())
        if changes:
            self.damage.append(f"the sound changes its channels {changes} times on the way")
        if picture:
            there = picture.frames + self.discarded
            if there < picture.frames_promised:
                self.damage.append(f"the header promises {picture.frames_promised} frames, {there} are there")
        ends = [watch.ended_s for watch in self.tracks.values()]
        if picture and self.clock:
            ends.append(self.clock.first_s + picture.duration_s)
        promised_s = Fraction(self.container.duration or 0, 1_000_000)
        declares = self.container.format.name.split(",")[0] in (
            "mov",
            "matroska",
            "mxf",
            "wav",
            "w64",
            "aiff",
            "flac",
        )
        whole = self.sound and not self.container.streams.subtitles
        if declares and whole and max(ends) + SHORT_S < promised_s:
            self.damage.append(f"the header promises {seconds(promised_s)}, the file ends after {seconds(max(ends))}")
        promised_bytes = _promised_bytes(self.source)
        if promised_bytes > self.source.size_bytes:
            self.damage.append(f"the header promises {promised_bytes} bytes, {self.source.size_bytes} are there")
        for number, stream in enumerate(self.sounds, start=1):
            if not self.tracks[stream.index].samples:
                self.damage.append(f"nothing of sound track {number} can be decoded")


def _promised_bytes(source: Source) -> int:
    """How long a RIFF or IFF file says it is (WAV, AVI, AIFF); 0 for others and where the length was left open."""
    source.seek(0)
    head = source.read(8)
    order: Literal["little", "big"] = "little" if head[:4] == b"RIFF" else "big"
    size = int.from_bytes(head[4:8], order)
    return size + 8 if head[:4] in (b"RIFF", b"FORM") and size < 0xFFFF_FFFF else 0


def _tag(names: dict[int, str], *codes: int) -> str:
    """The first of the codes that says something, by name."""
    return next((names[int(code)] for code in codes if int(code) in names), "unsaid")
