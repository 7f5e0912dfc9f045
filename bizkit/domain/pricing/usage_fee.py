"""What a licence costs: base fee x the factor of its scope, from the card's `[usage]` table.

One line a deliverable and one an archive clip. As the factor never falls when the scope grows and never exceeds the
sum of its parts (`usage_factor`), an extension costs fee(wider) - fee(held), and nobody pays for the same use twice.
Minimum fees and reduced renewals are common practice.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Protocol

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money, plain, total
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.usage_factor import UsageFactor, usage_factor
from bizkit.domain.pricing.usage_rates import UsageRates
from bizkit.domain.pricing.working import Working
from bizkit.domain.rights.licence_request import EXCLUSIVITIES, LicenceRequest
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term

__all__ = ["UsageRates", "extension_lines", "renewal_lines", "usage_lines"]

#: A first day for terms whose start is not known yet. Any would do: the months counted do not depend on it.
_SOME_DAY = date(2001, 1, 1)


class Priced(Protocol):
    """What is asked of a deliverable here."""

    @property
    def key(self) -> str:
        """What `works` of a licence name it by."""

    @property
    def title(self) -> str:
        """For the line."""

    @property
    def kind(self) -> str:
        """ "film" or "stills"."""

    @property
    def quantity(self) -> int:
        """Films like it, or stills in the set."""


def usage_lines(rates: UsageRates, request: LicenceRequest, deliverables: Iterable[Priced]) -> list[Line]:
    """The licence section of an estimate: one line a deliverable, one an archive clip, and the minimum if it bites.

    Raises BadInput or NotFound naming what the card does not sell or the brief does not deliver.
    """
    factor = _request_factor(rates, request)
    return _fees(rates, factor, request, deliverables)


def extension_lines(
    rates: UsageRates,
    held: Scope,
    wanted: Scope,
    request: LicenceRequest,
    deliverables: Iterable[Priced],
    *,
    exclusivity: str = "",
) -> list[Line]:
    """What it costs to add `wanted` to what the client holds: fee(held and wanted) - fee(held), line by line.

    request: the licence held, for its works, clips and exclusivity. exclusivity: a higher one that is wanted for all
    of it. Both fees are by `rates`, today's card. No lines when it is held already, else `renewal_minimum` at least.
    """
    exclusivity = exclusivity or request.exclusivity
    if EXCLUSIVITIES.index(exclusivity) < EXCLUSIVITIES.index(request.exclusivity):
        raise RuleBroken("an extension does not lower the exclusivity held: end the licence and grant a new one")
    both = held.union(wanted)
    if both == held and exclusivity == request.exclusivity:
        return []
    works = tuple(deliverables)
    wider = usage_factor(rates, both, exclusivity)
    now = usage_factor(rates, held, request.exclusivity, buy_out=request.buy_out)
    fees_wider = {line.item: line for line in _fees(rates, wider, request, works)}
    fees_now = {line.item: line for line in _fees(rates, now, request, works)}
    nothing = Money(0, rates.currency)
    lines = []
    for item in dict.fromkeys([*fees_wider, *fees_now]):
        pair = (fees_wider.get(item), fees_now.get(item))
        more, less = (line.amount if line else nothing for line in pair)
        if more == less:
            continue
        text = f"{more} for the wider use less {less} for the use held, both by today's rate card"
        parts = tuple(line.working for line in pair if line)
        working = Working(text, "usage.extension", more - less, "common practice", parts=parts)
        lines.append(
            Line("licence", f"Extension. {item}", Decimal(1), "extension", more - less, more - less, working)
        )
    fee = total((line.amount for line in lines), rates.currency)
    return lines + _lift(rates.renewal_minimum, fee, "Minimum fee of an extension")


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
    fee = total((line.amount for line in lines), rates.currency)
    return lines + (_lift(rates.renewal_minimum, fee, "Minimum fee of a renewal") if lines else [])


def _fees(
    rates: UsageRates, factor: UsageFactor, request: LicenceRequest, deliverables: Iterable[Priced]
) -> list[Line]:
    """The lines of a whole licence, the card's minimum included; none for no use."""
    if not factor.value:
        return []
    lines = _lines(rates, factor, request, deliverables, "usage.fee")
    fee = total((line.amount for line in lines), rates.currency)
    return lines + (_lift(rates.minimum, fee, "Minimum licence fee") if lines else [])


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


def _lift(minimum: Money, fee: Money, item: str) -> list[Line]:
    """A line that lifts `fee` to `minimum`, where it is below."""
    if fee >= minimum:
        return []
    lift = (minimum - fee).rounded()
    working = Working(f"{minimum} at least, less {fee}", "usage.minimum", lift, "common practice")
    return [Line("licence", item, Decimal(1), "licence", lift, lift, working)]


def _money(value: Fraction, currency: str, most_digits: int | None = None) -> Money:
    """As money, exact; where the decimals do not end, to `most_digits`, or to 28 digits when not given."""
    amount = Decimal(value.numerator) / Decimal(value.denominator)
    if most_digits is not None:
        cut = round(amount, most_digits)
        amount = cut if Fraction(cut) != value else amount
    return Money(Decimal(plain(amount)), currency)
