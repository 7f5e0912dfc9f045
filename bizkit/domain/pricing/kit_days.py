"""Kit days of a brief as priced lines: chargeable days by the week rule, spares, insurance, pay-back.

The week rule: in any 7 days from the first day of hire at most `week_days` are charged; the next 7 begin with the
first day used after them. With 4 to the week, 3, 5, 7, 8 and 14 days in a row are 3, 4, 4, 5 and 8 chargeable days.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_CEILING, Decimal

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money, plain, total
from bizkit.domain.pricing.kit_terms import Item, KitTerms
from bizkit.domain.pricing.line import Line, Shares
from bizkit.domain.pricing.sentences import COMMON, shown
from bizkit.domain.pricing.shoot_day import ShootDay
from bizkit.domain.pricing.sums import sum_of
from bizkit.domain.pricing.working import Working

WEEK_SOURCE = "location-sound handbook ch. 8: a week most often billed as 4 days; pro rata after is common practice"

#: Where the run of days without a date begins: below all calendar days.
NO_DATE = 1_000_000

#: Calendar day (proleptic ordinal) -> what it counts as: 1 for a whole hire day.
Used = Mapping[int, Decimal]


@dataclass(slots=True)
class _Hire:
    """One item (or its spare) over the whole brief: by unit, the days it is used."""

    item: Item
    units: list[dict[int, Decimal]] = field(default_factory=list)


def chargeable_days(used: Used, week_days: Decimal, weekend_days: Decimal | None = None) -> Decimal:
    """Chargeable days for one unit used on these days (see the week rule above).

    weekend_days: what a Saturday and Sunday both used count as together, None for each by itself.
    """
    days = sorted(used)
    counts = dict(used)
    if weekend_days is not None:
        for day in days:
            if day > 0 and date.fromordinal(day).weekday() == 5 and day + 1 in counts:
                both = min(counts[day] + counts[day + 1], weekend_days)
                counts[day], counts[day + 1] = both, Decimal(0)
    whole, week, start = Decimal(0), Decimal(0), None
    for day in days:
        if start is None or day >= start + 7:
            whole += min(week, week_days)
            week, start = Decimal(0), day
        week += counts[day]
    return whole + min(week, week_days)


def days_in_a_row(days: int) -> Used:
    """`days` whole hire days, one after the other, beginning on a Monday."""
    return {date(2001, 1, 1).toordinal() + number: Decimal(1) for number in range(days)}


def price_by_value(item: Item, days: int) -> Money:
    """Hire of a unit for `days` days by the item's percentages of its value; each full ladder starts anew.

    Common practice: 20,000 at 3/6/8/9/10/11/12 % is 600 for 1 day, 1,600 for 3, 2,000 for 5, 2,400 for 7.
    """
    assert item.value is not None
    rounds, rest = divmod(days, len(item.ladder))
    percent = item.ladder[-1] * rounds + (item.ladder[rest - 1] if rest else 0)
    return item.value * (percent / 100)


def sub_hire_cost(terms: KitTerms, days: Sequence[ShootDay], currency: str) -> Money:
    """What the studio itself pays for the sub-hired items of these days, by the same week rule, exact."""
    whole = Money(0, currency)
    for hire in _hires(terms, days, "kit", "").values():
        if hire.item.cost_per_day is not None:
            charged = (chargeable_days(unit, hire.item.week_days, terms.weekend_days) for unit in hire.units)
            whole = whole + hire.item.cost_per_day * sum(charged, Decimal(0))
    return whole


def kit_lines(terms: KitTerms, days: Sequence[ShootDay], words: Mapping[str, str], *, where: str = "") -> list[Line]:
    """One line for each item or bundle, one for its spares, and one for the insurance where the card has it.

    Raises NotFound for a name the card does not know.
    """
    lines: list[Line] = []
    insured: list[Money] = []
    for key, hire in _hires(terms, days, "kit", where).items():
        line, unit_days = _line(terms, hire, hire.item.title)
        lines.append(line)
        if terms.insurance_percent_of_value_per_day:
            insured.append(terms.value_of(key) * unit_days)
    for hire in _hires(terms, days, "spares", where).values():
        line, _ = _line(terms, hire, f"{hire.item.title} ({words['spare']})", terms.spare_percent)
        lines.append(line)
    lines = [line for line in lines if line.quantity]
    return lines + _insurance(terms, lines, insured, words)


def kit_shares(terms: KitTerms, days: Sequence[ShootDay], words: Mapping[str, str]) -> list[Shares]:
    """Which single days each of the `kit_lines` is for, the insurance left out: by units and what a day counts as."""
    shares = []
    for which, title in (("kit", "{}"), ("spares", f"{{}} ({words['spare']})")):
        found: dict[str, dict[int, Decimal]] = {}
        position = 0
        for day in days:
            wanted: Mapping[str, int] = getattr(day, which)
            for place in range(position + 1, position + day.count + 1):
                for key, quantity in wanted.items():
                    weights = found.setdefault(key, {})
                    weights[place] = quantity * terms.percent[day.kind] / 100
            position += day.count
        shares += [Shares("kit", title.format(terms.items[key].title), weights) for key, weights in found.items()]
    return shares


def deposits(terms: KitTerms, days: Sequence[ShootDay]) -> Money | None:
    """Deposits to take for the kit of a brief, each item once a unit; None when the card asks for none.

    A deposit goes back to the client: it is no part of the price.
    """
    most: dict[str, int] = {}
    for day in days:
        for key, quantity in day.kit.items():
            if terms.items[key].deposit:
                most[key] = max(most.get(key, 0), quantity)
    amounts = [terms.items[key].deposit * quantity for key, quantity in most.items()]
    return total(amounts, amounts[0].currency) if amounts else None


@dataclass(frozen=True, slots=True)
class PayBack:
    """Hire days until an item has earned its price, and how many of them are still to come."""

    days_needed: int
    days_left: int
    earned: Money
    working: Working


def pay_back(item: Item, days_hired: Decimal) -> PayBack:
    """When `item` has paid for itself at its day rate, after `days_hired` chargeable days (from the book).

    Raises BadInput for an item without a value, or hired for nothing.
    """
    if item.value is None:
        raise BadInput(wanted="the replacement value", got="nothing", field=f"kit.{item.key}.value")
    if item.day_rate.amount <= 0:
        raise BadInput(wanted="a day rate above zero", got=item.day_rate, field=f"kit.{item.key}.day_rate")
    earned = item.day_rate * days_hired
    needed, left = (
        int((max(amount, Decimal(0)) / item.day_rate.amount).to_integral_value(ROUND_CEILING))
        for amount in (item.value.amount, item.value.amount - earned.amount)
    )
    text = (
        f"{item.title}: {item.value} / {shown(item.day_rate)} a day = {needed} hire days; "
        f"{plain(days_hired)} hired, {left} to go"
    )
    return PayBack(needed, left, earned, Working(text, "kit.pay_back", item.value, COMMON))


def _hires(terms: KitTerms, days: Sequence[ShootDay], which: str, where: str) -> dict[str, _Hire]:
    hires: dict[str, _Hire] = {}
    open_day = 0
    for day in days:
        wanted: Mapping[str, int] = getattr(day, which)
        # Days without a date are one run, long before every calendar.
        first = day.date.toordinal() if day.date else open_day - NO_DATE
        open_day += 0 if day.date else day.count
        if not wanted:
            continue
        counts_as = terms.percent[day.kind] / 100
        for key, quantity in wanted.items():
            if key not in terms.items:
                raise NotFound("kit item or bundle", key, terms.items, field=f"{day.field}.{which}", where=where)
            hire = hires.setdefault(key, _Hire(terms.items[key]))
            while len(hire.units) < quantity:
                hire.units.append({})
            for unit in hire.units[:quantity]:
                for on in range(first, first + day.count):
                    if on not in unit or unit[on] < counts_as:
                        unit[on] = counts_as
    return hires


def _line(terms: KitTerms, hire: _Hire, title: str, percent: Decimal = Decimal(100)) -> tuple[Line, Decimal]:
    """The line, and the unit-days it is out."""
    item = hire.item
    days_out = [sum(unit.values(), Decimal(0)) for unit in hire.units]
    share = percent / 100
    extra = f", {plain(percent)} % of it as a spare" if percent != 100 else ""
    if item.ladder:
        return _line_by_value(hire, title, share, extra), sum(days_out, Decimal(0))
    charged = [chargeable_days(unit, item.week_days, terms.weekend_days) for unit in hire.units]
    quantity = sum(charged, Decimal(0))
    rate = item.day_rate * share
    exact = rate * quantity
    text = f"{_units(days_out)} used"
    if charged != days_out:
        text += f", {_units(charged)} charged ({plain(item.week_days)} in any 7 days)"
    text = f"{text}: {plain(quantity)} x {shown(rate)} ({item.rate_text}{extra}) = {shown(exact)}"
    inputs = (
        ("days used", " + ".join(plain(out) for out in days_out)),
        ("days charged", plain(quantity)),
        ("day rate", rate.text),
        ("chargeable days in 7", plain(item.week_days)),
    )
    working = Working(text, "kit.sub_hire" if item.sub_hired else "kit.day", exact, WEEK_SOURCE, inputs)
    return Line("kit", title, quantity, "day", rate, exact.rounded(), working), sum(days_out, Decimal(0))


def _line_by_value(hire: _Hire, title: str, share: Decimal, extra: str) -> Line:
    item = hire.item
    prices = []
    for unit in hire.units:
        days = int(sum(unit.values(), Decimal(0)).to_integral_value(ROUND_CEILING))
        prices.append(price_by_value(item, days) * share)
    exact = total(prices, item.day_rate.currency)
    ladder = "/".join(plain(step) for step in item.ladder)
    out = _units([Decimal(len(unit)) for unit in hire.units])
    text = f"{out}: {ladder} % of the value of {item.value} by day{extra}"
    working = Working(
        f"{text} = {shown(exact)}",
        "kit.percent_of_value",
        exact,
        COMMON,
        (("value", str(item.value)), ("percent by day", ladder)),
    )
    same = len({price.amount for price in prices}) == 1
    quantity = Decimal(0) if not exact else Decimal(len(prices)) if same else Decimal(1)
    return Line("kit", title, quantity, "hire", prices[0] if same else exact, exact.rounded(), working)


def _insurance(
    terms: KitTerms, lines: Sequence[Line], insured: Iterable[Money], words: Mapping[str, str]
) -> list[Line]:
    if not lines:
        return []
    currency = lines[0].amount.currency
    if terms.insurance_percent_of_hire:
        base, percent, of = (
            sum_of(lines, currency),
            terms.insurance_percent_of_hire,
            "the kit hire",
        )
    elif terms.insurance_percent_of_value_per_day:
        base = total(insured, currency)
        percent, of = terms.insurance_percent_of_value_per_day, "replacement value x days,"
    else:
        return []
    exact = base * (percent / 100)
    if not exact:
        return []
    text = f"{plain(percent)} % of {of} {base} = {shown(exact)}"
    working = Working(text, "kit.insurance", exact, inputs=(("percent", plain(percent)), ("base", base.text)))
    line = Line.flat("kit", words["insurance"], exact, working)
    # What kit is worth stands on no paper, so a share of it says nothing to its reader.
    return [line.as_share(percent, ("kit",)) if terms.insurance_percent_of_hire else line]


def _units(days: Sequence[Decimal]) -> str:
    """ "5 days", "2 x 5 days", "5 + 3 days"."""
    if len(set(days)) == 1:
        one = f"{plain(days[0])} day" + ("" if days[0] == 1 else "s")
        return one if len(days) == 1 else f"{len(days)} x {one}"
    return " + ".join(plain(count) for count in days) + " days"
