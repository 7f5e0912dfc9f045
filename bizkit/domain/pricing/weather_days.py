"""The [weather] table of a brief: the window, the days needed, and how likely a workable day is.

A **good** day is one with a camera in the water; a **rough** day is any other. Every chance is 0..1 and exact.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Annotated, Any

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Form, Key
from bizkit.domain.inputs.reading import Table, read_made
from bizkit.domain.money import decimal
from bizkit.domain.pricing.weather_chance import DayOdds
from bizkit.domain.pricing.weather_observations import ObservationRules, Observations
from bizkit.domain.typed_numbers import number_of

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


def _chance(value: Any, field: str = "") -> Fraction:
    """A number 0..1 with at most nine decimals: more would say more than anyone knows, and cost time.

    Raises BadInput.
    """
    wanted, hint = "a number 0..1", ""
    try:
        number = number_of(value, field="", least=0, most=1) if isinstance(value, str) else decimal(value)
        if 0 <= number <= 1:
            if int(number.as_tuple().exponent) >= -9:
                return Fraction(number)
            wanted = "a number 0..1 with at most nine decimals"
    except BadInput as error:
        hint = error.hint
    raise BadInput(wanted=wanted, got=value, field=field, hint=hint)


def _monthly(value: Any) -> Monthly:
    """A chance for every month from one number, or for the months named. Raises BadInput."""
    if not isinstance(value, Mapping):
        return dict.fromkeys(EVERY_MONTH, _chance(value))
    months = {str(month): month for month in EVERY_MONTH}
    for name in value:
        if name not in months:
            raise BadInput(wanted="months as numbers 1..12, such as {5 = 0.6}", got=name)
    if not value:
        raise BadInput(wanted="a chance for one month or more", got="an empty table")
    return {months[name]: _chance(chance, f".{name}") for name, chance in value.items()}


_ONE = {"anyOf": [{"type": "number", "minimum": 0, "maximum": 1}, {"type": "string", "pattern": "[0-9]"}]}
_CHANCE = Form("number 0..1", _ONE)
_MONTHLY = Form(
    "number 0..1, or one by month as {5 = 0.6, 6 = 0.7}",
    {
        "anyOf": [
            *_ONE["anyOf"],
            {
                "type": "object",
                "minProperties": 1,
                "propertyNames": {"enum": [str(month) for month in EVERY_MONTH]},
                "additionalProperties": _ONE,
            },
        ]
    },
)


@dataclass(frozen=True, slots=True)
class WeatherTable:
    """A brief's [weather] as it stands in the file; everything in it may be missing."""

    starts: Annotated[date | None, Key("First day of the window.", name="from")] = None
    ends: Annotated[date | None, Key("Its last day, or days.", name="to")] = None
    days: Annotated[int | None, Key("How long it is, in place of to.", "days", least=1, most=LONGEST_WINDOW)] = None
    water_days: Annotated[int | None, Key("Water days needed; without it the brief's.", "days", most=100)] = None
    dry_days: Annotated[int | None, Key("Dry days needed; without it the brief's.", "days", most=100)] = None
    chance: Annotated[Monthly, Key("How likely a day is good for the water.", form=_MONTHLY, rule=_monthly)] = field(
        default_factory=dict
    )
    memory: Annotated[
        Fraction, Key("How strongly a day follows the one before, below 1.", form=_CHANCE, rule=_chance)
    ] = Fraction(0)
    after_good: Annotated[Monthly, Key("Instead: the chance after a good day.", form=_MONTHLY, rule=_monthly)] = (
        field(default_factory=dict)
    )
    after_bad: Annotated[Monthly, Key("And after a rough one.", form=_MONTHLY, rule=_monthly)] = field(
        default_factory=dict
    )
    dry_chance: Annotated[
        Monthly, Key("How likely a rough day serves dry scenes; without it always.", form=_MONTHLY, rule=_monthly)
    ] = field(default_factory=dict)
    in_a_row: Annotated[bool, Key("Whether water days must follow each other.")] = False
    confidence: Annotated[Fraction, Key("How sure the plan should be.", form=_CHANCE, rule=_chance)] = Fraction(9, 10)
    hold_days: Annotated[int | None, Key("Hold days agreed already.", "days", most=LONGEST_WINDOW)] = None
    hold_percent: Annotated[
        Decimal | None, Key("What a hold day costs of a full one; without it as the card says.", "percent", most=100)
    ] = None
    charge: Annotated[str, Key("How hold days are charged.", choices=CHARGES)] = "booked"
    if_it_fails: Annotated[str, Key("What happens when the days run out.", choices=IF_IT_FAILS)] = "move"
    if_it_fails_words: Annotated[str, Key("Your own sentence in its place.")] = ""
    cost_if_it_fails: Annotated[Decimal, Key("What a failed window costs you, in the card's currency.")] = Decimal(0)
    observations: Annotated[ObservationRules | None, Key("Past days, in place of the chances.")] = None


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
    def read(
        cls,
        tree: Mapping[str, Any],
        *,
        hold_percent: Decimal = Decimal(50),
        where: str = "",
        path: str = "weather",
    ) -> "WeatherRequest":
        """From the brief's [weather] table. hold_percent: the card's rule, used where the brief has none.

        Raises BadInput.
        """
        return read_made(
            WeatherTable, lambda table, at: cls.of(table, at, hold_percent=hold_percent), tree, where=where, path=path
        )

    @classmethod
    def of(cls, table: WeatherTable, at: Table, *, hold_percent: Decimal = Decimal(50)) -> "WeatherRequest":
        """What a brief's [weather] says; reports what does not fit together to `at`, the table itself."""
        starts, window_days = _window(table, at)
        after_good, after_bad = table.after_good, table.after_bad
        if bool(after_good) != bool(after_bad):
            present, missing = ("after_good", "after_bad") if after_good else ("after_bad", "after_good")
            at.problem(missing, f"a chance to go with {present}", "nothing")
        if table.memory and after_good:
            at.problem("memory", "memory, or after_good and after_bad, not both", "both")
        if table.memory == 1:
            at.problem("memory", "a number below 1", 1, "At 1 the weather would never change")
        if table.observations and (table.chance or after_good or table.memory):
            at.problem("observations", "either observations or chances typed in", "both")
        request = cls(
            starts=starts,
            window_days=window_days,
            water_days=table.water_days,
            dry_days=table.dry_days,
            chance=table.chance,
            after_good=after_good,
            after_bad=after_bad,
            memory=table.memory,
            dry=table.dry_chance or CERTAIN,
            in_a_row=table.in_a_row,
            confidence=table.confidence,
            hold_days=table.hold_days,
            hold_percent=hold_percent if table.hold_percent is None else table.hold_percent,
            charge=table.charge,
            if_it_fails=table.if_it_fails,
            if_it_fails_words=table.if_it_fails_words,
            cost_if_it_fails=table.cost_if_it_fails,
            observations=table.observations,
            where=at.where,
            path=at.path,
        )
        if bool(after_good) == bool(after_bad):
            request._agree(at)
        return request

    def observed(self, past: Observations) -> "WeatherRequest":
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

    def _agree(self, at: Table) -> None:
        """Report a chance that contradicts after_good and after_bad, and weather that never changes."""
        for month in sorted(set(self.after_good) & set(self.after_bad)):
            long_run = DayOdds(self.after_good[month], self.after_bad[month]).long_run
            if long_run is None:
                at.problem("after_good", "weather that can change", "1 after a good day, 0 after a rough one")
                return
            stated = self.chance.get(month)
            if stated is not None and abs(stated - long_run) > Fraction(1, 100):
                wanted = f"the {float(long_run):.2f} that after_good and after_bad come to in the long run"
                at.problem("chance", wanted, f"{float(stated):.2f}", "Leave chance out")
                return

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
        reached = {self._month(number) for number in range(self.window_days or 0)} | {month}
        written = [f"{each} = {float(chance):g}" for each, chance in sorted(table.items())]
        missing = [f"{each} = ..." for each in sorted(reached - table.keys())]
        return self.wrong(
            key,
            f"a chance for month {month}, which the window reaches",
            f"months {known}",
            hint=f"Write what is missing into {key} = {{ {', '.join([*written, *missing])} }}",
        )


def _window(table: WeatherTable, at: Table) -> tuple[date | None, int | None]:
    """First day and number of days, from the keys from, to, days."""
    starts, ends, days = table.starts, table.ends, table.days
    if ends is None:
        return starts, days
    if starts is None:
        at.problem("from", "the first day of the window to go with its last", "nothing")
        return None, days
    if days is not None:
        at.problem("days", "either to or days", "both")
    if ends < starts:
        at.problem("to", f"a day on or after {starts}", ends)
    length = (ends - starts).days + 1
    if length > LONGEST_WINDOW:
        at.problem("to", f"a window of {LONGEST_WINDOW} days at most", f"{length} days")
    return starts, length
