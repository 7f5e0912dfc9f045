"""Pricing a brief: from files as they stand now, or from the texts a quote was priced from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, cast

from bizkit.domain.documents.on_file import weather_of
from bizkit.domain.parties import Client
from bizkit.domain.quote import quote_document
from bizkit.services.job.basis import read_basis
from bizkit.services.job.evidence import proven
from bizkit.services.studio.hand import in_readers_hand
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.billing.tax import TaxTreatment
    from bizkit.domain.billing.tax_later import TaxLater
    from bizkit.domain.documents.on_file import Observed, QuoteOnFile
    from bizkit.domain.documents.sales import Tax
    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.estimate import Estimate
    from bizkit.domain.pricing.weather_observations import Observations
    from bizkit.services.studio.toml_file import TomlFile
    from bizkit.store.issued import IssuedQuote


@dataclass(frozen=True, slots=True)
class Priced:
    """A brief priced: the document it makes, what it was made from, and the estimate behind it."""

    key: str
    document: QuoteOnFile
    valid_days: int
    brief_file: str
    brief_text: str
    card_text: str
    brief: Brief
    card: RateCard
    estimate: Estimate


def price_brief(folder: StudioFolder, brief_path: Path, on: date, options: Sequence[str] = ()) -> Priced:
    """Price a brief against the rate card, with the client's tax as of `on`. Nothing is stored.

    options: keys of the brief's options to take; without any, all of them are priced side by side. Raises NotFound
    for an unknown one, BadInput unless exactly one of the choices is taken.
    """
    from bizkit.domain.billing.tax_later import tax_later
    from bizkit.domain.pricing.options import choose, chosen_brief
    from bizkit.domain.quote import ordered
    from bizkit.exchange.identifiers import check_buyer_reference
    from bizkit.services.billing.look_ahead import look_ahead, small_business_looks, withdrawal
    from bizkit.services.studio.taxed import treated

    brief, file = folder.brief(brief_path)
    brief, past = _with_past_weather(folder, brief, brief_path)
    brief = with_deal_use(folder, brief)
    if options:
        brief = choose(brief, options)
    client = ordered(folder.client(brief.client, where=file.name, named_in="client"), brief)
    if brief.buyer_reference:
        check_buyer_reference(client.country, brief.buyer_reference, where=file.name)
    party = proven(folder, client)
    how = treated(folder, party, on)
    later = tax_later(folder.studio, party, chosen_brief(brief), on, folder.day_off)
    card = in_readers_hand(folder.card, client.locale or folder.studio.locale, brief.currency or folder.card.currency)
    priced = _priced(folder, card, folder.card_file.text, brief, file, client, how, past, on=on, later=later)
    priced.document["warnings"] = [*priced.document["warnings"], *look_ahead(folder, client, how, on)]
    priced.document["warnings"] += small_business_looks(folder, how, on, priced.document)
    told = withdrawal(folder, client)
    if told:
        priced.document["withdrawal"] = told
    return priced


def price_again(
    folder: StudioFolder, sent: IssuedQuote, brief_text: str, brief_file: str, card_text: str, options: Sequence[str]
) -> Priced:
    """Price what a sent quote was priced from, with these options taken: same client, tax and terms as sent."""
    from bizkit.domain.billing.tax_later import TaxLater
    from bizkit.domain.pricing.options import choose

    document = sent.document
    card, brief, file = read_basis(folder, brief_text, brief_file, card_text, document)
    record = document.get("client_record") or document["client"]
    client = replace(Client.of_record(record), currency="")
    how = _as_quoted(document["taxes"])
    told = document.get("tax_later")
    later = TaxLater(date.fromisoformat(told["starts"]), _as_quoted(told["taxes"])) if told else None
    brief = choose(with_deal_use(folder, brief), options)
    on = date.fromisoformat(document["issued_on"])
    priced = _priced(folder, card, card_text, brief, file, client, how, None, on=on, later=later)
    kept = (
        "studio",
        "client",
        "client_record",
        "of_job",
        "language",
        "locale",
        "paper_size",
        "terms",
        "payment_days",
        "valid_until",
        "withdrawal",
    )
    # An older quote has no record of its client beside what it prints.
    again = {name: value for name, value in priced.document.items() if name not in kept}
    again |= {name: value for name, value in document.items() if name in kept}
    return replace(priced, document=cast("QuoteOnFile", again))


def _as_quoted(taxes: Sequence[Tax]) -> TaxTreatment:
    """The one tax of a quote, as it was sent."""
    from bizkit.domain.billing.tax import TaxTreatment

    tax = taxes[0]
    return TaxTreatment(tax["category"], tax["name"], Decimal(tax["rate"]), tax["note"], "as quoted")


def with_deal_use(folder: StudioFolder, brief: Brief) -> Brief:
    """The brief, knowing how many days of its deal other jobs in the book have drawn."""
    if brief.deal is None:
        return brief
    from bizkit.services.quoting.deals import days_drawn

    drawn = days_drawn(folder, brief.deal.name, but=brief.key)
    return replace(brief, deal=replace(brief.deal, used_before=brief.deal.used_before + drawn))


def _priced(
    folder: StudioFolder,
    card: RateCard,
    card_text: str,
    brief: Brief,
    file: TomlFile,
    client: Client,
    how: TaxTreatment,
    past: Observations | None,
    *,
    on: date,
    later: TaxLater | None,
) -> Priced:
    from bizkit.domain.billing.tax import Taxed, tax_lines
    from bizkit.domain.pricing.estimate import price
    from bizkit.domain.pricing.offer import offer
    from bizkit.domain.quote_options import option_members
    from bizkit.services.quoting.second_looks import look_at
    from bizkit.store.canonical import sha256

    days = {"day_off": folder.day_off, "holiday": folder.holiday}
    offered = offer(card, brief, **days) if brief.options else None
    estimate = offered.base if offered else price(card, brief, **days)
    document = quote_document(
        folder.studio,
        client,
        card,
        brief,
        estimate,
        tax_lines([Taxed.by(how, estimate.net)], estimate.currency, name=how.name),
        on=on,
        later=later,
        card_sha256=sha256(card_text),
        brief_sha256=sha256(file.text),
        brief_file=file.name,
        options=option_members(offered, how) if offered else (),
    )
    document["warnings"] += look_at(folder, client, card, brief, estimate, on)
    if past is not None and (plan := weather_of(document)):
        plan["observed"] = _past_data(past)
    return Priced(
        key=brief.key,
        document=document,
        valid_days=brief.valid_days or card.valid_days,
        brief_file=file.name,
        brief_text=file.text,
        card_text=card_text,
        brief=brief,
        card=card,
        estimate=estimate,
    )


def _with_past_weather(folder: StudioFolder, brief: Brief, path: Path) -> tuple[Brief, Observations | None]:
    """The brief with the chances its file of past days shows, where it names one."""
    rules = brief.weather.observations if brief.weather else None
    if rules is None:
        return brief, None
    from bizkit.domain.pricing.weather_observations import observe
    from bizkit.services.studio.csv_file import read_rows

    places = [place / rules.file for place in (path.parent, folder.path / "briefs", folder.path)]
    found = next((place for place in places if place.is_file()), places[1])
    past = observe(read_rows(found, "a CSV file of past days"), rules)
    return brief.observed(past), past


def _past_data(past: Observations) -> Observed:
    return {
        "chance": {str(month): str(chance) for month, chance in past.chance.items()},
        "dry": {str(month): str(chance) for month, chance in past.dry.items()},
        "memory": str(past.memory),
        "days": {str(month): days for month, days in past.days.items()},
        "pairs": past.pairs,
    }
