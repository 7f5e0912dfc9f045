"""bizkit's own source, for tests of how the house is laid out."""

from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def checkout() -> Path:
    """The folder with pyproject.toml."""
    return Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def modules(checkout: Path) -> dict[str, str]:
    """Path below the checkout -> source text, of every module of the package."""
    paths = sorted((checkout / "bizkit").rglob("*.py"))
    return {path.relative_to(checkout).as_posix(): path.read_text(encoding="utf-8") for path in paths}
