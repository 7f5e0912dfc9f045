"""The end of the demo's money: a reminder, a bank statement that pays, XML and a zip for the books."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from bizkit.services.billing.balances import balance_of, find_invoice
from bizkit.services.billing.bank import book_sure
from bizkit.services.billing.bank_statements import import_statement
from bizkit.services.billing.einvoices import export_invoice
from bizkit.services.billing.job_money import show_job_money
from bizkit.services.billing.late import list_late, remind
from bizkit.services.reports.bundle import write_bundle
from bizkit.services.studio.filing import write_whole
from bizkit.services.studio.studio_folder import MARK, StudioFolder

if TYPE_CHECKING:
    from bizkit.services.demo.step import Step

JOB = "follow-the-kelp"
SETTINGS = """
[[late.reference_rates]]              # the bank's rate of a day that bizkit does not know; this one is invented
on = 2027-06-30
rate = 4
source = "invented for the demo"

[statement.harbour]                   # how an invented bank writes its CSV
date = "Date"
amount = "Amount"
text = "Details"
name = "From"
"""


def remind_of(folder: StudioFolder, on: date, number: str) -> Iterator[Step]:
    """What is late and what that costs by now, and the first reminder."""
    from bizkit.services.demo.step import Step

    with (folder.path / MARK).open("a", encoding="utf-8") as file:
        file.write(SETTINGS)
    folder = StudioFolder(folder.path, who=folder.who)
    row = next(one for one in list_late(folder, on)["late"] if one["number"] == number)
    yield Step(
        on,
        "bizkit late list",
        f"{number} is {row['days_late']} days late: by statute {row['currency']} {row['interest']} interest and "
        f"{row['compensation']} compensation by now",
    )
    sent = remind(folder, number, on)
    yield Step(
        on, f"bizkit late remind {number}", f"{sent['step']} reminder over {sent['currency']} {sent['total']} as PDF"
    )


def pay_by_bank(folder: StudioFolder, on: date, numbers: list[str]) -> Iterator[Step]:
    """The rest of some invoices comes on a bank statement, and is booked once somebody says so."""
    from bizkit.services.demo.step import Step

    folder = StudioFolder(folder.path, who=folder.who)
    lines = ["Date,From,Details,Amount"]
    with folder.book.read() as work:
        for number in numbers:
            left = balance_of(work, find_invoice(work, number)).left
            lines.append(f"{on:%d/%m/%Y},SKERROW ISLANDS TOURISM,{number.replace('-', ' ')},{left.text}")
    lines.append(f"{on:%d/%m/%Y},HARBOUR FUEL,Diesel,-61.20")
    file = folder.path / "incoming" / "july.csv"
    write_whole(file, "\r\n".join([*lines, ""]).encode())
    read = import_statement(folder, file, on)
    again = import_statement(folder, file, on)
    yield Step(
        on,
        "bizkit bank import incoming/july.csv",
        f"{read['new']} movements read, nothing booked; the same file again: {again['new']} new",
    )
    done = book_sure(folder, on, yes=True)
    booked = ", ".join(part["number"] for one in done["booked"] for part in one["parts"])
    yield Step(on, "bizkit bank book --sure --yes", f"{booked} named with exactly their sums: paid in full")


def hand_in(folder: StudioFolder, on: date, number: str) -> Iterator[Step]:
    """The electronic invoice, the money of the job, and everything for the accountant."""
    from bizkit.domain.billing.records import Period
    from bizkit.services.demo.step import Step

    made = export_invoice(folder, number, "cii", folder.path / "outgoing" / f"{number}.xml")
    yield Step(on, f"bizkit invoice export {number} --format cii", f"EN 16931 as XML, {made['bytes']} bytes")
    money = show_job_money(folder, JOB)
    yield Step(
        on,
        f"bizkit job money {JOB}",
        f"{money['currency']} {money['quoted']} quoted, {money['changes']} agreed on top, "
        f"{money['invoiced']} invoiced, {money['left_to_invoice']} left to invoice, "
        f"{money['left_to_pay']} left to pay",
    )
    done = write_bundle(folder, Period(date(2027, 1, 1), on), on, folder.path / "outgoing" / "accountant.zip")
    sums = {(one["table"], one["column"]): one["sum"] for one in done["sums"]}
    yield Step(
        on,
        f"bizkit report bundle --from 2027-01-01 --to {on} --out outgoing/accountant.zip",
        f"{done['files']} files; bills {sums['bills', 'gross']}, payments {sums['payments', 'amount']}",
    )
