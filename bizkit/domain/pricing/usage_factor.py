"""What media, territory, term and exclusivity of a scope come to, as a factor of the base fee.

It is a function of the whole scope, so that any scope can be priced, not only one box:

* what is wanted on one day is bought the cheapest way the card allows (`usage_cover`);
* the worth of a day, in layers, runs through the term ladder: each layer costs the ladder's factor for the months
  that reach it. For one box this is the plain product of its factors. The shortest length on the ladder is the least;
* exclusivity multiplies the whole, and a buy-out caps it.

Because the cover is exact and the ladder never bends upwards, the factor never falls when the scope grows, and that
of two scopes together never exceeds the sum of theirs. Months are counted by `term.months_in`. Factors that multiply
are common practice; the layers (an integral by Choquet, subadditive for a concave ladder) are textbook mathematics.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.errors import BadInput
from bizkit.domain.money import plain
from bizkit.domain.pricing.usage_cover import NOTHING, Cover, NotCovered, Wish, cheapest_cover
from bizkit.domain.pricing.usage_rates import UsageRates
from bizkit.domain.rights.media import MEDIA_TREE
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term, months_in
from bizkit.domain.rights.territory import describe


@dataclass(frozen=True, slots=True)
class UsageFactor:
    """What all factors come to, exactly, and how: `text` is a sentence with every number used."""

    value: Fraction
    text: str
    inputs: tuple[tuple[str, str], ...]


def usage_factor(rates: UsageRates, scope: Scope, exclusivity: str = "none", *, buy_out: bool = False) -> UsageFactor:
    """The factor of the base fee for `scope`. Raises BadInput naming what the card does not sell."""
    if exclusivity not in rates.exclusivity:
        raise BadInput(
            wanted=f"exclusivity that the card sells ({', '.join(rates.exclusivity)})",
            got=exclusivity,
            field="licence.exclusivity",
            hint=f"Add {exclusivity} to the card's [usage.exclusivity]",
        )
    if buy_out:
        return _buy_out(rates, exclusivity)
    if not scope:
        return UsageFactor(Fraction(0), "no use", ())
    plan = _layers(rates, scope)
    multiplier = rates.exclusivity[exclusivity]
    value = plan.value * Fraction(multiplier)
    inputs = (*plan.inputs, ("exclusivity", f"{exclusivity} {plain(multiplier)}"))
    text = f"{plan.text} x exclusivity {plain(multiplier)} ({exclusivity})"
    if rates.buy_out is not None:
        cap = _buy_out(rates, exclusivity)
        if cap.value < value:
            return UsageFactor(cap.value, f"{cap.text}, as it costs less than {text}", (*inputs, *cap.inputs))
    return UsageFactor(value, text, inputs)


def _buy_out(rates: UsageRates, exclusivity: str) -> UsageFactor:
    if rates.buy_out is None:
        raise BadInput(
            wanted="a buy-out on the rate card", got="none", field="usage.buy_out", hint="Add [usage.buy_out] factor"
        )
    included = rates.exclusivity[rates.buy_out_exclusivity]
    more = max(Fraction(1), Fraction(rates.exclusivity[exclusivity]) / Fraction(included))
    value = rates.buy_out * more
    text = f"buy-out {in_short(rates.buy_out)}"
    if more != 1:
        text += f" x exclusivity {in_short(more)} ({exclusivity} over {rates.buy_out_exclusivity})"
    return UsageFactor(value, text, (("buy_out", in_short(value)),))


def _layers(rates: UsageRates, scope: Scope) -> UsageFactor:
    """Media, territory and term of `scope` as one factor."""
    worth: dict[Cover, list[Term]] = {}
    cover_of = cache(lambda wish: _cover(rates, wish))
    for term, wish in _slices(scope):
        worth.setdefault(cover_of(wish), []).append(term)
    levels = sorted({cover.factor for cover in worth})
    value, below = Fraction(0), Fraction(0)
    terms: list[str] = []
    for level in levels:
        reached = [term for cover, found in worth.items() if cover.factor >= level for term in found]
        factor, said = _term_factor(rates, reached)
        value += (level - below) * factor
        terms.append(said)
        below = level
    first_months, first_factor = rates.term[0]
    least = levels[-1] * first_factor
    if len(worth) == 1:
        cover = next(iter(worth))
        if least > value:
            value, terms = least, [f"{in_short(first_factor)} ({first_months} months at least)"]
        text, inputs = _cover_text(cover)
        return UsageFactor(value, f"{text} x term {terms[0]}", (*inputs, ("term", terms[0])))
    parts = "; ".join(
        f"{' and '.join(term.text for term in found)}: {_cover_text(cover)[0]}" for cover, found in worth.items()
    )
    steps = " + ".join(
        f"{in_short(level - below)} x term {said}"
        for below, level, said in zip([Fraction(0), *levels], levels, terms, strict=False)
    )
    if least > value:
        value, steps = (
            least,
            f"{in_short(levels[-1])} x term {in_short(first_factor)} ({first_months} months at least)",
        )
    return UsageFactor(value, f"{in_short(value)} ({steps}, where {parts})", (("layers", steps),))


def _slices(scope: Scope) -> Iterable[tuple[Term, Wish]]:
    """The scope cut in time wherever what it allows changes: each slice with its media and countries."""
    starts = {box.term.start for box in scope.boxes}
    starts |= {box.term.end + ONE_DAY for box in scope.boxes if not box.term.open}
    cuts = sorted(starts)
    for place, start in enumerate(cuts):
        end = cuts[place + 1] - ONE_DAY if place + 1 < len(cuts) else OPEN_END
        alive = [box for box in scope.boxes if box.term.start <= start <= box.term.end]
        if alive:
            day = Scope(type(box)(box.media, box.countries, Term(start, start)) for box in alive)
            yield Term(start, end), tuple((box.media, box.countries) for box in day.boxes)


def _cover(rates: UsageRates, wish: Wish) -> Cover:
    if not wish:
        return NOTHING
    try:
        return cheapest_cover(wish, rates.media, rates.territories, rates.each_country)
    except NotCovered as error:
        sold = frozenset().union(*(entry.media for entry in rates.media))
        if error.media - sold:
            raise BadInput(
                wanted="media that the rate card prices",
                got=", ".join(MEDIA_TREE.sorted(error.media - sold)),
                field="licence.media",
                hint="Add a factor to the card's [usage.media]",
            ) from None
        where = frozenset().union(*(entry.countries for entry in rates.territories))
        raise BadInput(
            wanted="a territory that the rate card prices",
            got=describe(error.countries - where or error.countries),
            field="licence.territory",
            hint="Add a factor to the card's [usage.territory], such as each_country",
        ) from None


def _term_factor(rates: UsageRates, terms: Sequence[Term]) -> tuple[Fraction, str]:
    if any(term.open for term in terms):
        if rates.open_end is None:
            raise BadInput(
                wanted="a term with an end", got="no end", field="licence.months",
                hint="Or add open_end to the card's [usage.term]",
            )  # fmt: skip
        return rates.open_end, f"{in_short(rates.open_end)} (no end)"
    months = sum((months_in(term) for term in terms), Fraction(0))
    factor = rates.months_factor(months)
    return factor, f"{in_short(factor)} ({in_short(months)} month{'s' if months != 1 else ''})"


def _cover_text(cover: Cover) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Media and territory in words: as two factors where the cover is one of all with all, else piece by piece."""
    media = {rectangle.media: rectangle.media_factor for rectangle in cover.rectangles}
    territory = {rectangle.territory: rectangle.territory_factor for rectangle in cover.rectangles}
    if len(cover.rectangles) == len(media) * len(territory):
        texts = [
            f"{in_short(sum(factors.values(), Fraction(0)))} ({_sum(factors)})" for factors in (media, territory)
        ]
        return f"media {texts[0]} x territory {texts[1]}", (("media", texts[0]), ("territory", texts[1]))
    pieces = " + ".join(
        f"{in_short(rectangle.factor)} {rectangle.media} in {rectangle.territory}" for rectangle in cover.rectangles
    )
    text = f"media and territory {in_short(cover.factor)} ({pieces})"
    return text, (("media and territory", pieces),)


def _sum(factors: Mapping[str, Fraction]) -> str:
    if len(factors) == 1:
        return next(iter(factors))
    return " + ".join(f"{name} {in_short(factor)}" for name, factor in factors.items())


def in_short(value: Fraction) -> str:
    """For people: exact when it is short, else to four decimals."""
    return plain(round(Decimal(value.numerator) / Decimal(value.denominator), 4))
