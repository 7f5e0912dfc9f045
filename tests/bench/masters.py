"""How much looking at a film costs over decoding it. Run it by itself: python tests/bench/masters.py

Looking means decoding once and feeding every check on the way: black, frozen and combed frames, silence, loudness,
true peak and the checksum. The goal is a factor near 1 over a bare decode of the same file with the same library and
threads. Wall time depends on what else the machine does, so processor time is printed too: the best of the runs, each
taken in turn.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np

from bizkit.masters.film import look_at_film
from bizkit.masters.look import look
from bizkit.masters.source import Source

SECONDS = 8
RUNS = 3
FILMS = {
    "H.264, 20 Mbit/s": ("web.mp4", "libx264", "yuv420p", {"preset": "superfast", "b": "20M"}, "aac"),
    "HEVC 10 bit, 12 Mbit/s": (
        *("uhd.mp4", "libx265", "yuv420p10le"),
        *({"preset": "ultrafast", "b": "12M", "x265-params": "log-level=none"}, "aac"),
    ),
    "ProRes 422 HQ": ("master.mov", "prores_ks", "yuv422p10le", {"profile": "3"}, "pcm_s24le"),
}


def write(path: Path, codec: str, pixels: str, options: dict[str, str], sound_codec: str) -> None:
    """A moving, grainy film of 1920 x 1080 at 25 frames a second with stereo sound."""
    graph = av.filter.Graph()
    source = graph.add("testsrc2", f"size=1920x1080:rate=25:duration={SECONDS}")
    chain = [source, graph.add("noise", "alls=14:allf=t"), graph.add("format", pixels), graph.add("buffersink")]
    graph.link_nodes(*chain).configure()
    with av.open(str(path), "w") as container:
        picture = container.add_stream(codec, rate=25, options=options)
        picture.width, picture.height, picture.pix_fmt = 1920, 1080, pixels
        sound = container.add_stream(sound_codec, rate=48000, layout="stereo")
        resampler = av.AudioResampler(format=sound.codec_context.format.name, layout="stereo", rate=48000)
        wave = np.random.default_rng(1).uniform(-0.1, 0.1, (2, 48000)).astype(np.float32)
        for number in range(SECONDS * 25):
            container.mux(picture.encode(graph.vpull()))
            if number % 25 == 0:
                for start in range(0, 48000, 1000):
                    part = np.ascontiguousarray(wave[:, start : start + 1000])
                    frame = av.AudioFrame.from_ndarray(part, format="fltp", layout="stereo")
                    frame.sample_rate, frame.pts = 48000, number // 25 * 48000 + start
                    for resampled in resampler.resample(frame):
                        container.mux(sound.encode(resampled))
        container.mux(picture.encode())
        container.mux(sound.encode())


def decode(path: Path) -> None:
    """The bare decode: every frame, nothing done with it."""
    with av.open(str(path)) as container:
        for stream in container.streams:
            stream.thread_type = "AUTO"
        for packet in container.demux():
            packet.decode()


def look_inside(path: Path) -> None:
    """All checks, without the start of the watched process."""
    with Source(path, lambda done, of: None) as source:
        look_at_film(source)


def best(actions: list[Callable[[Path], object]], path: Path) -> list[tuple[float, float]]:
    """Least wall and processor seconds of each action on `path`, over runs taken in turn."""
    found = [(float("inf"), float("inf"))] * len(actions)
    for _ in range(RUNS):
        for number, action in enumerate(actions):
            wall, busy = time.perf_counter(), time.process_time()
            action(path)
            wall, busy = time.perf_counter() - wall, time.process_time() - busy
            found[number] = (min(found[number][0], wall), min(found[number][1], busy))
    return found


def main() -> None:
    """Print one line per film."""
    print(f"{SECONDS} s, 1920 x 1080, 25 fps     decode s   look: wall   cpu   whole call: wall   x real time")
    with tempfile.TemporaryDirectory() as folder:
        for name, (file, *how) in FILMS.items():
            path = Path(folder) / file
            write(path, *how)
            bare, inside, whole = best([decode, look_inside, look], path)
            print(
                f"{name:<30} {bare[0]:8.2f} {inside[0] / bare[0]:10.2f} x {inside[1] / bare[1]:5.2f} x"
                f" {whole[0] / bare[0]:14.2f} x {SECONDS / whole[0]:13.1f}"
            )
            path.unlink()


if __name__ == "__main__":
    main()
