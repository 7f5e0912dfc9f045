"""The flat-rate scheme: tax paid over as a share of gross turnover instead of output less input tax.

Source: VAT Regulations 1995 (SI 1995/2518) Part VIIA and VAT Notice 733; percentages in `tables.tax_rates`.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Final

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


def limited_costs(goods: Money, gross_turnover: Money, months: int) -> bool:
    """Whether a period of `months` falls under the limited-cost rate: goods below 2 % of turnover or 1,000 a year.

    goods: spent on goods used up in the business, tax included; no services, travel, capital goods or food.
    """
    share = goods.amount * 100 < gross_turnover.amount * _LIMITED_SHARE
    little = goods.amount * 12 < _LIMITED_POUNDS * months
    return share or little
