"""A rate card: what the studio charges, read from one dated TOML file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from bizkit.domain.billing.plan import Stage, read_stages
from bizkit.domain.errors import BadInput
from bizkit.domain.fields import Fields
from bizkit.domain.money import minor_digits
from bizkit.domain.pricing.cancellation import CancellationScale
from bizkit.domain.pricing.costs import CostKind
from bizkit.domain.pricing.crew_terms import CrewTerms
from bizkit.domain.pricing.cut_sets import CutRates
from bizkit.domain.pricing.deal import Deal
from bizkit.domain.pricing.discount import DiscountTerms
from bizkit.domain.pricing.fees import FeeTerms
from bizkit.domain.pricing.journeys import read_mileage
from bizkit.domain.pricing.kit_terms import KitTerms
from bizkit.domain.pricing.mileage import MileageTable
from bizkit.domain.pricing.post import PostWork
from bizkit.domain.pricing.usage_rates import UsageRates
from bizkit.domain.pricing.words import read_words
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.work.rounds import RoundTerms


@dataclass(frozen=True, slots=True)
class RateCard:
    """The studio's prices and terms, in one currency, from a date on.

    valid_days: how long a quote stands. payment_days: how long an invoice may wait. stages: the usual billing plan.
    terms: what is printed under a quote, a paragraph each.
    """

    where: str
    name: str
    currency: str
    valid_from: date
    valid_days: int
    payment_days: int
    stages: tuple[Stage, ...]
    terms: tuple[str, ...]
    words: Mapping[str, str]
    crew: CrewTerms
    kit: KitTerms
    post: Mapping[str, PostWork]
    costs: Mapping[str, CostKind]
    fees: FeeTerms
    discount: DiscountTerms
    deals: Mapping[str, Deal]
    mileage: MileageTable | None
    usage: UsageRates | None
    cancellation: CancellationScale | None
    rounds: RoundTerms
    cuts: CutRates | None

    @classmethod
    def read(cls, fields: Fields, tree: MediaTree = MEDIA_TREE) -> RateCard:
        """A whole rate-card file. Raises BadInput naming file, field, wanted and got."""
        currency = fields.text("currency")
        try:
            minor_digits(currency)
        except BadInput as error:
            raise fields.wrong("currency", error.wanted, currency) from None
        crew = CrewTerms.read(fields, currency)
        card = cls(
            where=fields.where,
            name=fields.text("name"),
            currency=currency,
            valid_from=fields.day("valid_from"),
            valid_days=fields.whole("valid_days", 30, least=1, most=3650),
            payment_days=fields.whole("payment_days", 30, most=366),
            stages=read_stages(fields),
            terms=fields.texts("terms", ()),
            words=read_words(fields),
            crew=crew,
            kit=KitTerms.read(fields, currency),
            post={key: PostWork.read(key, row, currency) for key, row in fields.tables("post")},
            costs={key: CostKind.read(key, row, currency) for key, row in fields.tables("costs")},
            fees=FeeTerms.read(fields, currency),
            discount=DiscountTerms.read(fields),
            deals={key: Deal.read(key, row, crew.roles) for key, row in fields.tables("deals")},
            mileage=read_mileage(fields, currency),
            usage=UsageRates.read(fields.table("usage"), currency, tree) if "usage" in fields else None,
            cancellation=CancellationScale.read(fields.table("cancellation")) if "cancellation" in fields else None,
            rounds=RoundTerms.read(fields.table("rounds", optional=True), currency),
            cuts=CutRates.read(fields.table("cuts"), currency) if "cuts" in fields else None,
        )
        fields.done()
        return card
