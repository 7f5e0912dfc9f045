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
