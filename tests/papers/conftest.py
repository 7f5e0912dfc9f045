"""Documents of the invented scenario, and PDFs read back with another library than the one that wrote them."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdf
import pytest

from bizkit.papers.render import render

SAMPLES = Path(__file__).parent / "samples"

Document = dict[str, Any]


class Paper:
    """A rendered document read back: its text without line ends, its pages, its fonts, its metadata."""

    def __init__(self, pdf: bytes) -> None:
        self.pdf = pdf
        self.reader = pypdf.PdfReader(BytesIO(pdf), strict=True)
        self.pages = [" ".join(page.extract_text().split()) for page in self.reader.pages]
        self.text = " ".join(self.pages)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the first page in points, whole."""
        box = self.reader.pages[0].mediabox
        return round(float(box.width)), round(float(box.height))

    def fonts(self) -> dict[str, bool]:
        """Base font name -> whether its program is embedded."""
        found: dict[str, bool] = {}
        for page in self.reader.pages:
            for font in (page["/Resources"].get("/Font") or {}).values():
                entry = font.get_object()
                descriptor = entry.get("/FontDescriptor", {})
                descriptor = descriptor.get_object() if hasattr(descriptor, "get_object") else descriptor
                found[str(entry["/BaseFont"])] = "/FontFile2" in descriptor
        return found


@pytest.fixture(scope="session")
def samples() -> dict[str, Document]:
    return {path.stem: json.loads(path.read_text("utf-8")) for path in sorted(SAMPLES.glob("*.json"))}


@pytest.fixture
def sample(samples: dict[str, Document]) -> Callable[[str], Document]:
    """A fresh copy of one sample, to be changed at will."""
    return lambda name: copy.deepcopy(samples[name])


@pytest.fixture
def paper() -> Callable[..., Paper]:
    """Renders a document and reads it back."""
    return lambda document, **options: Paper(render(document, **options))


@pytest.fixture(scope="session")
def drawn(samples: dict[str, Document]) -> dict[str, Paper]:
    """Every sample, rendered once."""
    return {name: Paper(render(document)) for name, document in samples.items()}
