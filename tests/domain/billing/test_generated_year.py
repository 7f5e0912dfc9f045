"""Reports over a generated year of 500 papers equal an independent recomputation in plain SQL."""

import random
import sqlite3
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal

import pytest

from bizkit.domain.billing.debtors import aged_debtors, open_invoices, statement_entries
from bizkit.domain.billing.income import income_by_kind
from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.records import Issued, Period
from bizkit.domain.billing.tax import Taxed, tax_lines, tax_total
from bizkit.domain.billing.tax_period import tax_period
from bizkit.domain.money import Money, total

QUARTERS = [
    Period(date(2027, 1, 1), date(2027, 3, 31)),
    Period(date(2027, 4, 1), date(2027, 6, 30)),
    Period(date(2027, 7, 1), date(2027, 9, 30)),
    Period(date(2027, 10, 1), date(2028, 3, 31)),
]
CLIENTS = [f"client-{n}" for n in range(12)]
KINDS = ["crew", "kit", "licence", "post"]


def generate(seed=5):
    """Papers and payments, from a fixed seed."""
    dice = random.Random(seed)
    papers, payments = [], []
    for number in range(1, 451):
        issued = date(2027, 1, 1) + timedelta(days=dice.randrange(365))
        bases = {("S", Decimal(20)): dice.randrange(1, 900_000)}
        if dice.random() < 0.3:
            bases[("Z", Decimal(0))] = dice.randrange(1, 90_000)
        paper = make(f"GL-{number:04}", "invoice", issued, bases, dice, issued + timedelta(days=30))
        papers.append(paper)
        paid = issued + timedelta(days=dice.randrange(0, 90))
        roll = dice.random()
        if roll < 0.6:
            payments.append(Payment(paper.number, paid, paper.gross))
        elif roll < 0.8 and paper.gross.minor > 1:
            first = Money.from_minor(dice.randrange(1, paper.gross.minor), "GBP")
            payments.append(Payment(paper.number, paid, first))
            if dice.random() < 0.5:
                payments.append(Payment(paper.number, paid + timedelta(days=20), paper.gross - first))
    for number, paper in enumerate(dice.sample(papers, 50), start=1):
        share = {("S", Decimal(20)): dice.randrange(1, paper.taxes[0].base.minor + 1)}
        issued = paper.issued_on + timedelta(days=dice.randrange(0, 60))
        papers.append(make(f"CN-{number:04}", "credit_note", issued, share, dice, issued, paper))
    return papers, payments


def make(number, kind, issued, bases, dice, due, corrects=None):
    """One paper with its tax worked out by the tested rules; SQL below works it out again."""
    taxed = [Taxed(category, rate, Money.from_minor(minor, "GBP")) for (category, rate), minor in bases.items()]
    taxes = tax_lines(taxed, "GBP")
    net, tax = total((line.base for line in taxes), "GBP"), tax_total(taxes, "GBP")
    shares = net.allocate([dice.randrange(1, 9) for _ in KINDS])
    return Issued(
        number=number,
        kind=kind,
        issued_on=issued,
        tax_point=issued,
        due_on=due,
        client=corrects.client if corrects else dice.choice(CLIENTS),
        job=f"job-{number}",
        currency="GBP",
        net=net,
        tax=tax,
        gross=net + tax,
        due=net + tax,
        taxes=taxes,
        income=tuple((kind_of, share) for kind_of, share in zip(KINDS, shares, strict=True) if share),
        corrects=corrects.number if corrects else "",
    )


def database(papers, payments):
    """Plain tables in whole pennies; tax is worked out again per paper, category and rate."""
    book = sqlite3.connect(":memory:")
    book.executescript(
        "create table paper(number, sign, issued, due, client, corrects);"
        "create table base(number, category, rate, pennies, tax);"
        "create table income(number, kind, pennies);"
        "create table payment(invoice, received, pennies);"
    )
    for paper in papers:
        book.execute(
            "insert into paper values(?,?,?,?,?,?)",
            (
                paper.number,
                1 if paper.kind == "invoice" else -1,
                paper.issued_on.isoformat(),
                paper.due_on.isoformat(),
                paper.client,
                paper.corrects,
            ),
        )
        for line in paper.taxes:
            pennies = int(line.base.amount * 100)
            tax = int((Decimal(pennies) * line.rate / 100).quantize(Decimal(1), ROUND_HALF_UP))
            book.execute(
                "insert into base values(?,?,?,?,?)", (paper.number, line.category, str(line.rate), pennies, tax)
            )
        for kind, amount in paper.income:
            book.execute("insert into income values(?,?,?)", (paper.number, kind, int(amount.amount * 100)))
    book.executemany(
        "insert into payment values(?,?,?)",
        [(p.invoice, p.received_on.isoformat(), int(p.amount.amount * 100)) for p in payments],
    )
    return book


@pytest.fixture(scope="module")
def books():
    papers, payments = generate()
    assert len(papers) == 500
    return papers, payments, database(papers, payments)


def pounds(pennies):
    return f"{Decimal(pennies or 0) / 100:.2f}"


@pytest.mark.parametrize("period", QUARTERS, ids=lambda period: str(period.first))
def test_the_tax_of_each_quarter_equals_plain_sql(books, period):
    papers, payments, book = books
    summary = tax_period(papers, payments, [], period, home="GBP")
    rows = book.execute(
        "select category, sum(sign*pennies), sum(sign*tax) from base join paper using(number) "
        "where issued between ? and ? group by category",
        (period.first.isoformat(), period.last.isoformat()),
    ).fetchall()
    assert {line.category: (line.base.text, line.tax.text) for line in summary.sums} == {
        category: (pounds(base), pounds(tax)) for category, base, tax in rows
    }
    assert summary.due.text == pounds(sum(tax for _, _, tax in rows))


def test_over_all_days_cash_accounting_brings_each_paid_invoice_its_whole_tax(books):
    papers, payments, book = books
    ever = tax_period(papers, payments, [], Period(date(2027, 1, 1), date(2029, 1, 1)), home="GBP", accounting="cash")
    parts = [
        tax_period(papers, payments, [], Period(first, last), home="GBP", accounting="cash")
        for first, last in [
            (date(2027, 1, 1), date(2027, 2, 17)),
            (date(2027, 2, 18), date(2027, 8, 1)),
            (date(2027, 8, 2), date(2029, 1, 1)),
        ]
    ]
    assert sum(part.due.amount for part in parts) == ever.due.amount
    # invoices that were never credited and paid in full bring their tax, unpaid ones nothing
    clean = {
        number
        for (number,) in book.execute(
            "select number from paper p where sign=1 and not exists(select 1 from paper c where c.corrects=p.number)"
        )
    }
    papers = [paper for paper in papers if paper.number in clean]
    full = {
        number: tax
        for number, tax, gross in book.execute(
            "select number, sum(tax), sum(pennies + tax) from base join paper using(number) where sign=1 group by 1"
        )
        if number in clean
        and book.execute("select sum(pennies) from payment where invoice=?", (number,)).fetchone()[0] == gross
    }
    only_full = [payment for payment in payments if payment.invoice in full]
    brought = tax_period(
        papers, only_full, [], Period(date(2027, 1, 1), date(2029, 1, 1)), home="GBP", accounting="cash"
    )
    assert brought.due.text == pounds(sum(full.values()))


@pytest.mark.parametrize("on", [date(2027, 3, 31), date(2027, 9, 1), date(2028, 1, 31)], ids=str)
def test_aged_debtors_equal_plain_sql(books, on):
    papers, payments, book = books
    rows = book.execute(
        """
        with gross as (select number, sum(pennies+tax) as pennies from base group by number),
        left_over as (
          select p.client, p.due, g.pennies
            - coalesce((select sum(cg.pennies) from paper c join gross cg using(number)
                        where c.corrects = p.number and c.issued <= :on), 0)
            - coalesce((select sum(pennies) from payment where invoice = p.number and received <= :on), 0) as pennies
          from paper p join gross g using(number) where p.sign = 1 and p.issued <= :on)
        select client,
          sum(case when julianday(:on) - julianday(due) <= 0 then max(pennies, 0) else 0 end),
          sum(case when julianday(:on) - julianday(due) between 1 and 30 then max(pennies, 0) else 0 end),
          sum(case when julianday(:on) - julianday(due) between 31 and 60 then max(pennies, 0) else 0 end),
          sum(case when julianday(:on) - julianday(due) between 61 and 90 then max(pennies, 0) else 0 end),
          sum(case when julianday(:on) - julianday(due) > 90 then max(pennies, 0) else 0 end),
          sum(min(pennies, 0))
        from left_over where pennies <> 0 group by client
        """,
        {"on": on.isoformat()},
    ).fetchall()
    debtors = aged_debtors(papers, payments, on)
    assert {debtor.client: [amount.text for amount in (*debtor.ages, debtor.to_pay_back)] for debtor in debtors} == {
        client: [pounds(pennies) for pennies in ages] for client, *ages in rows
    }
    assert debtors == sorted(debtors, key=lambda debtor: -debtor.whole.amount)


def test_income_by_kind_equals_plain_sql(books):
    papers, _, book = books
    period = Period(date(2027, 1, 1), date(2027, 12, 31))
    rows = book.execute(
        "select kind, sum(sign*pennies) from income join paper using(number) "
        "where issued between ? and ? group by kind",
        (period.first.isoformat(), period.last.isoformat()),
    ).fetchall()
    kinds = income_by_kind(papers, period, "GBP")
    assert {kind: amount.text for kind, amount in kinds.items()} == {kind: pounds(pennies) for kind, pennies in rows}


def test_statements_end_with_what_is_open(books):
    papers, payments, _ = books
    last = date(2028, 12, 31)
    for client in CLIENTS[:4]:
        opening, entries = statement_entries(papers, payments, client, "GBP", date(2027, 6, 1), last)
        whole = sum(
            entry.left.amount for entry in open_invoices(papers, payments, last) if entry.paper.client == client
        )
        assert opening.amount + sum(entry.amount.amount for entry in entries) == entries[-1].balance.amount
        assert entries[-1].balance.amount == whole
