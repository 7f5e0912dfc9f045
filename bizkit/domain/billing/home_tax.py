"""The tax of an invoice in foreign money, in the money of the studio's own tax office."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from bizkit.domain.billing.tax import TAXED_AS
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money, decimal, minor_digits, plain, round_half_away
from bizkit.domain.parties import Studio
from bizkit.domain.tables.tax_rates import TAX_CURRENCY


@dataclass(frozen=True, slots=True)
class TaxAtHome:
    """The tax of a foreign-currency invoice in the money of the tax office.

    rate: units of `amount.currency` for one unit of the invoice currency. source: whose rate it is. on: its day.
    """

    amount: Money
    rate: Decimal
    source: str
    on: date

    def data(self) -> dict[str, str]:
        """The document's `tax_in` member."""
        return {
            "currency": self.amount.currency,
            "amount": self.amount.text,
            "rate": plain(self.rate),
            "source": self.source,
            "on": self.on.isoformat(),
        }


def tax_currency(studio: Studio) -> str:
    """Currency in which the studio's tax office counts; the studio's own where the table has no answer."""
    return TAX_CURRENCY.get(TAXED_AS.get(studio.country, studio.country), studio.currency)


def tax_at_home(tax: Money, rate: Decimal | int | str, to: str, *, source: str, on: date) -> TaxAtHome:
    """The tax of an invoice in another currency, converted once and rounded half away from zero.

    Source: SI 1995/2518 reg 14(1), total VAT expressed in sterling; VAT Act 1994 Schedule 6 para 11 (market rate at
    the time of supply, or the rate the tax office publishes for the period). Raises BadInput for a rate that is not
    above zero or has no source.
    """
    exact = decimal(rate)
    if exact <= 0:
        raise BadInput(wanted=f"{to} for one {tax.currency}, above zero", got=rate, field="exchange_rate")
    if not source.strip():
        raise BadInput(wanted="whose exchange rate it is", got="nothing", field="exchange_rate.source")
    amount = Money(round_half_away(tax.amount * exact, minor_digits(to)), to)
    return TaxAtHome(amount, exact, source.strip(), on)
