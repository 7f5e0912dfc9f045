"""What a licence costs: base fee x media and territory x term x exclusivity, from the card's `[usage]` table.

The fee is a function of the whole scope, so that any scope can be priced, not only one box:

* what is wanted on one day is bought the cheapest way the card allows (`usage_cover`);
* the worth of a day, in layers, runs through the term ladder: each layer costs the ladder's factor for the months
  that reach it. For one box this is the plain product of its factors;
* exclusivity multiplies the whole; a buy-out caps it; the card's minimum is the least.

Because the cover is exact and the ladder never bends upwards, the fee never falls when the scope grows, and the fee
of two scopes together never exceeds the sum of their fees. So an extension costs fee(wider) - fee(held), and nobody
pays twice. Months are counted by `term.months_in`. Factors that multiply and minimum fees are common practice; the
layers (an integral by Choquet, subadditive for a concave ladder) are textbook mathematics.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Protocol

from bizkit.domain.dates import ONE_DAY
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.usage_cover import NOTHING, Cover, NotCovered, Wish, cheapest_cover
from bizkit.domain.pricing.usage_rates import UsageRates
from bizkit.domain.pricing.working import Working
from bizkit.domain.rights.licence import EXCLUSIVITIES, LicenceRequest
from bizkit.domain.rights.media import MEDIA_TREE
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term, months_in
from bizkit.domain.rights.territory import describe

__all__ = ["UsageFactor", "UsageRates", "extension_lines", "renewal_lines", "usage_factor", "usage_lines"]

#: A first day for terms whose start is not known yet. Any would do: the months counted do not depend on it.
_SOME_DAY = date(2001, 1, 1)


class Priced(Protocol):
    """What is asked of a deliverable here. `kind` is "film" or "stills"; `quantity` films like it, or stills."""

    @property
    def key(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def kind(self) -> str: ...
    @property
    def quantity(self) -> int: ...


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


def usage_lines(rates: UsageRates, request: LicenceRequest, deliverables: Iterable[Priced]) -> list[Line]:
    """The licence section of an estimate: one line a deliverable, one an archive clip, and the minimum if it bites.

    Raises BadInput or NotFound naming what the card does not sell or the brief does not deliver.
    """
    factor = _request_factor(rates, request)
    lines = _lines(rates, factor, request, deliverables, "usage.fee")
    return lines + _least(rates.minimum, lines, "Minimum licence fee", "usage.minimum")


def extension_lines(
    rates: UsageRates,
    held: Scope,
    wanted: Scope,
    request: LicenceRequest,
    deliverables: Iterable[Priced],
    *,
    held_exclusivity: str = "none",
) -> list[Line]:
    """What it costs to add `wanted` to what the client holds: fee(held and wanted) - fee(held).

    request: the licence held, for its works, clips and - unless raised - its exclusivity. Both fees are by `rates`,
    today's card. No lines when it is held already; `renewal_minimum` at least otherwise.
    """
    if EXCLUSIVITIES.index(request.exclusivity) < EXCLUSIVITIES.index(held_exclusivity):
        raise RuleBroken("an extension does not lower the exclusivity held: end the licence and grant a new one")
    both = held.union(wanted)
    if both == held and request.exclusivity == held_exclusivity:
        return []
    wider = usage_factor(rates, both, request.exclusivity)
    before = usage_factor(rates, held, held_exclusivity)
    factor = UsageFactor(
        wider.value - before.value,
        f"({wider.text} = {_short(wider.value)}) less what is held ({before.text} = {_short(before.value)})",
        (("wider", _short(wider.value)), ("held", _short(before.value))),
    )
    lines = _lines(rates, factor, request, deliverables, "usage.extension")
    return lines + _least(rates.renewal_minimum, lines, "Minimum fee of an extension", "usage.renewal")


def renewal_lines(rates: UsageRates, request: LicenceRequest, deliverables: Iterable[Priced]) -> list[Line]:
    """What the same use costs for the term of `request` again: the card's percentage of the fee, minimum at least."""
    factor = _request_factor(rates, request)
    share = Fraction(rates.renewal_percent) / 100
    renewed = UsageFactor(
        factor.value * share,
        f"{factor.text} x {plain(rates.renewal_percent)} % for a renewal",
        (*factor.inputs, ("renewal", f"{plain(rates.renewal_percent)} %")),
    )
    lines = _lines(rates, renewed, request, deliverables, "usage.renewal")
    return lines + _least(rates.renewal_minimum, lines, "Minimum fee of a renewal", "usage.renewal")


def _request_factor(rates: UsageRates, request: LicenceRequest) -> UsageFactor:
    start = request.starts or (request.first_use_by if request.until else None) or _SOME_DAY
    if request.until is not None and start == _SOME_DAY:
        raise BadInput(
            wanted="a first day to price up to until",
            got="none",
            field="licence.starts",
            hint="Add starts, or give the length as months",
        )
    term = Term(start, request.end_from(start) or OPEN_END)
    return usage_factor(rates, request.scope(term), request.exclusivity, buy_out=request.buy_out)


def _lines(
    rates: UsageRates, factor: UsageFactor, request: LicenceRequest, deliverables: Iterable[Priced], rule: str
) -> list[Line]:
    known = {deliverable.key: deliverable for deliverable in deliverables}
    for key in request.works:
        if key not in known:
            raise NotFound("deliverable", key, known, field="licence.works")
    lines = []
    for deliverable in known.values():
        if request.works and deliverable.key not in request.works:
            continue
        if deliverable.kind not in rates.base:
            raise BadInput(
                wanted=f"a base fee for {deliverable.kind} on the rate card",
                got="none",
                field=f"usage.base.{deliverable.kind}",
            )
        unit = {"film": "film", "stills": "still"}[deliverable.kind]
        title = f"Licence: {deliverable.title}"
        lines.append(_line(title, Decimal(deliverable.quantity), unit, rates.base[deliverable.kind], factor, rule))
    for clip in request.clips:
        lines.append(_clip_line(rates, clip.title, clip.seconds, factor, rule))
    return lines


def _clip_line(rates: UsageRates, title: str, seconds: Decimal, factor: UsageFactor, rule: str) -> Line:
    if rates.archive_per_second is None or rates.archive_clip_minimum is None:
        raise BadInput(
            wanted="a fee for a second of archive on the rate card", got="none", field="usage.base.archive_second"
        )
    item = f"Licence: archive clip {title}"
    if rates.archive_per_second * seconds < rates.archive_clip_minimum:
        item += f", {plain(seconds)} s"
        return _line(item, Decimal(1), "clip", rates.archive_clip_minimum, factor, rule, "minimum for a clip")
    return _line(item, seconds, "second", rates.archive_per_second, factor, rule)


def _line(
    item: str, quantity: Decimal, unit: str, base: Money, factor: UsageFactor, rule: str, note: str = ""
) -> Line:
    rate = Fraction(base.amount) * factor.value
    amount = _money(rate * Fraction(quantity), base.currency)
    said = f"{plain(quantity)} {unit}{'s' if quantity != 1 else ''} x base {base}"
    text = f"{said}{f' ({note})' if note else ''} x {factor.text}"
    working = Working(
        text=text,
        rule=rule,
        amount=amount,
        source="common practice",
        inputs=(("quantity", plain(quantity)), ("base", base.text), *factor.inputs),
    )
    return Line("licence", item, quantity, unit, _money(rate, base.currency, 6), amount.rounded(), working)


def _least(minimum: Money, lines: Sequence[Line], item: str, rule: str) -> list[Line]:
    """A line that lifts the sum of `lines` to `minimum`, where there are lines and it is below."""
    sum_of_lines = Money(0, minimum.currency)
    for line in lines:
        sum_of_lines = sum_of_lines + line.amount
    if not lines or sum_of_lines >= minimum:
        return []
    lift = (minimum - sum_of_lines).rounded()
    working = Working(f"{minimum} at least, less {sum_of_lines}", rule, lift, "common practice")
    return [Line("licence", item, Decimal(1), "licence", lift, lift, working)]


# --- the factor of a scope ---


def _buy_out(rates: UsageRates, exclusivity: str) -> UsageFactor:
    if rates.buy_out is None:
        raise BadInput(
            wanted="a buy-out on the rate card", got="none", field="usage.buy_out", hint="Add [usage.buy_out] factor"
        )
    included = rates.exclusivity[rates.buy_out_exclusivity]
    more = max(Fraction(1), Fraction(rates.exclusivity[exclusivity]) / Fraction(included))
    value = rates.buy_out * more
    text = f"buy-out {_short(rates.buy_out)}"
    if more != 1:
        text += f" x exclusivity {_short(more)} ({exclusivity} over {rates.buy_out_exclusivity})"
    return UsageFactor(value, text, (("buy_out", _short(value)),))


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
            value, terms = least, [f"{_short(first_factor)} ({first_months} months at least)"]
        text, inputs = _cover_text(cover)
        return UsageFactor(value, f"{text} x term {terms[0]}", (*inputs, ("term", terms[0])))
    parts = "; ".join(
        f"{' and '.join(term.text for term in found)}: {_cover_text(cover)[0]}" for cover, found in worth.items()
    )
    steps = " + ".join(
        f"{_short(level - below)} x term {said}"
        for below, level, said in zip([Fraction(0), *levels], levels, terms, strict=False)
    )
    if least > value:
        value, steps = least, f"{_short(levels[-1])} x term {_short(first_factor)} ({first_months} months at least)"
    return UsageFactor(value, f"{_short(value)} ({steps}, where {parts})", (("layers", steps),))


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
        return rates.open_end, f"{_short(rates.open_end)} (no end)"
    months = sum((months_in(term) for term in terms), Fraction(0))
    factor = rates.months_factor(months)
    return factor, f"{_short(factor)} ({_short(months)} month{'s' if months != 1 else ''})"


def _cover_text(cover: Cover) -> tuple[str, tuple[tuple[str, str], ...]]:
    """Media and territory in words: as two factors where the cover is one of all with all, else piece by piece."""
    media = {rectangle.media: rectangle.media_factor for rectangle in cover.rectangles}
    territory = {rectangle.territory: rectangle.territory_factor for rectangle in cover.rectangles}
    if len(cover.rectangles) == len(media) * len(territory):
        texts = [f"{_short(sum(factors.values(), Fraction(0)))} ({_sum(factors)})" for factors in (media, territory)]
        return f"media {texts[0]} x territory {texts[1]}", (("media", texts[0]), ("territory", texts[1]))
    pieces = " + ".join(
        f"{_short(rectangle.factor)} {rectangle.media} in {rectangle.territory}" for rectangle in cover.rectangles
    )
    text = f"media and territory {_short(cover.factor)} ({pieces})"
    return text, (("media and territory", pieces),)


def _sum(factors: Mapping[str, Fraction]) -> str:
    if len(factors) == 1:
        return next(iter(factors))
    return " + ".join(f"{name} {_short(factor)}" for name, factor in factors.items())


def _short(value: Fraction) -> str:
    """For people: exact when it is short, else to four decimals."""
    return plain(round(Decimal(value.numerator) / Decimal(value.denominator), 4))


def _money(value: Fraction, currency: str, most_digits: int | None = None) -> Money:
    """As money, exact; where the decimals do not end, to `most_digits`, or to 28 digits when not given."""
    amount = Decimal(value.numerator) / Decimal(value.denominator)
    if most_digits is not None:
        cut = round(amount, most_digits)
        amount = cut if Fraction(cut) != value else amount
    return Money(Decimal(plain(amount)), currency)
