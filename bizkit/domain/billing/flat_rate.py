"""The flat-rate scheme: tax paid over as a share of gross turnover instead of output less input tax.

Source: VAT Regulations 1995 (SI 1995/2518) Part VIIA and VAT Notice 733; percentages in `tables.tax_rates`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Final

from dateutil.relativedelta import relativedelta

from bizkit.domain.billing.records import Period
from bizkit.domain.money import Money, percent, plain, total

#: A business that spends less than this share of gross turnover on goods has limited costs (Notice 733 section 4.4).
_LIMITED_SHARE: Final = Decimal(2)
#: ... or less than this many pounds a year.
_LIMITED_POUNDS: Final = Decimal(1000)


@dataclass(frozen=True, slots=True)
class FlatRateDue:
    """What is paid over for a period. kept: tax charged to clients less what is paid over."""

    turnover: Money
    rate: Decimal
    due: Money
    charged: Money
    kept: Money

    @property
    def why(self) -> str:
        """The rule with its numbers."""
        return f"{plain(self.rate)} % of the gross turnover of {self.turnover}"


def flat_rate_due(gross: list[Money], charged: Money, rate: Decimal, *, first_year: bool = False) -> FlatRateDue:
    """Tax to pay over on the gross turnover of a period.

    gross: of each invoice of the period, credit notes negative. charged: tax charged on them. first_year: one
    percentage point less in the first year of registration (Notice 733 section 4.7).
    """
    used = rate - 1 if first_year else rate
    turnover = total(gross, charged.currency).rounded()
    due = percent(turnover, used)
    return FlatRateDue(turnover, used, due, charged, charged - due)


def first_year_of(registered_from: date | None, period: Period) -> tuple[tuple[Period, bool], ...]:
    """The period, cut after the last day of the reduction where that lies in it; whether each part has the reduction.

    The percentage point comes off until the day before the first anniversary of registration (reg 55JB; HMRC manual
    FRS7100). None for a studio that does not say since when it is registered: no reduction.
    """
    if registered_from is None:
        return ((period, False),)
    last = registered_from + relativedelta(years=1) - timedelta(days=1)
    if last < period.first:
        return ((period, False),)
    if period.last <= last:
        return ((period, True),)
    return (Period(period.first, last), True), (Period(last + timedelta(days=1), period.last), False)


def limited_costs(goods: Money, gross_turnover: Money, months: int) -> bool:
    """Whether a period of `months` falls under the limited-cost rate: goods below 2 % of turnover or 1,000 a year.

    goods: spent on goods used up in the business, tax included; no services, travel, capital goods or food.
    """
    share = goods.amount * 100 < gross_turnover.amount * _LIMITED_SHARE
    little = goods.amount * 12 < _LIMITED_POUNDS * months
    return share or little
