"""The kit side of a rate card: items and bundles with their day rates, and the rules of hire."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bizkit.domain.fields import Fields
from bizkit.domain.money import Money, plain, total

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
    def read(cls, fields: Fields, currency: str) -> KitTerms:
        """From the card's [hire], [kit.NAME] and [bundles.NAME]."""
        hire = fields.table("hire", optional=True)
        week_days = hire.number("week_days", 4, most=7)
        items: dict[str, Item] = {}
        for key, row in fields.tables("kit"):
            items[key] = _item(key, row, currency, week_days)
        _bundles(fields, currency, week_days, items)
        percents = hire.table("percent", optional=True)
        for kind in percents.names():
            if kind not in USUAL_HIRE_PERCENT:
                raise percents.unknown(kind, "kind of day", kind, USUAL_HIRE_PERCENT)
        terms = cls(
            items=items,
            week_days=week_days,
            weekend_days=hire.number("weekend_days", most=2) if "weekend_days" in hire else None,
            percent=USUAL_HIRE_PERCENT | {kind: percents.number(kind, most=100) for kind in percents.names()},
            spare_percent=hire.number("spare_percent", 50, most=100),
            insurance_percent_of_hire=hire.number("insurance_percent_of_hire", 0, most=100),
            insurance_percent_of_value_per_day=hire.number("insurance_percent_of_value_per_day", 0, most=100),
            soak_hours=hire.whole("soak_hours", 24),
        )
        if terms.insurance_percent_of_hire and terms.insurance_percent_of_value_per_day:
            raise hire.wrong("insurance_percent_of_hire", "insurance by the hire or by the value", "both")
        hire.done()
        if terms.insurance_percent_of_value_per_day:
            for key, item in items.items():
                if item.value is None and not item.parts:
                    wanted = "the replacement value, as the card insures kit by its value"
                    raise fields.wrong(f"kit.{key}.value", wanted, "nothing")
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


def _item(key: str, fields: Fields, currency: str, week_days: Decimal) -> Item:
    value = fields.money("value", currency) if "value" in fields else None
    ladder = _ladder(fields)
    if ladder and value is None:
        raise fields.wrong("value", "the replacement value that percent_of_value is taken of", "nothing")
    ways = [name for name in ("day_rate", "percent_of_value", "cost_per_day") if name in fields]
    if len(ways) != 1:
        raise fields.wrong(
            "day_rate",
            "one of day_rate, percent_of_value or cost_per_day (sub-hired)",
            " and ".join(ways) or "nothing",
        )
    owned, cost = 1, None
    if ladder and value is not None:
        rate = value * (ladder[0] / 100)
        rate_text = f"{plain(ladder[0])} % of the value of {value} a day"
    elif ways == ["cost_per_day"]:
        cost, margin = fields.money("cost_per_day", currency), fields.number("margin_percent", 0)
        rate, owned = cost * (1 + margin / 100), 0
        rate_text = f"sub-hired at {cost} a day + {plain(margin)} %"
    else:
        rate = fields.money("day_rate", currency)
        rate_text = f"{rate} a day"
    item = Item(
        key=key,
        title=fields.text("title"),
        day_rate=rate,
        rate_text=rate_text,
        cost_per_day=cost,
        value=value,
        ladder=ladder,
        week_days=fields.number("week_days", week_days, most=7),
        owned=fields.whole("owned", owned, least=1, most=1000) if owned else 0,
        in_water=fields.flag("in_water", False),
        service_every_days=fields.whole("service_every_days", least=1, most=36_500)
        if "service_every_days" in fields
        else None,
        service_every_dives=fields.whole("service_every_dives", least=1) if "service_every_dives" in fields else None,
        serviced_on=fields.day("serviced_on", None),
        dives_since_service=fields.whole("dives_since_service", 0),
        deposit=fields.money("deposit", currency, 0),
        parts={},
    )
    if item.service_every_days is not None and item.serviced_on is None:
        raise fields.wrong("serviced_on", "the date of the last service", "nothing")
    fields.done()
    return item


def _ladder(fields: Fields) -> tuple[Decimal, ...]:
    """`percent_of_value = { 1 = 3, 2 = 6, 3 = 8 }`: percent of the value for 1, 2, 3 days; never going down."""
    if "percent_of_value" not in fields:
        return ()
    table = fields.table("percent_of_value")
    days = table.names()
    if not days or days != [str(number) for number in range(1, len(days) + 1)] or len(days) > 7:
        raise fields.wrong("percent_of_value", "days 1, 2, 3... (up to 7) with their percentages", ", ".join(days))
    ladder = tuple(table.number(day) for day in days)
    if list(ladder) != sorted(ladder):
        shown = ", ".join(plain(step) for step in ladder)
        raise fields.wrong("percent_of_value", "percentages that never go down", shown)
    return ladder


def _bundles(fields: Fields, currency: str, week_days: Decimal, items: dict[str, Item]) -> None:
    """Adds each [bundles.NAME] to `items`. Raises BadInput for a bundle inside itself, NotFound for unknown items."""
    rows = dict(fields.tables("bundles"))
    contents = {}
    for key, row in rows.items():
        if key in items:
            raise row.wrong("title", "a bundle name that no item has", key)
        contents[key] = _contents(row)
        for name in contents[key]:
            if name not in items and name not in rows:
                raise row.unknown("items", "kit item or bundle", name, {**items, **rows})

    def add(key: str, path: tuple[str, ...]) -> None:
        row = rows[key]
        if key in path:
            chain = " -> ".join((*path[path.index(key) :], key))
            raise row.wrong("items", "a bundle that is not inside itself", chain)
        if key in items:
            return
        for name in contents[key]:
            if name in rows:
                add(name, (*path, key))
        whole = Money(0, currency)
        for name, many in contents[key].items():
            whole = whole + items[name].day_rate * many
        less = row.number("less_percent", 0, most=100)
        if "day_rate" in row and less:
            raise row.wrong("less_percent", "either day_rate or less_percent", "both")
        rate = row.money("day_rate", currency) if "day_rate" in row else whole * (1 - less / 100)
        rate_text = f"{rate} a day as a bundle (apart: {whole})"
        items[key] = Item(
            key, row.text("title"), rate, rate_text, None, None, (), row.number("week_days", week_days, most=7),
            0, False, None, None, None, 0, row.money("deposit", currency, 0), contents[key],
        )  # fmt: skip
        row.done()

    for key in rows:
        add(key, ())


def _contents(row: Fields) -> dict[str, int]:
    names = row.texts("items")
    if not names:
        raise row.wrong("items", "one item or more", "none")
    contents: dict[str, int] = {}
    for name in names:
        contents[name] = contents.get(name, 0) + 1
    return contents
