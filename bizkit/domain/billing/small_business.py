"""How much a German small business may take in before it is one no longer.

Source: UStG § 19 Abs. 1 as in force since 2025 (Jahressteuergesetz 2024), from memory: no more than 25,000 euros in
the calendar year before and no more than 100,000 in the running one; the sale that passes 100,000 bears the tax
already. What counts is money received for what is taxable at home (§ 19 Abs. 2). This is no tax advice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bizkit.domain.money import Money

LAST_YEAR: Final = Money(25_000, "EUR")
THIS_YEAR: Final = Money(100_000, "EUR")


@dataclass(frozen=True, slots=True)
class Turnover:
    """Received in the calendar year before and in this one up to now; coming: what a paper now issued asks for."""

    year: int
    before: Money
    so_far: Money
    coming: Money

    @property
    def over(self) -> str:
        """Why the exemption has ended already; empty while it has not."""
        if self.before > LAST_YEAR:
            return f"{self.before} was received in {self.year - 1}, more than {LAST_YEAR}"
        if self.so_far > THIS_YEAR:
            return f"{self.so_far} was received in {self.year} so far, more than {THIS_YEAR}"
        return ""

    @property
    def near(self) -> str:
        """What is to be watched; empty for nothing."""
        whole = self.so_far + self.coming
        if whole > THIS_YEAR:
            return (
                f"once it is paid, {whole} is received in {self.year}, more than {THIS_YEAR}: the sale that passes "
                "it bears the tax (UStG § 19 Abs. 1): ask your tax adviser before you send it"
            )
        if whole > LAST_YEAR:
            return (
                f"once it is paid, {whole} is received in {self.year}, more than {LAST_YEAR}: from {self.year + 1} "
                "on you are no small business (UStG § 19 Abs. 1)"
            )
        return ""
