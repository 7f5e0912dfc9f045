"""A rate card as it stands in its file: every key, what it means and what may stand there."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Annotated

from bizkit.domain.billing.plan import Stage
from bizkit.domain.inputs.keys import Key
from bizkit.domain.money import currency_code
from bizkit.domain.pricing.bands import BandRow
from bizkit.domain.pricing.cancellation import CancellationScale
from bizkit.domain.pricing.costs import CostKind
from bizkit.domain.pricing.crew_terms import DayTable, LateCall, Rest, RoleTable, SeveralRoles, Uplift, Window
from bizkit.domain.pricing.cut_rates import CutRates
from bizkit.domain.pricing.deal import Deal
from bizkit.domain.pricing.discount import DiscountTerms
from bizkit.domain.pricing.fees import FeeTerms
from bizkit.domain.pricing.kit_terms import BundleTable, Hire, KitTable
from bizkit.domain.pricing.mileage import MileageKeys
from bizkit.domain.pricing.post import PostWork
from bizkit.domain.pricing.usage_rates import UsageTable
from bizkit.domain.pricing.words import ALL_ENGLISH
from bizkit.domain.work.rounds import RoundTerms


@dataclass(frozen=True, slots=True)
class CardFile:
    """The tables of a rate card. `RateCard.of` makes of them what is worked with."""

    name: Annotated[str, Key("What you call this card.", example="Gannet & Lark Films, United Kingdom")]
    currency: Annotated[str, Key("Of every amount in it (ISO 4217).", rule=currency_code, example="GBP")]
    valid_from: Annotated[date, Key("First day it holds.", example="2027-01-01")]
    fees: Annotated[FeeTerms, Key("Fees on top of the priced lines.", usual={})]
    valid_days: Annotated[int, Key("How long a quote stands.", "days", least=1, most=3650)] = 30
    payment_days: Annotated[int, Key("How long an invoice may wait.", "days", most=366)] = 30
    stages: Annotated[tuple[Stage, ...], Key("The usual billing plan; without it all on delivery.")] = ()
    terms: Annotated[tuple[str, ...], Key("Printed under every quote, a paragraph each.")] = ()
    words: Annotated[
        Mapping[str, str],
        Key("The words of printed items, where not English.", choices=tuple(ALL_ENGLISH), wanted="a known word"),
    ] = field(default_factory=dict)
    day: Annotated[DayTable, Key("The crew day.")] = field(default_factory=DayTable)
    overtime: Annotated[tuple[BandRow, ...], Key("Hours past the day, each at a factor of the basic hour.")] = ()
    late_call: Annotated[LateCall | None, Key("A late call buys a shorter day.")] = None
    night: Annotated[Window | None, Key("Work at night pays more.")] = None
    uplift: Annotated[Uplift, Key("Days that pay more; the dearest one counts.")] = field(default_factory=Uplift)
    rest: Annotated[Rest, Key("Rest between wrap and the next call.")] = field(default_factory=Rest)
    crew: Annotated[Mapping[str, RoleTable], Key("Roles, under names of your own.")] = field(default_factory=dict)
    several_roles: Annotated[SeveralRoles, Key("One person in several roles.")] = field(default_factory=SeveralRoles)
    hire: Annotated[Hire, Key("The rules of hire.")] = field(default_factory=Hire)
    kit: Annotated[Mapping[str, KitTable], Key("Things for hire, under names of your own.")] = field(
        default_factory=dict
    )
    bundles: Annotated[Mapping[str, BundleTable], Key("Things hired as one.")] = field(default_factory=dict)
    post: Annotated[Mapping[str, PostWork], Key("Work in the edit.")] = field(default_factory=dict)
    costs: Annotated[Mapping[str, CostKind], Key("Kinds of cost, and your markup on them.")] = field(
        default_factory=dict
    )
    mileage: Annotated[MileageKeys | None, Key("What a journey by your own vehicle costs.")] = None
    discount: Annotated[DiscountTerms, Key("What a discount may take, and what you give by yourself.")] = field(
        default_factory=DiscountTerms
    )
    deals: Annotated[Mapping[str, Deal], Key("Days bought ahead by a client.")] = field(default_factory=dict)
    usage: Annotated[UsageTable | None, Key("What a licence costs.")] = None
    cancellation: Annotated[CancellationScale | None, Key("What cancelling and postponing cost.")] = None
    rounds: Annotated[RoundTerms, Key("Review rounds.")] = field(default_factory=RoundTerms)
    cuts: Annotated[CutRates | None, Key("What further cuts of a set cost.")] = None
