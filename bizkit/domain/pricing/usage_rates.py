"""The `[usage]` table of a rate card: what a licence costs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Final

from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.usage_cover import MediaEntry, TerritoryEntry
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.territory import Territory

#: More entries than this make a card that nobody can read, and the cheapest cover slow.
MOST_TERRITORIES: Final = 12


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
    def read(cls, fields: Fields, currency: str, tree: MediaTree = MEDIA_TREE) -> UsageRates:
        """From the card's `[usage]` table. Raises BadInput or NotFound, naming the field.

        ::

            [usage]
            minimum = 150
            [usage.base]        # film and stills; archive_second with archive_clip_minimum
            [usage.media]       # code of a medium or branch = factor
            [usage.territory]   # "phrase" or code = factor; each_country = factor
            [usage.term]        # months = factor; open_end = factor
            [usage.exclusivity] # none, sector, sole = factor
            [usage.buy_out]     # factor, exclusivity
            [usage.renewal]     # percent, minimum
        """
        base = fields.table("base")
        fees = {kind: base.money(kind, currency, 0) for kind in ("film", "stills", "archive_second")}
        fees = {kind: fee for kind, fee in fees.items() if kind in base}
        per_second = fees.pop("archive_second", None)
        clip_minimum = base.money("archive_clip_minimum", currency, 0) if per_second is not None else None
        base.done()
        term, open_end = _read_term(fields.table("term"))
        territories, each_country = _read_territories(fields.table("territory"))
        exclusivity = _read_exclusivity(fields.table("exclusivity", optional=True))
        buy_out = fields.table("buy_out", optional=True)
        renewal = fields.table("renewal", optional=True)
        rates = cls(
            currency=currency,
            base=fees,
            archive_per_second=per_second,
            archive_clip_minimum=clip_minimum,
            media=_read_media(fields.table("media"), tree),
            territories=territories,
            each_country=each_country,
            term=term,
            open_end=open_end,
            exclusivity=exclusivity,
            buy_out=Fraction(_factor(buy_out, "factor")) if buy_out.names() else None,
            buy_out_exclusivity=buy_out.choice("exclusivity", list(exclusivity), "none"),
            renewal_percent=renewal.number("percent", 100, most=100),
            renewal_minimum=renewal.money("minimum", currency, 0),
            minimum=fields.money("minimum", currency, 0),
        )
        for table in (buy_out, renewal, fields):
            table.done()
        return rates

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


def _factor(fields: Fields, key: str) -> Decimal:
    factor = fields.number(key)
    if not factor:
        raise fields.wrong(key, "a factor above zero", factor)
    return factor


def _read_media(fields: Fields, tree: MediaTree) -> tuple[MediaEntry, ...]:
    entries = []
    for name in fields.names():
        leaves = tree.read([name], field=fields.path, where=fields.where)
        entries.append(MediaEntry(tree.labels(leaves)[0], leaves, Fraction(_factor(fields, name))))
    if not entries:
        raise BadInput(wanted="a factor for one medium or more", got="none", field=fields.path, where=fields.where)
    return tuple(entries)


def _read_territories(fields: Fields) -> tuple[tuple[TerritoryEntry, ...], Fraction | None]:
    each = Fraction(_factor(fields, "each_country")) if "each_country" in fields else None
    entries = tuple(
        TerritoryEntry(
            name,
            Territory.read(name, field=fields.path, where=fields.where).codes,
            Fraction(_factor(fields, name)),
        )
        for name in fields.names()
        if name != "each_country"
    )
    if not entries and each is None:
        raise BadInput(wanted="a factor for a territory", got="none", field=fields.path, where=fields.where)
    if len(entries) > MOST_TERRITORIES:
        wanted = f"{MOST_TERRITORIES} territories at most"
        raise BadInput(wanted=wanted, got=len(entries), field=fields.path, where=fields.where)
    return entries, each


def _read_term(fields: Fields) -> tuple[tuple[tuple[int, Fraction], ...], Fraction | None]:
    steps: list[tuple[int, Fraction]] = []
    for name in fields.names():
        if name == "open_end":
            continue
        if not name.isascii() or not name.isdigit() or int(name) < 1:
            raise fields.wrong(name, "a number of months or open_end", name)
        steps.append((int(name), Fraction(_factor(fields, name))))
    steps.sort()
    if not steps:
        raise BadInput(wanted="a factor for one length in months or more", got="none", field=fields.path,
                       where=fields.where)  # fmt: skip
    points = [(0, Fraction(0)), *steps]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        if after[0] == here[0]:
            raise fields.wrong(str(here[0]), "each length once", "twice")
        if after[1] < here[1]:
            raise fields.wrong(
                str(after[0]), f"{_text(here[1])} or more, as a longer term never costs less", _text(after[1])
            )
        most = here[1] + (here[1] - before[1]) * (after[0] - here[0]) / (here[0] - before[0])
        if after[1] > most:
            hint = "Otherwise two short licences would cost less than one long one"
            wanted = f"{_text(most)} or less, as a longer term never costs more by the month"
            raise fields.wrong(str(after[0]), wanted, _text(after[1]), hint)
    open_end = Fraction(_factor(fields, "open_end")) if "open_end" in fields else None
    if open_end is not None and open_end < steps[-1][1]:
        raise fields.wrong("open_end", f"{_text(steps[-1][1])} or more, as no end never costs less", _text(open_end))
    return tuple(steps), open_end


def _text(factor: Fraction) -> str:
    return plain(round(Decimal(factor.numerator) / Decimal(factor.denominator), 4))


def _read_exclusivity(fields: Fields) -> dict[str, Decimal]:
    found = {"none": _factor(fields, "none") if "none" in fields else Decimal(1)}
    for name in ("sector", "sole"):
        if name in fields:
            found[name] = fields.number(name)
            least = max(list(found.values())[:-1])
            if found[name] < least:
                raise fields.wrong(name, f"{plain(least)} or more, as more exclusivity never costs less", found[name])
    fields.done()
    return found
