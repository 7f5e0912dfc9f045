"""Costs of the business that belong to no job - insurance, software, a new housing - paid or still expected."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TypedDict

from bizkit.domain.billing.home_tax import tax_currency
from bizkit.domain.billing.input_tax import reclaimed, why_not
from bizkit.domain.errors import BadInput
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.billing.input_tax import tax_inside
from bizkit.services.studio.studio_folder import StudioFolder


def add_overhead(
    folder: StudioFolder,
    what: str,
    amount: str,
    on: date,
    *,
    kind: str = "other",
    supplier: str = "",
    tax: str = "",
    tax_rate: str = "",
    pay_on: date | None = None,
    goods: bool = False,
    capital: bool = False,
    receipt: Path | None = None,
) -> OverheadAdded:
    """Record a cost as on its bill, tax included, in the money of the tax office.

    tax: the part of it that is tax; tax_rate: its percent instead. What the studio's scheme does not give back of it
    (`reclaimed`) stays a cost in every report. pay_on: when it is or will be paid, a
    coming day counts as expected. goods, capital: for the flat-rate scheme. A negative amount takes one back.
    """
    from bizkit.services.studio.filing import file_scan
    from bizkit.store.events import record
    from bizkit.store.overheads import add_overhead as write_overhead
    from bizkit.store.overheads import next_overhead, overheads

    home = tax_currency(folder.studio)
    gross = amount_of(amount, home, "AMOUNT")
    if not gross:
        raise BadInput(wanted="an amount other than zero", got=amount, field="AMOUNT")
    if not what.strip():
        raise BadInput(wanted="what it was for", got="nothing", field="WHAT")
    inside = tax_inside(gross, tax, tax_rate)
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        number = next_overhead(work)
        filed = (
            file_scan(work, stamp, folder, receipt, kind="receipt", about=f"overhead {number}") if receipt else None
        )
        row = {
            "on": on.isoformat(),
            "paid_on": (pay_on or on).isoformat(),
            "kind": kind.strip() or "other",
            "what": what.strip(),
            "supplier": supplier.strip(),
            "receipt": filed["sha256"] if filed else "",
        }
        counts = {"goods": int(goods), "capital": int(capital)}
        net = (gross - inside).rounded()
        same = [
            one.id
            for one in overheads(work)
            if (one.on, one.kind, one.what, one.supplier) == (row["on"], row["kind"], row["what"], row["supplier"])
            and (one.net.text, one.tax.text) == (net.text, inside.text)
        ]
        number = write_overhead(work, stamp, {**row, **counts}, net=net, tax=inside)
        record(work, stamp, "spent", "studio", overhead=number, what=row["what"], amount=gross.text, currency=home)
    return {
        "number": number,
        "on": row["on"],
        "paid_on": row["paid_on"],
        "kind": row["kind"],
        "what": row["what"],
        "supplier": row["supplier"],
        "goods": goods,
        "capital": capital,
        "receipt": row["receipt"],
        "net": net.text,
        "tax": inside.text,
        "reclaimed": reclaimed(folder.studio.tax, on, gross, inside, capital=capital).text,
        "why_not": why_not(folder.studio.tax, on),
        "gross": gross.text,
        "currency": home,
        "file": filed["file"] if filed else "",
        "same_paper": filed["filed_before"] if filed else [],
        "same": same,
    }


def list_overheads(folder: StudioFolder) -> list[OverheadRow]:
    """Costs of the business in the order recorded."""
    from bizkit.store.overheads import overheads

    with folder.book.read() as work:
        return [
            {
                "number": row.id,
                "on": row.on,
                "paid_on": row.paid_on,
                "kind": row.kind,
                "what": row.what,
                "supplier": row.supplier,
                "net": row.net.text,
                "tax": row.tax.text,
                "currency": row.currency,
                "goods": bool(row.goods),
                "capital": bool(row.capital),
                "receipt": row.receipt,
            }
            for row in overheads(work)
        ]


class OverheadRow(TypedDict):
    """A cost of the business."""

    number: int
    on: str
    paid_on: str
    kind: str
    what: str
    supplier: str
    net: str
    tax: str
    currency: str
    goods: bool
    capital: bool
    receipt: str


class OverheadAdded(OverheadRow):
    """A cost of the business just recorded. same: costs that say just the same."""

    reclaimed: str
    why_not: str
    gross: str
    file: str
    same_paper: list[str]
    same: list[int]
