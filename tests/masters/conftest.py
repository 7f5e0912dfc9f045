"""Small real films, sounds and photographs, made right and made wrong."""

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

from bizkit.domain.work.facts import Facts
from bizkit.masters.child import look_at
from bizkit.masters.source import Source

RATE_HZ = 48_000


def tone(seconds: float, dbfs: float = -23.0, hertz: float = 1000.0, rate: int = RATE_HZ, channels: int = 2) -> Any:
    """A sine whose peaks reach `dbfs`, one row a channel."""
    at = np.arange(round(seconds * rate)) / rate
    return np.stack([10 ** (dbfs / 20) * np.sin(2 * np.pi * hertz * at)] * channels)


def silence(seconds: float, channels: int = 2, rate: int = RATE_HZ) -> Any:
    """Digital zeros."""
    return np.zeros((channels, round(seconds * rate)))


def moving(frames: int, wide: int = 320, high: int = 180, seed: int = 1) -> Iterator[Any]:
    """Luma of a picture that drifts: something new in every part of every frame."""
    field = np.kron(
        np.random.default_rng(seed).integers(40, 200, (high // 8 + 80, wide // 8 + 80), dtype=np.uint8),
        np.ones((8, 8), np.uint8),
    )
    for number in range(frames):
        yield field[number % 300 :, 2 * number % 300 :][:high, :wide]


def flat(frames: int, level: int, wide: int = 320, high: int = 180) -> Iterator[Any]:
    """Luma of one grey; 16 is black."""
    for _ in range(frames):
        yield np.full((high, wide), level, np.uint8)


def combed(frames: int, wide: int = 320, high: int = 180) -> Iterator[Any]:
    """Two moments woven into each frame, as an interlaced camera does."""
    moments = list(moving(2 * frames, wide, high))
    for number in range(frames):
        woven = moments[2 * number].copy()
        woven[1::2] = moments[2 * number + 1][1::2]
        yield woven


def write_film(
    path: Path,
    luma: Sequence[Any] | Iterator[Any],
    sound: Sequence[Any] = (),
    *,
    rate: str = "25",
    codec: str = "libx264",
    pixels: str = "yuv420p",
    options: dict[str, str] | None = None,
    wrapper_options: dict[str, str] | None = None,
    sound_codec: str = "aac",
    layout: str = "",
    stamps: Callable[[int], int] = lambda number: number,
    sound_from_s: Fraction = Fraction(0),
    metadata: dict[str, str] | None = None,
    tags: dict[str, int] | None = None,
    pixel_shape: Fraction | None = None,
    turned: int = 0,
    language: str = "",
) -> Path:
    """Writes `luma` frames and each array of `sound` as a track of its own; the wrapper by the ending of `path`."""
    frames = list(luma)
    high, wide = frames[0].shape if frames else (0, 0)
    with av.open(str(path), "w", options=wrapper_options or {}) as container:
        container.metadata.update(metadata or {})
        if frames:
            base = {"preset": "ultrafast", "crf": "18"} if codec in ("libx264", "libx265") else {}
            if codec == "libx265":
                base["x265-params"] = "log-level=none"
            picture = container.add_stream(codec, rate=Fraction(rate), options={**base, **(options or {})})
            picture.width, picture.height, picture.pix_fmt = wide, high, pixels
            picture.codec_context.time_base = 1 / Fraction(rate)
            if pixel_shape:
                picture.codec_context.sample_aspect_ratio = pixel_shape
            for name, code in (tags or {}).items():
                setattr(picture.codec_context, name, code)
            if turned:
                picture.set_display_rotation(turned)
        tracks = []
        for samples in sound:
            form = layout or {1: "mono", 2: "stereo", 6: "5.1"}[samples.shape[0]]
            track = container.add_stream(sound_codec, rate=RATE_HZ, layout=form)
            if language:
                track.metadata["language"] = language
            tracks.append((track, samples, form))
        for number, plane in enumerate(frames):
            container.mux(picture.encode(_frame(plane, stamps(number), pixels, 1 / Fraction(rate), tags)))
        if frames:
            container.mux(picture.encode())
        # Tracks side by side, as real files have them.
        longest = max((samples.shape[1] for _, samples, _ in tracks), default=0)
        block = RATE_HZ // 10 if sound_codec.startswith("pcm_") else 1024
        for start in range(0, longest, block):
            for track, samples, form in tracks:
                part = samples[:, start : start + block]
                if part.shape[1]:
                    shift = round(sound_from_s * RATE_HZ)
                    container.mux(track.encode(_sound(part, start + shift, form, track.codec_context.format.name)))
        for track, _, _ in tracks:
            container.mux(track.encode())
    return path


def _frame(plane: Any, stamp: int, pixels: str, tick: Fraction, tags: dict[str, int] | None) -> av.VideoFrame:
    high, wide = plane.shape
    whole = np.vstack([plane, np.full((high // 2, wide), 128, np.uint8)])
    frame = av.VideoFrame.from_ndarray(whole, format="yuv420p")
    if pixels != "yuv420p":
        frame = frame.reformat(format=pixels)
    frame.pts, frame.time_base = stamp, tick
    for name, code in (tags or {}).items():
        setattr(frame, name, code)
    return frame


def _sound(part: Any, stamp: int, layout: str, form: str) -> av.AudioFrame:
    whole = {"s16": np.int16, "s16p": np.int16, "s32": np.int32, "s32p": np.int32}.get(form)
    if form == "u8":
        part = np.clip(np.round(part * 128) + 128, 0, 255).astype(np.uint8)
    if whole is not None:
        part = np.clip(np.round(part * -float(np.iinfo(whole).min)), np.iinfo(whole).min, np.iinfo(whole).max)
    if form != "u8":
        part = part.astype(whole or np.float32)
    if not form.endswith("p"):
        part = part.T.reshape(1, -1)
    frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(part), format=form, layout=layout)
    frame.sample_rate, frame.pts, frame.time_base = RATE_HZ, stamp, Fraction(1, RATE_HZ)
    return frame


def seen(path: Path) -> Facts:
    """The facts of `path`, looked at in this process: what the watched process does, without its start."""
    with Source(path, lambda done, of: None) as source:
        facts = look_at(source)
    assert Facts.read(facts.data()) == facts
    return facts


@pytest.fixture
def film(tmp_path: Path) -> Callable[..., Facts]:
    """Writes a film as `write_film` does and looks at it."""

    def make(*arguments: Any, name: str = "film.mp4", **options: Any) -> Facts:
        return seen(write_film(tmp_path / name, *arguments, **options))

    return make
