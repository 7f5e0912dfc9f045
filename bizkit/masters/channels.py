"""In which order the channels of a track lie, told to its decoder in a form that is safe to decode.

QuickTime writes channels in any order: film order (L C R Ls Rs LFE), backs behind sides, eight times "discrete".
PyAV 18.1 frees such an order once a frame; a decoder that is told one of FFmpeg's own layouts before it opens decodes
the same samples, and the order is kept here.
"""

from __future__ import annotations

from dataclasses import dataclass

import av

#: FFmpeg's speakers in the order of its own layouts (libavutil/channel_layout.h, from memory).
SPEAKERS = (
    *("FL", "FR", "FC", "LFE", "BL", "BR", "FLC", "FRC", "BC", "SL", "SR", "TC", "TFL", "TFC", "TFR", "TBL", "TBC"),
    *("TBR", "DL", "DR", "WL", "WR", "SDL", "SDR", "LFE2", "TSL", "TSR", "BFC", "BFL", "BFR"),
)


@dataclass(frozen=True, slots=True)
class ChannelOrder:
    """The order of one track. speakers: names in the order of the file; empty where it is the usual one or unnamed.

    usual: the same names in the order of FFmpeg's layouts. moves: for each of these the number, from 0, of the
    channel in the file.
    """

    speakers: tuple[str, ...] = ()
    usual: tuple[str, ...] = ()
    moves: tuple[int, ...] = ()


def settle_order(stream: av.AudioStream) -> ChannelOrder:
    """Read the order of a track once and give its decoder a layout of its own, before anything else asks for it."""
    context = stream.codec_context
    # Read once and kept until replaced: what is read shares its memory with the decoder until then.
    found = context.layout
    names = tuple(channel.name for channel in found.channels)
    if not names or context.is_open:
        return ChannelOrder()
    if len(set(names)) < len(names) or not set(names) <= set(SPEAKERS):
        context.layout = av.AudioLayout(f"{len(names)} channels")
        return ChannelOrder()
    usual = tuple(sorted(names, key=SPEAKERS.index))
    context.layout = av.AudioLayout("+".join(usual))
    return ChannelOrder() if names == usual else ChannelOrder(names, usual, tuple(map(names.index, usual)))
