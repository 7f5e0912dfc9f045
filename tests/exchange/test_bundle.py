"""The accountant's bundle adds up."""

import csv
import hashlib
import io
import zipfile
from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.billing.records import Issued
from bizkit.domain.billing.tax import TaxLine
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.exchange.bundle import Filed, bundle
from bizkit.exchange.table_csv import table_csv


def filed(number, net, kind="invoice", currency="GBP", name=None, day=10):
    base = Money(net, currency)
    tax = (base * Decimal("0.2")).rounded()
    issued = date(2027, 5, day)
    paper = Issued(
        number, kind, issued, issued, issued, "skerrow", "kelp", currency, base, tax, base + tax, base + tax,
        (TaxLine("S", "VAT", Decimal(20), base, tax),),
    )  # fmt: skip
    return Filed(paper, name or f"{number}.pdf", f"paper {number}".encode())


DOCUMENTS = [
    filed("GL-2", "200.50", day=12),
    filed("GL-1", "100.00"),
    filed("CN-1", "50.25", "credit_note", day=13),
    filed("GL-3", "10", currency="EUR", day=14),
]
TABLES = {"tax.csv": table_csv(["a"], [["1"]])}


def opened(data):
    return zipfile.ZipFile(io.BytesIO(data))


def test_the_index_lists_every_file_with_its_checksum_and_adds_up():
    archive = opened(bundle(DOCUMENTS, TABLES, "Read me"))
    rows = list(csv.DictReader(io.StringIO(archive.read("index.csv").decode("utf-8-sig"))))
    papers = [row for row in rows if row["number"] != "total"]
    assert [row["number"] for row in papers] == ["GL-1", "GL-2", "CN-1", "GL-3"]
    for row in papers:
        assert hashlib.sha256(archive.read(row["file"])).hexdigest() == row["sha256"]
    totals = {row["currency"]: row for row in rows if row["number"] == "total"}
    assert totals["GBP"]["net"] == "250.25"
    assert totals["EUR"]["gross"] == "12.00"
    for currency, total in totals.items():
        for column in ("net", "tax", "gross"):
            assert Decimal(total[column]) == sum(
                Decimal(row[column]) for row in papers if row["currency"] == currency
            )
    assert sorted(archive.namelist()) == [
        "README.txt",
        "documents/CN-1.pdf",
        "documents/GL-1.pdf",
        "documents/GL-2.pdf",
        "documents/GL-3.pdf",
        "index.csv",
        "tables/tax.csv",
    ]
    assert archive.testzip() is None


def test_the_same_input_in_any_order_gives_the_same_bytes():
    assert bundle(DOCUMENTS, TABLES) == bundle(DOCUMENTS[::-1], TABLES)


@pytest.mark.parametrize("name", ["../x.pdf", "a/b.pdf", "a\\b.pdf", "..", "a\nb.pdf", "C:x.pdf"])
def test_names_that_leave_the_folder_are_refused(name):
    with pytest.raises(BadInput, match="bundle: wanted a plain file name"):
        bundle([filed("GL-1", "1", name=name)], {})


def test_a_name_used_twice_is_refused():
    with pytest.raises(BadInput, match=r"wanted each file name once, got GL-1\.PDF"):
        bundle([filed("GL-1", "1"), filed("GL-2", "1", name="GL-1.PDF", day=11)], {})
