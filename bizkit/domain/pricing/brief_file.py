"""A brief as it stands in its file: every key, what it means and what may stand there."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Annotated, Final

from bizkit.domain.billing.plan import Stage
from bizkit.domain.inputs.keys import Key
from bizkit.domain.money import currency_code
from bizkit.domain.pricing.costs import Cost
from bizkit.domain.pricing.cut_sets import SetRequest
from bizkit.domain.pricing.deal import DealRequest
from bizkit.domain.pricing.deliverable import Deliverable, slug
from bizkit.domain.pricing.discount import Discount
from bizkit.domain.pricing.exchange_rate import ExchangeRate
from bizkit.domain.pricing.journeys import Journey
from bizkit.domain.pricing.post import PostTask
from bizkit.domain.pricing.shoot_day import ShootDay
from bizkit.domain.pricing.weather_days import WeatherTable
from bizkit.domain.rights.licence_request import LicenceTable

OPTION_KINDS: Final = ("choice", "addon")


@dataclass(frozen=True, slots=True, kw_only=True)
class PartsTables:
    """The tables that a brief and each of its options may have."""

    days: Annotated[tuple[ShootDay, ...], Key("Days of work.")] = ()
    post: Annotated[tuple[PostTask, ...], Key("Work in the edit.")] = ()
    costs: Annotated[tuple[Cost, ...], Key("Travel and what else others are paid for.")] = ()
    mileage: Annotated[tuple[Journey, ...], Key("Journeys by your own vehicle.")] = ()
    deliverables: Annotated[tuple[Deliverable, ...], Key("What the client gets.")] = ()
    sets: Annotated[tuple[SetRequest, ...], Key("Many cuts of one film: shapes, lengths, captions.")] = ()
    licence: Annotated[LicenceTable | None, Key("What the client wants to be allowed.")] = None
    weather: Annotated[WeatherTable | None, Key("What weather may do, and who waits for it.")] = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionTable(PartsTables):
    """A [options.NAME] table: a part of the offer the client may take."""

    kind: Annotated[str, Key("One of the choices, or something added.", choices=OPTION_KINDS)]
    title: Annotated[str, Key("What papers call it.", example="Second island")]
    summary: Annotated[str, Key("What it is, in a sentence or two.")] = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BriefFile(PartsTables):
    """The tables of a brief. `Brief.of` makes of them what is worked with."""

    key: Annotated[str, Key("What commands, quote and job are called by.", rule=slug, example="follow-the-kelp")]
    client: Annotated[
        str, Key("Name of the client's file without its ending.", rule=slug, example="skerrow-islands-tourism")
    ]
    title: Annotated[str, Key("What papers call it.", example="Follow the Kelp")]
    summary: Annotated[str, Key("What it is, in a sentence or two.")] = ""
    currency: Annotated[
        str,
        Key(
            "Of the quote and of amounts in it (ISO 4217); without it the card's.", rule=currency_code, example="EUR"
        ),
    ] = ""
    asked_on: Annotated[date | None, Key("When the client asked; tells whether it is a rush.")] = None
    valid_days: Annotated[
        int | None, Key("How long the quote stands, where not as the card says.", "days", least=1, most=3650)
    ] = None
    stages: Annotated[tuple[Stage, ...], Key("When the price is asked for; without it as the card says.")] = ()
    discount: Annotated[Discount | None, Key("What you take off, and why.")] = None
    deal: Annotated[DealRequest | None, Key("Days bought ahead that it draws on.")] = None
    exchange: Annotated[ExchangeRate | None, Key("The rate, where the quote is in another currency.")] = None
    rush: Annotated[bool | None, Key("Whether it is a rush; without it the dates decide.")] = None
    contingency_percent: Annotated[
        Decimal | None, Key("For what nobody foresees; without it as the card says.", "percent", most=100)
    ] = None
    purchase_order: Annotated[
        str, Key("The client's order number of this job; without it that of the client's file.", example="PO-1234")
    ] = ""
    buyer_reference: Annotated[
        str, Key("What finds this job's invoices their way (EN 16931 BT-10); else as the client's file says.")
    ] = ""
    options: Annotated[Mapping[str, OptionTable], Key("Parts of the offer the client may take.")] = field(
        default_factory=dict
    )
