"""Reports as table, JSON, CSV and page; the accountant's bundle; overheads and the mileage log."""

from __future__ import annotations

import csv
import hashlib
import io
import zipfile
from decimal import Decimal

import pypdf
import pytest

NAMES = ("debtors", "cash", "margin", "days", "income", "tax", "quarter", "mileage")


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def rows_of(content):
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))


@pytest.fixture
def year(bizkit, job, scan):
    """Two bills (1,000 and 500 net), one of them half paid and partly credited; costs, overheads, journeys."""
    for day, amount in (("2027-05-01", "1000"), ("2027-06-01", "500")):
        more = ["--what", f"Extra of {day}", "--amount", amount, "--reason", "asked", "--agreed", "Una"]
        bizkit("charge", "add", job, *more, "--section", "post", "--on", day)
        bizkit("invoice", "issue", job, "--charges", "--on", day)
    bizkit("payment", "add", "600", "--invoice", "GL-2027-0001", "--on", "2027-05-20")
    bizkit("invoice", "credit", "GL-2027-0002", "--reason", "agreed", "--amount", "100", "--on", "2027-06-05")
    strobe = ["--kind", "kit", "--amount", "120", "--what", "Spare strobe", "--receipt", scan]
    bizkit("cost", "add", job, *strobe, "--on", "2027-05-10")
    bizkit("overhead", "tax", 1, "20", "--on", "2027-05-10")
    mutual = ["--supplier", "Invented Mutual", "--pay-on", "2027-07-01"]
    bizkit("overhead", "add", "Hull insurance", "300", *mutual, "--on", "2027-06-01")
    bizkit("overhead", "add", "Housing", "2400", "--tax-rate", "20", "--capital", "--on", "2027-06-02")
    recce = ["--from", "Port Skerrow", "--to", "Otter Sound", "--purpose", "recce"]
    bizkit("mileage", "add", "120", *recce, "--on", "2027-06-03")
    return job


@pytest.mark.parametrize("name", NAMES)
def test_every_report_comes_as_table_json_csv_and_page(bizkit, year, tmp_path, name):
    span = ["--from", "2027-04-01", "--to", "2027-06-30"] if name == "tax" else []
    out = [tmp_path / f"{name}.csv", tmp_path / f"{name}.pdf"]
    data = bizkit("report", name, *span, "--on", "2027-06-30", "--csv", out[0], "--pdf", out[1], "--json").data
    assert data["rows"]
    keys = [column["key"] for column in data["columns"]]
    rows = rows_of(out[0].read_bytes())
    assert list(rows[0]) == keys
    assert [[row[key] for key in keys] for row in rows] == [
        ["" if row.get(key) is None else str(row.get(key, "")) for key in keys] for row in data["rows"]
    ]
    page = pypdf.PdfReader(out[1]).pages[0]
    assert "Gannet & Lark Films" in page.extract_text()
    assert data["chart"]["bars"]
    assert "re" in {operator.decode() for _, operator in page.get_contents().operations if operator}
    printed = bizkit("report", name, *span, "--on", "2027-06-30").out
    assert data["columns"][0]["key"].replace("_", " ").upper() in printed
    again = tmp_path / "again.pdf"
    bizkit("report", name, *span, "--on", "2027-06-30", "--pdf", again)
    assert again.read_bytes() == out[1].read_bytes()


def test_figures_worked_out_by_hand(bizkit, year):
    # Bills 1,200.00 and 600.00 gross; 600.00 came in, 120.00 was credited.
    debtors = bizkit("report", "debtors", "--on", "2027-07-02", "--json").data
    (row,) = debtors["rows"]
    # 31 May was the due date of the first: 32 days late on 2 July; the second is due on 1 July: one day.
    assert (row["days_31_60"], row["days_1_30"], row["total"]) == ("600.00", "480.00", "1080.00")
    # Output 200 + 100 - 20; input 20 on the strobe and 400 on the housing.
    tax = bizkit("report", "tax", "--from", "2027-04-01", "--to", "2027-06-30", "--on", "2027-07-02", "--json").data
    assert tax["boxes"] == {
        "1": "280.00", "2": "0.00", "3": "280.00", "4": "420.00", "5": "140.00", "6": "1400", "7": "2400", "8": "0",
        "9": "0",
    }  # fmt: skip
    assert tax["due"] == "-140.00"
    margin = bizkit("report", "margin", "--on", "2027-07-02", "--json").data
    assert (margin["totals"]["income"], margin["totals"]["costs"]) == ("1400.00", "100.00")
    assert margin["rows"][0]["percent"] == "92.9"
    income = bizkit("report", "income", "--on", "2027-07-02", "--json").data
    assert [(one["kind"], one["income"]) for one in income["rows"]] == [("post", "1400.00")]
    # By payment: half of the first bill's net; out: 100 + 2,000 + 300 + 120 miles at 55p (gov.uk, secondary) = 66.
    quarter = bizkit("report", "quarter", "--on", "2027-07-02", "--json").data["rows"][0]
    assert (quarter["first"], quarter["last"]) == ("2027-04-06", "2027-07-05")
    assert (quarter["income"], quarter["costs"], quarter["profit_to_date"]) == ("500.00", "2466.00", "-1966.00")
    by_issue = bizkit("report", "quarter", "--basis", "invoice", "--on", "2027-07-02", "--json").data["rows"][0]
    assert by_issue["income"] == "1400.00"
    days = bizkit("report", "days", "--on", "2027-07-02", "--json").data["rows"][0]
    assert (days["quoted"], days["planned"], days["worked"]) == ("4", "4", "0")


def test_cash_comes_in_when_clients_typically_pay_and_goes_out_when_bills_are_due(bizkit, year):
    bizkit("payment", "add", "600", "--invoice", "GL-2027-0001", "--on", "2027-06-20")
    data = bizkit("report", "cash", "--opening", "100", "--weeks", "6", "--on", "2027-06-21", "--json").data
    expected = {one["why"]: (one["on"], one["amount"]) for one in data["expected"]}
    # The first bill was settled 50 days after 1 May; the second, of 1 June, is expected 50 days later: 21 July.
    (typical,) = [value for why, value in expected.items() if "typically pays after 50 days" in why]
    assert typical == ("2027-07-21", "480.00")
    assert expected["Invented Mutual"] == ("2027-07-01", "-300.00")
    assert [row["week"] for row in data["rows"]][:2] == ["2027-06-21", "2027-06-28"]
    # Both stages of the quote are still to invoice: the first is due, the second hangs on the delivery.
    assert any("On acceptance" in why for why in expected)
    for before, after in zip(data["rows"], data["rows"][1:], strict=False):
        change = Decimal(after["coming_in"]) - Decimal(after["going_out"])
        assert Decimal(after["balance"]) == Decimal(before["balance"]) + change
    assert bizkit("report", "cash", "--weeks", "0", "--on", "2027-06-21").code == 2


def test_a_spreadsheet_runs_nothing_of_a_report(bizkit, job, studio, change, tmp_path):
    evil = '=HYPERLINK("https://evil.example","x")'
    # OWASP, "CSV injection": a cell that begins a formula gets an apostrophe.
    change(
        studio / "clients" / "skerrow-islands-tourism.toml", 'name = "Skerrow Islands Tourism"', f"name = '{evil}'"
    )
    bizkit("job", "client", job, "--on", "2027-05-01")
    bizkit(
        "charge", "add", job, "--what", "@SUM(A1)", "--amount", "10", "--reason", "x", "--agreed", "Una, by mail",
        "--on", "2027-05-01",
    )  # fmt: skip
    bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-01")
    bizkit("report", "debtors", "--csv", tmp_path / "d.csv", "--on", "2027-05-02")
    (row,) = rows_of((tmp_path / "d.csv").read_bytes())
    assert row["name"] == f"'{evil}"
    bizkit("report", "bundle", "--from", "2027-05-01", "--to", "2027-05-31", "--out", tmp_path / "b.zip")
    with zipfile.ZipFile(tmp_path / "b.zip") as bundle:
        assert rows_of(bundle.read("bill_lines.csv"))[0]["item"] == "'@SUM(A1)"
        assert rows_of(bundle.read("bills.csv"))[0]["client_name"] == f"'{evil}"


def test_the_bundle_holds_every_paper_and_its_index_adds_up(bizkit, year, tmp_path, studio):
    out = tmp_path / "2027.zip"
    done = bizkit(
        "report", "bundle", "--from", "2027-04-01", "--to", "2027-06-30", "--out", out, "--on", "2027-07-02", "--json"
    )
    assert done.code == 0, done.err
    with zipfile.ZipFile(out) as bundle:
        files = {name: bundle.read(name) for name in bundle.namelist()}
    index = {row["file"]: row for row in rows_of(files["index.csv"])}
    assert set(index) == set(files) - {"index.csv"}
    for name, row in index.items():
        assert (hashlib.sha256(files[name]).hexdigest(), str(len(files[name]))) == (row["sha256"], row["bytes"])
    for number in ("GL-2027-0001", "GL-2027-0002", "GLC-2027-0001"):
        assert files[f"papers/{number}.pdf"] == (studio / "papers" / f"{number}.pdf").read_bytes()
    assert len([name for name in files if name.startswith("receipts/")]) == 1
    for row in rows_of(files["sums.csv"]):
        table = rows_of(files[f"{row['table']}.csv"])
        assert str(len(table)) == row["rows"]
        assert sum(Decimal(one[row["column"]]) for one in table) == Decimal(row["sum"])
    bills = rows_of(files["bills.csv"])
    assert [(one["number"], one["net"], one["gross"]) for one in bills] == [
        ("GL-2027-0001", "1000.00", "1200.00"),
        ("GL-2027-0002", "500.00", "600.00"),
        ("GLC-2027-0001", "-100.00", "-120.00"),
    ]
    assert {one["file"] for one in bills} <= set(files)
    (studio / "papers" / "GL-2027-0001.pdf").write_bytes(b"%PDF-1.4 changed")
    refused = bizkit("report", "bundle", "--from", "2027-04-01", "--to", "2027-06-30", "--out", tmp_path / "no.zip")
    assert (refused.code, len(refused.err.splitlines())) == (1, 1)
    assert not (tmp_path / "no.zip").exists()


@pytest.mark.parametrize(
    ("miles", "on", "amount"),
    [
        # gov.uk simplified expenses: 11,000 miles at 45p and 25p past 10,000 are 4,750; from 6 April 2026 55p
        # (two secondary pages): 12,000 miles are 6,000.
        (["5000", "5000", "1000"], "2025-06-01", "4750.00"),
        (["5000", "5000", "2000"], "2026-06-01", "6000.00"),
    ],
)
def test_the_mileage_log_uses_up_the_bands_of_the_year(bizkit, studio, miles, on, amount):
    where = ["--from", "Port Skerrow", "--to", "Kittiwake Head", "--purpose", "shoot"]
    for distance in miles:
        assert bizkit("mileage", "add", distance, *where, "--on", on).code == 0
    data = bizkit("report", "mileage", "--on", on, "--json").data
    assert data["totals"]["amount"] == amount
    bizkit("mileage", "add", *where, "--on", on, "--", f"-{miles[-1]}")
    assert bizkit("report", "mileage", "--on", on, "--json").data["totals"]["distance"] == "10000"
    for arguments, said in (
        (["0", *where], "DISTANCE"),
        (["ten", *where], "a distance such as 42.5"),
        (["10", *where, "--vehicle", "boat"], "wanted a known vehicle"),
        (["10", "--from", "", "--to", "x", "--purpose", "y"], "--from: wanted what a tax office asks for"),
        (["10", *where, "--job", "nothing"], "wanted a known job"),
    ):
        done = bizkit("mileage", "add", *arguments, "--on", on)
        assert (done.code, len(done.err.splitlines())) == (2, 1)
        assert said in done.err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["overhead", "add", "x", "0"], "AMOUNT"),
        (["overhead", "add", "x", "10", "--tax", "11"], "--tax: wanted a part of GBP 10.00"),
        (["overhead", "add", "x", "10", "--tax", "1", "--tax-rate", "20"], "either --tax or --tax-rate"),
        (["overhead", "add", " ", "10"], "WHAT"),
        (["overhead", "tax", "9", "1"], "wanted a known cost"),
        (["report", "tax", "--from", "2027-01-01"], "--from and --to"),
        (["report", "tax", "--from", "2027-02-01", "--to", "2027-01-01"], "wanted an end on or after"),
        (["report", "margin", "--by", "moon"], "wanted a known sort of margin"),
        (["report", "quarter", "--basis", "guess"], "wanted a known basis"),
        (["report", "quarter", "--starts", "2027-01-31"], "day 1 to 28"),
    ],
)
def test_what_cannot_be_reported_is_said_in_one_line(bizkit, studio, arguments, said):
    done = bizkit(*arguments)
    assert (done.code, len(done.err.splitlines())) == (2, 1), done.err
    assert said in done.err


def test_an_empty_book_has_empty_reports(bizkit, studio, tmp_path):
    for name in NAMES:
        done = bizkit("report", name, "--on", "2027-06-30", "--pdf", tmp_path / f"{name}.pdf", "--json")
        assert done.code == 0, (name, done.err)
        assert (tmp_path / f"{name}.pdf").read_bytes().startswith(b"%PDF")


def test_costs_are_the_same_in_the_quarter_and_in_the_margin_of_the_job(bizkit, job):
    """What was spent, a journey for the job, and what the bank kept of its payment: GBP 100 + 50.60 + 12.34."""
    bizkit("cost", "add", job, "--kind", "boat", "--amount", "120", "--tax", "20", "--on", "2027-05-10")
    bizkit(
        "mileage", "add", "92", "--who", "Ailsa Gannet", "--from", "A", "--to", "B", "--purpose", "recce",
        "--job", job, "--on", "2027-05-09",
    )  # fmt: skip
    bill = bizkit("invoice", "issue", job, "--on", "2027-05-10", "--json").data
    bizkit("payment", "add", "1000", "--fee", "12.34", "--invoice", bill["number"], "--on", "2027-05-20")
    journey = Decimal(bizkit("report", "mileage", "--on", "2027-06-30", "--json").data["totals"]["amount"])
    whole = Decimal("112.34") + journey
    assert journey > 0
    for basis in ("cash", "invoice"):
        quarter = bizkit("report", "quarter", "--basis", basis, "--on", "2027-06-30", "--json").data["rows"][0]
        assert Decimal(quarter["costs"]) == whole
    (row,) = bizkit("report", "margin", "--on", "2027-06-30", "--json").data["rows"]
    assert Decimal(row["costs"]) == whole


def test_a_quarter_counts_nothing_that_is_still_to_come(bizkit, job):
    bizkit("overhead", "add", "Insurance", "120", "--tax", "20", "--pay-on", "2027-09-01", "--on", "2027-05-10")
    for on, cash, invoice in (("2027-07-05", "0.00", "100.00"), ("2027-09-01", "100.00", "100.00")):
        for basis, costs in (("cash", cash), ("invoice", invoice)):
            data = bizkit("report", "quarter", "--basis", basis, "--on", on, "--json").data
            assert next(one["value"] for one in data["figures"] if one["key"] == "costs") == costs
            place = 0 if basis == "invoice" else 1
            assert data["rows"][place]["costs"] == costs


def test_the_costs_of_a_bundle_say_what_they_were_which_paper_and_what_they_take_back(bizkit, job, scan, tmp_path):
    bizkit("cost", "add", job, "--kind", "boat", "--amount", "120", "--receipt", scan, "--on", "2027-05-10")
    bizkit("overhead", "add", "Laptop", "1200", "--supplier", "Shop", "--on", "2027-05-11")
    bizkit("cost", "reverse", "1", "--reason", "typed twice", "--on", "2027-05-12")
    file = tmp_path / "b.zip"
    done = bizkit(
        "report", "bundle", "--from", "2027-01-01", "--to", "2027-12-31", "--out", file, "--on", "2027-12-31"
    )
    assert done.code == 0, done.err
    with zipfile.ZipFile(file) as bundle:
        rows = {
            row["number"]: row for row in csv.DictReader(io.StringIO(bundle.read("costs.csv").decode("utf-8-sig")))
        }
        assert set(rows) == {"cost 1", "cost 2", "overhead 1"}
        assert rows["overhead 1"]["what"] == "Laptop"
        assert rows["cost 2"]["reverses"] == "cost 1"
        assert bundle.read(rows["cost 1"]["receipt"]) == scan.read_bytes()
        receipts = [name for name in bundle.namelist() if name.startswith("receipts/")]
        assert {row["receipt"] for row in rows.values()} - {""} == set(receipts)


def test_a_chart_rounds_what_it_prints_above_a_bar(bizkit, job):
    more = ("--reason", "asked", "--agreed", "Una", "--section", "post", "--on", "2027-05-01")
    bizkit("charge", "add", job, "--what", "Grade", "--amount", "1528.86", *more)
    bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-01")
    period = ("--from", "2027-05-01", "--to", "2027-05-31", "--on", "2027-06-01")
    data = bizkit("report", "income", *period, "--json").data
    (bar,) = [one for one in data["chart"]["bars"] if one[1] == "1528.86"]
    assert bar[2] == "1529"


def test_a_name_of_a_client_is_not_broken_inside_a_word(bizkit, job, studio, change, tmp_path):
    change(
        studio / "clients" / "skerrow-islands-tourism.toml", "Skerrow Islands Tourism", "Ferry-Watersportscentre Ltd"
    )
    bizkit("job", "client", job, "--on", "2027-05-01")
    bizkit("invoice", "issue", job, "--on", "2027-05-01")
    bizkit("report", "debtors", "--on", "2027-07-01", "--pdf", tmp_path / "d.pdf")
    lines = "\n".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "d.pdf").pages).splitlines()
    assert any("Watersportscentre" in line for line in lines), lines
