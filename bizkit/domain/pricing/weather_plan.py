"""The weather plan of a quote: how many hold days, at what rate, how sure, and what if it still fails."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal, localcontext
from fractions import Fraction

from bizkit.domain.documents.sales import Weather
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, plain, round_half_away
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.sentences import money_in, number_in
from bizkit.domain.pricing.weather_chance import Outlook, outlook
from bizkit.domain.pricing.weather_days import LONGEST_WINDOW, WeatherRequest
from bizkit.domain.pricing.weather_words import WEATHER_WORDS, counted, written
from bizkit.domain.pricing.working import Working

#: Days shown in the chart after the ones booked, where the window has them.
DAYS_BEYOND = 2


@dataclass(frozen=True, slots=True)
class WeatherPlan:
    """The answer to a `WeatherRequest` for a number of water and dry days.

    booked_days: days kept free, shoot days and hold days together. hold_days: those beyond the days needed.
    hold_rate: price of one hold day, exact. chart: (days, chance of being finished within them), rounded down to
    four decimals so that it never promises more than it is. expected_hold_days: days of the booked ones that are
    spent waiting, on average, to four decimals; expected_lost_days: water days worked for nothing because a run
    was broken (in_a_row only). expected_hold_cost: both, hold days at the hold rate and lost days at the full one.
    expected_extra_income: the part of it that the client pays beyond the quoted line.
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
    expected_extra_income: Money
    chance_of_failing: Decimal
    expected_failing_cost: Money
    reached: bool

    @property
    def hold_days(self) -> int:
        """Days kept free beyond the days needed."""
        return self.booked_days - self.water_days - self.dry_days

    def data(self) -> Weather:
        """What the client sees, JSON-ready: the `weather` member of a quote."""
        return {
            "sentences": list(self.sentences),
            "chart": [
                {"days": days, "chance": str(chance), "chosen": days == self.booked_days}
                for days, chance in self.chart
            ],
        }

    def studio_data(self) -> WeatherPlanData:
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
            "expected_extra_income": self.expected_extra_income.text,
            "chance_of_failing": str(self.chance_of_failing),
            "expected_failing_cost": self.expected_failing_cost.text,
            "reached": self.reached,
        }


def weather_plan(
    request: WeatherRequest,
    *,
    water_days: int,
    dry_days: int,
    hold_day_cost: Money,
    words: Mapping[str, str] = WEATHER_WORDS,
) -> WeatherPlan:
    """The plan for `request`; `water_days` and `dry_days` are the brief's, used where the request names none.

    hold_day_cost: price of one full day of the crew and kit that wait; a hold day costs the request's hold_percent
    of it. words: the sentences, in the language of the quote. Raises BadInput for a window shorter than the days
    needed or a month without a chance, RuleBroken when no window is given and no number of days is enough.
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
    line = _line(
        request, view, booked, needed, priced[request.charge], hold_rate, hold_day_cost, words["weather_item"]
    )
    shown = range(needed, min(view.days, booked + DAYS_BEYOND) + 1)
    return WeatherPlan(
        request=request,
        water_days=water,
        dry_days=dry,
        booked_days=booked,
        hold_rate=hold_rate,
        line=line,
        sentences=_sentences(request, view, water, dry, booked, hold_rate, line, words),
        chart=tuple((days, _down(view.chance(days))) for days in shown),
        expected_hold_days=_nearest(idle, 4),
        expected_lost_days=_nearest(lost, 4),
        expected_hold_cost=_share(hold_rate, idle, hold_day_cost, lost),
        expected_extra_income=_share(
            hold_day_cost, lost, hold_rate, idle if request.charge == "used" else Fraction(0)
        ),
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
                f"even {LONGEST_WINDOW} days do not make it {_percent(request.confidence)}% sure that "
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
    item: str,
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
        f"{booked} days kept free for {needed} needed, {sure}% sure",
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
    return Line("weather", item, quantity, "day", hold_rate, amount.rounded(), working)


def _sentences(
    request: WeatherRequest,
    view: Outlook,
    water: int,
    dry: int,
    booked: int,
    hold_rate: Money,
    line: Line | None,
    words: Mapping[str, str],
) -> tuple[str, ...]:
    """The plan in plain words for the quote."""
    hold = booked - water - dry
    needed = [counted(words, kind, count) for kind, count in (("water_days", water), ("dry_days", dry)) if count]
    spare = {0: "weather_no_hold", 1: "weather_one_hold"}.get(hold, "weather_hold")
    result = [
        words["weather_keep"].format(
            needed=words["weather_and"].format(first=needed[0], second=needed[1]) if len(needed) > 1 else needed[0],
            days=counted(words, "days", booked),
            when=_when(request.starts, booked, words),
            hold=words[spare].format(count=hold),
        )
    ]
    if request.in_a_row and water > 1:
        result.append(words["weather_in_a_row"])
    if water and dry:
        result.append(words["weather_dry_on_rough"])
    chance = view.chance(booked)
    sure = "weather_sure" if chance >= request.confidence else "weather_less_sure"
    result.append(
        words[sure].format(
            chance=number_in(words, _percent(_floor4(chance))), aim=number_in(words, _percent(request.confidence))
        )
    )
    if hold:
        charge = request.charge if line is not None or request.charge == "used" else "booked"
        result.append(
            words[f"weather_{charge}"].format(
                rate=money_in(words, hold_rate),
                percent=number_in(words, request.hold_percent),
                days=counted(words, "days", line.quantity) if line else "",
                count=hold,
            )
        )
    if chance < 1:
        what = request.if_it_fails_words or words[f"weather_{request.if_it_fails}"]
        result.append(words["weather_fails"].format(what=what))
    return tuple(result)


def _when(starts: date | None, days: int, words: Mapping[str, str]) -> str:
    if starts is None:
        return ""
    if days == 1:
        return words["weather_on"].format(day=written(words, starts))
    last = starts + timedelta(days=days - 1)
    return words["weather_from"].format(first=written(words, starts), last=written(words, last))


def _days(count: Decimal) -> str:
    return "day" if count == 1 else "days"


def _floor4(chance: Fraction) -> Fraction:
    return Fraction(chance.numerator * 10_000 // chance.denominator, 10_000)


def _down(chance: Fraction) -> Decimal:
    """To four decimals, rounded down: .903744 is 0.9037."""
    return Decimal(chance.numerator * 10_000 // chance.denominator).scaleb(-4).quantize(Decimal("0.0001"))


def _percent(chance: Fraction) -> str:
    """A chance as whole percent, rounded down: "90"."""
    return str(chance.numerator * 100 // chance.denominator)


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


class WeatherPlanData(Weather):
    """Everything a weather plan says, as JSON, for the studio alone."""

    water_days: int
    dry_days: int
    booked_days: int
    hold_days: int
    hold_rate: str
    currency: str
    expected_hold_days: str
    expected_lost_days: str
    expected_hold_cost: str
    expected_extra_income: str
    chance_of_failing: str
    expected_failing_cost: str
    reached: bool
