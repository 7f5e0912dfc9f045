"""What happens to material shot at one frame rate on a timeline of another, and which shutter goes with a rate."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from bizkit.domain.errors import BadInput
from bizkit.domain.money import plain, round_half_away
from bizkit.domain.work.spec import rate_text

if TYPE_CHECKING:
    from bizkit.domain.documents.work import ConformFacts

#: Speeds with a name of their own.
_NAMED = {
    Fraction(1): "real time",
    Fraction(1, 2): "half speed",
    Fraction(1, 4): "a quarter of the speed",
    Fraction(2): "double speed",
}


@dataclass(frozen=True, slots=True)
class Conform:
    """Material of `material` frames a second laid frame by frame on a timeline of `timeline` frames a second.

    speed: of what is seen, 1 for real time. Every frame is kept.
    """

    material: Fraction
    timeline: Fraction

    @property
    def speed(self) -> Fraction:
        """Timeline over material: 1/2 is half speed, 1001/960 a little fast."""
        return self.timeline / self.material

    def lasts_s(self, shot_s: Fraction) -> Fraction:
        """Seconds on the timeline of `shot_s` seconds shot: longer when slowed down."""
        return shot_s / self.speed

    @property
    def every(self) -> int | None:
        """n where real time is had by keeping every nth frame; None where frames would have to be made up."""
        ratio = self.material / self.timeline
        return ratio.numerator if ratio.denominator == 1 else None

    @property
    def words(self) -> str:
        """The speed in words.

        >>> conform(Fraction(50), Fraction(25)).words
        'half speed'
        >>> conform(Fraction(24000, 1001), Fraction(25)).words
        '104.27% of the speed'
        """
        return _NAMED.get(self.speed, f"{_short(self.speed * 100)}% of the speed")

    def hints(self) -> tuple[str, ...]:
        """What to know before cutting, in whole sentences."""
        result = []
        if self.speed == 1:
            return (f"{rate_text(self.material)} frames a second fit the timeline as they are.",)
        seconds = _short(self.lasts_s(Fraction(10)))
        result.append(f"Frame by frame it plays at {self.words}: 10 s become {seconds} s.")
        if self.every is not None:
            result.append(f"For real time keep every {_ordinal(self.every)} frame.")
        elif abs(self.speed - 1) <= Fraction(1, 10):
            change = "faster" if self.speed > 1 else "slower"
            off = _short(abs(self.speed - 1) * 100)
            result.append(f"Sound runs {off}% {change} with it: change its speed too, and correct the pitch.")
        else:
            result.append("Real time needs frames that were never shot: blending or made-up frames show in motion.")
        if self.speed < 1 and self.every is not None:
            result.append("Sound is no use at this speed: record it apart or take it from another shot.")
        return tuple(result)


def conform_facts(one: Conform) -> ConformFacts:
    """What `hints` says, as figures for a page that says it in its own language; empty for what does not apply.

    percent: the speed. ten_s: what 10 s become. every: for real time keep one frame of so many. off: how much faster
    (or slower, below zero) sound runs, in percent, where little enough to be put right. made_up: "yes" where real
    time needs frames that were never shot. no_sound: "yes" where sound is no use.
    """
    off = (one.speed - 1) * 100
    near = one.every is None and abs(off) <= 10
    return {
        "percent": _short(one.speed * 100),
        "ten_s": _short(one.lasts_s(Fraction(10))),
        "every": str(one.every) if one.every is not None else "",
        "off": _short(off) if near else "",
        "made_up": "yes" if one.every is None and not near else "",
        "no_sound": "yes" if one.speed < 1 and one.every is not None else "",
        "shutter": shutter_text(shutter_s(one.material)),
    }


def conform(material: Fraction, timeline: Fraction) -> Conform:
    """How `material` frames a second lie on a `timeline`. Raises BadInput unless both are above zero."""
    for field, rate in (("material", material), ("timeline", timeline)):
        if not 0 < rate <= 100_000:
            raise BadInput(wanted="frames a second above 0", got=rate, field=field)
    return Conform(material, timeline)


def shutter_s(rate: Fraction, angle_degrees: Fraction = Fraction(180)) -> Fraction:
    """Exposure of one frame in seconds at a shutter angle: half the frame's time at 180 degrees (common practice).

    >>> shutter_s(Fraction(100))
    Fraction(1, 200)
    """
    if rate <= 0:
        raise BadInput(wanted="frames a second above 0", got=rate, field="rate")
    if not 0 < angle_degrees <= 360:
        raise BadInput(wanted="a shutter angle above 0 and up to 360 degrees", got=angle_degrees, field="angle")
    return angle_degrees / 360 / rate


def flickers(exposure_s: Fraction, mains_hz: int) -> bool:
    """Whether lamps on mains power may flicker: the exposure is no whole number of the lamp's pulses, two a cycle
    (common practice; lamps with their own electronics may differ, so test on the spot)."""
    if mains_hz not in (50, 60):
        raise BadInput(wanted="50 or 60 Hz", got=mains_hz, field="mains_hz")
    return (exposure_s * 2 * mains_hz).denominator != 1


def shutter_text(exposure_s: Fraction) -> str:
    """An exposure as 1/200 s, or 2/349 s where it is no whole part of a second."""
    return f"{exposure_s.numerator}/{exposure_s.denominator} s"


def _short(number: Fraction, digits: int = 2) -> str:
    return plain(round_half_away(Decimal(number.numerator) / Decimal(number.denominator), digits))


def _ordinal(number: int) -> str:
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th") if number % 100 not in (11, 12, 13) else "th"
    return {2: "second", 3: "third", 4: "fourth"}.get(number, f"{number}{ending}")
