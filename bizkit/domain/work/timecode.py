"""Timecode: a name for every frame of a day, by SMPTE ST 12-1.

Written HH:MM:SS:FF. At 30000/1001 frames a second thirty names a second run slow by 3.6 s an hour; drop-frame
counting (written HH:MM:SS;FF) leaves out names, never frames: the first two of every minute that is no multiple of
ten. At 60000/1001 it leaves out four, at 120000/1001 eight.
"""

from __future__ import annotations

import re
from fractions import Fraction

from bizkit.domain.errors import BadInput

_FORM = re.compile(r"(\d{1,2})([:;])(\d{2})([:;])(\d{2})([:;])(\d{2,3})", re.ASCII)

_HOURS = 24


def names_per_second(rate: Fraction) -> int:
    """Frame names in a second of timecode: 30 for 30000/1001. Raises BadInput for a rate that timecode cannot count.

    A rate is whole, or whole x 1000/1001.
    """
    names = round(rate)
    if not 1 <= names <= 480 or rate not in (Fraction(names), Fraction(names * 1000, 1001)):
        raise BadInput(wanted="frames a second such as 25, 24000/1001 or 30000/1001", got=rate, field="frame_rate")
    return names


def can_drop(rate: Fraction) -> bool:
    """Whether drop-frame counting exists at `rate`: multiples of 30 names, slowed by 1000/1001."""
    names = names_per_second(rate)
    return names % 30 == 0 and rate != names


def frames_in_day(rate: Fraction, *, drop: bool = False) -> int:
    """Frame names in 24 hours of timecode."""
    names = names_per_second(rate)
    dropped = _dropped(rate) if drop else 0
    return _HOURS * (names * 3600 - dropped * 54)


def read_timecode(text: str, rate: Fraction, *, field: str = "timecode", where: str = "") -> int:
    """Number of the frame that `text` names at `rate` frames a second; 00:00:00:00 is frame 0.

    A semicolon before the frames means drop-frame. Raises BadInput for another form, a name past the end of its
    second, minute, hour or day, drop-frame at a rate that has none, and a name that drop-frame leaves out.

    >>> read_timecode("00:01:00;02", Fraction(30000, 1001))
    1800
    >>> read_timecode("00:01:00;00", Fraction(30000, 1001))
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: timecode: wanted a timecode that exists, got 00:01:00;00. Drop-frame leaves out \
frames 00..01 of this minute
    """
    names = names_per_second(rate)
    found = _FORM.fullmatch(text.strip())
    if not found:
        raise BadInput(wanted="a timecode as HH:MM:SS:FF or HH:MM:SS;FF", got=text, field=field, where=where)
    hours, minutes, seconds, frames = (int(found[number]) for number in (1, 3, 5, 7))
    drop = found[6] == ";"
    if hours >= _HOURS or minutes > 59 or seconds > 59 or frames >= names:
        raise BadInput(
            wanted=f"a timecode up to 23:59:59{found[6]}{names - 1:02d}", got=text, field=field, where=where
        )
    count = ((hours * 60 + minutes) * 60 + seconds) * names + frames
    if not drop:
        return count
    if not can_drop(rate):
        raise BadInput(
            wanted=f"a timecode with colons, as {rate} frames a second have no drop-frame",
            got=text,
            field=field,
            where=where,
        )
    dropped = _dropped(rate)
    if seconds == 0 and frames < dropped and minutes % 10:
        raise BadInput(
            wanted="a timecode that exists",
            got=text,
            field=field,
            where=where,
            hint=f"Drop-frame leaves out frames 00..{dropped - 1:02d} of this minute",
        )
    whole_minutes = hours * 60 + minutes
    return count - dropped * (whole_minutes - whole_minutes // 10)


def write_timecode(frame: int, rate: Fraction, *, drop: bool = False) -> str:
    """The name of frame number `frame`. Raises BadInput outside one day, or for drop-frame at a rate without it.

    >>> write_timecode(1800, Fraction(30000, 1001), drop=True)
    '00:01:00;02'
    """
    names = names_per_second(rate)
    if drop and not can_drop(rate):
        raise BadInput(wanted="a rate such as 30000/1001 for drop-frame", got=rate, field="frame_rate")
    if not 0 <= frame < frames_in_day(rate, drop=drop):
        raise BadInput(wanted="a frame within one day of timecode", got=frame, field="frame")
    if drop:
        dropped = _dropped(rate)
        tens, rest = divmod(frame, 600 * names - 9 * dropped)
        # The first minute of each ten is whole; each of the other nine lacks `dropped` names.
        late_minutes = max(0, rest - dropped) // (60 * names - dropped)
        frame += dropped * (9 * tens + late_minutes)
    seconds, frames = divmod(frame, names)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    digits = len(str(names - 1)) if names > 100 else 2
    return f"{hours:02d}:{minutes:02d}:{seconds:02d}{';' if drop else ':'}{frames:0{digits}d}"


def seconds_at(frame: int, rate: Fraction) -> Fraction:
    """Real time from frame 0 to `frame`, in seconds."""
    return frame / rate


def frame_at(seconds: Fraction, rate: Fraction) -> int:
    """Number of the frame on screen `seconds` after frame 0 began."""
    return int(seconds * rate // 1)


def _dropped(rate: Fraction) -> int:
    """Names left out in a minute that drops: two for every thirty a second."""
    return names_per_second(rate) // 15
