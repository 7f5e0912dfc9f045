"""Films such as cameras and mixing desks write, made here: two fields a frame, channels in film order."""

from __future__ import annotations

import struct
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

RATE_HZ = 48_000

#: CoreAudio channel layout tags (CoreAudioBaseTypes.h, from memory) -> the order in which the channels lie.
CHANNEL_TAGS = {
    (121 << 16) | 6: "L R C LFE Ls Rs",
    (122 << 16) | 6: "L R Ls Rs C LFE",
    (123 << 16) | 6: "L C R Ls Rs LFE",
    (124 << 16) | 6: "C L R Ls Rs LFE",
    (125 << 16) | 7: "L R C LFE Ls Rs Cs",
    (128 << 16) | 8: "L R C LFE Ls Rs Rls Rrs",
}


def write_fields(path: Path, codec: str, first: str, *, wide: int, high: int, pixels: str, **options: str) -> Path:
    """A film of 25 frames a second with two moments in each, that of the field `first` ("top", "bottom") before."""
    field = np.random.default_rng(1).integers(40, 200, (high + 80, wide), dtype=np.uint8)
    moments = [field[4 * number :][:high] for number in range(20)]
    with av.open(str(path), "w") as container:
        picture = container.add_stream(codec, rate=25, options={"flags": "+ildct+ilme", **options})
        picture.width, picture.height, picture.pix_fmt = wide, high, pixels
        graph = av.filter.Graph()
        source = graph.add_buffer(width=wide, height=high, format="yuv420p", time_base=Fraction(1, 25))
        flag = graph.add("setfield", "tff" if first == "top" else "bff")
        form, sink = graph.add("format", f"pix_fmts={pixels}"), graph.add("buffersink")
        graph.link_nodes(source, flag, form, sink).configure()
        for number in range(10):
            before, after = moments[2 * number : 2 * number + 2]
            woven = before.copy()
            woven[(1 if first == "top" else 0) :: 2] = after[(1 if first == "top" else 0) :: 2]
            luma = np.vstack([woven, np.full((high // 2, wide), 128, np.uint8)])
            frame = av.VideoFrame.from_ndarray(luma, "yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, 25)
            graph.push(frame)
            container.mux(picture.encode(graph.pull()))
        container.mux(picture.encode())
    return path


def patch(path: Path, mark: bytes, at: int, value: bytes) -> None:
    """Writes `value` into the QuickTime atom `mark`, `at` bytes behind its name."""
    data = bytearray(path.read_bytes())
    place = data.index(mark) + 4 + at
    data[place : place + len(value)] = value
    path.write_bytes(data)


def write_channels(
    path: Path, levels_dbfs: Sequence[float | None], *, codec: str = "pcm_s24le", tag: int = 0, seconds: float = 2
) -> Path:
    """A small film in grey with a track that has a sine in each channel at its level, None for silence.

    tag: the CoreAudio layout tag that its `chan` atom is given.
    """
    count = len(levels_dbfs)
    layout = {6: "5.1", 7: "6.1", 8: "7.1"}[count]
    at = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    sine = np.sin(2 * np.pi * 1000 * at)
    waves = np.stack([sine * (0 if level is None else 10 ** (level / 20)) for level in levels_dbfs])
    with av.open(str(path), "w") as container:
        picture = container.add_stream("libx264", rate=25, options={"preset": "ultrafast"})
        picture.width, picture.height, picture.pix_fmt = 320, 180, "yuv420p"
        sound = container.add_stream(codec, rate=RATE_HZ, layout=layout)
        for number in range(round(seconds * 25)):
            frame = av.VideoFrame.from_ndarray(np.full((270, 320), 90 + number % 40, np.uint8), "yuv420p")
            frame.pts, frame.time_base = number, Fraction(1, 25)
            container.mux(picture.encode(frame))
        container.mux(picture.encode())
        for start in range(0, waves.shape[1], 1024):
            block = _packed(waves[:, start : start + 1024], layout)
            block.sample_rate, block.pts, block.time_base = RATE_HZ, start, Fraction(1, RATE_HZ)
            container.mux(sound.encode(block))
        container.mux(sound.encode())
    if tag:
        patch(path, b"chan", 4, struct.pack(">II", tag, 0))
    return path


def _packed(waves: Any, layout: str) -> av.AudioFrame:
    return av.AudioFrame.from_ndarray(np.ascontiguousarray(waves.T.reshape(1, -1).astype(np.float32)), "flt", layout)


def with_captions(film: Path, path: Path, language: str) -> Path:
    """A copy of an MP4 film with one caption inside it, in a language given by its code of three letters."""
    with av.open(str(film)) as source, av.open(str(path), "w") as target:
        streams = {stream.index: target.add_stream_from_template(stream) for stream in source.streams}
        captions = target.add_stream("mov_text")
        captions.metadata["language"] = language
        captions.codec_context.subtitle_header = b""
        for packet in source.demux():
            if packet.dts is not None:
                packet.stream = streams[packet.stream_index]
                target.mux(packet)
        words = b"The trail"
        cue = av.Packet(struct.pack(">H", len(words)) + words)
        cue.stream, cue.time_base, cue.pts, cue.dts, cue.duration = captions, Fraction(1, 1000), 100, 100, 600
        target.mux(cue)
    return path
