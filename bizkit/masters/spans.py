"""Gathering stretches of time while a file goes by."""

from __future__ import annotations

from fractions import Fraction

from bizkit.domain.work.facts import Span

#: No more are kept: a file with thousands of black frames is black often enough.
KEPT_MOST = 200


class SpanKeeper:
    """Told again and again whether something is so; keeps the stretches that last `least_s` or longer."""

    def __init__(self, least_s: Fraction) -> None:
        self._least_s = least_s
        self._since_s: Fraction | None = None
        self._spans: list[Span] = []

    def inside(self, at_s: Fraction) -> None:
        """It is so from `at_s` on (unless it was so before)."""
        if self._since_s is None:
            self._since_s = at_s

    def outside(self, at_s: Fraction) -> None:
        """It is not so, or no longer, at `at_s`."""
        if self._since_s is not None:
            if at_s > self._since_s and at_s - self._since_s >= self._least_s:
                self._spans.append(Span(self._since_s, at_s))
                # The last one is always kept: it may be the tail.
                del self._spans[KEPT_MOST - 1 : -1]
            self._since_s = None

    def spans(self) -> tuple[Span, ...]:
        """Those kept, in order of time. Call `outside()` first when the end has come."""
        return tuple(self._spans)
