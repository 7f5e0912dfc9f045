"""Bank statements: read once, suggest, book only when told, take back."""

from __future__ import annotations

import pytest

HEAD = "Date,From,Details,Amount\r\n"
CAMT = """<?xml version="1.0" encoding="UTF-8"?>
<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.02"><BkToCstmrStmt><Stmt>
<Acct><Id><IBAN>GB29NWBK60161331926819</IBAN></Id></Acct>
<Ntry><Amt Ccy="GBP">240.00</Amt><CdtDbtInd>CRDT</CdtDbtInd><Sts>BOOK</Sts><BookgDt><Dt>2027-05-20</Dt></BookgDt>
<AcctSvcrRef>X1</AcctSvcrRef><NtryDtls><TxDtls>
<RltdPties><Dbtr><Nm>Skerrow Islands Tourism Ltd</Nm></Dbtr></RltdPties>
<RmtInf><Ustrd>GL 2027 0002</Ustrd></RmtInf></TxDtls></NtryDtls></Ntry>
</Stmt></BkToCstmrStmt></Document>
"""


@pytest.fixture
def statement(tmp_path, bizkit):
    """Reads a statement of these lines."""

    def read(*lines, name="may.csv", encoding="utf-8"):
        path = tmp_path / name
        path.write_bytes((HEAD + "".join(f"{line}\r\n" for line in lines)).encode(encoding))
        return bizkit("bank", "import", path, "--on", "2027-05-31", "--json")

    return read


def paid(bizkit):
    return [row["state"] for row in bizkit("invoice", "list", "--json", "--on", "2027-05-31").data]


LINES = (
    "20/05/2027,SKERROW ISLANDS TOURISM,Invoice GL-2027-0001,120.00",
    "21/05/2027,SKERROW ISLANDS TOURISM,thanks,240.00",
    "22/05/2027,Harbour Fuel,diesel,-61.20",
)


def test_reading_books_nothing_and_the_same_file_twice_reads_nothing_twice(bizkit, bills, statement):
    done = statement(*LINES).data
    assert (done["movements"], done["new"], done["seen_before"]) == (3, 3, 0)
    assert paid(bizkit) == ["open", "open"]
    again = statement(*LINES, name="may-again.csv").data
    assert (again["new"], again["seen_before"]) == (0, 3)
    longer = statement(*LINES, "23/05/2027,Somebody,x,1.00", name="june.csv").data
    assert (longer["new"], longer["seen_before"]) == (1, 3)
    rows = bizkit("bank", "list", "--json").data
    assert len(rows) == 4
    best = rows[0]["suggestions"][0]
    assert best["parts"] == [{"invoice": bills[0], "amount": "120.00", "currency": "GBP"}]
    assert best["score"] == 100
    assert rows[2]["suggestions"] == []


def test_booking_needs_a_word_and_books_once(bizkit, bills, statement):
    statement(*LINES)
    shown = bizkit("bank", "book", 1, "--on", "2027-05-31")
    assert "Nothing is booked: say --yes" in shown.out
    assert paid(bizkit) == ["open", "open"]
    sure = bizkit("bank", "book", "--sure", "--on", "2027-05-31", "--json").data
    assert [one["entry"] for one in sure["found"]] == [1]
    assert paid(bizkit) == ["open", "open"]
    bizkit("bank", "book", "--sure", "--yes", "--on", "2027-05-31")
    assert paid(bizkit) == ["paid", "open"]
    again = bizkit("bank", "book", 1, "--yes", "--on", "2027-05-31")
    assert (again.code, "movement 1 is booked already" in again.err) == (1, True)
    assert bizkit("bank", "book", 2, "--invoice", bills[1], "--on", "2027-05-31").code == 0
    assert paid(bizkit) == ["paid", "paid"]
    assert bizkit("bank", "aside", 3, "--reason", "diesel", "--on", "2027-05-31").code == 0
    assert bizkit("bank", "list", "--json").data == []
    payments = bizkit("payment", "list", "--json").data
    assert [(row["on"], row["amount"]) for row in payments] == [("2027-05-20", "120.00"), ("2027-05-21", "240.00")]
    statement(*LINES)
    assert len(bizkit("payment", "list", "--json").data) == 2


def test_one_sum_for_two_invoices_is_suggested_and_booked_together(bizkit, bills, statement):
    statement("20/05/2027,Skerrow Islands Tourism Ltd,both,360.00")
    (row,) = bizkit("bank", "list", "--json").data
    assert [part["invoice"] for part in row["suggestions"][0]["parts"]] == bills
    assert bizkit("bank", "book", 1, "--yes", "--on", "2027-05-31").code == 0
    assert paid(bizkit) == ["paid", "paid"]


def test_a_booking_is_taken_back_and_can_be_booked_again(bizkit, bills, statement):
    statement(LINES[0])
    bizkit("bank", "book", 1, "--invoice", bills[1], "--on", "2027-05-31")
    assert paid(bizkit) == ["open", "part paid"]
    assert bizkit("bank", "reopen", 1, "--reason", "wrong invoice", "--on", "2027-06-01").code == 0
    assert paid(bizkit) == ["open", "open"]
    assert "is not decided" in bizkit("bank", "reopen", 1, "--reason", "x", "--on", "2027-06-01").err
    assert bizkit("bank", "book", 1, "--yes", "--on", "2027-06-01").code == 0
    assert paid(bizkit) == ["paid", "open"]
    assert [row["amount"] for row in bizkit("payment", "list", "--json").data] == ["120.00", "-120.00", "120.00"]


def test_a_bank_fee_is_the_studios_and_not_the_clients(bizkit, bills, statement):
    statement("20/05/2027,SKERROW ISLANDS TOURISM,GL-2027-0002,232.50")
    done = bizkit("bank", "book", 1, "--invoice", bills[1], "--fee", "7.50", "--on", "2027-05-31", "--json").data
    assert (done["booked"]["amount"], done["booked"]["fee"]) == ("240.00", "7.50")
    assert paid(bizkit) == ["open", "paid"]


def test_camt_053_is_read_by_its_form_and_knows_itself_again(bizkit, bills, tmp_path):
    path = tmp_path / "statement.xml"
    path.write_text(CAMT, encoding="utf-8")
    first = bizkit("bank", "import", path, "--on", "2027-05-31", "--json").data
    assert first["rows"][0]["suggestions"][0]["parts"][0]["invoice"] == bills[1]
    assert bizkit("bank", "import", path, "--on", "2027-05-31", "--json").data["new"] == 0
    bizkit("bank", "book", "--sure", "--yes", "--on", "2027-05-31")
    assert paid(bizkit) == ["open", "paid"]


@pytest.mark.parametrize(
    ("lines", "encoding", "said"),
    [
        (("20/05/2027,A,x,120.00", '21/05/2027,B,y,"1.234,50"'), "utf-8", "line 3: amount: wanted an amount such as"),
        (("20/05/2027,A,x,120.00", "2027-05-21,B,y,1"), "utf-8", "line 3: date: wanted a date as dd/mm/yyyy"),
        (("20/05/2027,A,x,",), "utf-8", "line 2: amount"),
        (("20/05/2027,A,x,nan",), "utf-8", "line 2: amount"),
        (("20/05/2027,A,x,1.005",), "utf-8", "whole minor units"),
    ],
)
def test_one_wrong_line_refuses_the_file_in_one_line(bizkit, bills, statement, lines, encoding, said):
    done = statement(*lines, encoding=encoding)
    assert done.code == 2
    assert said in done.err
    assert "may.csv" in done.err
    assert len(done.err.splitlines()) == 1
    assert bizkit("bank", "list", "--all", "--json").data == []


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_odd_encodings_are_read(bizkit, bills, statement, encoding):
    done = statement("20/05/2027,Café Brønnøysund,Größe £,120.00", encoding=encoding)
    assert done.code == 0, done.err
    assert done.data["rows"][0]["name"] == "Café Brønnøysund"


def test_decimal_commas_are_read_where_the_settings_say_so(bizkit, bills, statement, studio, change):
    change(studio / "studio.toml", 'name = "From"\ndate_format', 'name = "From"\ndecimal_comma = true\ndate_format')
    done = statement('20/05/2027,A,x,"1.234,50"')
    assert done.data["rows"][0]["amount"] == "1234.50"


def test_a_bank_that_was_not_described_is_asked_for(bizkit, job, tmp_path, studio, bank_columns):
    path = tmp_path / "x.csv"
    path.write_text("Date,Amount\n", encoding="utf-8")
    assert "[statement.NAME]" in bizkit("bank", "import", path).err
    assert "no such file" in bizkit("bank", "import", tmp_path / "none.csv").err.lower()
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(bank_columns + bank_columns.replace("harbour", "quay"))
    assert "--bank, one of harbour, quay" in bizkit("bank", "import", path).err
    assert "Did you mean quay?" in bizkit("bank", "import", path, "--bank", "quai").err
    broken = tmp_path / "x.xml"
    broken.write_text("<Document", encoding="utf-8")
    done = bizkit("bank", "import", broken)
    assert (done.code, "x.xml" in done.err, len(done.err.splitlines())) == (2, True, 1)
