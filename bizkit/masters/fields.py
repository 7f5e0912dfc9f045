"""Which of the two fields of an interlaced picture is shown first, frame by frame, as its decoder says."""

from __future__ import annotations

from fractions import Fraction

import av
from av.filter.context import FilterContext

#: FFmpeg's field orders of a container. 4 and 5 say in which order the lines are stored too: QuickTime's `fiel` and
#: Matroska's FieldOrder write 9 where the top field comes first in interleaved lines and 14 where the bottom one does
#: (Apple, technical note TN2162, from memory; RFC 9559, 5.1.4.1.28.2, from memory; ffprobe and mediainfo agree).
CONTAINER = {2: "top_first", 3: "bottom_first", 4: "top_first", 5: "bottom_first"}
#: Codecs whose frames carry the flag themselves: without it they are progressive, whatever the container says.
FLAGGED = ("dnxhd", "dvvideo", "h264", "hevc", "mpeg2video", "prores", "vc1")
#: Codecs whose frames are flagged by a remark beside them (SEI): the order of the pictures themselves, which FFmpeg
#: gives as that of the container, goes before it.
REMARKED = ("h264", "hevc")


class FieldWatch:
    """Counts interlaced frames by the field shown first. One `frame()` a decoded frame, then `scan()`."""

    def __init__(self) -> None:
        self._progressive = self._top = self._bottom = 0
        self._form: tuple[int, int, str] | None = None
        self._source: FilterContext | None = None
        self._sink: FilterContext | None = None

    def frame(self, frame: av.VideoFrame) -> None:
        """Takes in the next frame."""
        if not frame.interlaced_frame:
            self._progressive += 1
        elif self._is_top_first(frame):
            self._top += 1
        else:
            self._bottom += 1

    def scan(self, codec: str, container_order: int) -> str:
        """progressive, top_first, bottom_first or mixed.

        container_order: as FFmpeg numbers it; heard where frames carry no flag of their own.
        """
        told = CONTAINER.get(container_order, "")
        if not self._top and not self._bottom:
            return told if told and codec not in FLAGGED else "progressive"
        if self._progressive:
            return "mixed"
        if told and codec in REMARKED:
            return told
        if self._top and self._bottom:
            return "mixed"
        return "top_first" if self._top else "bottom_first"

    def _is_top_first(self, frame: av.VideoFrame) -> bool:
        """PyAV does not hand the flag out: a filter that lets only such frames through does."""
        form = (frame.width, frame.height, frame.format.name)
        if form != self._form or self._source is None or self._sink is None:
            graph = av.filter.Graph()
            self._source = graph.add_buffer(
                width=frame.width, height=frame.height, format=frame.format, time_base=frame.time_base or Fraction(1)
            )
            gate = graph.add("select", "eq(interlace_type,TOPFIRST)")
            self._sink = graph.add("buffersink")
            graph.link_nodes(self._source, gate, self._sink)
            graph.configure()
            self._form, self._graph = form, graph
        self._source.push(frame)
        try:
            self._sink.pull()
        except (av.error.BlockingIOError, av.error.EOFError):
            return False
        return True
