"""What the numbers inside media files stand for, in the names `bizkit.domain.work.facts` uses."""

from __future__ import annotations

from av.container import InputContainer
from av.video.format import VideoFormat

from bizkit.masters.source import Source

#: Code points of ISO/IEC 23091-2 (the same as ITU-T H.273), as FFmpeg numbers them too.
PRIMARIES = {
    1: "bt709",
    4: "bt470m",
    5: "bt601_625",
    6: "bt601_525",
    7: "smpte240m",
    8: "film",
    9: "bt2020",
    10: "xyz",
    11: "p3_dci",
    12: "p3_d65",
    22: "ebu3213",
}
TRANSFER = {
    1: "bt709",
    4: "gamma22",
    5: "gamma28",
    6: "bt601",
    7: "smpte240m",
    8: "linear",
    11: "xvycc",
    13: "srgb",
    14: "bt2020_10",
    15: "bt2020_12",
    16: "pq",
    17: "dci",
    18: "hlg",
}
MATRIX = {
    0: "rgb",
    1: "bt709",
    4: "fcc",
    5: "bt601_625",
    6: "bt601_525",
    7: "smpte240m",
    8: "ycgco",
    9: "bt2020",
    10: "bt2020_constant",
    14: "ictcp",
}
RANGE = {1: "limited", 2: "full"}


def chroma_of(form: VideoFormat) -> str:
    """Chroma sampling of a pixel format: "4:2:0", "4:2:2", "4:4:4", "rgb", "grey" or its FFmpeg name."""
    if form.is_rgb:
        return "rgb"
    if len([part for part in form.components if not part.is_alpha]) == 1:
        return "grey"
    wide, high = form.chroma_width(64), form.chroma_height(64)
    return {(64, 64): "4:4:4", (32, 64): "4:2:2", (32, 32): "4:2:0", (16, 64): "4:1:1", (64, 32): "4:4:0"}.get(
        (wide, high), form.name
    )


def container_of(container: InputContainer, source: Source) -> str:
    """The wrapper's plain name: mov and mp4, webm and matroska are told apart by what the file says of itself."""
    name = container.format.name
    if name.startswith("mov"):
        return "mov" if container.metadata.get("major_brand", "qt  ").startswith("qt") else "mp4"
    if name.startswith("matroska"):
        source.seek(0)
        return "webm" if b"webm" in source.read(64) else "matroska"
    return name
