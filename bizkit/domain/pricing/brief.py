"""A brief: what one shoot needs, before it has a price."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from bizkit.domain.billing.plan import Stage, read_stages
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.fields import Fields
from bizkit.domain.money import minor_digits
from bizkit.domain.pricing.costs import Cost
from bizkit.domain.pricing.cut_sets import SetRequest
from bizkit.domain.pricing.deal import DealRequest
from bizkit.domain.pricing.deliverable import Deliverable, slug
from bizkit.domain.pricing.discount import Discount
from bizkit.domain.pricing.exchange_rate import ExchangeRate
from bizkit.domain.pricing.journeys import Journey
from bizkit.domain.pricing.post import PostTask
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS, ShootDay
from bizkit.domain.pricing.weather_days import WeatherRequest
from bizkit.domain.pricing.weather_observations import Observations
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.work.spec import Spec

OPTION_KINDS = ("choice", "addon")


@dataclass(frozen=True, slots=True)
class Parts:
    """The tables that a brief and each of its options may have.

    hold_percent_said: whether the weather table names its own, which then outranks the card's.
    """

    days: tuple[ShootDay, ...]
    post: tuple[PostTask, ...]
    costs: tuple[Cost, ...]
    mileage: tuple[Journey, ...]
    deliverables: tuple[Deliverable, ...]
    sets: tuple[SetRequest, ...]
    licence: LicenceRequest | None
    weather: WeatherRequest | None
    hold_percent_said: bool

    @classmethod
    def read(cls, fields: Fields, tree: MediaTree = MEDIA_TREE) -> Parts:
        """Raises BadInput when dated days run backwards or two deliverables share a key."""
        weather = fields.table("weather") if "weather" in fields else None
        parts = cls(
            days=tuple(ShootDay.read(row) for row in fields.rows("days")),
            post=tuple(PostTask.read(row) for row in fields.rows("post")),
            costs=tuple(Cost.read(row) for row in fields.rows("costs")),
            mileage=tuple(Journey.read(row) for row in fields.rows("mileage")),
            deliverables=tuple(Deliverable.read(row) for row in fields.rows("deliverables")),
            sets=tuple(SetRequest.read(row) for row in fields.rows("sets")),
            licence=LicenceRequest.read(fields.table("licence"), tree) if "licence" in fields else None,
            weather=WeatherRequest.read(weather) if weather else None,
            hold_percent_said=weather is not None and "hold_percent" in weather,
        )
        last: date | None = None
        for number, day in enumerate(parts.days, start=1):
            if day.date and last and day.date < last:
                key = f"days[{number}].date"
                raise fields.wrong(key, f"a date on or after the day before it in the file ({last})", day.date)
            last = day.date or last
        seen: set[str] = set()
        for number, deliverable in enumerate(parts.deliverables, start=1):
            if deliverable.key in seen:
                raise fields.wrong(f"deliverables[{number}].key", "a key no other deliverable has", deliverable.key)
            seen.add(deliverable.key)
        keys = [one.cuts.key for one in parts.sets]
        for number, key in enumerate(keys, start=1):
            if key in keys[: number - 1]:
                raise fields.wrong(f"sets[{number}].key", "a key no other set has", key)
        return parts

    def with_option(self, other: Parts) -> Parts:
        """These parts and those of an option, whose licence and weather plan come in place of these."""
        return Parts(
            self.days + other.days,
            self.post + other.post,
            self.costs + other.costs,
            self.mileage + other.mileage,
            self.deliverables + other.deliverables,
            self.sets + other.sets,
            other.licence or self.licence,
            other.weather or self.weather,
            other.hold_percent_said if other.weather else self.hold_percent_said,
        )


@dataclass(frozen=True, slots=True)
class Option:
    """A part of the offer the client may take: one of the choices (A, B or C), or an add-on."""

    key: str
    kind: str
    title: str
    summary: str
    parts: Parts


@dataclass(frozen=True, slots=True)
class Brief:
    """What one shoot needs. `where` is the file it was read from, for messages.

    currency: of the quote and of amounts typed in the brief; empty for the card's own. valid_days: how long the
    quote stands, None for the card's. rush: yes, no, or None to let the dates decide. contingency_percent: None for
    the card's. options: alternatives and add-ons not chosen yet. specs: the delivery specs it names, once looked up.
    """

    where: str
    key: str
    client: str
    title: str
    summary: str
    currency: str
    asked_on: date | None
    valid_days: int | None
    stages: tuple[Stage, ...]
    discount: Discount | None
    deal: DealRequest | None
    exchange: ExchangeRate | None
    rush: bool | None
    contingency_percent: Decimal | None
    parts: Parts
    options: Mapping[str, Option]
    chosen: tuple[str, ...] = ()
    specs: Mapping[str, Spec] = field(default_factory=dict)

    @classmethod
    def read(cls, fields: Fields, tree: MediaTree = MEDIA_TREE) -> Brief:
        """A whole brief file. Raises BadInput naming file, field, wanted and got."""
        currency = fields.text("currency", "")
        if currency:
            try:
                minor_digits(currency)
            except BadInput as error:
                raise fields.wrong("currency", "an ISO 4217 currency code such as GBP or EUR", currency) from error
        brief = cls(
            where=fields.where,
            key=slug(fields, "key"),
            client=slug(fields, "client"),
            title=fields.text("title"),
            summary=fields.text("summary", "", blank=True),
            currency=currency,
            asked_on=fields.day("asked_on", None),
            valid_days=fields.whole("valid_days", least=1, most=3650) if "valid_days" in fields else None,
            stages=read_stages(fields),
            discount=Discount.read(fields.table("discount")) if "discount" in fields else None,
            deal=DealRequest.read(fields.table("deal")) if "deal" in fields else None,
            exchange=ExchangeRate.read(fields.table("exchange")) if "exchange" in fields else None,
            rush=fields.flag("rush") if "rush" in fields else None,
            contingency_percent=fields.number("contingency_percent", most=100)
            if "contingency_percent" in fields
            else None,
            parts=Parts.read(fields, tree),
            options={key: _option(key, table, tree) for key, table in fields.tables("options")},
        )
        fields.done()
        _check(fields, brief)
        return brief

    @property
    def days(self) -> tuple[ShootDay, ...]:
        """Days of the brief, in file order."""
        return self.parts.days

    @property
    def deliverables(self) -> tuple[Deliverable, ...]:
        """What is promised."""
        return self.parts.deliverables

    @property
    def licence(self) -> LicenceRequest | None:
        """What the client wants to be allowed."""
        return self.parts.licence

    @property
    def weather(self) -> WeatherRequest | None:
        """The weather plan asked for."""
        return self.parts.weather

    @property
    def first_shoot_date(self) -> date | None:
        """The first dated water or dry day."""
        return min((day.date for day in self.days if day.date and day.kind in SHOOT_KINDS), default=None)

    @property
    def last_shoot_date(self) -> date | None:
        """The last dated water or dry day."""
        return max((day.last_date for day in self.days if day.last_date and day.kind in SHOOT_KINDS), default=None)

    def day_on(self, on: date) -> ShootDay:
        """The (first) day of the brief that falls on this date, by itself. Raises NotFound."""
        for day in self.days:
            if on in day.dates():
                return replace(day, date=on, count=1)
        known = [str(each) for day in self.days for each in day.dates()]
        raise NotFound("day of the brief", on, known, field="days", where=self.where)

    def observed(self, past: Observations) -> Brief:
        """The brief with the weather chances that past days show, where it asks for them."""
        if self.weather is None or self.weather.observations is None:
            return self
        return replace(self, parts=replace(self.parts, weather=self.weather.observed(past)))

    def count(self, *kinds: str) -> int:
        """How many days of these kinds there are."""
        return sum(day.count for day in self.days if day.kind in kinds)


def _option(key: str, fields: Fields, tree: MediaTree) -> Option:
    option = Option(
        key=key,
        kind=fields.choice("kind", OPTION_KINDS),
        title=fields.text("title"),
        summary=fields.text("summary", "", blank=True),
        parts=Parts.read(fields, tree),
    )
    fields.done()
    return option


def _all_parts(brief: Brief) -> list[Parts]:
    return [brief.parts, *(option.parts for option in brief.options.values())]


def _licences(brief: Brief) -> list[tuple[str, LicenceRequest | None]]:
    """Each licence asked for, with its table's name."""
    asked = [(f"options.{option.key}.licence", option.parts.licence) for option in brief.options.values()]
    return [("licence", brief.licence), *asked]


def _check(fields: Fields, brief: Brief) -> None:
    keys = {deliverable.key: "deliverables" for deliverable in brief.deliverables}
    keys |= {one.cuts.key: "sets" for parts in _all_parts(brief) for one in parts.sets}
    for option in brief.options.values():
        for deliverable in option.parts.deliverables:
            if deliverable.key in keys:
                wanted = f"a deliverable key that {keys[deliverable.key]} does not have"
                raise fields.wrong(f"options.{option.key}.deliverables", wanted, deliverable.key)
            keys[deliverable.key] = f"options.{option.key}"
    for table, licence in _licences(brief):
        for work in licence.works if licence else ():
            if work not in keys:
                raise fields.unknown(f"{table}.works", "deliverable", work, keys)
    first = brief.first_shoot_date
    if brief.asked_on and first and brief.asked_on > first:
        raise fields.wrong("asked_on", f"a date on or before the first shoot day ({first})", brief.asked_on)
    last = brief.last_shoot_date
    for number, deliverable in enumerate(brief.deliverables, start=1):
        if deliverable.due_on and last and deliverable.due_on < last:
            wanted = f"a date on or after the last shoot day ({last})"
            raise fields.wrong(f"deliverables[{number}].due_on", wanted, deliverable.due_on)
    for one in brief.parts.sets:
        if one.due_on and last and one.due_on < last:
            raise fields.wrong(f"{one.field}.due_on", f"a date on or after the last shoot day ({last})", one.due_on)
