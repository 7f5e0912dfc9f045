"""Cards and briefs for the pricing tests: written as TOML text, read as the program reads them."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.resources import templates

CARD_HEAD = 'name = "Test"\ncurrency = "GBP"\nvalid_from = 2026-01-01\n'
BRIEF_HEAD = 'key = "follow-the-kelp"\nclient = "skerrow-islands-tourism"\ntitle = "Follow the Kelp"\n'


def tree(text: str) -> dict[str, Any]:
    return tomllib.loads(text, parse_float=Decimal)


@pytest.fixture
def card() -> Callable[[str], RateCard]:
    """A rate card from the tables given, under a plain head."""
    return lambda text: RateCard.read(tree(CARD_HEAD + text), where="card.toml")


@pytest.fixture
def brief() -> Callable[[str], Brief]:
    """A brief from the tables given, under a plain head."""
    return lambda text: Brief.read(tree(BRIEF_HEAD + text), where="brief.toml")


@pytest.fixture(scope="session")
def starter_card() -> RateCard:
    """The card every British studio starts from."""
    path = templates() / "cards" / "gbp-uk.toml"
    return RateCard.read(tree(path.read_text(encoding="utf-8")), where=path.name)


@pytest.fixture(scope="session")
def kelp_brief() -> Brief:
    """The brief of the demo scenario."""
    path = templates() / "briefs" / "follow-the-kelp.toml"
    return Brief.read(tree(path.read_text(encoding="utf-8")), where=path.name)
