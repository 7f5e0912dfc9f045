"""When a supply counts for tax: the tax point.

Source: VAT Act 1994 s. 6(3) (services: when performed), s. 6(4) (an invoice or a payment before that: its own day, to
the extent of it), s. 6(5) (an invoice within 14 days after: its day); HMRC manual VATTOS5105 (a payment received
before makes a tax point, one received after does not). Directive 2006/112/EC articles 63, 65 and 66 are much the same
without the 14 days.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from bizkit.domain.errors import BadInput

#: Countries where work still to be done is taxed when it is paid for, and with the work at the latest: Germany, UStG
#: § 13 Abs. 1 Nr. 1 Buchst. a Satz 4. Directive 2006/112/EC article 65 says the same; article 66 lets a country tax
#: the invoice instead, so that others are taken to.
BY_PERFORMANCE: Final = ("DE",)

#: What an invoice says whose tax waits for the money, and from which day it must be said: UStG § 14 Abs. 4 Nr. 6a, in
#: force from 2028 (Jahressteuergesetz 2024 Artikel 27, § 27 Abs. 41 UStG; read 2026-11-27 in a secondary page).
CASH_SAID_FROM: Final = date(2028, 1, 1)

#: Days after performance within which an invoice moves the tax point to its own day.
FOURTEEN_DAYS: Final = 14


@dataclass(frozen=True, slots=True)
class TaxPoint:
    """The day, and why it is that one."""

    on: date
    why: str


def tax_point(
    *,
    performed_on: date | None = None,
    invoiced_on: date | None = None,
    paid_on: date | None = None,
    days_after: int = FOURTEEN_DAYS,
) -> TaxPoint:
    """The tax point of a supply, or of the part of it that one invoice or deposit covers.

    performed_on: when the work was done (None while it is not). paid_on: when money for it first came in. days_after:
    the 14 days, 0 for a country without that rule. Raises BadInput when nothing has happened yet.

    >>> tax_point(paid_on=date(2027, 3, 1), invoiced_on=date(2027, 3, 4)).why
    'paid on 2027-03-01, before the work was done'
    """
    early = [
        (day, f"{what} on {day}, before the work was done")
        for day, what in ((paid_on, "paid"), (invoiced_on, "invoiced"))
        if day is not None and (performed_on is None or day < performed_on)
    ]
    if early:
        day, why = min(early, key=lambda entry: entry[0])
        return TaxPoint(day, why)
    if performed_on is None:
        raise BadInput(wanted="a day of performance, invoice or payment", got="none", field="tax_point")
    if invoiced_on is not None and 0 <= (invoiced_on - performed_on).days <= days_after and days_after:
        return TaxPoint(invoiced_on, f"invoiced on {invoiced_on}, within {days_after} days after {performed_on}")
    return TaxPoint(performed_on, f"performed on {performed_on}")


def taxed_when_paid(country: str, accounting: str, *, work_done: bool | None, received: bool) -> bool:
    """Whether the tax of an invoice arises only when it is paid, so that no day of it can be said yet (EN 16931 BT-8,
    paid to date, in place of BT-7): an invoice for work still to be done, or any one of a studio taxed by payment.

    work_done: None where no work is billed. received: the money came before the invoice.
    """
    if country not in BY_PERFORMANCE or received:
        return False
    return accounting == "cash" or work_done is False
