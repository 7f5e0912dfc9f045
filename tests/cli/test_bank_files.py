"""What a bank's files hold is in the book once: nothing lost for a repeated id, nothing doubled by an overlap.

Ids that mean "none": NONREF is the code of the SWIFT message standards where there is no related reference (field 21
of the category 9 messages; read), NOTPROVIDED that of the European Payments Council's guidelines (memory), the others
are common practice. Files are samples of our own, laid out by the ISO 20022 message definition and by common banks'
CSV exports.
"""

from __future__ import annotations

import random
import sqlite3
from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path

import pytest
from alembic import command
from alembic.config import Config
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import create_engine

import bizkit.store.migrations

IBAN = "GB29NWBK60161331926819"
HARBOUR = """
[statement.harbour]
date = "Date"
amount = "Amount"
text = "Details"
name = "From"
date_format = "dd/mm/yyyy"
"""
QUAY = """
[statement.quay]
date = "Date"
amount = "Amount"
text = "Details"
id = "No"
date_format = "dd/mm/yyyy"
"""


@pytest.fixture
def banks(bizkit, studio):
    """A studio with two accounts described; only one of the banks has a column of ids."""
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(HARBOUR + QUAY)
    return studio


@pytest.fixture
def read(bizkit, tmp_path):
    """Reads a file of that text with `bank import --json`."""

    def call(text, *options, name="statement.csv"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8", newline="")
        return bizkit("bank", "import", path, *options, "--on", "2027-08-31", "--json")

    return call


def entry(amount, ref="", details="", *, day="2027-05-20", way="CRDT", status="BOOK"):
    reference = f"<AcctSvcrRef>{ref}</AcctSvcrRef>" if ref else ""
    return (
        f'<Ntry><Amt Ccy="GBP">{amount}</Amt><CdtDbtInd>{way}</CdtDbtInd><Sts>{status}</Sts>'
        f"<BookgDt><Dt>{day}</Dt></BookgDt>{reference}{details}</Ntry>"
    )


def batch(*parts):
    return f"<NtryDtls>{''.join(f'<TxDtls>{part}</TxDtls>' for part in parts)}</NtryDtls>"


def part(amount, name, ref="", *, newer=False, way=""):
    refs = f"<Refs><AcctSvcrRef>{ref}</AcctSvcrRef></Refs>" if ref else ""
    money = f'<Amt Ccy="GBP">{amount}</Amt>'
    money = money if newer else f"<AmtDtls><TxAmt>{money}</TxAmt></AmtDtls>"
    ways = f"<CdtDbtInd>{way}</CdtDbtInd>" if way else ""
    who = f"<Pty><Nm>{name}</Nm></Pty>" if newer else f"<Nm>{name}</Nm>"
    return f"{refs}{money}{ways}<RltdPties><Dbtr>{who}</Dbtr></RltdPties>"


def camt(*entries, account=IBAN, version="02"):
    return (
        '<?xml version="1.0" encoding="UTF-8"?>'
        f'<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.{version}"><BkToCstmrStmt><Stmt>'
        f"<Acct><Id><IBAN>{account}</IBAN></Id></Acct>{''.join(entries)}</Stmt></BkToCstmrStmt></Document>"
    )


def amounts(bizkit):
    return sorted(Decimal(row["amount"]) for row in bizkit("bank", "list", "--all", "--json").data)


# -- ids


@pytest.mark.parametrize("none", ["NONREF", "NOTPROVIDED", "NONE", "-", "0", "", "nonref", "NOT PROVIDED", "000"])
def test_an_id_that_means_none_identifies_nothing(bizkit, banks, read, none):
    done = read(camt(*(entry(amount, none) for amount in ("100.00", "200.00", "300.00"))), name="a.xml").data
    assert (done["movements"], done["new"], done["seen_before"]) == (3, 3, 0)
    assert amounts(bizkit) == [100, 200, 300]
    assert read(camt(*(entry(amount, none) for amount in ("100.00", "200.00"))), name="b.xml").data["new"] == 0


@pytest.mark.parametrize(("version", "newer"), [("02", False), ("04", True), ("08", True), ("13", True)])
@pytest.mark.parametrize("refs", [("BATCH-7", "BATCH-7"), ("", "")])
def test_the_id_of_a_batch_does_not_make_its_parts_one(bizkit, banks, read, version, newer, refs):
    parts = [part("100.00", "A", refs[0], newer=newer), part("200.00", "B", refs[1], newer=newer)]
    text = camt(entry("300.00", "BATCH-7", batch(*parts)), version=version)
    done = read(text, name="a.xml").data
    assert (done["movements"], done["new"]) == (2, 2)
    assert amounts(bizkit) == [100, 200]
    assert read(text, name="b.xml").data["new"] == 0


def test_equal_parts_of_one_batch_are_as_many_as_they_are(bizkit, banks, read):
    text = camt(entry("300.00", "BATCH-7", batch(*(part("100.00", "A", "BATCH-7") for _ in range(3)))))
    assert read(text, name="a.xml").data["new"] == 3
    assert read(text, name="b.xml").data["seen_before"] == 3


def test_a_batch_that_goes_both_ways_keeps_the_way_of_each_part(bizkit, banks, read):
    text = camt(entry("60.00", "B", batch(part("100.00", "A", way="CRDT"), part("40.00", "B", way="DBIT"))))
    read(text, name="a.xml")
    assert amounts(bizkit) == [-40, 100]


def test_numbers_that_start_anew_on_each_statement_lose_nothing(bizkit, banks, read):
    january = "Date,Details,Amount,No\n04/01/2027,one,10.00,1\n05/01/2027,two,20.00,2\n"
    february = "Date,Details,Amount,No\n04/02/2027,three,30.00,1\n05/02/2027,four,40.00,2\n"
    assert read(january, "--bank", "quay").data["new"] == 2
    assert read(february, "--bank", "quay").data["new"] == 2
    assert amounts(bizkit) == [10, 20, 30, 40]
    overlap = "Date,Details,Amount,No\n05/01/2027,two,20.00,1\n04/02/2027,three,30.00,2\n09/02/2027,five,50.00,3\n"
    done = read(overlap, "--bank", "quay").data
    assert [row["amount"] for row in done["rows"]] == ["50.00"]


def test_a_repeated_id_with_other_facts_is_another_movement(bizkit, banks, read):
    text = "Date,Details,Amount,No\n20/05/2027,one,10.00,T9\n20/05/2027,two,20.00,T9\n20/05/2027,one,10.00,T9\n"
    done = read(text, "--bank", "quay").data
    assert (done["new"], done["seen_before"]) == (3, 0)
    assert read(text.replace("two", "zwei"), "--bank", "quay", name="b.csv").data["new"] == 1


def test_a_column_of_ids_that_is_described_later_doubles_nothing(bizkit, banks, read, change, studio):
    change(studio / "studio.toml", 'id = "No"\n', "")
    text = "Date,Details,Amount,No\n20/05/2027,one,10.00,T91\n21/05/2027,two,20.00,T92\n"
    assert read(text, "--bank", "quay").data["new"] == 2
    change(
        studio / "studio.toml", '[statement.quay]\ndate = "Date"\n', '[statement.quay]\nid = "No"\ndate = "Date"\n'
    )
    assert read(text + "22/05/2027,three,30.00,T93\n", "--bank", "quay").data["new"] == 1


@pytest.mark.parametrize(
    ("first", "more"), [('name = "From"\n', ""), ("", 'name = "From"\n'), ("", 'reference = "Details"\n')]
)
def test_a_column_that_is_described_later_or_no_more_doubles_nothing(
    bizkit, banks, read, change, studio, first, more
):
    table = '[statement.harbour]\ndate = "Date"\n'
    plain = HARBOUR.replace('name = "From"\n', "").strip()
    change(studio / "studio.toml", HARBOUR.strip(), plain.replace(table.strip() + "\n", table + first))
    row = "20/05/2027,{},one,10.00\n"
    text = "Date,From,Details,Amount\n" + row.format("A") + row.format("B") + "21/05/2027,B,two,20.00\n"
    assert read(text, "--bank", "harbour").data["new"] == 3
    change(studio / "studio.toml", table + first, table + more)
    done = read(text + "22/05/2027,C,three,30.00\n", "--bank", "harbour").data
    assert (done["new"], done["seen_before"], done["alike"]) == (1, 3, [])
    assert amounts(bizkit) == [10, 10, 20, 30]
    # Once both files have the texts, they tell movements apart again.
    other = read("Date,From,Details,Amount\n22/05/2027,D,four,30.00\n", "--bank", "harbour").data
    assert (other["new"], [one["as"] for one in other["alike"]]) == (1, [4])


def test_a_table_by_another_name_says_what_is_there_already(bizkit, banks, read, change, studio):
    text = "Date,From,Details,Amount\n20/05/2027,A,one,10.00\n"
    read(text, "--bank", "harbour")
    change(studio / "studio.toml", "\n[statement.harbour]", "\n[statement.business]")
    done = read(text, "--bank", "business").data
    assert [(one["entry"], one["as"], one["account"]) for one in done["alike"]] == [(2, 1, "harbour")]
    (studio / "again.csv").write_text(text.replace("one", "eins"), encoding="utf-8")
    said = bizkit("bank", "import", "again.csv", "--bank", "business", "--on", "2027-08-31").out
    assert (
        "perhaps read before: movement 3 has day and sum of movement 1 (harbour): 2027-05-20  GBP 10.00  A one"
        in said
    )


# -- accounts


def test_the_second_account_is_another_account(bizkit, banks, read, studio):
    text = "Date,From,Details,Amount,No\n20/05/2027,A,one,10.00,1\n"
    assert read(text, "--bank", "harbour").data["new"] == 1
    (studio / "studio.toml").write_text(
        (studio / "studio.toml").read_text(encoding="utf-8").replace('id = "No"', 'name = "From"'), encoding="utf-8"
    )
    assert read(text, "--bank", "quay").data["new"] == 1
    assert read(text, "--bank", "quay").data["seen_before"] == 1
    assert [row["account"] for row in bizkit("bank", "list", "--json").data] == ["harbour", "quay"]


def test_the_same_payment_on_another_iban_is_another(bizkit, banks, read):
    for account in (IBAN, "DE89370400440532013000"):
        assert read(camt(entry("10.00", "X"), account=account), name="a.xml").data["new"] == 1


def transfer(amount, said, ref=""):
    """A movement as a bank writes it in camt.053: payer and purpose apart."""
    purpose = f"<RmtInf><Ustrd>{said}</Ustrd></RmtInf>"
    return entry(amount, ref, batch(part(amount, "SKERROW ISLANDS TOURISM", ref) + purpose))


@pytest.fixture
def one_account(banks, change, studio):
    """The settings say whose account the statement "harbour" is."""
    change(studio / "studio.toml", "\n[statement.harbour]", f'\n[statement.harbour]\niban = "{IBAN}"')


def of_csv(*rows):
    head = "Date,From,Details,Amount\n"
    return head + "".join(f"20/05/2027,{who},{said},{amount}\n" for who, said, amount in rows)


@pytest.mark.parametrize("csv_first", [True, False])
@pytest.mark.parametrize(
    ("who", "said"),
    [
        ("Skerrow Islands Tourism", "Invoice GL-2027-0001"),
        ("", "INVOICE GL-2027-0001 Skerrow Islands Tourism"),
        ("", "Skerrow Islands Tourism invoice GL-2027-0001 CR 4711"),
    ],
)
def test_a_transfer_in_a_csv_and_in_a_camt_file_of_one_account_is_one(
    bizkit, one_account, read, who, said, csv_first
):
    files = [
        (of_csv((who, said, "120.00")), ("--bank", "harbour"), "a.csv"),
        (camt(transfer("120.00", "Invoice GL-2027-0001", "FT1")), (), "a.xml"),
    ]
    for place, (text, options, name) in enumerate(files if csv_first else files[::-1]):
        done = read(text, *options, name=name).data
        assert (done["new"], done["seen_before"], done["alike"]) == ((0, 1, []) if place else (1, 0, []))


def test_an_equal_payment_in_a_file_of_the_other_kind_stays_another(bizkit, one_account, read):
    row = ("Skerrow Islands Tourism", "Invoice GL-2027-0001", "120.00")
    assert read(of_csv(row), "--bank", "harbour").data["new"] == 1
    twice = camt(*(transfer("120.00", "Invoice GL-2027-0001", ref) for ref in ("FT1", "FT2")))
    assert read(twice, name="a.xml").data["new"] == 1
    assert read(of_csv(row, row), "--bank", "harbour").data["new"] == 0
    assert read(of_csv(row, row, row), "--bank", "harbour").data["new"] == 1
    assert amounts(bizkit) == [Decimal("120.00")] * 3


def test_where_the_words_differ_it_is_kept_and_asked(bizkit, one_account, read):
    read(of_csv(("Skerrow Islands Tourism", "Invoice GL-2027-0001", "120.00")), "--bank", "harbour")
    done = read(camt(transfer("120.00", "Invoice GL-2027-0002", "FT1")), name="a.xml").data
    assert (done["new"], [(one["entry"], one["as"]) for one in done["alike"]]) == (1, [(2, 1)])


def test_without_the_iban_of_a_statement_nothing_is_known_to_be_one(bizkit, banks, read, tmp_path):
    read(of_csv(("Skerrow Islands Tourism", "Invoice GL-2027-0001", "120.00")), "--bank", "harbour")
    path = tmp_path / "a.xml"
    path.write_text(camt(transfer("120.00", "Invoice GL-2027-0001", "FT1")), encoding="utf-8")
    said = bizkit("bank", "import", path, "--on", "2027-08-31").out
    assert "perhaps read before: movement 2 has day and sum of movement 1 (harbour)" in said
    assert "If it is one account, read from CSV and from camt.053: write its iban under [statement.NAME]" in said


def test_the_iban_of_a_statement_is_checked(bizkit, banks, change, studio):
    wrong = '\n[statement.harbour]\niban = "GB29NWBK60161331926818"'
    change(studio / "studio.toml", "\n[statement.harbour]", wrong)
    refused = bizkit("bank", "list")
    assert (refused.code, "statement.harbour.iban: wanted an IBAN" in refused.err) == (2, True)


# -- equal rows and overlaps


def test_two_equal_rows_are_two_and_a_longer_file_brings_only_the_third(bizkit, banks, read):
    row = "20/05/2027,A,one,10.00\n"
    head = "Date,From,Details,Amount\n"
    assert read(head + row, "--bank", "harbour").data["new"] == 1
    done = read(head + row + row, "--bank", "harbour").data
    assert (done["new"], done["seen_before"]) == (1, 1)
    assert read(head + row * 3, "--bank", "harbour").data["new"] == 1
    assert read(head + row * 2, "--bank", "harbour").data["new"] == 0


JUNK = ("NONREF", "NOTPROVIDED", "-", "0", "", "BATCH")


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_overlapping_files_in_any_order_bring_each_movement_once(bizkit, banks, tmp_path, data):
    """Random statements (equal rows, ids that mean none, ids that repeat) cut into files of whole days."""
    mine = data.draw(st.integers(0, 10**9))
    seed = random.Random(mine)
    account = f"AC{mine:012}"
    days = [date(2027, 5, 1) + timedelta(days=n) for n in range(6)]
    rows = []
    for day in days:
        for _ in range(seed.randint(0, 5)):
            ref = seed.choice((*JUNK, f"T{seed.randint(1, 4)}"))
            rows.append((day, f"{seed.randint(1, 3)}.00", ref, seed.choice("AB"), seed.choice(("CRDT", "DBIT"))))
    files = [(0, seed.randint(0, 5)), (seed.randint(0, 5), 5)]
    files += [tuple(sorted((seed.randint(0, 5), seed.randint(0, 5)))) for _ in range(3)]
    files.append((0, 5))
    seed.shuffle(files)
    for first, last in files:
        inside = [row for row in rows if days[first] <= row[0] <= days[last]]
        if seed.random() < 0.5:
            inside.reverse()
        path = tmp_path / "part.xml"
        texts = [
            entry(amount, ref, batch(f"<RmtInf><Ustrd>{text}</Ustrd></RmtInf>"), day=day.isoformat(), way=way)
            for day, amount, ref, text, way in inside
        ]
        path.write_text(camt(*texts, account=account), encoding="utf-8")
        done = bizkit("bank", "import", path, "--on", "2027-08-31", "--json")
        assert done.code == 0, done.err
        assert done.data["new"] + done.data["seen_before"] == done.data["movements"] == len(inside)
    kept = [
        (row["on"], row["amount"], row["text"])
        for row in bizkit("bank", "list", "--all", "--json").data
        if row["account"] == account
    ]
    wanted = [
        (day.isoformat(), amount if way == "CRDT" else f"-{amount}", text) for day, amount, _, text, way in rows
    ]
    assert sorted(kept) == sorted(wanted)


# -- rows that are no movements


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("Closing balance,,,1234.56", "a balance"),
        ("31/05/2027,,Closing balance,1234.56", "a balance"),
        ("Closing balance 31 May 2027,,,1234.56", "a balance"),
        ("Kontostand;;;1234.56", "a balance"),
        ("Kontostand am 31.05.2027;;;1234.56", "a balance"),
        ("Total,,,5.00", "a total"),
        (",,Totals,5.00", "a total"),
        (",Boat hire,diesel,-61.20", "no date"),
        ("Pending,Boat hire,diesel,-61.20", "pending"),
        ("22/05/2027,Boat hire,Pending,-61.20", "pending"),
        ("Exported on 31/05/2027 by Ailsa,,,", "neither a date nor an amount"),
        ("This is no proof of payment.", "no date"),
    ],
)
def test_rows_that_are_no_movements_are_left_out_and_named(bizkit, banks, read, row, why):
    row = row.replace(";", ",")
    text = f"Date,From,Details,Amount\n20/05/2027,A,one,10.00\n{row}\n21/05/2027,B,two,20.00\n"
    done = read(text, "--bank", "harbour").data
    assert done["new"] == 2
    (left,) = done["left_out"]
    assert (left["place"], left["why"]) == ("line 3", why)
    assert row.split(",")[0] in left["said"]
    assert amounts(bizkit) == [10, 20]


def test_a_bank_that_says_what_is_booked_is_believed(bizkit, banks, read):
    text = (
        "Date,From,Details,Amount,State\n20/05/2027,A,one,10.00,COMPLETED\n21/05/2027,B,two,20.00,PENDING\n"
        "22/05/2027,C,three,30.00,DECLINED\n23/05/2027,D,Cancelled,40.00,COMPLETED\n"
    )
    done = read(text, "--bank", "harbour").data
    assert [(one["place"], one["why"]) for one in done["left_out"]] == [("line 3", "pending"), ("line 4", "declined")]
    assert amounts(bizkit) == [10, 40]


@pytest.mark.parametrize("said", ["Balance", "Saldo", "Total", "TOTAL 1234", "Invoice total", "Opening night"])
def test_what_a_client_may_write_is_never_taken_for_a_balance(bizkit, banks, read, said):
    done = read(f"Date,From,Details,Amount\n20/05/2027,A,{said},10.00\n", "--bank", "harbour").data
    assert (done["new"], done["left_out"]) == (1, [])


def test_pending_entries_of_a_camt_file_are_named(bizkit, banks, read):
    done = read(camt(entry("10.00", "X"), entry("20.00", "Y", status="PDNG")), name="a.xml").data
    assert (done["new"], [(one["place"], one["why"]) for one in done["left_out"]]) == (1, [("entry 2", "pending")])


def test_what_became_of_every_row_is_on_the_screen(bizkit, banks, tmp_path):
    path = tmp_path / "may.csv"
    path.write_text("Date,From,Details,Amount\n20/05/2027,A,one,10.00\n", encoding="utf-8")
    bizkit("bank", "import", path, "--bank", "harbour", "--on", "2027-08-31")
    with path.open("a", encoding="utf-8") as file:
        file.write("21/05/2027,B,two,20.00\nClosing balance,,,1234.56\n")
    said = bizkit("bank", "import", path, "--bank", "harbour", "--on", "2027-08-31").out.splitlines()
    assert said[0] == "may.csv: 2 movements, 1 new, 1 read before, 1 left out"
    assert "read before, line 2: 2027-05-20  GBP 10.00  A one is movement 1" in said
    assert "left out, line 4: a balance: Closing balance 1234.56" in said


# -- files that are refused


@pytest.mark.parametrize(
    ("rows", "line", "said"),
    [
        ('20/05/2027,A,"the "best" ferry",10.00', 3, "one inside a cell written twice"),
        ('20/05/2027,"A,one,10.00', 3, "quotation marks around whole cells"),
        ('20/05/2027,A,"one,10.00\n21/05/2027,B,two",20.00', 3, "quotation marks around whole cells"),
        ("20/05/2027,A,one,1,500.00", 3, "wanted 4 cells, as many as headings, got 5"),
        ("2027-05-20,A,one,10.00", 3, "wanted a date as dd/mm/yyyy"),
    ],
)
def test_a_file_that_cannot_be_read_is_refused_in_one_line_and_in_json(bizkit, banks, read, rows, line, said):
    done = read(f"Date,From,Details,Amount\n19/05/2027,A,zero,5.00\n{rows}\n", "--bank", "harbour")
    assert (done.code, len(done.err.splitlines())) == (2, 1)
    assert f"statement.csv line {line}: " in done.err
    assert said in done.err
    assert (done.data["new"], said in done.data["refused"]) == (0, True)
    assert bizkit("bank", "list", "--all", "--json").data == []


def test_columns_that_cannot_be_right_are_not_taken_for_rows_to_leave_out(bizkit, banks, read, change, studio):
    change(studio / "studio.toml", 'date = "Date"\namount', 'date = "From"\namount')
    done = read("Date,From,Details,Amount\n20/05/2027,A,one,10.00\n", "--bank", "harbour")
    assert (done.code, "line 2: date: wanted movements, each with a date" in done.err) == (2, True)


# -- books of the first version

#: What the first version wrote of these files: key, file, day, minor units, name, text. Of the quay's second file it
#: lost two rows, of the camt file two.
OLD_HARBOUR = (
    "Date,From,Details,Amount\n20/05/2027,SKERROW ISLANDS TOURISM,Invoice GL-2027-0001,120.00\n"
    "21/05/2027,Kelp Cafe,thanks,240.00\n21/05/2027,Kelp Cafe,thanks,240.00\n"
)
OLD_QUAY = "Date,Details,Amount,No\n20/06/2027,three,30.00,1\n21/06/2027,four,40.00,2\n22/06/2027,five,50.00,3\n"
OLD_CAMT = camt(
    entry("100.00", "NONREF"),
    entry("200.00", "NONREF"),
    entry("300.00", "BATCH-7", batch(part("100.00", "A", "BATCH-7"), part("200.00", "B", "BATCH-7"))),
    entry("70.00", "BATCH-8", batch(part("30.00", "A"), part("40.00", "B"))),
    entry("11.00", "AAAA-CN_98765/01"),
    entry("12.00"),
    entry("12.00"),
)
OLD_ROWS = [
    ("csv:85731d36113e2a2317a05b1aff9db175", "c4", "2027-05-20", 12000, "SKERROW ISLANDS TOURISM",
     "Invoice GL-2027-0001"),
    ("csv:608fc35a0067fa84c649dce856f081c5", "c4", "2027-05-21", 24000, "Kelp Cafe", "thanks"),
    ("csv:b87561a59d16eb0957296236a1f5daac", "c4", "2027-05-21", 24000, "Kelp Cafe", "thanks"),
    ("csv:3", "0d", "2027-06-22", 5000, "", "five"),
    (f"camt:{IBAN}:NONREF/1", "08", "2027-05-20", 10000, "", ""),
    (f"camt:{IBAN}:BATCH-7", "08", "2027-05-20", 10000, "A", ""),
    (f"camt:{IBAN}:BATCH-8/1", "08", "2027-05-20", 3000, "A", ""),
    (f"camt:{IBAN}:BATCH-8/2", "08", "2027-05-20", 4000, "B", ""),
    (f"camt:{IBAN}:AAAA-CN_98765/01/1", "08", "2027-05-20", 1100, "", ""),
    (f"camt:{IBAN}:4e1f514d787abca3839863881d592266", "08", "2027-05-20", 1200, "", ""),
    (f"camt:{IBAN}:b155e93eccf85f073c5eedeb27c0e3c6", "08", "2027-05-20", 1200, "", ""),
]  # fmt: skip


@pytest.fixture
def old_book(banks):
    """The studio's book as the first version of these tables had it, with movements read by that version."""
    path = banks / "book.sqlite"
    path.unlink()
    config = Config()
    config.set_main_option("script_location", str(Path(bizkit.store.migrations.__path__[0])))
    config.set_main_option("path_separator", "os")
    engine = create_engine(f"sqlite:///{path}")
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0005")
    engine.dispose()
    with sqlite3.connect(path) as book:
        book.executemany(
            "INSERT INTO bank_entry (key, file, booked_on, amount_minor, currency, name, text, reference, "
            "original_currency, recorded_at, recorded_by) VALUES (?, ?, ?, ?, 'GBP', ?, ?, '', '', '', '')",
            OLD_ROWS,
        )
    book.close()
    return banks


def test_a_book_of_the_first_version_doubles_nothing_and_gets_back_what_it_lost(bizkit, old_book, read):
    again = read(OLD_HARBOUR, "--bank", "harbour").data
    assert (again["new"], [one["entry"] for one in again["read_before"]]) == (0, [1, 2, 3])
    quay = read(OLD_QUAY, "--bank", "quay").data
    assert [row["amount"] for row in quay["rows"]] == ["30.00", "40.00"]
    statement = read(OLD_CAMT, name="old.xml").data
    assert [row["amount"] for row in statement["rows"]] == ["200.00", "200.00"]
    assert len(statement["read_before"]) == 7
    for text, options in ((OLD_HARBOUR, ("--bank", "harbour")), (OLD_QUAY, ("--bank", "quay")), (OLD_CAMT, ())):
        name = "old.csv" if options else "old.xml"
        assert read(text, *options, name=name).data["new"] == 0


def test_an_old_file_whose_account_showed_is_of_no_other_account(bizkit, old_book, read, change, studio):
    change(studio / "studio.toml", 'id = "No"', 'name = "From"')
    assert read(OLD_HARBOUR, "--bank", "harbour").data["new"] == 0
    assert read(OLD_HARBOUR, "--bank", "quay").data["new"] == 3
    assert read(OLD_HARBOUR, "--bank", "harbour").data["new"] == 0
    assert read(OLD_HARBOUR, "--bank", "quay").data["new"] == 0
