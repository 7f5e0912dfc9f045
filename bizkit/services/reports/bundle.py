"""The accountant's bundle: one zip with every paper of a period, tables as CSV, and an index that adds up."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.billing.records import Cost, Period
from bizkit.domain.errors import RuleBroken
from bizkit.domain.money import Money, total
from bizkit.services.reports.books import Books, read_books
from bizkit.services.reports.shape import report_csv, report_pdf
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.studio.fingerprint import Progress
    from bizkit.store.issued import IssuedBill

Table = tuple[list[str], list[list[object]]]

_BILLS = [
    "number", "kind", "issued_on", "tax_point", "due_on", "client", "client_name", "client_country",
    "client_tax_number", "job", "credits", "currency", "net", "tax", "gross", "prepaid", "due", "home_currency",
    "home_rate", "net_at_home", "tax_at_home", "file",
]  # fmt: skip


def write_bundle(
    folder: StudioFolder, period: Period, on: date, out: Path, *, progress: Progress | None = None
) -> Bundled:
    """Write the bundle of a period. Raises RuleBroken when the book or a paper is not as it was issued.

    In it: papers/ (invoices, credit notes), receipts/, the tables, and index.csv with every file's SHA-256 and size,
    and sums.csv, each sum of which is that of a column of one table. progress: of checking the papers first, as of
    `verify_book`.
    """
    from bizkit.services.overview.verifying import verify_book
    from bizkit.services.studio.out_file import write_out

    checked = verify_book(folder, progress)
    if checked["faults"]:
        raise RuleBroken(f"the book is not as it was issued, so no bundle of it is made: {checked['faults'][0]}")
    with folder.book.read() as work:
        books = read_books(folder, work)
        files = _papers(folder, work, period)
        tables = _tables(folder, work, books, period, files)
        files |= _receipts(folder, work, period)
    files |= _reports(folder, period, on)
    sums = _sums(books, tables)
    for name, (headings, rows) in tables.items():
        files[f"{name}.csv"] = _csv(headings, rows)
    files["sums.csv"] = _csv(list(ColumnSum.__annotations__), [list(one.values()) for one in sums])
    content = _zipped(folder, period, files)
    write_out(folder, out, content, others=False)
    return {
        "file": str(out),
        "first": period.first.isoformat(),
        "last": period.last.isoformat(),
        "files": len(files) + 1,
        "bytes": len(content),
        "sums": sums,
    }


def _papers(folder: StudioFolder, work: Connection, period: Period) -> dict[str, bytes]:
    """The PDFs of invoices and credit notes issued in the period."""
    from bizkit.services.studio.leaving import issued_paper
    from bizkit.services.studio.paper_names import pdf_name

    return {f"papers/{pdf_name(one.document)}": issued_paper(folder, work, one) for one in _issued(work, period)}


def _issued(work: Connection, period: Period) -> list[IssuedBill]:
    from bizkit.store.issued import of_kind

    return [one for one in of_kind(work, "invoice", "credit_note") if date.fromisoformat(one.issued_on) in period]


def _receipts(folder: StudioFolder, work: Connection, period: Period) -> dict[str, bytes]:
    """Receipts of costs bought in the period, as filed."""
    from bizkit.services.studio.leaving import filed_bytes
    from bizkit.store.filed import all_filed
    from bizkit.store.overheads import overheads
    from bizkit.store.spent import costs

    bought = [(row.receipt, row.on) for row in costs(work)] + [(row.receipt, row.on) for row in overheads(work)]
    wanted = {receipt for receipt, on in bought if date.fromisoformat(on) in period}
    return {
        f"receipts/{Path(one.file).name}": filed_bytes(folder, work, one.file)
        for one in all_filed(work)
        if one.kind == "receipt" and one.sha256 in wanted
    }


def _tables(
    folder: StudioFolder, work: Connection, books: Books, period: Period, files: Mapping[str, bytes]
) -> dict[str, Table]:
    return {
        "bills": (_BILLS, _bills(work, books, period)),
        "bill_lines": _lines(work, period),
        "bill_taxes": _taxes(work, period),
        "payments": _payments(work, books, period),
        "costs": _costs(books, period, _receipt_files(work)),
        "journeys": _journeys(folder, work, period),
    }


def _bills(work: Connection, books: Books, period: Period) -> list[list[object]]:
    """Invoices and credit notes; the amounts of a credit note are below zero, so that columns can be summed."""
    from bizkit.services.studio.paper_names import pdf_name

    papers = {one.number: one for one in books.papers}
    rows: list[list[object]] = []
    for one in _issued(work, period):
        document, paper = one.document, papers[one.number]
        client, home = document["client"], document.get("tax_in")
        amounts = [
            (Money(document[name], one.document["currency"]) * paper.sign).text for name in ("net", "tax", "gross")
        ]
        rest = [(Money(document[name], document["currency"]) * paper.sign).text for name in ("prepaid", "due")]
        at_home = [(paper.at_home(each, books.home) * paper.sign).text for each in (paper.net, paper.tax)]
        rows.append(
            [
                one.number, one.kind, one.issued_on, document["tax_point"], document["due_on"], client["key"],
                client["name"], client["country"], client["tax_number"], one.key, paper.corrects, paper.currency,
                *amounts, *rest, books.home, home["rate"] if home else "", *at_home, f"papers/{pdf_name(document)}",
            ]
        )  # fmt: skip
    return rows


def _lines(work: Connection, period: Period) -> Table:
    headings = ["number", "line", "item", "quantity", "unit", "rate", "amount", "category", "tax_rate", "currency"]
    rows: list[list[object]] = []
    for one in _issued(work, period):
        sign = -1 if one.kind == "credit_note" else 1
        currency = one.document["currency"]
        for position, line in enumerate(one.document["lines"], start=1):
            amount = (Money(line["amount"], currency) * sign).text
            rows.append(
                [
                    one.number, position, line["item"], line["quantity"], line["unit"], line["rate"], amount,
                    line["category"], line["tax_rate"], currency,
                ]
            )  # fmt: skip
        for part in one.document["allowances"]:
            amount = (Money(part["amount"], currency) * -sign).text
            rows.append(
                [
                    one.number, 0, part["reason"], "1", "", amount, amount, part["category"], part["tax_rate"],
                    currency,
                ]
            )  # fmt: skip
    return headings, rows


def _taxes(work: Connection, period: Period) -> Table:
    rows: list[list[object]] = []
    for one in _issued(work, period):
        sign = -1 if one.kind == "credit_note" else 1
        currency = one.document["currency"]
        for tax in one.document["taxes"]:
            base, amount = ((Money(tax[name], currency) * sign).text for name in ("base", "amount"))
            rows.append([one.number, tax["category"], tax["rate"], base, amount, currency, tax["note"]])
    return ["number", "category", "rate", "base", "tax", "currency", "note"], rows


def _payments(work: Connection, books: Books, period: Period) -> Table:
    rows: list[list[object]] = [
        [
            one.received_on.isoformat(),
            one.invoice,
            one.amount.text,
            one.amount.currency,
            one.fee.text if one.fee else "0.00",
            one.received.text if one.received else "",
            one.received.currency if one.received else "",
            one.reference,
        ]
        for one in books.money_in
        if one.received_on in period
    ]
    headings = [
        "received_on",
        "invoice",
        "amount",
        "currency",
        "fee",
        "account_amount",
        "account_currency",
        "reference",
    ]
    return headings, rows


def _receipt_files(work: Connection) -> dict[str, str]:
    """SHA-256 of a receipt -> its name in the bundle."""
    from bizkit.store.filed import all_filed

    return {one.sha256: f"receipts/{Path(one.file).name}" for one in all_filed(work) if one.kind == "receipt"}


def _costs(books: Books, period: Period, files: Mapping[str, str]) -> Table:
    headings = [
        "number",
        "bought_on",
        "paid_on",
        "supplier",
        "kind",
        "what",
        "job",
        "net",
        "tax",
        "gross",
        "currency",
        "goods",
        "capital",
        "reverses",
        "receipt",
    ]

    def row(one: Cost) -> list[object]:
        paid = one.paid_on.isoformat() if one.paid_on else ""
        sums = [one.net.text, one.tax.text, one.gross.text, one.net.currency]
        flags = ["yes" if flag else "" for flag in (one.goods, one.capital)]
        about = [one.number, one.bought_on.isoformat(), paid, one.supplier, one.kind, one.what, one.job]
        return [*about, *sums, *flags, one.reverses, files.get(one.receipt, "")]

    return headings, [row(one) for one in books.costs if one.bought_on in period]


def _journeys(folder: StudioFolder, work: Connection, period: Period) -> Table:
    from bizkit.services.billing.mileage_log import journey_rows

    names = [
        "on",
        "who",
        "vehicle",
        "origin",
        "destination",
        "purpose",
        "job",
        "distance",
        "unit",
        "amount",
        "currency",
    ]
    journeys = journey_rows(folder, work)
    rows: list[Mapping[str, object]] = [row for row in journeys if date.fromisoformat(row["on"]) in period]
    return names, [[row[name] for name in names] for row in rows]


#: table -> columns of money that sums.csv adds up, per currency.
_SUMMED: dict[str, tuple[str, ...]] = {
    "bills": ("net", "tax", "gross", "net_at_home", "tax_at_home"),
    "bill_lines": ("amount",),
    "bill_taxes": ("base", "tax"),
    "payments": ("amount", "fee"),
    "costs": ("net", "tax", "gross"),
    "journeys": ("amount",),
}


def _sums(books: Books, tables: Mapping[str, Table]) -> list[ColumnSum]:
    rows: list[ColumnSum] = []
    for name, columns in _SUMMED.items():
        headings, body = tables[name]
        for column in columns:
            money = headings.index("home_currency" if column.endswith("_at_home") else "currency")
            place = headings.index(column)
            for currency in dict.fromkeys(str(row[money]) for row in body):
                mine = [row for row in body if row[money] == currency]
                whole = total((Money(Decimal(str(row[place])), currency) for row in mine), currency)
                rows.append(
                    {"table": name, "column": column, "currency": currency, "rows": str(len(mine)), "sum": whole.text}
                )
    return rows


def _reports(folder: StudioFolder, period: Period, on: date) -> dict[str, bytes]:
    """The summaries of the period, as CSV and as pages."""
    from bizkit.services.reports.money import debtors
    from bizkit.services.reports.tax import income, mileage, tax

    files: dict[str, bytes] = {}
    for data in (
        tax(folder, on, period), income(folder, on, period), debtors(folder, period.last), mileage(folder, on, period)
    ):  # fmt: skip
        files[f"reports/{data['report']}.csv"] = report_csv(folder, data)
        files[f"reports/{data['report']}.pdf"] = report_pdf(folder, data)
    return files


def _csv(headings: Sequence[str], rows: Sequence[Sequence[object]]) -> bytes:
    from bizkit.exchange.table_csv import table_csv

    return table_csv(list(headings), rows)


def _zipped(folder: StudioFolder, period: Period, files: Mapping[str, bytes]) -> bytes:
    """All files and index.csv; the same bytes for the same files."""
    from bizkit.store.canonical import sha256

    index = [[name, sha256(content), str(len(content))] for name, content in sorted(files.items())]
    everything = {**files, "index.csv": _csv(["file", "sha256", "bytes"], index)}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name, content in sorted(everything.items()):
            day = period.last
            entry = zipfile.ZipInfo(name, (max(day.year, 1980), day.month, day.day, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            bundle.writestr(entry, content)
    return out.getvalue()


class Bundled(TypedDict):
    """The bundle of a period written; sums: of the columns of its tables."""

    file: str
    first: str
    last: str
    files: int
    bytes: int
    sums: list[ColumnSum]


class ColumnSum(TypedDict):
    """The sum of a column of a table."""

    table: str
    column: str
    currency: str
    rows: str
    sum: str
