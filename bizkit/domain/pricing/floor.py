"""The price below which the studio loses money: a break-even day rate from the year's costs and wanted income.

For the studio's eyes only: none of this belongs on a paper that a client sees. It is arithmetic on figures the studio
typed in, no tax advice.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal, localcontext
from fractions import Fraction
from typing import Annotated, TypedDict

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money, currency_code, plain, round_half_away, total
from bizkit.domain.pricing.working import Working


@dataclass(frozen=True, slots=True)
class KitItem:
    """Kit that wears out: bought for `value`, sold on for `resale` after `lasts_years`."""

    item: Annotated[str, Key("What it is.", example="Underwater housings and lights")]
    value: Annotated[Money, Key("What it was bought for.", example=16700)]
    resale: Annotated[Money, Key("What it is sold on for then.", usual=0, example=3000)]
    lasts_years: Annotated[Decimal, Key("How long it lasts.", "years", most=100, above=0, example=6)]

    def settled(self, at: Table) -> "KitItem":
        """It sells for no more than it was bought for."""
        if self.resale > self.value:
            at.problem("resale", f"{self.value.text} or less", self.resale.text)
        return self

    @property
    def per_year(self) -> Money:
        """What has to be put aside each year to replace it, rounded."""
        return _divide(self.value - self.resale, self.lasts_years)


@dataclass(frozen=True, slots=True)
class FloorTerms:
    """What one year of the studio takes.

    costs: name -> business cost of a year. income: what the people want to live on, after tax and pension.
    tax_percent, pension_percent: of the profit, put aside before that income. billable_days: days a year really sold;
    the days of all people together where several share the costs.
    """

    income: Annotated[Money, Key("What you live on, all people together, after tax and pension.", example=52000)]
    tax_percent: Annotated[Decimal, Key("Of the profit, put aside for tax.", "percent", most=100, example=24)]
    billable_days: Annotated[
        Decimal,
        Key(
            "Days really sold in a year, all people together.",
            "days",
            most=3660,
            above=0,
            hint="Count the days you can really sell in a year",
            example=290,
        ),
    ]
    pension_percent: Annotated[Decimal, Key("Of the profit, put aside for a pension.", "percent", most=100)] = (
        Decimal(0)
    )
    costs: Annotated[Mapping[str, Money], Key("Business costs of a year, under names of your own.")] = field(
        default_factory=dict
    )
    kit: Annotated[tuple[KitItem, ...], Key("Kit that wears out and is bought again.")] = ()
    currency: Annotated[str, Key("Of the amounts; without it the studio's.", rule=currency_code, example="GBP")] = ""

    def settled(self, at: Table) -> "FloorTerms":
        """Tax and pension leave something to live on."""
        together = self.tax_percent + self.pension_percent
        if together >= 100:
            at.problem("pension_percent", "tax and pension below 100 together", plain(together))
        return self

    def floor(self) -> "Floor":
        """The break-even day rate. Each yearly amount is rounded once, the rate is the rounded quotient of their sum.

        Profit needed = income / (1 - tax - pension), as tax and pension are shares of the profit.
        """
        currency = self.income.currency
        kept = 100 - self.tax_percent - self.pension_percent
        profit = _divide(self.income * 100, kept)
        parts = [Working(f"{name}: {cost}", "floor.cost", cost.rounded()) for name, cost in self.costs.items()]
        parts += [
            Working(
                f"{item.item}: ({item.value} - {item.resale}) / {plain(item.lasts_years)} years = {item.per_year}",
                "floor.kit",
                item.per_year,
            )
            for item in self.kit
        ]
        parts.append(
            Working(
                f"profit of {profit}: {plain(self.tax_percent)}% tax and {plain(self.pension_percent)}% pension put "
                f"aside leave {self.income}",
                "floor.profit",
                profit,
                inputs=(
                    ("income", self.income.text),
                    ("tax_percent", plain(self.tax_percent)),
                    ("pension_percent", plain(self.pension_percent)),
                ),
            )
        )
        yearly = total((part.amount for part in parts if part.amount is not None), currency)
        rate = _divide(yearly, self.billable_days)
        working = Working(
            f"{yearly} a year / {plain(self.billable_days)} billable days = {rate} a day",
            "floor.day_rate",
            rate,
            inputs=(("yearly", yearly.text), ("billable_days", plain(self.billable_days))),
            parts=tuple(parts),
        )
        return Floor(rate, yearly, self.billable_days, working)


@dataclass(frozen=True, slots=True)
class RoleBelow:
    """A role of the card whose day rate lies under the floor, and by how much."""

    role: str
    rate_per_day: Money
    short_by: Money


@dataclass(frozen=True, slots=True)
class Floor:
    """The break-even day rate: below it the studio pays to work."""

    rate_per_day: Money
    yearly: Money
    billable_days: Decimal
    working: Working

    def data(self) -> dict[str, str]:
        """As JSON-ready data, to be kept with what was decided by it; without its working."""
        return {
            "currency": self.yearly.currency,
            "rate_per_day": self.rate_per_day.text,
            "yearly": self.yearly.text,
            "billable_days": plain(self.billable_days),
        }

    @classmethod
    def of_data(cls, data: Mapping[str, str]) -> "Floor":
        """The floor that was kept."""
        rate, yearly = (Money(data[name], data["currency"]) for name in ("rate_per_day", "yearly"))
        days = Decimal(data["billable_days"])
        working = Working(f"{yearly} a year / {plain(days)} billable days = {rate} a day", "floor.day_rate", rate)
        return cls(rate, yearly, days, working)

    def roles_below(self, rates: Mapping[str, Money]) -> tuple[RoleBelow, ...]:
        """Roles of `rates` (role -> day rate) under the floor, the worst first."""
        found = [
            RoleBelow(role, rate, self.rate_per_day - rate)
            for role, rate in rates.items()
            if rate < self.rate_per_day
        ]
        return tuple(sorted(found, key=lambda each: (-each.short_by.amount, each.role)))

    def margin(self, income: Money, direct_costs: Money, days: Decimal) -> "Margin":
        """The margin of a job: `income` net of tax, `direct_costs` paid to others, `days` of the studio's own people.

        days counts every person-day the job takes, editing included. Raises BadInput for days below zero.
        """
        if days < 0:
            raise BadInput(wanted="days of zero or more", got=plain(days), field="days")
        return Margin(self, income.rounded(), direct_costs.rounded(), days)


@dataclass(frozen=True, slots=True)
class Margin:
    """What a job leaves over its direct costs and its days at the floor."""

    floor: Floor
    income: Money
    direct_costs: Money
    days: Decimal

    @property
    def left(self) -> Money:
        """Income less direct costs: what pays for the days."""
        return self.income - self.direct_costs

    @property
    def days_cost(self) -> Money:
        """The days at the floor rate, rounded."""
        return (self.floor.rate_per_day * self.days).rounded()

    @property
    def amount(self) -> Money:
        """What is over once the days are paid at the floor; below zero the job costs the studio money."""
        return self.left - self.days_cost

    @property
    def percent(self) -> Decimal | None:
        """The margin in percent of the income, one decimal; None without income."""
        if not self.income:
            return None
        return round_half_away(_exact(Fraction(self.amount.amount) * 100 / Fraction(self.income.amount)), 1)

    @property
    def per_day(self) -> Money | None:
        """What is left for each day, rounded; None for a job without days."""
        return _divide(self.left, self.days) if self.days else None

    @property
    def below_floor(self) -> bool:
        """Whether the job costs the studio money."""
        return self.amount.amount < 0

    @property
    def warning(self) -> str:
        """One line under the floor, empty above it."""
        if not self.below_floor:
            return ""
        if self.per_day is None:
            return f"below the floor: {self.direct_costs} of direct costs against an income of {self.income}"
        needed = self.income - self.amount
        return (
            f"below the floor: {self.per_day} is left for each of {plain(round(self.days, 2))} days, the floor is "
            f"{self.floor.rate_per_day}. Charge {needed} instead of {self.income}, or give a reason to send it anyway"
        )

    def with_weather(self, held_days: Decimal, costs: Money, income: Money) -> "Margin":
        """The margin on average once weather is counted.

        held_days: person-days of waiting and lost work expected. costs: direct costs and cost of failing expected
        on top. income: what the client pays on average beyond the quote (hold days charged as used).
        """
        return self.floor.margin(self.income + income, self.direct_costs + costs, self.days + held_days)

    def data(self) -> "MarginData":
        """As JSON-ready data, for the studio alone."""
        return {
            "currency": self.income.currency,
            "income": self.income.text,
            "direct_costs": self.direct_costs.text,
            "days": plain(self.days),
            "days_cost": self.days_cost.text,
            "margin": self.amount.text,
            "percent": "" if self.percent is None else str(self.percent),
            "per_day": "" if self.per_day is None else self.per_day.text,
            "floor_per_day": self.floor.rate_per_day.text,
            "below_floor": self.below_floor,
            "warning": self.warning,
        }


def _exact(number: Fraction) -> Decimal:
    """As a decimal with far more digits than any amount is rounded to."""
    with localcontext() as context:
        context.prec = 60
        return Decimal(number.numerator) / Decimal(number.denominator)


def _divide(amount: Money, by: Decimal) -> Money:
    """`amount` / `by`, rounded once."""
    return Money(_exact(Fraction(amount.amount) / Fraction(by)), amount.currency).rounded()


class MarginData(TypedDict):
    """The margin of a job as JSON."""

    currency: str
    income: str
    direct_costs: str
    days: str
    days_cost: str
    margin: str
    percent: str
    per_day: str
    floor_per_day: str
    below_floor: bool
    warning: str
