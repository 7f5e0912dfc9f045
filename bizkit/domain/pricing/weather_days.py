"""The [weather] table of a brief: the window, the days needed, and how likely a workable day is.

A **good** day is one with a camera in the water; a **rough** day is any other. Every chance is 0..1 and exact.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType

from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
from bizkit.domain.pricing.weather_chance import DayOdds
from bizkit.domain.pricing.weather_observations import ObservationRules, Observations

#: month 1..12 -> chance
Monthly = Mapping[int, Fraction]

#: The longest window looked at, in days.
LONGEST_WINDOW = 366

#: How hold days are charged: every one booked, the expected number at a fixed price, or only those used.
CHARGES = ("booked", "expected", "used")

#: What happens when the days run out and the shoot is not finished.
IF_IT_FAILS = ("move", "extend", "stop")

EVERY_MONTH = range(1, 13)
CERTAIN: Monthly = MappingProxyType(dict.fromkeys(EVERY_MONTH, Fraction(1)))


@dataclass(frozen=True, slots=True)
class WeatherRequest:
    """What a brief says about weather.

    starts: first day of the window; None where only a number of days is given. window_days: its length, first and
    last day included; None means as many days as it takes. water_days, dry_days: days needed; None means those of
    the brief. chance: of a good day, by month; after_good, after_bad: the same by the day before (both or neither);
    memory: how strongly a day follows the one before, 0 (not at all) up to but not 1. dry: chance that a rough day
    still serves dry scenes. in_a_row: the water days must follow each other. confidence: how sure the plan should
    be. hold_days: hold days agreed already; None means as many as the confidence asks. hold_percent: of a full
    day. charge: one of `CHARGES`. if_it_fails: one of `IF_IT_FAILS`; if_it_fails_words: the studio's own sentence
    in its place. cost_if_it_fails: what a failed window costs the studio, in the card's currency. observations:
    how to get the chances from past days, where the brief asks for that; past: those days, once read (`observed`).
    """

    starts: date | None
    window_days: int | None
    water_days: int | None
    dry_days: int | None
    chance: Monthly
    after_good: Monthly
    after_bad: Monthly
    memory: Fraction
    dry: Monthly
    in_a_row: bool
    confidence: Fraction
    hold_days: int | None
    hold_percent: Decimal
    charge: str
    if_it_fails: str
    if_it_fails_words: str
    cost_if_it_fails: Decimal
    observations: ObservationRules | None = None
    past: Observations | None = None
    where: str = ""
    path: str = "weather"

    @classmethod
    def read(cls, fields: Fields, *, hold_percent: Decimal = Decimal(50)) -> WeatherRequest:
        """From the brief's [weather] table. `hold_percent` is the card's rule, used where the brief has none.

        Keys, all optional: from, to (dates, both included) or days; water_days, dry_days; chance (a number, or by
        month as {5 = 0.6, 6 = 0.7}) and memory; or after_good and after_bad (numbers or by month); dry_chance;
        in_a_row; confidence (0.9); hold_days; hold_percent (50, common practice); charge ("booked"); if_it_fails
        ("move"), if_it_fails_words; cost_if_it_fails (0); a table [observations] in place of the chances. Raises
        BadInput.
        """
        starts, window_days = _window(fields)
        after_good, after_bad = _monthly(fields, "after_good"), _monthly(fields, "after_bad")
        if bool(after_good) != bool(after_bad):
            present, missing = ("after_good", "after_bad") if after_good else ("after_bad", "after_good")
            raise fields.wrong(missing, f"a chance to go with {present}", "nothing")
        memory = _chance(fields, "memory") if "memory" in fields else Fraction(0)
        if memory and after_good:
            raise fields.wrong("memory", "memory, or after_good and after_bad, not both", "both")
        if memory == 1:
            raise fields.wrong("memory", "a number below 1", 1, hint="At 1 the weather would never change")
        request = cls(
            starts=starts,
            window_days=window_days,
            water_days=fields.whole("water_days", most=100) if "water_days" in fields else None,
            dry_days=fields.whole("dry_days", most=100) if "dry_days" in fields else None,
            chance=_monthly(fields, "chance"),
            after_good=after_good,
            after_bad=after_bad,
            memory=memory,
            dry=_monthly(fields, "dry_chance") or CERTAIN,
            in_a_row=fields.flag("in_a_row", False),
            confidence=_chance(fields, "confidence") if "confidence" in fields else Fraction(9, 10),
            hold_days=fields.whole("hold_days", most=LONGEST_WINDOW) if "hold_days" in fields else None,
            hold_percent=fields.number("hold_percent", hold_percent, most=100),
            charge=fields.choice("charge", CHARGES, "booked"),
            if_it_fails=fields.choice("if_it_fails", IF_IT_FAILS, "move"),
            if_it_fails_words=fields.text("if_it_fails_words", ""),
            cost_if_it_fails=fields.number("cost_if_it_fails", 0),
            observations=ObservationRules.read(fields.table("observations")) if "observations" in fields else None,
            where=fields.where,
            path=fields.path,
        )
        fields.done()
        if request.observations and (request.chance or request.after_good or request.memory):
            raise request.wrong("observations", "either observations or chances typed in", "both")
        request._agree()
        return request

    def observed(self, past: Observations) -> WeatherRequest:
        """This request with the chances that past days show. A dry_chance in the brief outranks the observed one."""
        months = {month: Fraction(chance) for month, chance in past.chance.items()}
        dry = {month: Fraction(chance) for month, chance in past.dry.items()}
        return replace(
            self,
            chance=months,
            memory=Fraction(past.memory),
            dry=self.dry if self.dry is not CERTAIN or not dry else dry,
            past=past,
        )

    def wrong(self, key: str, wanted: str, got: object, hint: str = "") -> BadInput:
        """The error to raise for `key` of this table."""
        field = f"{self.path}.{key}" if self.path else key
        return BadInput(wanted=wanted, got=got, field=field, where=self.where, hint=hint)

    def _agree(self) -> None:
        """Refuse a chance that contradicts after_good and after_bad, and weather that never changes."""
        for month in sorted(set(self.after_good) & set(self.after_bad)):
            long_run = DayOdds(self.after_good[month], self.after_bad[month]).long_run
            if long_run is None:
                raise self.wrong("after_good", "weather that can change", "1 after a good day, 0 after a rough one")
            stated = self.chance.get(month)
            if stated is not None and abs(stated - long_run) > Fraction(1, 100):
                raise self.wrong(
                    "chance",
                    f"the {float(long_run):.2f} that after_good and after_bad come to in the long run",
                    f"{float(stated):.2f}",
                    hint="Leave chance out",
                )

    def odds(self, days: int) -> tuple[Fraction, list[DayOdds]]:
        """Chance that day one is good, and the odds of the first `days` days of the window.

        Day one follows the long run of its month: nobody knows the day before when a quote is written.
        Raises BadInput when the chance of a month in the window is not given.
        """
        by_month: dict[int, DayOdds] = {}
        result = []
        for number in range(days):
            month = self._month(number)
            if month not in by_month:
                by_month[month] = self._of_month(month)
            result.append(by_month[month])
        if not result:
            return Fraction(0), []
        return result[0].long_run or Fraction(0), result

    def _month(self, number: int) -> int:
        """Month of day `number` of the window; 0 where the window has no date."""
        return 0 if self.starts is None else (self.starts + timedelta(days=number)).month

    def _of_month(self, month: int) -> DayOdds:
        dry = self._pick("dry_chance", self.dry, month)
        if self.after_good:
            good, bad = (
                self._pick("after_good", self.after_good, month),
                self._pick("after_bad", self.after_bad, month),
            )
            return DayOdds(good, bad, dry)
        chance = self._pick("chance", self.chance, month)
        return DayOdds(chance + self.memory * (1 - chance), chance * (1 - self.memory), dry)

    def _pick(self, key: str, table: Monthly, month: int) -> Fraction:
        if self.observations is not None and not table:
            raise self.wrong("observations", "the past days to be read before the plan is made", "none")
        if not table:
            raise self.wrong(key, "the chance of a workable water day, 0..1", "nothing", hint=f"Add {key} = 0.6")
        if month:
            if month not in table:
                raise self._no_month(key, month, table)
            return table[month]
        if len(set(table.values())) > 1:
            raise self.wrong(key, "one number", "a chance by month", hint="Give the window as from and to dates")
        return next(iter(table.values()))

    def _no_month(self, key: str, month: int, table: Monthly) -> BadInput:
        if self.observations is not None and self.past is not None:
            got = f"{self.past.days.get(month, 0)} days"
            least = self.observations.least_days
            return self.wrong(
                "observations", f"{least} days observed in month {month}, which the window reaches", got
            )
        known = ", ".join(str(each) for each in sorted(table))
        return self.wrong(key, f"a chance for month {month}, which the window reaches", f"months {known}")


def _window(fields: Fields) -> tuple[date | None, int | None]:
    """First day and number of days, from the keys from, to, days."""
    starts, ends = fields.day("from", None), fields.day("to", None)
    days = fields.whole("days", least=1, most=LONGEST_WINDOW) if "days" in fields else None
    if starts is not None and starts.year > 9000:
        raise fields.wrong("from", "a date before the year 9000", starts)
    if ends is None:
        return starts, days
    if starts is None:
        raise fields.wrong("from", "the first day of the window to go with its last", "nothing")
    if days is not None:
        raise fields.wrong("days", "either to or days", "both")
    if ends < starts:
        raise fields.wrong("to", f"a day on or after {starts}", ends)
    length = (ends - starts).days + 1
    if length > LONGEST_WINDOW:
        raise fields.wrong("to", f"a window of {LONGEST_WINDOW} days at most", f"{length} days")
    return starts, length


def _monthly(fields: Fields, key: str) -> Monthly:
    """A chance for every month from one number, or for the months named; empty when absent."""
    if key not in fields:
        return {}
    try:
        table = fields.table(key)
    except BadInput:
        return dict.fromkeys(EVERY_MONTH, _chance(fields, key))
    result: dict[int, Fraction] = {}
    for name in table.names():
        if name not in {str(month) for month in EVERY_MONTH}:
            raise fields.wrong(key, "months as numbers 1..12, such as {5 = 0.6}", name)
        result[int(name)] = _chance(table, name)
    if not result:
        raise fields.wrong(key, "a chance for one month or more", "an empty table")
    return result


def _chance(fields: Fields, key: str) -> Fraction:
    """A number 0..1 with at most nine decimals: more would say more than anyone knows, and cost time."""
    number = fields.number(key, most=1)
    if int(number.as_tuple().exponent) < -9:
        raise fields.wrong(key, "a number 0..1 with at most nine decimals", number)
    return Fraction(number)
