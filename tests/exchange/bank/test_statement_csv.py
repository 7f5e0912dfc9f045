"""Bank statements as CSV, in the odd forms that banks write."""

import csv
import io
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.money import Money
from bizkit.domain.statement_columns import StatementColumns
from bizkit.exchange.bank.statement_csv import read_amount, read_day, read_statement

PLAIN = StatementColumns(date="Date", amount="Amount", text="Description", name="Counterparty")
FILE = """Date,Counterparty,Description,Amount
10/05/2027,Skerrow Islands Tourism,GL-2027-0001,"1,455.49"
11/05/2027,"Boat, hire & son",Ferry,-23.10
"""


def test_entries_are_read_with_names_texts_and_signs():
    first, second = read_statement(FILE.encode(), PLAIN, "GBP")
    assert (first.booked_on, first.amount, first.name, first.text) == (
        date(2027, 5, 10),
        Money("1455.49", "GBP"),
        "Skerrow Islands Tourism",
        "GL-2027-0001",
    )
    assert (second.amount.text, second.name) == ("-23.10", "Boat, hire & son")


def test_paid_in_and_paid_out_stand_in_two_columns():
    columns = StatementColumns(date="Date", paid_in="In", paid_out="Out", date_format="dd mmm yyyy")
    data = b"Date,In,Out\n01 May 2027,10.00,\n02 May 2027,,4.50\n"
    assert [entry.amount.text for entry in read_statement(data, columns, "GBP")] == ["10.00", "-4.50"]
    with pytest.raises(BadInput, match=r"bank\.csv line 2: wanted paid in or paid out, got both"):
        read_statement(b"Date,In,Out\n01 May 2027,1,2\n", columns, "GBP", where="bank.csv")


GERMAN = 'Buchungstag;Betrag;Empfänger;Zweck\n10.05.2027;1.455,49;"Möwen & Söhne";"Küste ""Süd"""\n'


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-16-be"])
def test_semicolons_decimal_commas_and_many_encodings(encoding):
    columns = StatementColumns(
        date="buchungstag",
        amount="Betrag",
        name="Empfänger",
        text="Zweck",
        date_format="dd.mm.yyyy",
        decimal_comma=True,
    )
    (entry,) = read_statement(GERMAN.encode(encoding), columns, "EUR")
    assert entry.amount == Money("1455.49", "EUR")
    assert (entry.name, entry.text) == ("Möwen & Söhne", 'Küste "Süd"')


def test_the_encoding_can_be_said_and_a_wrong_one_is_named():
    cyrillic = "Date,Amount,Name\n10/05/2027,5.00,Łódź\n".encode("cp1250")
    columns = StatementColumns(date="Date", amount="Amount", name="Name", encoding="cp1250")
    assert read_statement(cyrillic, columns, "PLN")[0].name == "Łódź"
    with pytest.raises(
        BadInput, match=r"bank.csv: encoding: wanted text in utf-8, got bytes that are not. Set another"
    ):
        read_statement(
            cyrillic, StatementColumns(date="Date", amount="Amount", encoding="utf-8"), "PLN", where="bank.csv"
        )


@pytest.mark.parametrize(
    ("text", "comma", "amount"),
    [
        ("1,234.50", False, "1234.50"),
        ("1.234,50", True, "1234.50"),
        ("1 234,50", True, "1234.50"),
        ("1\u00a0234,50", True, "1234.50"),
        ("1'234.50", False, "1234.50"),
        ("£1,234.50", False, "1234.50"),
        ("EUR 12,00", True, "12.00"),
        ("(12.00)", False, "-12.00"),
        ("12.00-", False, "-12.00"),
        ("\u221212.00", False, "-12.00"),
        ("+12.00", False, "12.00"),
        ("12.00 DR", False, "-12.00"),
        ("12.00CR", False, "12.00"),
        (".50", False, "0.50"),
        ("1234567.89", False, "1234567.89"),
        ("12,34,567.89", False, None),
        ("1,23", False, None),
        ("1.5", True, None),
        ("12.00.00", False, None),
        ("abc", False, None),
        ("", False, None),
        ("1e5", False, None),
        ("١٢", False, None),
        ("--5", False, None),
    ],
)
def test_amounts_in_the_forms_banks_write_them(text, comma, amount):
    if amount is None:
        with pytest.raises(BadInput, match="amount: wanted an amount such as"):
            read_amount(text, comma)
    else:
        assert read_amount(text, comma) == Decimal(amount)


def test_a_decimal_comma_read_as_grouping_is_refused_and_the_way_out_is_said():
    with pytest.raises(BadInput, match=r"line 2: amount: wanted .* got 1455,49. Or set decimal_comma = true"):
        read_statement(b"Date;Amount\n10/05/2027;1455,49\n", StatementColumns(date="Date", amount="Amount"), "EUR")


@pytest.mark.parametrize(
    ("text", "form", "day"),
    [
        ("2027-05-10", "yyyy-mm-dd", date(2027, 5, 10)),
        ("2027-05-10T09:30:00Z", "yyyy-mm-dd", date(2027, 5, 10)),
        ("20270510", "yyyymmdd", date(2027, 5, 10)),
        ("10/5/27", "dd/mm/yyyy", date(2027, 5, 10)),
        ("5/10/2027", "mm/dd/yyyy", date(2027, 5, 10)),
        ("10-May-2027", "dd mmm yyyy", date(2027, 5, 10)),
        ("31/02/2027", "dd/mm/yyyy", None),
        ("2027-05-10", "dd/mm/yyyy", None),
        ("10 Mai 2027", "dd mmm yyyy", None),
        ("", "dd/mm/yyyy", None),
    ],
)
def test_dates_in_the_forms_banks_write_them(text, form, day):
    if day is None:
        with pytest.raises(BadInput, match="date: wanted a date as"):
            read_day(text, form)
    else:
        assert read_day(text, form) == day


def test_one_wrong_line_refuses_the_whole_file_by_its_number():
    with pytest.raises(BadInput, match=r"bank.csv line 4: date: wanted a date as dd/mm/yyyy, got 2027-05-12"):
        read_statement((FILE + "2027-05-12,A,x,5\n").encode(), PLAIN, "GBP", where="bank.csv")


def test_a_column_that_is_not_there_is_named_with_the_nearest():
    with pytest.raises(NotFound, match=r"bank.csv: statement: wanted a known column, got Betrag. Known: Amount"):
        read_statement(FILE.encode(), StatementColumns(date="Date", amount="Betrag"), "GBP", where="bank.csv")
    with pytest.raises(BadInput, match="wanted headings and lines, got nothing"):
        read_statement(b"\n\n", PLAIN, "GBP")


def test_lines_before_the_headings_are_skipped_and_blank_ones_ignored():
    data = ("Account 1234\nSort 00-00-00\n" + FILE + "\n,,,\n").encode()
    assert len(read_statement(data, StatementColumns(**{**_as_dict(PLAIN), "skip": 2}), "GBP")) == 2


def _as_dict(columns):
    return {name: getattr(columns, name) for name in columns.__dataclass_fields__}


def test_the_same_file_gives_the_same_ids_and_twins_are_told_apart():
    twins = b"Date,Amount\n10/05/2027,5.00\n10/05/2027,5.00\n"
    columns = StatementColumns(date="Date", amount="Amount")
    first, second = read_statement(twins, columns, "GBP")
    assert first.id != second.id
    assert [entry.id for entry in read_statement(twins, columns, "GBP")] == [first.id, second.id]
    longer = twins + b"11/05/2027,7.00\n"
    assert [entry.id for entry in read_statement(longer, columns, "GBP")][:2] == [first.id, second.id]


def test_the_columns_are_read_from_settings_and_checked():
    def columns_of(table):
        return read_input(StatementColumns, table, where="studio.toml", path="statement.harbour")

    good = columns_of({"date": "Datum", "amount": "Betrag", "decimal_comma": True})
    assert good.decimal_comma
    with pytest.raises(BadInput, match="wanted either amount, or paid_in and paid_out, got neither"):
        columns_of({"date": "Datum"})
    with pytest.raises(BadInput, match="got both"):
        columns_of({"date": "Datum", "amount": "A", "paid_in": "B"})


_cells = st.text(
    st.characters(blacklist_categories=["Cs", "Cc", "Cn"], blacklist_characters="\ufeff\u2028\u2029\x85"), max_size=12
)


@settings(max_examples=60)
@given(
    st.lists(
        st.tuples(st.dates(date(2000, 1, 1), date(2090, 1, 1)), st.integers(-(10**9), 10**9), _cells),
        min_size=1,
        max_size=8,
    ),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    st.booleans(),
)
def test_whatever_is_written_as_csv_is_read_back(rows, delimiter, encoding, comma):
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, quoting=csv.QUOTE_ALL)
    writer.writerow(["Date", "Amount", "Text"])
    for day, pennies, text in rows:
        amount = f"{Decimal(pennies) / 100:,.2f}"
        if comma:
            amount = amount.replace(",", " ").replace(".", ",")
        writer.writerow([day.isoformat(), amount, text])
    columns = StatementColumns(
        date="Date", amount="Amount", text="Text", date_format="yyyy-mm-dd", decimal_comma=comma
    )
    entries = read_statement(out.getvalue().encode(encoding), columns, "GBP")
    assert [(e.booked_on, e.amount.minor, e.text) for e in entries] == [(d, p, t.strip()) for d, p, t in rows]


@settings(max_examples=100)
@given(st.binary(max_size=300))
def test_rubbish_is_refused_in_one_line_or_read(data):
    message = ""
    try:
        read_statement(data, PLAIN, "GBP", where="bank.csv")
    except BadInput as error:
        message = str(error)
    assert "\n" not in message


def test_a_giant_amount_is_refused():
    with pytest.raises(BadInput, match=r"bank\.csv line 2: amount: wanted a number of 18 digits"):
        read_statement(
            b"Date,Amount\n10/05/2027," + b"9" * 400,
            StatementColumns(date="Date", amount="Amount"),
            "GBP",
            where="bank.csv",
        )


def test_an_unknown_currency_is_named_by_its_line():
    columns = StatementColumns(date="Date", amount="Amount", currency_column="Ccy")
    with pytest.raises(BadInput, match=r"line 2: currency: wanted an ISO 4217 .* got STG"):
        read_statement(b"Date,Amount,Ccy\n10/05/2027,5,STG\n", columns, "GBP")
