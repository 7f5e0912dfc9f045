"""A licence as typed on the command line, read by the same rules as the `[licence]` table of a brief."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from bizkit.domain.dates import iso_date
from bizkit.domain.errors import BadInput
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.media import MEDIA_TREE, MediaTree
from bizkit.domain.rights.territory import Territory


def typed_request(
    *,
    media: Sequence[str],
    where: Sequence[str],
    starts: str,
    until: str = "",
    months: int | None = None,
    open_end: bool = False,
    exclusivity: str = "none",
    sector: str = "",
    on_full_payment: bool = True,
    tree: MediaTree = MEDIA_TREE,
) -> LicenceRequest:
    """Raises BadInput or NotFound naming the option."""
    typed: dict[str, Any] = {
        "media": list(media),
        "territory": list(where),
        "starts": iso_date(starts, field="--from"),
        "exclusivity": exclusivity,
        "on_full_payment": on_full_payment,
    }
    if until:
        typed["until"] = iso_date(until, field="--until")
    if months is not None:
        typed["months"] = months
    if open_end:
        typed["open_end"] = True
    if sector:
        typed["sector"] = sector
    try:
        request = LicenceRequest.read(typed, media=tree)
        if any(phrase.isupper() or phrase.isdigit() for phrase in where):  # codes are for the book, not for sentences
            request = replace(request, territory=Territory.of(request.territory.codes))
        return request
    except BadInput as error:
        option = {"territory": "--where", "months": "--months, --until or --open-end"}.get(error.field)
        raise BadInput(
            wanted=error.wanted, got=error.got, field=option or f"--{error.field}", hint=error.hint
        ) from None
