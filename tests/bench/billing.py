"""How long an invoice takes, and how reports grow with the book. Run: python tests/bench/billing.py [--years 10]

First: milliseconds to issue an invoice (number, frozen document, PDF, all on disk), and to write it as CII, UBL and a
PDF with XML inside. Then every report over a book of 1 year and of 10 years, with 500 jobs of two invoices a year:
the seconds each takes and how many times longer the ten years take (10 is linear).
"""

from __future__ import annotations

import argparse
import random
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from bizkit.domain.billing.invoice import invoice_document
from bizkit.domain.billing.lines import InvoiceLine, income_split
from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Period
from bizkit.domain.billing.tax import treatment
from bizkit.domain.money import Money
from bizkit.services.billing import einvoices
from bizkit.services.billing.deposits import invoice_deposit
from bizkit.services.billing.late import list_late
from bizkit.services.overview.verifying import verify_book
from bizkit.services.quoting.quotes import accept_quote, draft_quote, send_quote
from bizkit.services.reports import money, tax
from bizkit.services.studio.leaving import issued_paper
from bizkit.services.studio.starting import init_studio
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.store.issued import issue, of_kind
from bizkit.store.jobs import open_job
from bizkit.store.payments import add_payment

JOBS_A_YEAR = 500
SECTIONS = ("crew", "kit", "licence", "post")
CLIENT = "skerrow-islands-tourism"


def studio(path: Path) -> StudioFolder:
    """A new studio."""
    init_studio(path, practice=True)
    return StudioFolder(path, who="Ailsa Gannet")


def fill(folder: StudioFolder, years: int) -> int:
    """Put `years` of jobs, invoices and payments into the book; returns how many invoices."""
    dice = random.Random(3)
    client = folder.client(CLIENT)
    last = date(2027, 12, 31)
    first = date(last.year - years + 1, 1, 1)
    span = (last - first).days - 60
    starts = sorted(first + timedelta(days=dice.randrange(span)) for _ in range(JOBS_A_YEAR * years))
    count = 0
    with folder.book.work() as work:
        for number, on in enumerate(starts, start=1):
            key = f"job-{number}"
            how = treatment(folder.studio, client, on)
            days = [{"date": on.isoformat(), "count": 2, "kind": "water", "place": "", "note": ""}]
            quote = issue(
                work, folder.stamp(on), kind="quote", series="Q-{number:05}", number=f"Q-{number:05}", key=key,
                document={"kind": "quote", "days": days, "lines": [], "client": client.data()},
            )  # fmt: skip
            row = {
                "key": key, "title": f"Job {number}", "client": CLIENT, "quote_number": quote.number,
                "quote_revision": 1, "opened_on": on.isoformat(), "closed_on": "", "currency": "GBP",
                "net_minor": 0, "licence": None,
            }  # fmt: skip
            shoot = [{"on": on.isoformat(), "kind": "water", "place": "", "data": {}}] * 2
            stage = {"title": "Half", "percent": "50", "due_when": "acceptance", "net_minor": 0}
            numbers = [f"GL-{2 * number - part:06}" for part in (1, 0)]
            open_job(work, row, days=shoot, stages=[{**stage, "invoice": one} for one in numbers])
            for part, name in enumerate(numbers):
                when = on + timedelta(days=40 * part)
                lines = [
                    InvoiceLine.under(
                        how, f"Line {n}", Decimal(dice.randrange(4, 40)) / 4, "day",
                        Money(Decimal(dice.randrange(100, 90_000)) / 100, "GBP"), section=dice.choice(SECTIONS),
                    )
                    for n in range(4)
                ]  # fmt: skip
                net = sum((line.amount.amount for line in lines), Decimal(0))
                document = invoice_document(
                    number=name, issued_on=when, tax_point=when, due_on=when + timedelta(days=30),
                    studio=folder.studio, client=client, lines=lines, currency="GBP", terms="30 days", job=key,
                    title=f"Job {number}", income=income_split(lines, Money(net, "GBP"), {}),
                )  # fmt: skip
                document["stage"] = {"position": part + 1, "title": "Half", "reason": ""}
                issue(
                    work,
                    folder.stamp(when),
                    kind="invoice",
                    series="GL-{number:06}",
                    number=name,
                    key=key,
                    document=document,
                )
                count += 1
                if dice.random() < 0.95:
                    paid = when + timedelta(days=dice.randrange(5, 70))
                    amount = Money(document["gross"], "GBP")
                    add_payment(work, folder.stamp(paid), Payment(name, paid, amount))
    return count


def seconds(action: Callable[[], object]) -> float:
    """Wall time of one call."""
    start = time.perf_counter()
    action()
    return time.perf_counter() - start


def each_invoice(folder: StudioFolder, count: int) -> None:
    """Print what one invoice takes."""
    key, on = "follow-the-kelp", date(2027, 2, 10)
    draft_quote(folder, Path(key), date(2027, 1, 26))
    send_quote(folder, key, date(2027, 1, 26))
    accept_quote(folder, key, date(2027, 2, 8))
    invoice_deposit(folder, key, "1.20", on, received_on=on)
    issued = seconds(lambda: [invoice_deposit(folder, key, "1.20", on, received_on=on) for _ in range(count)])
    print(f"issue, with PDF on disk  {issued / count * 1000:8.1f} ms an invoice ({count} issued)")
    with folder.book.read() as work:
        bills = of_kind(work, "invoice")[:count]
        pdfs = [issued_paper(folder, work, one) for one in bills]
    for form in einvoices.FORMATS:
        einvoices.electronic(folder, bills[0], form, pdfs[0])
        spent = seconds(
            lambda form=form: [  # type: ignore[misc]
                einvoices.electronic(folder, one, form, pdf) for one, pdf in zip(bills, pdfs, strict=True)
            ]
        )
        print(f"{form:23}  {spent / len(bills) * 1000:8.1f} ms an invoice")


def reports(folder: StudioFolder) -> dict[str, float]:
    """Seconds that each report takes over a book."""
    on = date(2027, 12, 31)
    year = Period(date(2027, 1, 1), on)
    asked: dict[str, Callable[[], Any]] = {
        "debtors": lambda: money.debtors(folder, on),
        "cash": lambda: money.cash(folder, on),
        "margin": lambda: money.margin(folder, on),
        "days": lambda: money.days(folder, on),
        "income": lambda: tax.income(folder, on, year),
        "tax": lambda: tax.tax(folder, on, year),
        "quarter": lambda: tax.quarter(folder, on),
        "late": lambda: list_late(folder, on),
        "verify": lambda: verify_book(folder),
    }
    return {name: min(seconds(ask) for _ in range(2)) for name, ask in asked.items()}


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--years", type=int, default=10)
    parser.add_argument("--invoices", type=int, default=50)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        each_invoice(studio(Path(place) / "one"), options.invoices)
        taken = {}
        for years in (1, options.years):
            folder = studio(Path(place) / f"years-{years}")
            # Reference rates of the invented years, so that what is late has its interest.
            with (folder.path / "studio.toml").open("a", encoding="utf-8") as file:
                file.write('\n[late]\ninterest = "contract"\nrate = 8\n')
            folder = StudioFolder(folder.path)
            count = fill(folder, years)
            taken[years] = reports(folder)
            print(f"{years:3} years, {JOBS_A_YEAR * years} jobs, {count} invoices")
        short, long = taken[1], taken[options.years]
        for name in short:
            print(f"{name:9} {short[name]:8.3f} s  {long[name]:8.3f} s  x {long[name] / short[name]:5.1f}")


if __name__ == "__main__":
    main()
