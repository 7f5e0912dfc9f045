"""What an electronic invoice claims to be, as lines of text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any


def claims(data: Mapping[str, Any]) -> Iterator[str]:
    """Its identifier (BT-24), and each thing it lacks to be an XRechnung or one of Peppol BIS Billing 3."""
    yield f"It claims {data['claims']}"
    for gap in data["xrechnung_gaps"]:
        yield f"For XRechnung it lacks: {gap}"
    if data["xrechnung_gaps"]:
        yield "What is issued never changes: credit it, put that right in the settings, and issue it anew."
    for gap in data["peppol_gaps"]:
        yield f"For Peppol it lacks: {gap}"
