"""A card in one currency, a quote in another: lines converted at a rate somebody recorded, never fetched."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Final

from bizkit.domain.errors import RuleBroken
from bizkit.domain.inputs.keys import Key
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.sentences import trimmed
from bizkit.domain.pricing.working import Working

#: How often a rate may go into one that was recorded before, or that into it: money of this trade's countries moves
#: less within the life of a job. Our own measure; it catches a slipped decimal sign and a rate turned round.
FAR: Final = Decimal("1.25")


def check_near(
    rate: Decimal, of: str, to: str, recorded: Mapping[str, Any] | None, quoted_in: str, reason: str, *, field: str
) -> None:
    """Raises RuleBroken where `rate` (`to` for one `of`) is far from the one of the quote and no reason says why.

    recorded: the quote's `exchange`, its rate being `quoted_in` for one of its `from`; other money is not held to it.
    """
    if not recorded or reason.strip() or rate <= 0 or {of, to} != {recorded["from"], quoted_in}:
        return
    known = Decimal(recorded["rate"])
    known = known if of == recorded["from"] else 1 / known
    if max(rate / known, known / rate) > FAR:
        raise RuleBroken(
            f"{field} {plain(rate)}: by the quote's rate of {recorded['on']} one {of} is {known:.4f} {to}: if it is "
            "right, say why with --reason"
        )


@dataclass(frozen=True, slots=True)
class ExchangeRate:
    """1 unit of the card's currency is `rate` units of the quote's, on the date `on`, as `source` says."""

    rate: Annotated[
        Decimal,
        Key("How much of the quote's currency one of the card's is.", above=0, wanted="a rate above 0", example=1.17),
    ]
    on: Annotated[date, Key("The day of the rate.", example="2027-03-01")]
    source: Annotated[str, Key("Where it was read.", example="the studio's bank")]

    def money(self, amount: Money, currency: str) -> Money:
        """`amount` in `currency`, exact; as it is where it is in `currency` already."""
        return amount if amount.currency == currency else Money(amount.amount * self.rate, currency)

    def line(self, line: Line, currency: str) -> Line:
        """The line in `currency`, rounded once, its first working kept underneath."""
        if line.amount.currency == currency:
            return line
        before = line.working.amount or line.amount
        exact = self.money(before, currency)
        text = f"{line.why}; at {plain(self.rate)} {currency} for 1 {before.currency} ({self.on}, {self.source})"
        inputs = (("rate", plain(self.rate)), ("on", str(self.on)))
        working = Working(text, "exchange", exact, self.source, inputs, (line.working,))
        if line.unit == "flat":
            flat = Line.flat(line.section, line.item, exact, working)
            return flat if line.percent is None else flat.as_share(line.percent, line.percent_of)
        # The printed rate is what the exact amount comes to for each unit.
        rate = Money(exact.amount / line.quantity, currency) if line.quantity else self.money(line.rate, currency)
        return Line(line.section, line.item, line.quantity, line.unit, trimmed(rate), exact.rounded(), working)
