"""A quote of a studio that will be registered for the tax by the time the work is done: what it comes to then.

Supplies made from the day of registration on bear the tax, those before do not, whenever they are paid for (HMRC
manual VATTOS5210, VCAS2100). Which part of a job is which shows only when it is done, so a quote shows both totals.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from bizkit.domain.billing.tax import Taxed, TaxLine, TaxTreatment, tax_lines, tax_total, treatment
from bizkit.domain.dates import DayOff, add_working_days, weekend
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money, decimal
from bizkit.domain.parties import Client, Studio

if TYPE_CHECKING:  # billing needs no brief at hand, and reading one is slow to begin with
    from bizkit.domain.pricing.brief import Brief


@dataclass(frozen=True, slots=True)
class TaxLater:
    """The tax that all of a quote would bear. starts: first day (inclusive) on which work bears it."""

    starts: date
    how: TaxTreatment

    def lines(self, net: Money) -> tuple[TaxLine, ...]:
        """The tax on the quote's net."""
        return tax_lines([Taxed.by(self.how, net)], net.currency, name=self.how.name)

    def data(self, net: Money) -> dict[str, Any]:
        """The document's `tax_later`."""
        lines = self.lines(net)
        tax = tax_total(lines, net.currency)
        return {
            "starts": self.starts.isoformat(),
            "taxes": [line.data() for line in lines],
            "tax": tax.text,
            "gross": (net + tax).text,
        }


def tax_later(studio: Studio, client: Client, brief: Brief, on: date, day_off: DayOff = weekend) -> TaxLater | None:
    """What a quote of the day `on` must say of a registration to come; None where its work is done before.

    A day without a date may fall into it. Where the client accounts for the tax there is nothing to say.
    """
    starts = studio.tax.registered_from
    if not studio.tax.registered or starts is None or on >= starts:
        return None
    last = last_day(brief, day_off)
    if last is not None and last < starts:
        return None
    try:
        how = treatment(studio, client, starts)
    except (BadInput, RuleBroken):
        return None  # nobody can say yet; the invoice asks
    return TaxLater(starts, how) if how.rate else None


def last_day(brief: Brief, day_off: DayOff = weekend) -> date | None:
    """The last day on which work of a brief is done; None where one has no date."""
    if any(day.date is None for day in brief.days):
        return None
    shot = [day.date + timedelta(days=max(day.count, 1) - 1) for day in brief.days if day.date is not None]
    ends = list(shot)
    for one in brief.deliverables:
        if one.due_on is not None:
            ends.append(one.due_on)
        elif one.due_days is None or not shot:
            return None
        else:
            ends.append(add_working_days(max(shot), one.due_days, day_off))
    return max(ends, default=None)


def tax_was_quoted(quote: Mapping[str, Any], how: TaxTreatment, point: date) -> bool:
    """Whether an invoice taxed like this on that tax point is what the client was told by the quote."""
    later = quote.get("tax_later")
    told = later is not None and point.isoformat() >= later["starts"]
    return not how.rate or told or any(decimal(tax["rate"]) for tax in quote["taxes"])
