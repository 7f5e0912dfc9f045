"""A year of 500 invoices in a real book: its reports equal a recomputation in plain SQL over the same file.

The SQL knows nothing of bizkit's rules: it reads the lines off the frozen documents with SQLite's own JSON functions,
works every tax out again in whole pennies, and adds up.
"""

from __future__ import annotations

import json
import random
import sqlite3
import sys
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest

from bizkit.domain.billing.credit import credit_note
from bizkit.domain.billing.home_tax import tax_at_home
from bizkit.domain.billing.invoice import add_up, invoice_document
from bizkit.domain.billing.lines import InvoiceLine, income_split
from bizkit.domain.billing.payment import Payment
from bizkit.domain.billing.tax import treatment
from bizkit.domain.money import Money
from bizkit.domain.parties import Client
from bizkit.domain.typed_numbers import amount_of
from bizkit.services.studio.numbers import draw
from bizkit.services.studio.starting import init_studio
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.store.issued import issue
from bizkit.store.payments import add_payment

SECTIONS = ("crew", "kit", "licence", "post")
CLIENTS = [
    Client(f"client-{n}", f"Client {n}", country, address=("1 Quay",), city="Skerrow", business_evidence="register",
           tax_number=number)
    for n, (country, number) in enumerate([("GB", "")] * 9 + [("IE", "IE6433435F"), ("US", ""), ("NO", "")])
]  # fmt: skip


def generate(folder: StudioFolder, seed: int = 7) -> tuple[int, int]:
    """Issue 500 invoices, credit some, pay most, in order of date; returns how many of each."""
    dice = random.Random(seed)
    days = sorted(date(2027, 1, 1) + timedelta(days=dice.randrange(365)) for _ in range(500))
    issued: list[dict[str, object]] = []
    notes = 0
    with folder.book.work() as work:
        for on in days:
            stamp = folder.stamp(on)
            client = dice.choice(CLIENTS)
            currency = "EUR" if client.country != "GB" or dice.random() < 0.1 else "GBP"
            how = treatment(folder.studio, client, on)
            lines = [
                InvoiceLine.under(
                    how, f"Line {n}", Decimal(dice.randrange(1, 40)) / 4, "day",
                    Money(Decimal(dice.randrange(1, 90_000)) / 100, currency), section=dice.choice(SECTIONS),
                )
                for n in range(dice.randrange(1, 6))
            ]  # fmt: skip
            _, sums = add_up(lines, (), currency, name="VAT")
            home = None
            if currency != "GBP":
                rate = Decimal(dice.randrange(8200, 8900)) / 10000
                home = tax_at_home(sums.tax, rate, "GBP", source="invented", on=on)
            series, number = draw(work, "GL-{year}-{number:04}", on)
            document = invoice_document(
                number=number, issued_on=on, tax_point=on - timedelta(days=dice.choice((0, 0, 0, 20))),
                due_on=on + timedelta(days=30), studio=folder.studio, client=client, lines=lines, currency=currency,
                terms="30 days", job=f"job-{number}", title="A job", tax_at_home=home,
                income=income_split(lines, sums.net, {}),
            )  # fmt: skip
            document["stage"] = {"position": 1, "title": "Whole", "reason": ""}
            issue(work, stamp, kind="invoice", series=series, number=number, key=f"job-{number}", document=document)
            issued.append({**document, "issued_on": on.isoformat()})
        for document in sorted(dice.sample(issued, 60), key=lambda one: str(one["number"])):
            on = max(days[-1], date.fromisoformat(str(document["issued_on"])))
            currency = str(document["currency"])
            part = None
            if dice.random() < 0.5:
                tax = document["taxes"][0]  # type: ignore[index]
                share = amount_of(str(tax["base"]), currency, "x").allocate([1, 2])[0]
                if share.amount > 0:
                    part = [
                        InvoiceLine("Less", Decimal(1), "", share, tax["category"], Decimal(tax["rate"]), tax["note"])
                    ]
            series, number = draw(work, "GLC-{year}-{number:04}", on)
            note = credit_note(original=document, number=number, issued_on=on, reason="agreed", lines=part)
            stamp = folder.stamp(on)
            issue(
                work, stamp, kind="credit_note", series=series, number=number, key=str(document["job"]), document=note
            )
            notes += 1
        for document in issued:
            gross = Money(str(document["gross"]), str(document["currency"]))
            on = date.fromisoformat(str(document["issued_on"])) + timedelta(days=dice.randrange(0, 90))
            roll = dice.random()
            if roll < 0.6:
                parts = [gross]
            elif roll < 0.8 and gross.minor > 1:
                parts = gross.allocate([1, dice.randrange(1, 5)])
            else:
                parts = []
            for number_, part_ in enumerate(part for part in parts if part):
                paid = on + timedelta(days=20 * number_)
                add_payment(work, folder.stamp(paid), Payment(str(document["number"]), paid, part_))
    return len(issued), notes


@pytest.fixture(scope="module")
def year(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The studio folder with the year in its book."""
    path = tmp_path_factory.mktemp("year") / "studio"
    init_studio(path, practice=True)
    assert generate(StudioFolder(path, who="Ailsa Gannet")) == (500, 60)
    return path


@pytest.fixture
def report(year, monkeypatch, capsys):
    """A report through the command line, as JSON."""
    from bizkit.cli.main import run

    def call(*arguments: str):
        monkeypatch.chdir(year)
        monkeypatch.delenv("BIZKIT_STUDIO", raising=False)
        monkeypatch.setattr(sys, "argv", ["bizkit", "report", *arguments, "--json"])
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            run()
        assert not left.value.code
        return json.loads(capsys.readouterr().out)

    return call


#: Every paper, and every base with its tax worked out again, in whole pennies of its own and of home money.
TABLES = """
create temp table paper as
  select number, case kind when 'invoice' then 1 else -1 end as sign, issued_on,
    json_extract(document, '$.tax_point') as tax_point, json_extract(document, '$.due_on') as due_on,
    json_extract(document, '$.client.key') as client, json_extract(document, '$.currency') as currency,
    coalesce(json_extract(document, '$.credits.number'), '') as corrects,
    json_extract(document, '$.tax_in.rate') as rate
  from issued where kind in ('invoice', 'credit_note');
create temp table base as
  select i.number, json_extract(line.value, '$.category') as category,
    cast(json_extract(line.value, '$.tax_rate') as integer) as percent,
    sum(cast(replace(json_extract(line.value, '$.amount'), '.', '') as integer)) as pennies
  from issued i, json_each(i.document, '$.lines') line where i.kind in ('invoice', 'credit_note') group by 1, 2, 3;
create temp table taxed as
  select base.*, (pennies * percent + 50) / 100 as tax from base;
create temp table kind_of as
  select i.number, part.key as kind, cast(replace(part.value, '.', '') as integer) as pennies
  from issued i, json_each(i.document, '$.income') part where i.kind in ('invoice', 'credit_note');
"""


@pytest.fixture(scope="module")
def book(year):
    connection = sqlite3.connect(year / "book.sqlite")
    connection.executescript(TABLES)

    def home(pennies: int | None, rate: str | None) -> int:
        """Pennies at a rate of four decimals, half away from zero, in whole numbers."""
        if pennies is None or rate is None:
            return pennies or 0
        scaled = int(Decimal(rate) * 10000)
        whole = abs(pennies) * scaled
        return (1 if pennies >= 0 else -1) * ((whole + 5000) // 10000)

    connection.create_function("home", 2, home, deterministic=True)
    yield connection
    connection.close()


def pounds(pennies: int | None) -> str:
    return f"{Decimal(pennies or 0) / 100:.2f}"


QUARTERS = [
    ("2026-10-01", "2026-12-31"), ("2027-01-01", "2027-03-31"), ("2027-04-01", "2027-06-30"),
    ("2027-07-01", "2027-09-30"), ("2027-10-01", "2027-12-31"),
]  # fmt: skip


@pytest.mark.parametrize(("first", "last"), QUARTERS, ids=[first for first, _ in QUARTERS])
def test_the_tax_of_each_quarter_equals_plain_sql(report, book, first, last):
    data = report("tax", "--from", first, "--to", last, "--on", "2028-03-01")
    rows = book.execute(
        "select category, percent, sum(sign * home(pennies, rate)), sum(sign * home(tax, rate)) "
        "from taxed join paper using (number) where tax_point between ? and ? group by 1, 2",
        (first, last),
    ).fetchall()
    assert {(row["category"], row["rate"], row["base"], row["tax"]) for row in data["rows"]} == {
        (category, str(percent), pounds(base), pounds(tax)) for category, percent, base, tax in rows
    }
    assert data["due"] == pounds(sum(tax for *_, tax in rows))


@pytest.mark.parametrize("on", ["2027-03-31", "2027-09-01", "2028-01-31"])
def test_aged_debtors_equal_plain_sql(report, book, on):
    data = report("debtors", "--on", on)
    ages = [(None, 0), (1, 30), (31, 60), (61, 90), (91, None)]
    columns = ", ".join(
        "sum(case when late " + (f"<= {most}" if least is None else f">= {least}" if most is None
        else f"between {least} and {most}") + " then max(pennies, 0) else 0 end)"
        for least, most in ages
    )  # fmt: skip
    rows = book.execute(
        f"""
        with gross as (select number, sum(pennies + tax) as pennies from taxed group by number),
        left_over as (
          select p.client, p.currency, max(0, julianday(:on) - julianday(p.due_on)) as late, g.pennies
            - coalesce((select sum(cg.pennies) from paper c join gross cg using (number)
                        where c.corrects = p.number and c.issued_on <= :on), 0)
            - coalesce((select sum(amount_minor) from payment where invoice = p.number and "on" <= :on), 0) as pennies
          from paper p join gross g using (number) where p.sign = 1 and p.issued_on <= :on)
        select client, currency, {columns}, sum(min(pennies, 0)), sum(pennies)
        from left_over where pennies <> 0 group by 1, 2
        """,
        {"on": on},
    ).fetchall()
    names = ("not_due", "days_1_30", "days_31_60", "days_61_90", "over_90", "to_pay_back", "total")
    assert {(row["client"], row["currency"], *(row[name] for name in names)) for row in data["rows"]} == {
        (client, currency, *(pounds(each) for each in amounts)) for client, currency, *amounts in rows
    }
    assert rows


def test_income_by_kind_equals_plain_sql(report, book):
    data = report("income", "--from", "2027-01-01", "--to", "2027-12-31", "--on", "2028-01-01")
    rows = dict(
        book.execute(
            "select kind, sum(sign * pennies) from kind_of join paper using (number) where rate is null "
            "and issued_on between '2027-01-01' and '2027-12-31' group by kind"
        )
    )
    # Foreign papers convert their whole net once and split it; their sum is exact, their kinds within a penny each.
    (foreign,) = book.execute(
        "select sum(sign * home(net, rate)) from paper join (select number, sum(pennies) as net from base group by "
        "number) using (number) where rate is not null and issued_on between '2027-01-01' and '2027-12-31'"
    ).fetchone()
    whole = sum(Decimal(row["income"]) for row in data["rows"])
    assert f"{whole:.2f}" == pounds(sum(rows.values()) + foreign)
    parts = dict(
        book.execute(
            "select kind, sum(sign * home(pennies, rate)) from kind_of join paper using (number) "
            "where issued_on between '2027-01-01' and '2027-12-31' group by kind"
        )
    )
    (papers,) = book.execute("select count(*) from paper where rate is not null").fetchone()
    for row in data["rows"]:
        assert abs(Decimal(row["income"]) * 100 - parts[row["kind"]]) <= papers
    assert {row["kind"] for row in data["rows"]} == set(SECTIONS)


def test_quarters_by_issue_equal_plain_sql(report, book):
    data = report("quarter", "--starts", "2027-01-01", "--basis", "invoice", "--on", "2028-01-01")
    for row in data["rows"]:
        (net,) = book.execute(
            "select sum(sign * home(net, rate)) from paper join (select number, sum(pennies) as net from base "
            "group by number) using (number) where issued_on between ? and ?",
            (row["first"], row["last"]),
        ).fetchone()
        assert row["income"] == pounds(net)


def test_quarters_by_payment_bring_a_paid_invoice_its_net_and_an_unpaid_one_nothing(report, book):
    data = report("quarter", "--starts", "2027-01-01", "--basis", "cash", "--on", "2028-01-01")
    later = report("quarter", "--starts", "2028-01-01", "--basis", "cash", "--on", "2028-12-31")
    whole = sum(Decimal(row["income"]) for row in (*data["rows"], *later["rows"]))
    # Papers in home money: those never credited bring their share of the net that was paid, to the penny when whole.
    rows = book.execute(
        """
        with net as (select number, sum(pennies) as net, sum(pennies + tax) as gross from taxed group by number),
        came as (select invoice as number, sum(amount_minor) as paid from payment group by 1)
        select p.number, p.rate, net.net, net.gross, coalesce(came.paid, 0),
          coalesce((select sum(cn.net) from paper c join net cn using (number) where c.corrects = p.number), 0),
          coalesce((select sum(cn.gross) from paper c join net cn using (number) where c.corrects = p.number), 0)
        from paper p join net using (number) left join came using (number) where p.sign = 1
        """
    ).fetchall()
    exact, roughly = 0, 0

    def part(net, gross, paid):
        if paid <= 0 or gross <= 0:
            return 0
        return net if paid >= gross else (net * paid * 2 + gross) // (2 * gross)

    for _, rate, net, gross, paid, net_off, gross_off in rows:
        left_gross = gross - gross_off
        # What was credited of money that came goes back with the refund (cash basis, common practice), not before.
        brought = part(net - net_off, left_gross, paid) + part(net_off, gross_off, paid - max(left_gross, 0))
        scaled = int(Decimal(rate or "1") * 10000)
        exact += brought * scaled
        roughly += 1
    # Each invoice comes in at most three moves; each move of foreign money is rounded once.
    assert abs(whole * 100 - Decimal(exact) / 10000) <= roughly * Decimal("0.5") * 3
    assert whole > 0


def test_the_income_of_all_clients_equals_plain_sql(report, book):
    (net,) = book.execute(
        "select sum(sign * net) from paper join (select number, sum(pennies) as net from base group by number) "
        "using (number) where currency = 'GBP'"
    ).fetchone()
    data = report("margin", "--by", "client", "--on", "2028-01-01")
    (home,) = book.execute(
        "select sum(sign * home(net, rate)) from paper join (select number, sum(pennies) as net from base "
        "group by number) using (number)"
    ).fetchone()
    assert data["totals"]["income"] == pounds(home)
    assert net < home
