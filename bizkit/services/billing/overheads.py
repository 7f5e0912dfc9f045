"""Costs of the business that belong to no job - insurance, software, a new housing - paid or still expected."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from bizkit.domain.billing.home_tax import tax_currency
from bizkit.domain.billing.tax import tax_within
from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.typed_numbers import amount_of, number_of
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
) -> dict[str, Any]:
    """Record a cost as on its bill, tax included, in the money of the tax office.

    tax: the part of it that can be reclaimed; tax_rate: its percent instead. pay_on: when it is or will be paid, a
    coming day counts as expected. goods, capital: for the flat-rate scheme. A negative amount takes one back.
    """
    from bizkit.services.studio.filing import file_scan
    from bizkit.store.events import record
    from bizkit.store.overheads import add_overhead as write_overhead
    from bizkit.store.overheads import next_overhead

    home = tax_currency(folder.studio)
    gross = amount_of(amount, home, "AMOUNT")
    if not gross:
        raise BadInput(wanted="an amount other than zero", got=amount, field="AMOUNT")
    if not what.strip():
        raise BadInput(wanted="what it was for", got="nothing", field="WHAT")
    inside = _tax_inside(gross, tax, tax_rate)
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
            "goods": int(goods),
            "capital": int(capital),
            "receipt": filed["sha256"] if filed else "",
        }
        number = write_overhead(work, stamp, row, net=(gross - inside).rounded(), tax=inside)
        record(work, stamp, "spent", "studio", overhead=number, what=row["what"], amount=gross.text, currency=home)
    return {
        "number": number,
        **{**row, "goods": goods, "capital": capital},
        "net": (gross - inside).rounded().text,
        "tax": inside.text,
        "gross": gross.text,
        "currency": home,
        "file": filed["file"] if filed else "",
    }


def _tax_inside(gross: Money, tax: str, tax_rate: str) -> Money:
    if tax and tax_rate:
        raise BadInput(wanted="either --tax or --tax-rate", got="both", field="--tax")
    if tax_rate:
        wanted, unfit = "a percent such as 20", "a percent from 0 to 100"
        rate = number_of(tax_rate, field="--tax-rate", wanted=wanted, unfit=unfit, least=0, most=100)
        if rate == 100:
            raise BadInput(wanted=unfit, got=tax_rate, field="--tax-rate")
        return tax_within(gross, rate)
    inside = amount_of(tax, gross.currency, "--tax") if tax else Money(0, gross.currency).rounded()
    if abs(inside.amount) > abs(gross.amount) or inside.amount * gross.amount < 0:
        raise BadInput(wanted=f"a part of {gross}", got=inside, field="--tax")
    return inside


def list_overheads(folder: StudioFolder) -> list[dict[str, Any]]:
    """Costs of the business in the order recorded."""
    from bizkit.store.overheads import overheads

    with folder.book.read() as work:
        return [
            {
                "number": row["id"],
                **{
                    name: row[name]
                    for name in ("on", "paid_on", "kind", "what", "supplier", "net", "tax", "currency")
                },
                "goods": bool(row["goods"]),
                "capital": bool(row["capital"]),
                "receipt": row["receipt"],
            }
            for row in overheads(work)
        ]


def note_input_tax(
    folder: StudioFolder, cost: int, tax: str, on: date, *, goods: bool = False, capital: bool = False
) -> dict[str, Any]:
    """Note the tax inside a cost of a job that can be reclaimed, in the tax office's money. The newest counts."""
    from bizkit.store.events import record
    from bizkit.store.overheads import set_input_tax
    from bizkit.store.spent import costs

    home = tax_currency(folder.studio)
    inside = amount_of(tax, home, "AMOUNT")
    stamp = folder.stamp(on)
    with folder.book.work() as work:
        rows = {row["id"]: row for row in costs(work)}
        if cost not in rows:
            raise NotFound("cost", cost, [str(one) for one in rows], field="COST", hint="See bizkit cost list")
        row = rows[cost]
        spent = Money(row["amount"], row["currency"])
        if spent.currency == home and not 0 <= abs(inside.amount) <= abs(spent.amount):
            raise RuleBroken(f"cost {cost} comes to {spent}: {inside} of tax cannot be inside it")
        set_input_tax(work, stamp, cost, inside, goods=goods, capital=capital)
        record(work, stamp, "noted tax", row["job"], cost=cost, tax=inside.text, currency=home)
    return {"cost": cost, "job": row["job"], "what": row["what"], "tax": inside.text, "currency": home}
