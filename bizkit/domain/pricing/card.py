"""A rate card: what the studio charges, read from one dated TOML file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from bizkit.domain.billing.plan import Stage, report_stages
from bizkit.domain.inputs.reading import Table, read_made
from bizkit.domain.pricing.cancellation import CancellationScale
from bizkit.domain.pricing.card_file import CardFile
from bizkit.domain.pricing.costs import CostKind
from bizkit.domain.pricing.crew_terms import CrewTerms
from bizkit.domain.pricing.cut_rates import CutRates
from bizkit.domain.pricing.deal import Deal
from bizkit.domain.pricing.discount import DiscountTerms
from bizkit.domain.pricing.fees import FeeTerms
from bizkit.domain.pricing.kit_terms import KitTerms
from bizkit.domain.pricing.mileage import MileageTable
from bizkit.domain.pricing.post import PostWork
from bizkit.domain.pricing.usage_rates import UsageRates
from bizkit.domain.pricing.words import card_words
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
    def read(cls, tree: Mapping[str, Any], *, where: str = "", media: MediaTree = MEDIA_TREE) -> RateCard:
        """A whole rate-card file, numbers exact. Raises BadInput, a `Problems` where several things are wrong."""
        return read_made(CardFile, lambda file, at: cls.of(file, at, media), tree, where=where)

    @classmethod
    def of(cls, file: CardFile, at: Table, media: MediaTree = MEDIA_TREE) -> RateCard:
        """What is worked with, of a card as it stands in its file; reports what does not fit together."""
        report_stages(file.stages, at)
        crew = CrewTerms.of(file, at)
        for key, deal in file.deals.items():
            for role in sorted(deal.covers - set(crew.roles)):
                at.unknown(f"deals.{key}.covers", "role", role, crew.roles)
        mileage, usage = file.mileage, file.usage
        return cls(
            where=at.where,
            name=file.name,
            currency=file.currency,
            valid_from=file.valid_from,
            valid_days=file.valid_days,
            payment_days=file.payment_days,
            stages=file.stages,
            terms=file.terms,
            words=card_words(file.words, at),
            crew=crew,
            kit=KitTerms.of(file, at),
            post=file.post,
            costs=file.costs,
            fees=file.fees,
            discount=file.discount,
            deals=file.deals,
            mileage=MileageTable.of_card(mileage, at.inside("mileage", {})) if mileage else None,
            usage=UsageRates.of(usage, at.inside("usage", {}), media) if usage else None,
            cancellation=file.cancellation,
            rounds=file.rounds,
            cuts=file.cuts,
        )
