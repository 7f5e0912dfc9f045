"""The weather plan of a quote: how many hold days, at what rate, how sure, and what if it still fails."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Any

from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, plain, round_half_away
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.weather_chance import Outlook, outlook
from bizkit.domain.pricing.weather_days import LONGEST_WINDOW, WeatherRequest
from bizkit.domain.pricing.working import Working

#: Days shown in the chart after the ones booked, where the window has them.
DAYS_BEYOND = 2

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)

_IF_IT_FAILS = {
    "move": "the days still missing move to a new window that suits both of us, priced from the same rate card.",
    "extend": "more hold days are added one at a time at the same rate, for as long as crew and kit are free.",
    "stop": "we deliver from what has been shot, and shoot days that did not take place are not charged.",
}


@dataclass(frozen=True, slots=True)
class WeatherPlan:
    """The answer to a `WeatherRequest` for a number of water and dry days.

    booked_days: days kept free, shoot days and hold days together. hold_days: those beyond the days needed.
    hold_rate: price of one hold day, exact. chart: (days, chance of being finished within them), rounded down to
    four decimals so that it never promises more than it is. expected_hold_days: days of the booked ones that are
    spent waiting, on average, to four decimals; expected_lost_days: water days worked for nothing because a run
    was broken (in_a_row only). expected_hold_cost: both, hold days at the hold rate and lost days at the full one.
    chance_of_failing: of not being finished within the booked days, rounded up. expected_failing_cost: that chance
    of the request's cost_if_it_fails. reached: whether the booked days give the confidence asked for.
    """

    request: WeatherRequest
    water_days: int
    dry_days: int
    booked_days: int
    hold_rate: Money
    line: Line | None
    sentences: tuple[str, ...]
    chart: tuple[tuple[int, Decimal], ...]
    expected_hold_days: Decimal
    expected_lost_days: Decimal
    expected_hold_cost: Money
    chance_of_failing: Decimal
    expected_failing_cost: Money
    reached: bool

    @property
    def hold_days(self) -> int:
        """Days kept free beyond the days needed."""
        return self.booked_days - self.water_days - self.dry_days

    def data(self) -> dict[str, Any]:
        """What the client sees, JSON-ready: the `weather` member of a quote."""
        return {
            "sentences": list(self.sentences),
            "chart": [{"days": days, "chance": str(chance)} for days, chance in self.chart],
        }

    def studio_data(self) -> dict[str, Any]:
        """What the studio alone sees, JSON-ready: everything, the expected costs included."""
        return {
            **self.data(),
            "water_days": self.water_days,
            "dry_days": self.dry_days,
            "booked_days": self.booked_days,
            "hold_days": self.hold_days,
            "hold_rate": self.hold_rate.text,
            "currency": self.hold_rate.currency,
            "expected_hold_days": str(self.expected_hold_days),
            "expected_lost_days": str(self.expected_lost_days),
            "expected_hold_cost": self.expected_hold_cost.text,
            "chance_of_failing": str(self.chance_of_failing),
            "expected_failing_cost": self.expected_failing_cost.text,
            "reached": self.reached,
        }


def weather_plan(request: WeatherRequest, *, water_days: int, dry_days: int, hold_day_cost: Money) -> WeatherPlan:
    """The plan for `request`; `water_days` and `dry_days` are the brief's, used where the request names none.

    hold_day_cost: price of one full day of the crew and kit that wait; a hold day costs the request's hold_percent
    of it. Raises BadInput for a window shorter than the days needed or a month without a chance, RuleBroken when no
    window is given and no number of days is enough.
    """
    water = water_days if request.water_days is None else request.water_days
    dry = dry_days if request.dry_days is None else request.dry_days
    needed = water + dry
    if needed == 0:
        raise request.wrong("water_days", "a shoot with one water day or dry day at least", "none")
    view, booked = _booked(request, water, dry)
    hold_rate = hold_day_cost * request.hold_percent * Decimal("0.01")
    idle, lost = view.idle_days(booked), view.lost_days(booked)
    failing = 1 - view.chance(booked)
    currency = hold_day_cost.currency
    priced = {"booked": Decimal(booked - needed), "expected": _nearest(idle, 2), "used": Decimal(0)}
    line = _line(request, view, booked, needed, priced[request.charge], hold_rate, hold_day_cost)
    shown = range(needed, min(view.days, booked + DAYS_BEYOND) + 1)
    return WeatherPlan(
        request=request,
        water_days=water,
        dry_days=dry,
        booked_days=booked,
        hold_rate=hold_rate,
        line=line,
        sentences=_sentences(request, view, water, dry, booked, hold_rate, line),
        chart=tuple((days, _down(view.chance(days))) for days in shown),
        expected_hold_days=_nearest(idle, 4),
        expected_lost_days=_nearest(lost, 4),
        expected_hold_cost=_share(hold_rate, idle, hold_day_cost, lost),
        chance_of_failing=1 - _down(1 - failing),
        expected_failing_cost=_share(Money(request.cost_if_it_fails, currency), failing),
        reached=view.chance(booked) >= request.confidence,
    )


def _booked(request: WeatherRequest, water: int, dry: int) -> tuple[Outlook, int]:
    """The outlook of the window and how many of its days to keep free."""
    needed = water + dry
    window = request.window_days
    fixed = None if request.hold_days is None else needed + request.hold_days
    if window is not None and window < needed:
        hint = f"{water} water and {dry} dry days do not fit"
        raise request.wrong("days", f"a window of {needed} days or more", f"{window} days", hint=hint)
    if window is not None and fixed is not None and fixed > window:
        most = window - needed
        raise request.wrong("hold_days", f"{most} or fewer, which is what the window leaves", request.hold_days)
    length = window or fixed or min(LONGEST_WINDOW, 2 * needed + 14)
    while True:
        first, odds = request.odds(length)
        view = outlook(odds, first, water, dry, in_a_row=request.in_a_row)
        booked = fixed or view.days_for(request.confidence)
        if booked is not None:
            return view, max(booked, needed)
        if window is not None:
            return view, window
        if length == LONGEST_WINDOW:
            raise RuleBroken(
                f"even {LONGEST_WINDOW} days do not make it {_percent(request.confidence)} sure that "
                f"{water} water and {dry} dry days are shot: name a window, ask for less, or lower the confidence"
            )
        length = min(LONGEST_WINDOW, 2 * length)


def _line(
    request: WeatherRequest,
    view: Outlook,
    booked: int,
    needed: int,
    quantity: Decimal,
    hold_rate: Money,
    full_day: Money,
) -> Line | None:
    """The priced line, or None when no hold day is priced."""
    if quantity == 0:
        return None
    amount = hold_rate * quantity
    sure = _percent(_floor4(view.chance(booked)))
    what = f"{plain(quantity)} hold {_days(quantity)}"
    if request.charge == "expected":
        what += f" expected on average of {booked - needed} kept free"
    working = Working(
        text=f"{what} x {hold_rate} ({plain(request.hold_percent)}% of a full day, {full_day}); "
        f"{booked} days kept free for {needed} needed, {sure} sure",
        rule=f"weather.hold_{request.charge}",
        amount=amount,
        source="common practice",
        inputs=(
            ("booked_days", str(booked)),
            ("days_needed", str(needed)),
            ("confidence_asked", str(_down(request.confidence))),
            ("chance_finished", str(_down(view.chance(booked)))),
            ("hold_percent", plain(request.hold_percent)),
            ("full_day", full_day.text),
        ),
    )
    return Line("weather", "Weather hold days", quantity, "day", hold_rate, amount.rounded(), working)


def _sentences(
    request: WeatherRequest,
    view: Outlook,
    water: int,
    dry: int,
    booked: int,
    hold_rate: Money,
    line: Line | None,
) -> tuple[str, ...]:
    """The plan in plain words for the quote."""
    kinds = [f"{count} {kind} {_days(count)}" for count, kind in ((water, "water"), (dry, "dry")) if count]
    hold = booked - water - dry
    when = _when(request.starts, booked)
    spare = f"{hold} of them hold {_days(hold)}" if hold else "none of them a hold day"
    result = [f"The shoot needs {' and '.join(kinds)}. We keep {booked} {_days(booked)} free{when}, {spare}."]
    if request.in_a_row and water > 1:
        result.append(
            "The water days must follow each other; a run broken by weather starts again. "
            "A water day shot and then lost to a broken run is a shoot day and is charged as one."
        )
    if water and dry:
        result.append("Dry scenes are shot on days that are too rough for the water.")
    chance = view.chance(booked)
    sure = f"The chance of finishing within those days is {_percent(_floor4(chance))}"
    if chance < request.confidence:
        sure += f", less than the {_percent(request.confidence)} we aim for"
    result.append(sure + ".")
    if hold:
        result.append(_charge(request, hold, hold_rate.rounded(), line))
    if chance < 1:
        words = request.if_it_fails_words or _IF_IT_FAILS[request.if_it_fails]
        result.append(f"If the weather still fails: {words}")
    return tuple(result)


def _charge(request: WeatherRequest, hold: int, rate: Money, line: Line | None) -> str:
    """How hold days are charged, as a sentence."""
    share = f"{plain(request.hold_percent)}% of a full day"
    if request.charge == "used":
        return f"Each hold day used is charged at {rate} ({share}); those not used cost nothing."
    if request.charge == "booked" or line is None:
        return f"Each hold day is charged at {rate} ({share}), used or not, because no other work is taken for it."
    return (
        f"The hold days are a fixed price: {plain(line.quantity)} {_days(line.quantity)} at {rate} ({share}), "
        f"the number used on average, however many of the {hold} are used."
    )


def _when(starts: date | None, days: int) -> str:
    if starts is None:
        return ""
    ends = starts + timedelta(days=days - 1)
    return f" on {_day(starts)}" if days == 1 else f" from {_day(starts)} to {_day(ends)}"


def _day(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def _days(count: Decimal | int) -> str:
    return "day" if count == 1 else "days"


def _floor4(chance: Fraction) -> Fraction:
    return Fraction(chance.numerator * 10_000 // chance.denominator, 10_000)


def _down(chance: Fraction) -> Decimal:
    """To four decimals, rounded down: .903744 is 0.9037."""
    return Decimal(chance.numerator * 10_000 // chance.denominator).scaleb(-4).quantize(Decimal("0.0001"))


def _percent(chance: Fraction) -> str:
    """A chance as whole percent, rounded down: "90%"."""
    return f"{chance.numerator * 100 // chance.denominator}%"


def _exact(number: Fraction) -> Decimal:
    """As a decimal with far more digits than any amount is rounded to."""
    with localcontext() as context:
        context.prec = 60
        return Decimal(number.numerator) / Decimal(number.denominator)


def _nearest(number: Fraction, digits: int) -> Decimal:
    return round_half_away(_exact(number), digits)


def _share(rate: Money, times: Fraction, second: Money | None = None, second_times: Fraction = Fraction(0)) -> Money:
    """`rate` x `times` (+ `second` x `second_times`), rounded once at the end."""
    amount = Fraction(rate.amount) * times
    if second is not None:
        amount += Fraction(second.amount) * second_times
    return Money(_exact(amount), rate.currency).rounded()
