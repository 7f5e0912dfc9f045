"""Which charges a quote states, so that they may be billed without asking again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

#: Kind of charge -> the members of a quote's `extras` any of which states it, see `documents.extras`.
STATED: Final[Mapping[str, tuple[str, ...]]] = {
    "overrun": ("overtime", "longer_days", "night", "rest"),
    "hold day": ("hold_days",),
    "moved day": ("dear_days",),
    "cancellation": ("notice",),
    "postponement": ("notice",),
    "late": ("late",),
}
#: Kinds that begin with a yes of the client's, a further round. And what gives back, or is billed again.
ASKED: Final = ("round", "credit", "again")
#: Kinds that no quote can know: the yes is kept with the charge, or given when it is billed.
PRICED_LATER: Final = ("cost", "agreed")


def needs_yes(quote: Mapping[str, Any], kind: str, working: Mapping[str, Any] | None = None) -> bool:
    """Whether a charge of this kind may only be billed with a fresh yes.

    quote: the document that was accepted; one from a time when it did not say what may come on top states nothing.
    working: of the charge, which holds the yes where one was given with it.
    """
    if kind in ASKED:
        return False
    inputs = (working or {}).get("inputs", {})
    if inputs.get("agreed"):
        return False
    if kind == "agreed" and "agreed" not in inputs:  # from a time when the reason of such a charge said who agreed
        return False
    if inputs.get("beyond"):  # more of it than the quote agreed, such as a hold day too many
        return True
    extras = quote.get("extras") or {}
    return not any(extras.get(name) for name in STATED.get(kind, ()))
