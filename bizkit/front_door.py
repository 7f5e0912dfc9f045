"""bizkit from Python, without a studio folder: read files, price a brief, make its quote, draw the paper.

    import bizkit

    card = bizkit.load(bizkit.RateCard, "rate-card.toml")
    brief = bizkit.load(bizkit.Brief, "briefs/follow-the-kelp.toml")
    print(bizkit.price(card, brief).net)

What is kept - sent quotes, jobs, invoices - is the business of a studio folder and its book; see `bizkit.services`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from os import PathLike
from pathlib import Path
from typing import Any, TypeVar

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.parties import Client, Studio
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.estimate import Estimate
from bizkit.services.studio.file_kind import read_as
from bizkit.services.studio.toml_file import TomlFile, read_toml

T = TypeVar("T", Studio, Client, RateCard, Brief)

__all__ = ["Brief", "Client", "RateCard", "Studio", "load", "price", "quote", "render"]


def load(kind: type[T], path: str | PathLike[str]) -> T:
    """What a settings file says: a Studio, a Client (named as its file), a RateCard or a Brief.

    The sets of a brief are spread out, and its delivery specs are those that are shipped. Raises BadInput, also for a
    file that is not there; where several things are wrong it is a `Problems` with each of them.
    """
    readers: Mapping[type[Any], Callable[[TomlFile], Any]] = {
        Studio: _studio,
        Client: _client,
        RateCard: lambda file: RateCard.read(file.tree, where=file.name),
        Brief: _brief,
    }
    if kind not in readers:
        raise BadInput(wanted="Studio, Client, RateCard or Brief", got=kind, field="kind")
    file = read_toml(Path(path), f"a {kind.__name__} of bizkit")
    names = {Studio: "studio", Client: "client", RateCard: "rate-card", Brief: "brief"}
    with read_as(names[kind], file):
        made: T = readers[kind](file)
    return made


def _studio(file: TomlFile) -> Studio:
    from bizkit.exchange.identifiers import report_studio

    return read_input(Studio, file.tree, where=file.name, also=report_studio)


def _client(file: TomlFile) -> Client:
    from bizkit.exchange.identifiers import report_client

    return read_input(Client, file.tree, where=file.name, name=Path(file.name).stem, also=report_client)


def _brief(file: TomlFile) -> Brief:
    from bizkit.domain.pricing.cut_sets import expanded
    from bizkit.services.studio.shipped_specs import shipped_specs

    return expanded(Brief.read(file.tree, where=file.name), shipped_specs())


def price(card: RateCard, brief: Brief, *, studio: Studio | None = None) -> Estimate:
    """A brief priced, net of tax: every line with its amount and why. With options left open, by the first choice.

    studio: whose public holidays count; without it weekends alone are days off. Raises BadInput or NotFound for what
    card and brief do not have in common.
    """
    from bizkit.domain.pricing.estimate import price as priced

    if studio is None:
        return priced(card, brief)
    from bizkit.services.studio.holidays_here import days_off, public_holidays

    place = (studio.country, studio.subdivision)
    return priced(card, brief, day_off=days_off(*place), holiday=public_holidays(*place))


def quote(
    studio: Studio, client: Client, card: RateCard, brief: Brief, *, on: date, number: str = "draft"
) -> dict[str, Any]:
    """The quote of a priced brief as a document of that day, for `render`; nothing is numbered or kept.

    Raises BadInput, also for a client who is billed in another currency than the brief.
    """
    from bizkit.domain.billing.tax import Taxed, tax_lines, treatment
    from bizkit.domain.quote import quote_document, valid_until

    estimate = price(card, brief, studio=studio)
    how = treatment(studio, client, on)
    taxes = tax_lines([Taxed.by(how, estimate.net)], estimate.currency, name=how.name)
    document = quote_document(studio, client, card, brief, estimate, taxes, on=on, card_sha256="", brief_sha256="")
    days = brief.valid_days or card.valid_days
    dates = {"issued_on": on.isoformat(), "valid_until": valid_until(on, days).isoformat()}
    return {**document, **dates, "number": number, "revision": 1}


def render(document: Mapping[str, Any]) -> bytes:
    """The PDF of a document, in the shipped wording and layout. Raises BadInput for one that lacks a part."""
    from bizkit.papers.render import render as drawn

    return drawn(document)
