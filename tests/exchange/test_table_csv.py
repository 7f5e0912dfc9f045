"""CSV out: safe, and read back whole."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.exchange.table_csv import records_csv, safe_cell, table_csv


def read(data):
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


@pytest.mark.parametrize(
    "attack",
    # forms listed on the OWASP page on CSV injection, and wide forms of the same signs
    [
        '=HYPERLINK("https://example.com","x")',
        "=1+2",
        "+1+2",
        "-1+2",
        "-A1",
        "@SUM(1)",
        "\t=1+2",
        "\r=1+2",
        " =1+2",
        "\u00a0=1+2",
        "\x0b=1+2",
        "\x01=1+2",
        "=cmd|' /C calc'!A0",
        "＝1+2",
        "-",
        "--1",
        "+44 1632 960123",
    ],
)
def test_a_cell_that_could_run_is_text(attack):
    assert safe_cell(attack) == "'" + attack


@pytest.mark.parametrize("plain", ["-12.50", "12.50", "0", "-1", "Kelp", "a=b", "1-2", "", "'=1"])
def test_numbers_and_plain_text_stay_as_they_are(plain):
    assert safe_cell(plain) == plain


def test_a_table_is_rfc_4180_with_a_byte_order_mark():
    data = table_csv(["Client", "Left"], [['Kelp, "Gull" & co', "-12.50"], [None, 3]])
    assert data == '\ufeffClient,Left\r\n"Kelp, ""Gull"" & co",-12.50\r\n,3\r\n'.encode()


def test_records_keep_their_order_and_short_rows_are_refused():
    assert read(records_csv([{"a": 1, "b": 2}, {"b": 4}])) == [["a", "b"], ["1", "2"], ["", "4"]]
    assert records_csv([]) == "\ufeff\r\n".encode()
    with pytest.raises(ValueError, match="2 headings, but 1 cells"):
        table_csv(["a", "b"], [["1"]])


@settings(max_examples=150)
@given(
    st.lists(
        st.lists(st.text(st.characters(blacklist_categories=["Cs"]), max_size=12), min_size=2, max_size=2), max_size=6
    )
)
def test_what_is_written_is_read_back_and_no_cell_can_run(rows):
    found = read(table_csv(["one", "two"], rows))[1:]
    assert len(found) == len(rows)
    for row, was in zip(found, rows, strict=True):
        for cell, text in zip(row, was, strict=True):
            plain = text.replace("\0", "")
            assert cell in (plain, "'" + plain)
            begins = cell.lstrip()[:1]
            assert begins not in tuple("=+@|%＝＋－＠") or begins == ""
            assert cell[:1] not in ("\t", "\r", "\n")
            if begins == "-":
                float(cell)
