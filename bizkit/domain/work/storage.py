"""How much a shoot fills: cards for a day, drives for the job, from minutes x bit rate, with the working.

Sizes are in GB of 1,000,000,000 bytes, as cards and drives are sold (SI prefixes). Bit rates are in Mbit/s of
1,000,000 bits. Bytes are whole numbers, rounded up.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, TypedDict

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import plain, round_half_away
from bizkit.domain.pricing.working import Working, WorkingData
from bizkit.domain.work.spec import rate_of, rate_text

GB = 10**9


@dataclass(frozen=True, slots=True)
class Rushes:
    """What one camera or recorder fills.

    minutes_per_day: recorded, not worked. bit_rate_mbit: at `stated_rate` frames a second; at `frame_rate` it grows
    in proportion (common practice: makers state one bit rate a frame rate). Both rates None: the bit rate as it is.
    """

    title: Annotated[str, Key("The camera or recorder.", example="Underwater camera")]
    minutes_per_day: Annotated[Decimal, Key("Recorded a day, not worked.", "minutes", most=1440, example=80)]
    bit_rate_mbit: Annotated[Decimal, Key("As its maker states it.", "Mbit/s", most=10**6, example=240)]
    days: Annotated[int, Key("How long it records.", "days", least=1, most=3660)] = 1
    stated_rate: Annotated[
        Fraction | None,
        Key(
            "Frames a second that the bit rate is stated for.",
            name="for_frame_rate",
            written=str,
            rule=rate_of,
            example="25",
        ),
    ] = None
    frame_rate: Annotated[
        Fraction | None, Key("Frames a second it records.", written=str, rule=rate_of, example="50")
    ] = None

    def settled(self, at: Table) -> "Rushes":
        """A bit rate grows from one frame rate to another."""
        if (self.stated_rate is None) != (self.frame_rate is None):
            at.problem("frame_rate", "both for_frame_rate and frame_rate, or neither", "one of them")
        return self

    @property
    def growth(self) -> Fraction:
        """How much the bit rate grows by the frame rate."""
        if self.stated_rate is None or self.frame_rate is None:
            return Fraction(1)
        return self.frame_rate / self.stated_rate

    @property
    def bytes_per_day(self) -> int:
        """Whole bytes a day, rounded up."""
        bits = Fraction(self.minutes_per_day) * 60 * Fraction(self.bit_rate_mbit) * 10**6 * self.growth
        return _up(bits / 8)

    @property
    def working(self) -> Working:
        """minutes x bit rate = bytes a day."""
        grown = ""
        if self.frame_rate is not None and self.stated_rate is not None:
            grown = f" x {rate_text(self.frame_rate)}/{rate_text(self.stated_rate)} frames a second"
        text = (
            f"{self.title}: {plain(self.minutes_per_day)} min x 60 s x {plain(self.bit_rate_mbit)} Mbit/s{grown} / 8 "
            f"= {gb_text(self.bytes_per_day)} GB a day"
        )
        return Working(text, "storage.rushes", source="arithmetic", inputs=(("bytes", str(self.bytes_per_day)),))


@dataclass(frozen=True, slots=True)
class StorageTerms:
    """How the studio stores: size of a card and a drive in GB, copies kept of everything (three by default: common
    practice, one of them in another place), and room left over in percent.
    """

    card_gb: Annotated[Decimal, Key("Size of a card.", "GB", most=10**6, above=0, example=512)]
    drive_gb: Annotated[Decimal, Key("Size of a drive.", "GB", most=10**6, above=0, example=4000)]
    copies: Annotated[int, Key("Copies kept of everything.", least=1, most=20)] = 3
    spare_percent: Annotated[Decimal, Key("Room left over.", "percent", most=1000)] = Decimal(10)


@dataclass(frozen=True, slots=True)
class StorageEstimate:
    """cards: title -> cards to fill in a day, emptied every night. bytes_total: of one copy of the whole job.
    drives: for each copy. working: how it came about.
    """

    cards: tuple[tuple[str, int], ...]
    bytes_per_day: int
    bytes_total: int
    drives: int
    copies: int
    working: Working

    def data(self) -> "StorageData":
        """As JSON-ready data."""
        return {
            "cards": dict(self.cards),
            "gb_per_day": gb_text(self.bytes_per_day),
            "gb_total": gb_text(self.bytes_total),
            "drives": self.drives,
            "copies": self.copies,
            "working": self.working.data(),
        }


def estimate_storage(rushes: list[Rushes], terms: StorageTerms) -> StorageEstimate:
    """Cards a day and drives for the job. Raises BadInput for no rushes or two of the same title.

    bytes_per_day adds up all rushes, as on a day when everything runs.
    """
    if not rushes:
        raise BadInput(wanted="one [[rushes]] or more", got="none", field="rushes")
    titles = [each.title for each in rushes]
    twice = next((title for title in titles if titles.count(title) > 1), None)
    if twice is not None:
        raise BadInput(wanted="each title once", got=f"{twice} twice", field="rushes.title")
    room = 1 + Fraction(terms.spare_percent) / 100
    cards = tuple((each.title, _up(each.bytes_per_day * room / (Fraction(terms.card_gb) * GB))) for each in rushes)
    per_day = sum(each.bytes_per_day for each in rushes)
    whole = sum(each.bytes_per_day * each.days for each in rushes)
    drives = _up(whole * room / (Fraction(terms.drive_gb) * GB))
    spare = f" + {plain(terms.spare_percent)}% room" if terms.spare_percent else ""
    parts = [each.working for each in rushes]
    for (title, count), each in zip(cards, rushes, strict=True):
        parts.append(
            Working(
                f"{title}: {gb_text(each.bytes_per_day)} GB{spare} on cards of {plain(terms.card_gb)} GB = {count}",
                "storage.cards",
            )
        )
    text = (
        f"{gb_text(whole)} GB{spare} on drives of {plain(terms.drive_gb)} GB = {drives}, "
        f"x {terms.copies} {'copy' if terms.copies == 1 else 'copies'} = {drives * terms.copies}"
    )
    working = Working(text, "storage.drives", source="common practice", parts=tuple(parts))
    return StorageEstimate(cards, per_day, whole, drives, terms.copies, working)


def gb_text(size_bytes: int) -> str:
    """Bytes as GB with one decimal."""
    return plain(round_half_away(Decimal(size_bytes) / GB, 1))


def _up(number: Fraction) -> int:
    return -(-number.numerator // number.denominator)


class StorageData(TypedDict):
    """What a job needs to be stored, as JSON."""

    cards: dict[str, int]
    gb_per_day: str
    gb_total: str
    drives: int
    copies: int
    working: WorkingData
