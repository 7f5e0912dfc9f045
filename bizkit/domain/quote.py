"""The quote as a document: one priced brief for one client, as JSON-ready data that is frozen when sent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Final, cast

from bizkit.domain.billing.payment import Terms
from bizkit.domain.billing.plan import BillingPlan, stage_amounts
from bizkit.domain.billing.tax import TaxLine
from bizkit.domain.billing.tax_later import TaxLater
from bizkit.domain.documents.reckoning import kept_apart
from bizkit.domain.errors import BadInput
from bizkit.domain.money import plain, total
from bizkit.domain.parties import Client, Studio
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.estimate import Estimate
from bizkit.domain.pricing.extras import extras
from bizkit.domain.pricing.options import chosen_brief

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import QuoteOnFile


def billing_plan(card: RateCard, brief: Brief) -> BillingPlan:
    """The billing stages: the brief's own, else the card's, else everything on delivery."""
    stages = brief.stages or card.stages
    return BillingPlan(stages) if stages else BillingPlan.whole()


def valid_until(issued_on: date, valid_days: int) -> date:
    """Last day (inclusive) on which a quote sent on `issued_on` can be accepted."""
    return issued_on + timedelta(days=valid_days)


def quote_document(
    studio: Studio,
    client: Client,
    card: RateCard,
    brief: Brief,
    estimate: Estimate,
    taxes: Sequence[TaxLine],
    *,
    on: date,
    later: TaxLater | None = None,
    card_sha256: str,
    brief_sha256: str,
    brief_file: str = "",
    options: Sequence[Mapping[str, Any]] = (),
) -> QuoteOnFile:
    """Everything the quote says, except the number, revision and dates that sending gives it.

    on: the day it is priced. later: the tax of a registration to come, which its work may fall into.

    A brief whose options are open is told with its first choice, as it is priced; `options` go beside. Raises
    BadInput when the client is billed in another currency than the estimate.
    """
    client = ordered(client, brief)
    beyond = extras(studio, client, card, brief, estimate)
    brief = chosen_brief(brief)
    if client.currency and client.currency != estimate.currency:
        raise BadInput(
            wanted=f"{client.currency}, the client's currency",
            got=estimate.currency,
            field="currency",
            where=brief_file or "brief",
            hint="Give the brief a recorded exchange rate, or change the client's currency",
        )
    tax = total((line.amount for line in taxes), estimate.currency)
    stages = stage_amounts({(line.category, line.rate): line.base for line in taxes}, billing_plan(card, brief))
    exchange = None
    if brief.exchange:
        exchange = {"rate": plain(brief.exchange.rate), "from": card.currency}
        exchange |= {"on": brief.exchange.on.isoformat(), "source": brief.exchange.source}
    licence = None
    if brief.licence:
        titles = [one.title for one in brief.deliverables if one.key in brief.licence.works]
        licence = {**brief.licence.data(client.name, titles, studio.media), "work_titles": titles}
    document: dict[str, Any] = {
        "kind": "quote",
        "language": client.language or studio.language,
        "locale": client.locale or studio.locale,
        "paper_size": studio.paper_size,
        "studio": studio.data(on),
        "client": client.data(),
        "client_record": as_agreed(client, studio).record(),
        **({"of_job": of_job(brief)} if of_job(brief) else {}),
        "job": brief.key,
        "title": brief.title,
        "summary": brief.summary,
        "days": [
            {
                "date": day.date.isoformat() if day.date else "",
                "count": day.count,
                "kind": day.kind,
                "place": day.place,
                "note": day.note,
            }
            for day in brief.days
        ],
        "currency": estimate.currency,
        "chosen": list(estimate.chosen),
        "options": [dict(option) for option in options],
        "exchange": exchange,
        "deal": {"name": brief.deal.name, "days": plain(estimate.deal_days)} if brief.deal else None,
        **kept_apart([line.data() for line in estimate.lines]),
        "net": estimate.net.text,
        "taxes": [line.data() for line in taxes],
        "tax": tax.text,
        "gross": (estimate.net + tax).text,
        "tax_later": later.data(estimate.net) if later else None,
        "deposit": estimate.deposit.text if estimate.deposit else "",
        "deliverables": [
            {
                "key": one.key,
                "title": one.title,
                "kind": one.kind,
                "quantity": one.quantity,
                "spec": one.spec,
                "rounds": card.rounds.included if one.rounds is None else one.rounds,
                "due_days": one.due_days,
                "due": "" if one.due_days is None else f"{one.due_days} working days after the last shoot day",
                "due_on": one.due_on.isoformat() if one.due_on else "",
                "asks": one.asks.data() if one.asks else None,
                "cut_of": one.cut_of,
                "cut": one.cut,
            }
            for one in brief.deliverables
        ],
        "rounds": _round_terms(card, brief, estimate.currency),
        "licence": licence,
        "stages": [stage.data() for stage in stages],
        "weather": estimate.weather.data() if estimate.weather else None,
        "extras": beyond,
        "terms": list(card.terms),
        "warnings": list(estimate.warnings),
        "payment_days": Terms.of(studio, client).days,
        "media": {code: one.data() for code, one in studio.own_media.items()},
        "specs": {name: spec.data() for name, spec in brief.specs.items()},
        "rate_card": {"name": card.name, "from": card.valid_from.isoformat(), "sha256": card_sha256},
        "brief_sha256": brief_sha256,
    }
    return cast("QuoteOnFile", document)


#: What a client's file and a brief may both say; the brief's is of its job alone.
OF_JOB: Final = ("purchase_order", "buyer_reference")


def of_job(brief: Brief) -> list[str]:
    """Which of `OF_JOB` the brief says."""
    return [name for name in OF_JOB if getattr(brief, name)]


def ordered(client: Client, brief: Brief) -> Client:
    """The client with the order number and the reference of this job, where its brief says them."""
    return replace(client, **{name: getattr(brief, name) for name in of_job(brief)})


def as_agreed(client: Client, studio: Studio) -> Client:
    """The client with what its file leaves to the studio's settings filled in: days to pay, language, locale."""
    terms = Terms.of(studio, client)
    return replace(
        client,
        payment_days=terms.days,
        payment_counted_in=terms.counted_in,
        language=client.language or studio.language,
        locale=client.locale or studio.locale,
    )


def _round_terms(card: RateCard, brief: Brief, currency: str) -> dict[str, Any]:
    """What is agreed about review rounds; extra_round is empty where the card has no price for one."""
    price = card.rounds.extra_round
    if price is not None and brief.exchange:
        price = brief.exchange.money(price, currency)
    return {
        "included": card.rounds.included,
        "extra_round": price.rounded().text if price is not None else "",
        "silence_days": card.rounds.silence_days,
        "silence_approves": card.rounds.silence_approves,
    }
