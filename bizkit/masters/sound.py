"""Listening to decoded sound go by: silence, gaps, and loudness by EBU R 128."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any

import av
import numpy as np
from av.filter.context import FilterContext
from numpy.typing import NDArray

from bizkit.domain.work.facts import Loudness, Silence, Span, Track
from bizkit.masters.channels import ChannelOrder
from bizkit.masters.spans import SpanKeeper

#: Sample peaks under this are digital silence: room tone lies above it, a muted track far below.
SILENCE_DBFS = -72
SILENCE_LEVEL = 10 ** (SILENCE_DBFS / 20)
SILENCE_LEAST_S = Fraction(1, 10)
#: Time stamps may be rounded by some milliseconds; a hole longer than this is missing sound.
GAP_LEAST_S = Fraction(1, 50)
#: How far one of two tracks measured together may run ahead before the pair is given up.
LEAD_MOST_S = Fraction(30)
#: A loudness range of less sound than this says nothing.
RANGE_LEAST_S = Fraction(10)
#: From so many channels on PyAV 18.1 reads past the last plane of a planar frame: it is packed first.
PLANES_MOST = 7
#: Layouts whose channel weights ITU-R BS.1770 defines; the others are taken for separate channels, a mix on 1 and 2.
_LAYOUTS = (
    *("mono", "stereo", "downmix", "3.0", "5.0", "5.0(side)", "5.1", "5.1(side)", "5.1.2", "5.1.4"),
    *("6.1", "7.0", "7.1", "7.1(wide)", "7.1.2", "7.1.4"),
)
_PAIR = "pan=stereo|c0=c0|c1=c1"


class TrackWatch:
    """One sound track: where it is silent and where it has holes. One `frame()` a decoded frame, then `track()`."""

    def __init__(self, stream: av.AudioStream, order: ChannelOrder) -> None:
        self._stream = stream
        self._order = order
        self._packer: av.AudioResampler | None = None
        self._channels = max(1, stream.codec_context.channels)
        self._quiet = [SpanKeeper(SILENCE_LEAST_S) for _ in range(self._channels + 1)]
        self._peaks = np.zeros(self._channels)
        self._gaps: list[Span] = []
        self._first_s: Fraction | None = None
        self._end_s = Fraction(0)
        self.samples = 0
        self.changes = 0

    def frame(self, frame: av.AudioFrame) -> None:
        """Raises ValueError for samples in a form that cannot be read."""
        rate = frame.sample_rate
        if frame.layout.nb_channels != self._channels or rate <= 0 or frame.samples <= 0:
            self.changes += 1
            return
        at_s = self._end_s if frame.pts is None or frame.time_base is None else frame.pts * frame.time_base
        if self._first_s is None:
            self._first_s = at_s
        elif at_s - self._end_s > GAP_LEAST_S and len(self._gaps) < 200:
            self._gaps.append(Span(self._end_s, at_s))
        self._end_s = at_s + Fraction(frame.samples, rate)
        self.samples += frame.samples
        self._listen(_levels(self._packed(frame), self._channels), at_s, rate)

    def _packed(self, frame: av.AudioFrame) -> av.AudioFrame:
        if not frame.format.is_planar or self._channels <= PLANES_MOST:
            return frame
        if self._packer is None:
            self._packer = av.AudioResampler(format=frame.format.packed)
        (packed,) = self._packer.resample(frame)
        return packed

    def _listen(self, levels: NDArray[np.float32], at_s: Fraction, rate: int) -> None:
        block = max(1, rate // 100)
        peaks = np.maximum.reduceat(np.abs(levels), range(0, levels.shape[1], block), axis=1)
        np.maximum(self._peaks, peaks.max(axis=1), out=self._peaks)
        quiet = peaks < SILENCE_LEVEL
        if not quiet.any():
            for keeper in self._quiet:
                keeper.outside(at_s)
            return
        for keeper, flags in zip(self._quiet, (quiet.all(axis=0), *quiet), strict=True):
            if flags.all():
                keeper.inside(at_s)
                continue
            for number, is_quiet in enumerate(flags.tolist()):
                (keeper.inside if is_quiet else keeper.outside)(at_s + Fraction(number * block, rate))

    def track(self, origin_s: Fraction) -> Track:
        """What was heard; times counted from `origin_s`, the picture's first frame."""
        context = self._stream.codec_context
        codec = context.codec.canonical_name
        for keeper in self._quiet:
            keeper.outside(self._end_s)
        silences = [
            Silence(channel, _moved(span, origin_s))
            for channel, keeper in enumerate(self._quiet)
            for span in keeper.spans()
        ]
        silent = tuple(number for number, peak in enumerate(self._peaks.tolist(), start=1) if peak < SILENCE_LEVEL)
        return Track(
            codec="pcm" if codec.startswith("pcm_") else codec,
            channels=self._channels,
            layout=self._layout(),
            sample_rate_hz=context.sample_rate or 0,
            bit_depth=_bit_depth(codec, context.format.name if context.format else ""),
            language=_language(self._stream.metadata),
            starts_s=(self._first_s if self._first_s is not None else origin_s) - origin_s,
            ends_s=(self._end_s if self._first_s is not None else origin_s) - origin_s,
            silent_channels=silent if self.samples else tuple(range(1, self._channels + 1)),
            silences=tuple(silences),
            gaps=tuple(_moved(gap, origin_s) for gap in self._gaps),
        )

    def _layout(self) -> str:
        layout = layout_of(self._stream.codec_context)
        speakers = self._order.speakers
        return f"{layout}, in the order {' '.join(speakers)}" if speakers and kept_order(self._stream) else layout

    @property
    def ended_s(self) -> Fraction:
        """End of the last sample, by the file's own time stamps; zero when nothing was decoded."""
        return self._end_s


class LoudnessMeter:
    """Integrated loudness, loudness range and true peak of a programme, as FFmpeg's ebur128 filter measures them.

    Measured is the first track. A lone mono track counts as played by both speakers; two mono tracks are a pair; of
    a track with many unnamed channels, 1 and 2 count (common practice for the three).
    """

    def __init__(self, streams: Sequence[av.AudioStream], orders: Sequence[ChannelOrder]) -> None:
        self._ticks = [stream.time_base for stream in streams]
        layouts = [layout_of(stream.codec_context) for stream in streams]
        options = "metadata=1:peak=true:framelog=quiet"
        if layouts[:2] == ["mono", "mono"]:
            self.tracks, self.measured_on = 2, "tracks 1 and 2 as a stereo pair"
            self._chain = ["amerge=inputs=2", _PAIR]
        else:
            self.tracks, self.measured_on = 1, "track 1" if len(streams) > 1 else "the whole mix"
            if layouts[0] == "mono":
                options += ":dualmono=true"
                self.measured_on += ", mono on two speakers"
            self._chain = self._one_track(layouts[0], orders[0] if kept_order(streams[0]) else ChannelOrder())
        self._chain += [f"ebur128={options}", "abuffersink"]
        self._graph: av.filter.Graph | None = None
        self._inputs: list[FilterContext] = []
        self._sink: FilterContext | None = None
        self._pushed_s = [Fraction(0)] * self.tracks
        self._found: dict[str, str] = {}
        self.ended = False

    def _one_track(self, layout: str, order: ChannelOrder) -> list[str]:
        """Filters that bring the channels of a track into the order that its layout stands for."""
        if layout == "mono":
            return ["pan=mono|c0=c0"]
        moved = []
        if order.moves:
            moves = "|".join(map(str, order.moves))
            moved = [f"channelmap=map={moves}:channel_layout={'+'.join(order.usual)}"]
        if layout == "stereo":
            return [*moved, _PAIR]
        if layout in _LAYOUTS:
            return moved
        self.measured_on += ", left and right" if moved else ", channels 1 and 2"
        return [*moved, _PAIR]

    def _build(self, frame: av.AudioFrame) -> None:
        """The filters, once the first frame has shown what samples look like."""
        graph = av.filter.Graph()
        parts = [part.partition("=") for part in self._chain]
        chain = [graph.add(name, settings or None) for name, _, settings in parts]
        for number in range(self.tracks):
            source = graph.add_abuffer(
                sample_rate=frame.sample_rate,
                format=frame.format.name,
                layout=frame.layout.name,
                time_base=self._ticks[number] or Fraction(1, frame.sample_rate),
            )
            source.link_to(chain[0], 0, number)
            self._inputs.append(source)
        graph.link_nodes(*chain)
        graph.configure()
        self._graph, self._sink = graph, chain[-1]

    def push(self, track: int, frame: av.AudioFrame) -> None:
        """The next frame of `track`, counted from 0. Raises FFmpegError when the form changes on the way."""
        if self.ended:
            return
        self._pushed_s[track] += Fraction(frame.samples, frame.sample_rate or 1)
        if self._graph is None:
            self._build(frame)
        self._inputs[track].push(frame)
        self._drain()
        if max(self._pushed_s) - min(self._pushed_s) > LEAD_MOST_S:
            self.end()

    def end(self) -> None:
        """No more sound comes."""
        if not self.ended:
            self.ended = True
            for source in self._inputs:
                source.push(None)
            self._drain()

    def _drain(self) -> None:
        while self._sink is not None:
            try:
                frame = self._sink.pull()
            except (av.error.BlockingIOError, av.error.EOFError):
                return
            self._found = frame.metadata or self._found

    def loudness(self) -> Loudness:
        """The outcome, once ended. Levels to 0.01."""
        integrated = self._level("lavfi.r128.I")
        gated = integrated is None or integrated <= -70
        peak = _finite(self._found.get("lavfi.r128.true_peak", ""))
        return Loudness(
            integrated_lufs=None if gated else integrated,
            range_lu=None if gated or max(self._pushed_s) < RANGE_LEAST_S else self._level("lavfi.r128.LRA"),
            true_peak_dbtp=_hundredths(20 * math.log10(peak)) if peak else None,
            measured_on=self.measured_on,
        )

    def _level(self, name: str) -> Decimal | None:
        value = _finite(self._found.get(name, ""))
        return None if value is None else _hundredths(value)


def layout_of(context: av.AudioCodecContext) -> str:
    """FFmpeg's name of the channel layout; one or two unnamed channels are what they mostly are."""
    return {"1 channels": "mono", "2 channels": "stereo"}.get(context.layout.name, context.layout.name)


def kept_order(stream: av.AudioStream) -> bool:
    """Whether channels come out in the order of the file: those of PCM do, other decoders have one of their own."""
    return stream.codec_context.codec.canonical_name.startswith("pcm_")


def _finite(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _hundredths(value: float) -> Decimal:
    """A measured level as a decimal. The one place where a float becomes one."""
    return Decimal(f"{value:.2f}") + 0


def _levels(frame: av.AudioFrame, channels: int) -> NDArray[np.float32]:
    """Samples from -1 to 1, one row a channel."""
    samples: NDArray[Any] = frame.to_ndarray()
    if not frame.format.is_planar:
        samples = samples.reshape(-1, channels).T
    kind = samples.dtype
    levels: NDArray[np.float32] = samples.astype(np.float32)
    if kind == np.uint8:
        levels = (levels - np.float32(128)) / np.float32(128)
    elif kind.kind == "i":
        levels /= -float(np.iinfo(kind).min)
    return levels


def _bit_depth(codec: str, sample_format: str) -> int:
    """Bits a sample where the codec keeps them; 0 for those that do not (AAC, Opus...)."""
    if codec.startswith(("pcm_s", "pcm_u", "pcm_f")):
        digits = "".join(mark for mark in codec.removeprefix("pcm_")[1:3] if mark.isdigit())
        return int(digits) if digits else 0
    if codec in ("flac", "alac", "wavpack"):
        return 16 if sample_format.startswith("s16") else 24
    return 0


def _language(metadata: dict[str, str]) -> str:
    language = metadata.get("language", "")[:8]
    return "" if language == "und" else language


def _moved(span: Span, origin_s: Fraction) -> Span:
    return Span(span.starts_s - origin_s, span.ends_s - origin_s)
