"""Watching decoded frames go by: black, frozen and combed ones, and how evenly they come."""

from __future__ import annotations

from collections import Counter
from decimal import Decimal
from fractions import Fraction
from typing import Any

import av
import numpy as np
from numpy.typing import NDArray

from bizkit.domain.work.facts import Span
from bizkit.masters.spans import SpanKeeper

#: A pixel is dark up to this share of the range over black (the default of FFmpeg's blackdetect filter), and a frame
#: is black when all but this share of its pixels are dark: a small title on black is picture.
DARK = 0.10
LIT_MOST = 0.001
#: Two frames are the same picture when they differ by less than this share of the range on average (-60 dB, the
#: default of FFmpeg's freezedetect filter) and fewer than MOVED_MOST of the pixels moved by MOVED or more: a small
#: bird in a still sky is no freeze.
SAME = 0.001
MOVED = 0.05
MOVED_MOST = 0.0002
#: Shorter freezes are drawn animation or slow motion made by repeating frames.
FREEZE_LEAST_S = Fraction(1, 5)
#: Every so many frames one is searched for comb lines.
COMB_EVERY = 12
#: Rows looked at in each frame, about; columns in proportion.
ROWS = 90

#: Frame rates in use; what the time stamps say is taken for one of these when it is that one but for rounding.
RATES = tuple(
    sorted(
        [Fraction(whole) for whole in (12, 15, 16, 18, 24, 25, 30, 48, 50, 60, 72, 96, 100, 120)]
        + [Fraction(whole * 1000, 1001) for whole in (24, 30, 48, 60, 96, 120)]
    )
)

#: Brightness as signed whole numbers, so that differences do not wrap around.
Grid = NDArray[np.signedinteger[Any]]


class FrameClock:
    """How evenly frames come, from their time stamps in ticks of `tick_s`. Needs no memory of every frame."""

    def __init__(self, tick_s: Fraction, declared: Fraction | None) -> None:
        self._tick_s = tick_s
        self._declared = declared
        self._first: int | None = None
        self._last: int | None = None
        self._steps: Counter[int] = Counter()
        self._unstamped = 0
        self.frames = 0

    def frame(self, stamp: int | None) -> Fraction:
        """Takes the next frame in; its time in seconds after the first."""
        self.frames += 1
        if stamp is None:
            self._unstamped += 1
            return (self.frames - 1) / (self._declared or Fraction(25))
        if self._first is None:
            self._first = stamp
        if self._last is not None:
            step = stamp - self._last
            if step in self._steps or len(self._steps) < 1000:
                self._steps[step] += 1
            else:
                self._steps[max(self._steps)] += 1
        self._last = stamp
        return (stamp - self._first) * self._tick_s

    @property
    def first_s(self) -> Fraction:
        """Time stamp of the first frame, in seconds."""
        return (self._first or 0) * self._tick_s

    def _usual(self) -> tuple[int, int, int]:
        """Number and ticks of the steps that are as long as most, and the number of the others."""
        common = max(self._steps, key=lambda step: (self._steps[step], -step))
        usual = [step for step in self._steps if abs(step - common) <= _rounding(common) and step > 0]
        number = sum(self._steps[step] for step in usual)
        return number, sum(step * self._steps[step] for step in usual), self._steps.total() - number

    def rate(self) -> Fraction:
        """Frames a second, exact; what the header says when one frame or no time stamp is all there is."""
        number, ticks, _ = self._usual() if self._steps else (0, 0, 0)
        if not ticks or not self._tick_s:
            return self._declared or Fraction(0)
        measured = Fraction(number) / (ticks * self._tick_s)
        slack = Fraction(1, 50_000) + Fraction(_rounding(ticks // number), ticks)
        near = [rate for rate in RATES if abs(measured / rate - 1) <= slack]
        if self._declared in near:
            return self._declared or measured
        if near:
            return min(near, key=lambda rate: abs(rate - measured))
        if self._declared and abs(measured / self._declared - 1) <= slack:
            return self._declared
        return measured

    def uneven(self) -> int:
        """How many frames last longer or shorter than most, by more than the rounding of a time stamp."""
        return self._usual()[2] if self._steps else 0

    def duration_s(self) -> Fraction:
        """From the first frame to the end of the last."""
        rate = self.rate()
        if self._first is None or self._last is None or not self.uneven():
            return self.frames / rate if rate else Fraction(0)
        return (self._last - self._first) * self._tick_s + (1 / rate if rate else 0)


def _rounding(step: int) -> int:
    """Ticks by which one step may be off the true length of a frame: none where ticks are about as long as frames."""
    return 1 if step >= 4 else 0


class PictureWatch:
    """Finds black and frozen stretches and comb lines. One `frame()` a decoded frame, then `end()`."""

    def __init__(self) -> None:
        self.black = SpanKeeper(Fraction(0))
        self.frozen = SpanKeeper(FREEZE_LEAST_S)
        self.looked = 0
        self.combed = 0
        self._number = 0
        self._reference: Grid | None = None
        self._reference_s = Fraction(0)
        self._before: Grid | None = None

    def frame(self, frame: av.VideoFrame, at_s: Fraction) -> None:
        """Takes in the frame shown `at_s` seconds after the first."""
        luma, low, high = luma_of(frame)
        step = max(1, luma.shape[0] // ROWS)
        grid: Grid = luma[step // 2 :: step, step // 2 :: step].astype(np.int16 if luma.itemsize == 1 else np.int32)
        span = high - low
        dark = int(np.count_nonzero(grid > low + DARK * span)) <= LIT_MOST * grid.size
        if dark:
            self.black.inside(at_s)
        else:
            self.black.outside(at_s)
        if self._same(grid, span) and not dark:
            self.frozen.inside(self._reference_s)
        else:
            self.frozen.outside(at_s)
            self._reference, self._reference_s = grid, at_s
        self._comb(luma, span)
        self._number += 1

    def end(self, at_s: Fraction) -> tuple[tuple[Span, ...], tuple[Span, ...]]:
        """Black and frozen spans; `at_s` is the end of the last frame."""
        self.black.outside(at_s)
        self.frozen.outside(at_s)
        return self.black.spans(), self.frozen.spans()

    @property
    def combed_percent(self) -> Decimal:
        """Share of the frames searched for comb lines that show some, to 0.1."""
        return (
            Decimal(round(100 * self.combed / self.looked, 1)).quantize(Decimal("0.1")) if self.looked else Decimal(0)
        )

    def _same(self, grid: Grid, span: float) -> bool:
        if self._reference is None or self._reference.shape != grid.shape:
            return False
        off = np.abs(grid - self._reference)
        return (
            float(off.mean()) <= SAME * span and int(np.count_nonzero(off > MOVED * span)) <= MOVED_MOST * grid.size
        )

    def _comb(self, luma: NDArray[Any], span: float) -> None:
        """Comb lines: where things move, neighbouring lines (two fields) differ more than every other line (one)."""
        turn = self._number % COMB_EVERY
        if turn < COMB_EVERY - 2 or luma.shape[0] < 32 or luma.shape[1] < 32:
            return
        lines: Grid = luma[:, :: max(1, luma.shape[1] // 60)].astype(np.int16 if luma.itemsize == 1 else np.int32)
        if turn == COMB_EVERY - 2 or self._before is None or self._before.shape != lines.shape:
            self._before = lines
            return
        neighbours = _tiles(np.abs(lines[1:-1] - lines[:-2]))
        others = _tiles(np.abs(lines[2:] - lines[:-2]))
        moving = _tiles(np.abs(lines[1:-1] - self._before[1:-1]))
        combed = (neighbours > 2 * others) & (neighbours > 0.02 * span) & (moving > 0.02 * span)
        self.looked += 1
        self.combed += int(np.count_nonzero(combed) >= 0.02 * combed.size)
        self._before = None


def _tiles(lines: Grid) -> NDArray[np.float64]:
    """Means over a chequerboard of about 16 rows of 12 tiles."""
    high, wide = max(1, lines.shape[0] // 16), max(1, lines.shape[1] // 12)
    rows, columns = lines.shape[0] // high, lines.shape[1] // wide
    cut = lines[: rows * high, : columns * wide].reshape(rows, high, columns * wide).sum(axis=1, dtype=np.int32)
    means: NDArray[np.float64] = cut.reshape(rows, columns, wide).sum(axis=2) / (high * wide)
    return means


def luma_of(frame: av.VideoFrame) -> tuple[NDArray[Any], float, float]:
    """The brightness of every pixel, uncopied where the format allows, with the values of black and of white."""
    name, first = frame.format.name, frame.format.components[0]
    planar = (frame.format.is_planar and name.startswith(("yuv", "gbr"))) or name.startswith("gray")
    plane = frame.planes[0]
    if not planar or first.bits > 16 or plane.line_size <= 0:
        frame = frame.reformat(format="gray")
        name, first, plane = "gray", frame.format.components[0], frame.planes[0]
    wide = 1 if first.bits <= 8 else 2
    kind = np.dtype(np.uint8) if wide == 1 else np.dtype(">u2" if frame.format.is_big_endian else "<u2")
    rows = np.frombuffer(plane, kind, count=plane.height * plane.line_size // wide)  # type: ignore[call-overload]
    luma = rows.reshape(plane.height, plane.line_size // wide)[:, : plane.width]
    unit = 2.0 ** (first.bits - 8)
    full = frame.color_range == 2 or name.startswith(("yuvj", "gbr"))
    return luma, 0.0 if full else 16 * unit, 255 * unit if full else 235 * unit
