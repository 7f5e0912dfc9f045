"""What a job was quoted from: rate card, brief, specs and media as they were when its quote was sent."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from bizkit.services.studio.hand import in_readers_hand
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import Observed
    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.weather_observations import Observations
    from bizkit.domain.rights.media import MediaTree
    from bizkit.domain.work.spec import Spec
    from bizkit.services.studio.toml_file import TomlFile
    from bizkit.store.issued import IssuedQuote
    from bizkit.store.jobs import Job


def read_basis(
    folder: StudioFolder, brief_text: str, brief_file: str, card_text: str, document: Mapping[str, Any]
) -> tuple[RateCard, Brief, TomlFile]:
    """Card and brief from the texts a quote was priced from, past weather as its document has it."""
    from bizkit.services.studio.toml_file import parse_toml

    file = parse_toml(brief_text, brief_file, "a brief")
    media = _frozen_media(folder, document, file, card_text)
    brief = folder.brief_of(file, _frozen_specs(document), media)
    observed = (document.get("weather") or {}).get("observed")
    if observed:
        brief = brief.observed(_past_from_data(observed))
    card = _card(card_text, media)
    return in_readers_hand(card, document["locale"], document["currency"]), brief, file


def _frozen_specs(document: Mapping[str, Any]) -> dict[str, Spec] | None:
    """The delivery specs that a quote names, as they were; None for one from a time when they were not kept."""
    from bizkit.domain.inputs.reading import read_input
    from bizkit.domain.work.spec import Spec

    kept = document.get("specs")
    if kept is None:
        return None
    return {name: read_input(Spec, data, where=f"specs/{name}.toml") for name, data in kept.items()}


def _frozen_media(folder: StudioFolder, document: Mapping[str, Any], brief: TomlFile, card_text: str) -> MediaTree:
    """The media there were when a quote was sent; for one that did not keep them today's, and any that it names."""
    from bizkit.services.studio.toml_file import parse_toml

    kept = document.get("media")
    if kept is not None:
        return _media(tuple((code, one["meaning"], one["label"], one["under"]) for code, one in kept.items()))
    named = set(parse_toml(card_text, "rate-card.toml", "a rate card").tree.get("usage", {}).get("media", {}))
    for parts in (brief.tree, *brief.tree.get("options", {}).values()):
        licence = parts.get("licence") if isinstance(parts, Mapping) else None
        named |= set(licence.get("media", ())) if isinstance(licence, Mapping) else set()
    today = folder.studio.media
    called = {medium.label for medium in today}
    return today.with_gone(name for name in named if " ".join(name.lower().split()) not in called)


@lru_cache(maxsize=16)
def _media(own: tuple[tuple[str, str, str, str], ...]) -> MediaTree:
    """The tree with these media of a studio's own: code, meaning, label, branch."""
    from bizkit.domain.rights.media import MEDIA_TREE, OwnMedium

    return MEDIA_TREE.with_own({code: OwnMedium(meaning, label, under) for code, meaning, label, under in own})


@lru_cache(maxsize=16)
def _card(text: str, media: MediaTree) -> RateCard:
    """The rate card of this text: many quotes in a row were priced from the same."""
    from bizkit.domain.pricing.card import RateCard
    from bizkit.services.studio.toml_file import parse_toml

    return RateCard.read(parse_toml(text, "rate-card.toml", "a rate card").tree, where="rate-card.toml", media=media)


def actual_brief(
    folder: StudioFolder, work: Connection, job: Job, quote: IssuedQuote
) -> tuple[RateCard, Brief] | None:
    """Card and brief of an accepted job, options taken and days as they fall by now.

    None when the quote was sent by a bizkit that kept no brief.
    """
    found = quoted_brief(folder, work, quote)
    return (found[0], on_its_days(work, job.key, found[1])) if found else None


def on_its_days(work: Connection, job: str, quoted: Brief) -> Brief:
    """The brief of a job with its days as they fall by now."""
    from bizkit.domain.pricing.actual_days import on_dates
    from bizkit.store.jobs import shoot_days

    return on_dates(quoted, [date.fromisoformat(day.on) if day.on else None for day in shoot_days(work, job)])


def quoted_brief(folder: StudioFolder, work: Connection, quote: IssuedQuote) -> tuple[RateCard, Brief] | None:
    """Card and brief of a quote as it was sent, options taken; open choices with the first of them."""
    from bizkit.domain.pricing.options import choose, chosen_brief
    from bizkit.services.job.basis import read_basis
    from bizkit.store.basis import basis_of

    basis = basis_of(work, quote.number, quote.revision)
    if basis is None:
        return None
    card, brief, _ = read_basis(folder, basis.brief, basis.brief_file, basis.card, quote.document)
    return card, choose(brief, basis.options) if basis.options else chosen_brief(brief)


def card_of(folder: StudioFolder, work: Connection, job: Job) -> RateCard:
    """The rate card the job was quoted with; the one of today where that was not kept."""
    from bizkit.store.issued import by_number

    quote = by_number(work, job.quote_number, job.quote_revision)
    found = actual_brief(folder, work, job, quote) if quote else None
    return found[0] if found else folder.card


def _past_from_data(data: Observed) -> Observations:
    from bizkit.domain.pricing.weather_observations import Observations

    return Observations(
        chance={int(month): Decimal(chance) for month, chance in data["chance"].items()},
        dry={int(month): Decimal(chance) for month, chance in data["dry"].items()},
        memory=Decimal(data["memory"]),
        days={int(month): int(days) for month, days in data["days"].items()},
        pairs=int(data["pairs"]),
    )
