"""A brief: what one shoot needs, before it has a price."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any

from bizkit.domain.billing.plan import Stage, report_stages
from bizkit.domain.errors import NotFound
from bizkit.domain.inputs.reading import Table, read_made
from bizkit.domain.pricing.brief_file import BriefFile, PartsTables
from bizkit.domain.pricing.costs import Cost
from bizkit.domain.pricing.cut_sets import SetRequest
from bizkit.domain.pricing.deal import DealRequest
from bizkit.domain.pricing.deliverable import Deliverable
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


@dataclass(frozen=True, slots=True)
class Parts:
    """What a brief and each of its options asks for.

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
    def of(cls, tables: PartsTables, at: Table, media: MediaTree) -> Parts:
        """Reports dated days that run backwards, and two deliverables or sets of one key."""
        last: date | None = None
        for number, day in enumerate(tables.days, start=1):
            if day.date and last and day.date < last:
                wanted = f"a date on or after the day before it in the file ({last})"
                at.problem(f"days[{number}].date", wanted, day.date)
            last = day.date or last
        for table, what, keys in (
            ("deliverables", "deliverable", [one.key for one in tables.deliverables]),
            ("sets", "set", [one.key for one in tables.sets]),
        ):
            for number, key in enumerate(keys, start=1):
                if key in keys[: number - 1]:
                    at.problem(f"{table}[{number}].key", f"a key no other {what} has", key)
        licence, weather = tables.licence, tables.weather
        return cls(
            days=tables.days,
            post=tables.post,
            costs=tables.costs,
            mileage=tables.mileage,
            deliverables=tables.deliverables,
            sets=tables.sets,
            licence=LicenceRequest.of(licence, at.table("licence"), media) if licence else None,
            weather=WeatherRequest.of(weather, at.table("weather")) if weather else None,
            hold_percent_said=weather is not None and weather.hold_percent is not None,
        )

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
    the card's. purchase_order, buyer_reference: of this job, empty for the client's own. options: alternatives and
    add-ons not chosen yet. specs: the delivery specs it names, once looked up.
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
    purchase_order: str = ""
    buyer_reference: str = ""
    chosen: tuple[str, ...] = ()
    specs: Mapping[str, Spec] = field(default_factory=dict)

    @classmethod
    def read(cls, tree: Mapping[str, Any], *, where: str = "", media: MediaTree = MEDIA_TREE) -> Brief:
        """A whole brief file, numbers exact. Raises BadInput, a `Problems` where several things are wrong."""
        return read_made(BriefFile, lambda file, at: cls.of(file, at, media), tree, where=where)

    @classmethod
    def of(cls, file: BriefFile, at: Table, media: MediaTree = MEDIA_TREE) -> Brief:
        """What is worked with, of a brief as it stands in its file; reports what does not fit together."""
        report_stages(file.stages, at)
        brief = cls(
            where=at.where,
            key=file.key,
            client=file.client,
            title=file.title,
            summary=file.summary,
            currency=file.currency,
            asked_on=file.asked_on,
            valid_days=file.valid_days,
            stages=file.stages,
            discount=file.discount,
            deal=file.deal,
            exchange=file.exchange,
            rush=file.rush,
            contingency_percent=file.contingency_percent,
            purchase_order=file.purchase_order,
            buyer_reference=file.buyer_reference,
            parts=Parts.of(file, at, media),
            options={
                key: Option(key, one.kind, one.title, one.summary, Parts.of(one, at.table("options", key), media))
                for key, one in file.options.items()
            },
        )
        _check(brief, at)
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


def _all_parts(brief: Brief) -> list[Parts]:
    return [brief.parts, *(option.parts for option in brief.options.values())]


def _licences(brief: Brief) -> list[tuple[str, LicenceRequest | None]]:
    """Each licence asked for, with its table's name."""
    asked = [(f"options.{option.key}.licence", option.parts.licence) for option in brief.options.values()]
    return [("licence", brief.licence), *asked]


def _check(brief: Brief, at: Table) -> None:
    keys = {deliverable.key: "deliverables" for deliverable in brief.deliverables}
    keys |= {one.cuts.key: "sets" for parts in _all_parts(brief) for one in parts.sets}
    for option in brief.options.values():
        for deliverable in option.parts.deliverables:
            if deliverable.key in keys:
                wanted = f"a deliverable key that {keys[deliverable.key]} does not have"
                at.problem(f"options.{option.key}.deliverables", wanted, deliverable.key)
            keys[deliverable.key] = f"options.{option.key}"
    for table, licence in _licences(brief):
        for work in licence.works if licence else ():
            if work not in keys:
                at.unknown(f"{table}.works", "deliverable", work, keys)
    first = brief.first_shoot_date
    if brief.asked_on and first and brief.asked_on > first:
        at.problem("asked_on", f"a date on or before the first shoot day ({first})", brief.asked_on)
    last = brief.last_shoot_date
    due = [(f"deliverables[{number}]", one.due_on) for number, one in enumerate(brief.deliverables, start=1)]
    due += [(one.field, one.due_on) for one in brief.parts.sets]
    for place, due_on in due:
        if due_on and last and due_on < last:
            at.problem(f"{place}.due_on", f"a date on or after the last shoot day ({last})", due_on)
