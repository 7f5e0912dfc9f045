"""The `[usage]` table of a rate card: what a licence costs."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Annotated, Final

from bizkit.domain.errors import BadInput, suggest
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.usage_cover import MediaEntry, TerritoryEntry
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.territory import Territory

#: More entries than this make a card that nobody can read, and the cheapest cover slow.
MOST_TERRITORIES: Final = 12


def _above_zero(factors: Mapping[str, Decimal]) -> Mapping[str, Decimal]:
    for name, factor in factors.items():
        if not factor:
            raise BadInput(wanted="a factor above zero", got=factor, field=f".{name}")
    return factors


@dataclass(frozen=True, slots=True)
class BaseFees:
    """The card's [usage.base]: what a licence of one costs at all factors 1."""

    film: Annotated[Money | None, Key("Of one film.", example=600)] = None
    stills: Annotated[Money | None, Key("Of one still.", example=60)] = None
    archive_second: Annotated[Money | None, Key("Of each second of an archive clip.", example=12)] = None
    archive_clip_minimum: Annotated[Money | None, Key("Of one archive clip at least.", example=150)] = None


@dataclass(frozen=True, slots=True)
class ExclusivityKeys:
    """The card's [usage.exclusivity]: factors; those not named are not sold."""

    none: Annotated[Decimal, Key("Where others may get the same.", above=0, wanted="a factor above zero")] = Decimal(
        1
    )
    sector: Annotated[Decimal | None, Key("Where nobody else of one line of business may.", example=1.5)] = None
    sole: Annotated[Decimal | None, Key("Where nobody else at all may.", example=2.5)] = None


@dataclass(frozen=True, slots=True)
class BuyOut:
    """The card's [usage.buy_out]: every medium, the world, no end."""

    factor: Annotated[Decimal, Key("Of the base fee.", above=0, wanted="a factor above zero", example=12)]
    exclusivity: Annotated[str, Key("Exclusivity up to this is in it.", example="sole")] = "none"


@dataclass(frozen=True, slots=True)
class Renewal:
    """The card's [usage.renewal]."""

    percent: Annotated[Decimal, Key("Of the fee of the new term, for the same use again.", "percent", most=100)] = (
        Decimal(100)
    )
    minimum: Annotated[Money | None, Key("Least fee of a renewal or an extension.")] = None


_Factors = Mapping[str, Decimal]


@dataclass(frozen=True, slots=True)
class UsageTable:
    """The card's [usage] as it stands in the file."""

    base: Annotated[BaseFees, Key("What a licence of one costs at all factors 1.")]
    media: Annotated[_Factors, Key("Medium or branch = its factor.", example={"online": 1}, rule=_above_zero)]
    territory: Annotated[
        _Factors,
        Key("Phrase or code = its factor; each_country for any sold singly.", example={"World": 3}, rule=_above_zero),
    ]
    term: Annotated[
        _Factors, Key("Months = their factor, and open_end for no end.", example={"12": 1}, rule=_above_zero)
    ]
    minimum: Annotated[Money, Key("Least fee of a licence.", usual=0)]
    exclusivity: Annotated[ExclusivityKeys, Key("Factors of exclusivity.")] = ExclusivityKeys()
    buy_out: Annotated[BuyOut | None, Key("Everything, everywhere, without an end.")] = None
    renewal: Annotated[Renewal, Key("The same use again.")] = Renewal()


@dataclass(frozen=True, slots=True)
class UsageRates:
    """What a licence costs: base fees, and factors that multiply them.

    base: kind of deliverable ("film", "stills") -> fee for one, at all factors 1. archive_per_second: the same for
    each second of an archive clip, `archive_clip_minimum` for one clip at least; both None where not offered.
    media, territories: entries of the card. each_country: factor of any one country bought singly, None = not sold.
    term: (months, factor), rising; between two steps pro rata, below the first its factor, beyond the last on at the
    last slope, never above `open_end`. open_end: factor without an end, None = not sold.
    exclusivity: factor of "none", "sector", "sole"; those absent are not sold.
    buy_out: factor for every medium, the world and no end, with exclusivity up to `buy_out_exclusivity` included.
    renewal_percent: of the fee of the new term, for the same use again. renewal_minimum: least fee of a renewal or an
    extension. minimum: least fee of a licence.
    """

    currency: str
    base: Mapping[str, Money]
    archive_per_second: Money | None
    archive_clip_minimum: Money | None
    media: tuple[MediaEntry, ...]
    territories: tuple[TerritoryEntry, ...]
    each_country: Fraction | None
    term: tuple[tuple[int, Fraction], ...]
    open_end: Fraction | None
    exclusivity: Mapping[str, Decimal]
    buy_out: Fraction | None
    buy_out_exclusivity: str
    renewal_percent: Decimal
    renewal_minimum: Money
    minimum: Money

    @classmethod
    def of(cls, table: UsageTable, at: Table, tree: MediaTree = MEDIA_TREE) -> "UsageRates":
        """From the card's `[usage]` table; what is wrong is reported to `at`, the table itself."""
        nothing = Money(0, at.currency)
        per_second = table.base.archive_second
        term, open_end = _read_term(table.term, at.inside("term", {}))
        territories, each_country = _read_territories(table.territory, at)
        exclusivity = _read_exclusivity(table.exclusivity, at.inside("exclusivity", {}))
        buy_out, renewal = table.buy_out, table.renewal
        if buy_out is not None and buy_out.exclusivity not in exclusivity:
            wanted = f"one of {', '.join(sorted(exclusivity))}"
            at.problem("buy_out.exclusivity", wanted, buy_out.exclusivity, suggest(buy_out.exclusivity, exclusivity))
        if per_second is None and table.base.archive_clip_minimum is not None:
            at.problem("base.archive_clip_minimum", "archive_second to go with it", "none")
        fees = {"film": table.base.film, "stills": table.base.stills}
        return cls(
            currency=at.currency,
            base={kind: fee for kind, fee in fees.items() if fee is not None},
            archive_per_second=per_second,
            archive_clip_minimum=None if per_second is None else table.base.archive_clip_minimum or nothing,
            media=_read_media(table.media, at, tree),
            territories=territories,
            each_country=each_country,
            term=term,
            open_end=open_end,
            exclusivity=exclusivity,
            buy_out=None if buy_out is None else Fraction(buy_out.factor),
            buy_out_exclusivity="none" if buy_out is None else buy_out.exclusivity,
            renewal_percent=renewal.percent,
            renewal_minimum=renewal.minimum or nothing,
            minimum=table.minimum,
        )

    def months_factor(self, months: Fraction) -> Fraction:
        """The factor of `months` of use, not open-ended, as the ladder has it; without the first step's minimum.

        Concave: a longer term never costs less, nor more by the month.
        """
        points = [(Fraction(0), Fraction(0)), *((Fraction(step), factor) for step, factor in self.term)]
        for (start, low), (end, high) in pairwise(points):
            if months <= end:
                return low + (high - low) * (months - start) / (end - start)
        (start, low), (end, high) = points[-2:]
        beyond = high + (high - low) * (months - end) / (end - start)
        return beyond if self.open_end is None else min(beyond, self.open_end)


def _read_media(factors: Mapping[str, Decimal], at: Table, tree: MediaTree) -> tuple[MediaEntry, ...]:
    entries = []
    for name, factor in factors.items():
        try:
            leaves = tree.read([name])
        except BadInput as error:
            at.problem("media", error.wanted, error.got, error.hint)
            continue
        entries.append(MediaEntry(tree.labels(leaves)[0], leaves, Fraction(factor)))
    if not factors:
        at.problem("media", "a factor for one medium or more", "none")
    return tuple(entries)


def _read_territories(
    factors: Mapping[str, Decimal], at: Table
) -> tuple[tuple[TerritoryEntry, ...], Fraction | None]:
    each = factors.get("each_country")
    entries = []
    for name, factor in factors.items():
        if name == "each_country":
            continue
        try:
            entries.append(TerritoryEntry(name, Territory.read(name).codes, Fraction(factor)))
        except BadInput as error:
            at.problem("territory", error.wanted, error.got, error.hint)
    if not factors:
        at.problem("territory", "a factor for a territory", "none")
    if len(entries) > MOST_TERRITORIES:
        at.problem("territory", f"{MOST_TERRITORIES} territories at most", len(entries))
    return tuple(entries), None if each is None else Fraction(each)


def _read_term(factors: Mapping[str, Decimal], at: Table) -> tuple[tuple[tuple[int, Fraction], ...], Fraction | None]:
    steps: list[tuple[int, Fraction]] = []
    for name, factor in factors.items():
        if name == "open_end":
            continue
        if not name.isascii() or not name.isdigit() or int(name) < 1:
            at.problem(name, "a number of months or open_end", name)
            continue
        steps.append((int(name), Fraction(factor)))
    steps.sort()
    if not steps:
        at.problem("", "a factor for one length in months or more", "none")
        return (), None
    points = [(0, Fraction(0)), *steps]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        if after[0] == here[0]:
            at.problem(str(here[0]), "each length once", "twice")
            break
        if after[1] < here[1]:
            wanted = f"{_text(here[1])} or more, as a longer term never costs less"
            at.problem(str(after[0]), wanted, _text(after[1]))
        most = here[1] + (here[1] - before[1]) * (after[0] - here[0]) / (here[0] - before[0])
        if after[1] > most:
            hint = "Otherwise two short licences would cost less than one long one"
            wanted = f"{_text(most)} or less, as a longer term never costs more by the month"
            at.problem(str(after[0]), wanted, _text(after[1]), hint)
    open_end = Fraction(factors["open_end"]) if "open_end" in factors else None
    if open_end is not None and open_end < steps[-1][1]:
        at.problem("open_end", f"{_text(steps[-1][1])} or more, as no end never costs less", _text(open_end))
    return tuple(steps), open_end


def _text(factor: Fraction) -> str:
    return plain(round(Decimal(factor.numerator) / Decimal(factor.denominator), 4))


def _read_exclusivity(table: ExclusivityKeys, at: Table) -> dict[str, Decimal]:
    found = {"none": table.none}
    for name in ("sector", "sole"):
        factor = getattr(table, name)
        if factor is not None:
            least = max(found.values())
            if factor < least:
                at.problem(name, f"{plain(least)} or more, as more exclusivity never costs less", factor)
            found[name] = factor
    return found
