"""The kit side of a rate card: items and bundles with their day rates, and the rules of hire."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Annotated

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money, plain, total

if TYPE_CHECKING:
    from bizkit.domain.pricing.card_file import CardFile

#: What a kind of day counts as in hire days, in percent, where the card does not say.
USUAL_HIRE_PERCENT = {
    "prep": Decimal(0),
    "recce": Decimal(100),
    "travel": Decimal(0),
    "water": Decimal(100),
    "dry": Decimal(100),
    "hold": Decimal(50),
    "wrap": Decimal(0),
}


def _ladder(percents: Mapping[str, Decimal]) -> tuple[Decimal, ...]:
    """`{ 1 = 3, 2 = 6, 3 = 8 }`: percent of the value for 1, 2, 3 days; never going down. Raises BadInput."""
    days = list(percents)
    if not days or days != [str(number) for number in range(1, len(days) + 1)] or len(days) > 7:
        raise BadInput(wanted="days 1, 2, 3... (up to 7) with their percentages", got=", ".join(days))
    ladder = tuple(percents.values())
    if list(ladder) != sorted(ladder):
        raise BadInput(wanted="percentages that never go down", got=", ".join(plain(step) for step in ladder))
    return ladder


@dataclass(frozen=True, slots=True)
class Hire:
    """The card's [hire]: the rules of hire."""

    week_days: Annotated[Decimal, Key("Any 7 days charge this many at most.", "days", most=7)] = Decimal(4)
    weekend_days: Annotated[
        Decimal | None, Key("A Saturday and Sunday together; without it each counts.", "days", most=2)
    ] = None
    percent: Annotated[
        Mapping[str, Decimal],
        Key(
            "What a kind of day counts as in hire days.",
            "percent",
            most=100,
            choices=tuple(USUAL_HIRE_PERCENT),
            wanted="a known kind of day",
        ),
    ] = field(default_factory=dict)
    spare_percent: Annotated[Decimal, Key("Of the day rate, for a spare.", "percent", most=100)] = Decimal(50)
    insurance_percent_of_hire: Annotated[Decimal, Key("Insurance by the hire.", "percent", most=100)] = Decimal(0)
    insurance_percent_of_value_per_day: Annotated[
        Decimal, Key("Insurance by the value, a day; one of the two.", "percent", most=100)
    ] = Decimal(0)
    soak_hours: Annotated[int, Key("Fresh-water soak of in-water kit after salt water.", "hours")] = 24

    def settled(self, at: Table) -> "Hire":
        """Kit is insured in one way."""
        if self.insurance_percent_of_hire and self.insurance_percent_of_value_per_day:
            at.problem("insurance_percent_of_hire", "insurance by the hire or by the value", "both")
        return self


@dataclass(frozen=True, slots=True)
class KitTable:
    """A [kit.NAME] table: one thing for hire, at a day rate, a percentage of its value, or a supplier's price."""

    title: Annotated[str, Key("What papers call it.", example="Underwater housing")]
    deposit: Annotated[Money, Key("Held while it is out.", usual=0)]
    day_rate: Annotated[Money | None, Key("What a day costs.", example=95)] = None
    percent_of_value: Annotated[
        tuple[Decimal, ...],
        Key(
            "Instead: of its value, for 1, 2, 3... days.",
            "percent",
            written=Mapping[str, Decimal],
            rule=_ladder,
            example={"1": 3, "2": 6},
        ),
    ] = ()
    cost_per_day: Annotated[Money | None, Key("Instead, sub-hired: what the supplier takes a day.")] = None
    margin_percent: Annotated[Decimal, Key("Yours on top of a sub-hired thing.", "percent")] = Decimal(0)
    value: Annotated[Money | None, Key("What replacing it costs.", example=4200)] = None
    week_days: Annotated[
        Decimal | None, Key("Of this thing, any 7 days charge this many at most.", "days", most=7)
    ] = None
    owned: Annotated[int | None, Key("How many you own, 1 where not said.", least=1, most=1000)] = None
    in_water: Annotated[bool, Key("Whether it goes into the water.")] = False
    service_every_days: Annotated[int | None, Key("Due for service then.", "days", least=1, most=36_500)] = None
    service_every_dives: Annotated[int | None, Key("Due for service after so many.", "dives", least=1)] = None
    serviced_on: Annotated[date | None, Key("Its last service.")] = None
    dives_since_service: Annotated[int, Key("Before the first job in the book.", "dives")] = 0


@dataclass(frozen=True, slots=True)
class BundleTable:
    """A [bundles.NAME] table: things hired as one, at a rate of its own or for less than apart."""

    title: Annotated[str, Key("What papers call it.", example="Underwater set")]
    items: Annotated[tuple[str, ...], Key("Names of things and bundles.", example=["housing", "lights", "lights"])]
    deposit: Annotated[Money, Key("Held while it is out.", usual=0)]
    day_rate: Annotated[Money | None, Key("What a day costs.")] = None
    less_percent: Annotated[Decimal, Key("Instead: less than its things apart.", "percent", most=100)] = Decimal(0)
    week_days: Annotated[
        Decimal | None, Key("Of the bundle, any 7 days charge this many at most.", "days", most=7)
    ] = None

    def settled(self, at: Table) -> "BundleTable":
        """It has things in it, and one price."""
        if not self.items:
            at.problem("items", "one item or more", "none")
        if self.day_rate is not None and self.less_percent:
            at.problem("less_percent", "either day_rate or less_percent", "both")
        return self


@dataclass(frozen=True, slots=True)
class Item:
    """One thing for hire, or a bundle of things hired as one.

    day_rate: per day; for a sub-hired item, its cost_per_day plus margin. value: what replacing it costs, None when
    not said. ladder: percent of the value for 1, 2, 3... days, instead of the day rate. owned: how many there are
    (0 for sub-hired: as many as asked for). parts: items of a bundle, name -> how many.
    """

    key: str
    title: str
    day_rate: Money
    rate_text: str
    cost_per_day: Money | None
    value: Money | None
    ladder: tuple[Decimal, ...]
    week_days: Decimal
    owned: int
    in_water: bool
    service_every_days: int | None
    service_every_dives: int | None
    serviced_on: date | None
    dives_since_service: int
    deposit: Money
    parts: Mapping[str, int]

    @property
    def sub_hired(self) -> bool:
        """The studio owns none of it, and it is no bundle: it comes from a hire company."""
        return self.owned == 0 and not self.parts


@dataclass(frozen=True, slots=True)
class KitTerms:
    """Items, bundles, and the rules of hire.

    week_days: chargeable days in any 7 days. weekend_days: chargeable days of a Saturday and Sunday together, None
    when each counts. spare_percent: of the day rate, for a spare. insurance_percent_of_hire / _of_value_per_day:
    at most one of them. soak_hours: fresh-water soak of in-water kit after salt water.
    """

    items: Mapping[str, Item]
    week_days: Decimal
    weekend_days: Decimal | None
    percent: Mapping[str, Decimal]
    spare_percent: Decimal
    insurance_percent_of_hire: Decimal
    insurance_percent_of_value_per_day: Decimal
    soak_hours: int

    @classmethod
    def of(cls, card: "CardFile", at: Table) -> "KitTerms":
        """From the card's [hire], [kit.NAME] and [bundles.NAME]."""
        hire = card.hire
        items = {key: _item(key, table, hire.week_days, at) for key, table in card.kit.items()}
        _bundles(card, items, at)
        terms = cls(
            items=items,
            week_days=hire.week_days,
            weekend_days=hire.weekend_days,
            percent=USUAL_HIRE_PERCENT | dict(hire.percent),
            spare_percent=hire.spare_percent,
            insurance_percent_of_hire=hire.insurance_percent_of_hire,
            insurance_percent_of_value_per_day=hire.insurance_percent_of_value_per_day,
            soak_hours=hire.soak_hours,
        )
        if terms.insurance_percent_of_value_per_day:
            for key, item in items.items():
                if item.value is None and not item.parts:
                    wanted = "the replacement value, as the card insures kit by its value"
                    at.problem(f"kit.{key}.value", wanted, "nothing")
        return terms

    def pieces(self, key: str, quantity: int = 1) -> dict[str, int]:
        """The single items that `quantity` of `key` put to use, name -> how many; bundles are taken apart."""
        item = self.items[key]
        if not item.parts:
            return {key: quantity}
        pieces: dict[str, int] = {}
        for part, many in item.parts.items():
            for name, count in self.pieces(part, many * quantity).items():
                pieces[name] = pieces.get(name, 0) + count
        return pieces

    def value_of(self, key: str) -> Money:
        """Replacement value of an item, or of everything in a bundle; what is not known counts as nothing."""
        item = self.items[key]
        nothing = Money(0, item.day_rate.currency)
        return total((self.value_of(part) * many for part, many in item.parts.items()), nothing.currency) + (
            item.value or nothing
        )


def _item(key: str, table: KitTable, week_days: Decimal, at: Table) -> Item:
    place, value, ladder = f"kit.{key}", table.value, table.percent_of_value
    if ladder and value is None:
        at.problem(f"{place}.value", "the replacement value that percent_of_value is taken of", "nothing")
    ways = [name for name in ("day_rate", "percent_of_value", "cost_per_day") if getattr(table, name)]
    ways += ["day_rate"] if table.day_rate is not None and not table.day_rate else []
    if len(ways) != 1:
        wanted = "one of day_rate, percent_of_value or cost_per_day (sub-hired)"
        at.problem(f"{place}.day_rate", wanted, " and ".join(ways) or "nothing")
    owned, cost, rate = table.owned or 1, table.cost_per_day, table.day_rate or Money(0, at.currency)
    rate_text = f"{rate} a day"
    if ladder and value is not None:
        rate = value * (ladder[0] / 100)
        rate_text = f"{plain(ladder[0])} % of the value of {value} a day"
    elif cost is not None:
        rate, owned = cost * (1 + table.margin_percent / 100), 0
        rate_text = f"sub-hired at {cost} a day + {plain(table.margin_percent)} %"
        if table.owned is not None:
            at.problem(f"{place}.owned", "nothing, as sub-hired kit is not owned", table.owned)
    if cost is None and table.margin_percent:
        at.problem(f"{place}.margin_percent", "cost_per_day, which the margin goes on", "none")
    if table.service_every_days is not None and table.serviced_on is None:
        at.problem(f"{place}.serviced_on", "the date of the last service", "nothing")
    return Item(
        key=key,
        title=table.title,
        day_rate=rate,
        rate_text=rate_text,
        cost_per_day=cost,
        value=value,
        ladder=ladder,
        week_days=week_days if table.week_days is None else table.week_days,
        owned=owned,
        in_water=table.in_water,
        service_every_days=table.service_every_days,
        service_every_dives=table.service_every_dives,
        serviced_on=table.serviced_on,
        dives_since_service=table.dives_since_service,
        deposit=table.deposit,
        parts={},
    )


def _bundles(card: "CardFile", items: dict[str, Item], at: Table) -> None:
    """Adds each [bundles.NAME] to `items`. Reports a bundle inside itself, unknown items."""
    rows = card.bundles
    contents = {key: Counter(row.items) for key, row in rows.items()}
    before = len(at.problems)
    for key, inside in contents.items():
        if key in items:
            at.problem(f"bundles.{key}.title", "a bundle name that no item has", key)
        for name in inside:
            if name not in items and name not in rows:
                at.unknown(f"bundles.{key}.items", "kit item or bundle", name, {**items, **rows})
    if len(at.problems) > before:
        return

    def add(key: str, path: tuple[str, ...]) -> None:
        row = rows[key]
        if key in path:
            chain = " -> ".join((*path[path.index(key) :], key))
            at.problem(f"bundles.{key}.items", "a bundle that is not inside itself", chain)
            return
        if key in items:
            return
        for name in contents[key]:
            if name in rows:
                add(name, (*path, key))
        if any(name not in items for name in contents[key]):
            return
        whole = Money(0, at.currency)
        for name, many in contents[key].items():
            whole = whole + items[name].day_rate * many
        rate = row.day_rate if row.day_rate is not None else whole * (1 - row.less_percent / 100)
        rate_text = f"{rate} a day as a bundle (apart: {whole})"
        week_days = card.hire.week_days if row.week_days is None else row.week_days
        items[key] = Item(
            key, row.title, rate, rate_text, None, None, (), week_days, 0, False, None, None, None, 0, row.deposit,
            contents[key],
        )  # fmt: skip

    for key in rows:
        add(key, ())
