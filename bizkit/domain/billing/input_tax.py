"""The tax inside what a studio buys: what of it the studio's scheme gives back, and what stays a cost.

A registered business on the standard scheme takes the tax inside its purchases off what it pays over; in the
flat-rate scheme it is part of the percentage, but for capital goods of 2,000 or more, tax included (VAT Notice 733
section 15, from memory); who is not registered pays it for good. What is passed on to a client is passed on without
the tax that comes back, as the client is charged tax on it again (VAT Notice 700 section 25.1.1, read in a secondary
page: 12.00 with 2.00 in it is charged on as 10.00 and tax). A true disbursement, paid for the client and in its name,
is another thing. This is no tax advice.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Final

from bizkit.domain.money import Money
from bizkit.domain.registrations import TaxStatus

#: Capital goods from this sum on, tax included, are outside the flat-rate scheme.
FLAT_RATE_CAPITAL: Final = 2000


def reclaimed(status: TaxStatus, on: date, gross: Money, tax: Money, *, capital: bool = False) -> Money:
    """What the scheme gives back of the `tax` inside `gross`, bought on the day `on`: all of it or nothing.

    capital: a thing kept and used for years.

    >>> bought = (date(2027, 5, 12), Money("120", "GBP"), Money("20", "GBP"))
    >>> reclaimed(TaxStatus(registered=True), *bought).text, reclaimed(TaxStatus(), *bought).text
    ('20.00', '0.00')
    """
    back = status.registered_on(on) and scheme_gives_back(status.flat_rate, gross, capital=capital)
    return tax.rounded() if back else Money(0, tax.currency).rounded()


def scheme_gives_back(flat_rate: Decimal | None, gross: Money, *, capital: bool) -> bool:
    """Whether the tax inside a purchase of a registered studio is given back; flat_rate: None outside that scheme."""
    return flat_rate is None or (capital and abs(gross.amount) >= FLAT_RATE_CAPITAL)


def why_not(status: TaxStatus, on: date) -> str:
    """Why the tax inside a purchase is not given back; empty where it is."""
    if not status.registered_on(on):
        return f"not registered for {status.name} on {on}"
    return "in the flat-rate scheme" if status.flat_rate is not None else ""
