"""Cells of a bank's CSV: what a sign, a currency or a comma in them says is neither lost nor guessed.

The forms are common practice: 1.140,- and 1'140.- for whole amounts in German-speaking countries, CR and DR for
credit and debit. Words of statements (vorgemerkt, Saldo, Kontostand) are those of German banks' exports; memory.
"""

from __future__ import annotations

import pytest

BANKS = """
[statement.harbour]
date = "Date"
amount = "Amount"
text = "Details"
name = "From"

[statement.quay]
date = "Date"
paid_in = "In"
paid_out = "Out"
text = "Details"

[statement.hafen]
date = "Date"
amount = "Amount"
text = "Details"
decimal_comma = true
"""


@pytest.fixture
def banks(bizkit, studio):
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(BANKS)
    return studio


@pytest.fixture
def read(bizkit, banks, tmp_path):
    """Reads one cell as an amount, or a file of these lines."""

    def call(*lines, bank="harbour", options=()):
        path = tmp_path / "may.csv"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return bizkit("bank", "import", path, "--bank", bank, "--on", "2027-05-31", "--json", *options)

    return call


def cell(text):
    return ("Date;From;Details;Amount", f"20/05/2027;A;x;{text}")


def amounts(done):
    return [row["amount"] for row in done.data["rows"]]


# -- signs


@pytest.mark.parametrize(
    ("row", "amount"),
    [
        (',"-1,140.00",', "-1140.00"), (",(50.00),", "-50.00"), (",50.00 DR,", "-50.00"), (",50.00,", "50.00"),
        (",,50.00", "-50.00"), (",,-50.00", "-50.00"),
    ],
)  # fmt: skip
def test_what_is_below_zero_under_paid_in_goes_back(read, row, amount):
    done = read("Date,Details,In,Out", f"20/05/2027,RETURNED{row}", bank="quay")
    assert amounts(done) == [amount]


def test_a_returned_payment_pays_nothing(bizkit, job, banks, read):
    bizkit(
        "charge", "add", job, "--what", "Boat", "--amount", "950", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-05-01",
    )  # fmt: skip
    assert bizkit("invoice", "issue", job, "--charges", "--on", "2027-05-01", "--json").data["gross"] == "1140.00"
    read("Date,Details,In,Out", '01/06/2027,RETURNED GL-2027-0001,"-1,140.00",', bank="quay")
    bizkit("bank", "book", "--sure", "--yes", "--on", "2027-06-02")
    (row,) = bizkit("invoice", "list", "--json", "--on", "2027-06-02").data
    assert row["state"] == "open"


def test_a_column_paid_out_with_and_without_minus_is_refused(read):
    done = read("Date,Details,In,Out", "20/05/2027,a,,-5.00", "21/05/2027,b,,6.00", bank="quay")
    assert (done.code, "with one at line 2, without at line 3" in done.err) == (2, True)
    assert "line 2" in done.data["refused"]


# -- currencies


@pytest.mark.parametrize(
    "text",
    ["€1140.00", "$1140", "USD 1140", "1140.00 €", "EUR1140.00", "1140.00EUR", "¥1140", "usd 1140.00", "(€5.00)"],
)
def test_a_currency_that_is_not_the_accounts_is_refused(read, text):
    done = read(*cell(text))
    assert (done.code, done.data["rows"]) == (2, [])
    assert f"may.csv line 2: amount: wanted GBP, which the account is in, got {text}" in done.err


@pytest.mark.parametrize("text", ["£1140.00", "GBP 1140.00", "1140.00 GBP", "GBP1140.00", "gbp 1140.00", "£ 1140"])
def test_the_accounts_own_currency_is_read(read, text):
    assert amounts(read(*cell(text))) == ["1140.00"]


def test_a_sign_is_held_against_the_column_of_currencies(bizkit, read, change, banks):
    change(banks / "studio.toml", '"Details"\nname = "From"', '"Details"\ncurrency = "From"')
    lines = ("Date;From;Details;Amount", "20/05/2027;EUR;x;€5.00", "20/05/2027;EUR;x;£5.00")
    assert "line 3: amount: wanted EUR" in read(*lines).err
    assert amounts(read(*lines[:2])) == ["5.00"]
    assert bizkit("bank", "list", "--json").data[0]["currency"] == "EUR"


@pytest.mark.parametrize("heading", ["Amount (€)", "Amount EUR", "Amount (USD)"])
def test_a_heading_that_names_another_currency_is_refused(read, change, banks, heading):
    change(banks / "studio.toml", '"Date"\namount = "Amount"', f'"Date"\namount = "{heading}"')
    lines = (f"Date;From;Details;{heading}", "20/05/2027;A;x;5.00")
    done = read(*lines)
    assert (done.code, "--currency" in done.err) == (2, True)
    code = "USD" if "USD" in heading else "EUR"
    assert read(*lines, options=("--currency", code)).data["rows"][0]["currency"] == code


# -- amounts that can be read in two ways


@pytest.mark.parametrize(
    ("text", "bank", "currency"),
    [
        ("1.140", "harbour", "GBP"), ("-1.140", "harbour", "GBP"), ("£1.140", "harbour", "GBP"),
        ("1,140", "hafen", "EUR"), ("999.000", "harbour", "GBP"), ("1.140", "harbour", "JPY"),
        ("1,140", "harbour", "KWD"),
    ],
)  # fmt: skip
def test_an_amount_that_can_be_read_in_two_ways_is_refused(read, text, bank, currency):
    done = read(*cell(text), bank=bank, options=("--currency", currency))
    assert (done.code, done.data["rows"]) == (2, [])
    figures = text.strip("-£")
    number = figures.replace(",", ".")
    for reading in (number.rstrip("0").rstrip(".") if currency != "KWD" else "1140", number.replace(".", "")):
        assert reading in done.err


@pytest.mark.parametrize(
    ("text", "bank", "currency", "amount"),
    [
        ("1,140", "harbour", "GBP", "1140.00"), ("1.140", "hafen", "EUR", "1140.00"),
        ("1.140,-", "hafen", "EUR", "1140.00"), ("1.140,--", "hafen", "EUR", "1140.00"),
        ("-1.140,-", "hafen", "EUR", "-1140.00"), ("1,140.-", "harbour", "CHF", "1140.00"),
        ("1'140.–", "harbour", "CHF", "1140.00"), ("1140.00-", "harbour", "GBP", "-1140.00"),
        ("1.140", "harbour", "KWD", "1.140"), ("1,140", "harbour", "JPY", "1140"),
        ("1140.5000", "harbour", "GBP", "1140.50"), ("0.140", "harbour", "GBP", "0.14"),
    ],
)  # fmt: skip
def test_an_amount_that_can_be_read_in_one_way_is_read(read, text, bank, currency, amount):
    assert amounts(read(*cell(text), bank=bank, options=("--currency", currency))) == [amount]


@pytest.mark.parametrize(("day", "read_as"), [("20/05/27", "2027-05-20"), ("20/05/0027", ""), ("20/05/0026", "")])
def test_only_a_year_of_two_digits_is_of_this_century(read, day, read_as):
    done = read("Date;From;Details;Amount", f"{day};A;x;5.00")
    assert [row["on"] for row in done.data["rows"]] == ([read_as] if read_as else []), done.err


# -- rows that are no movements


@pytest.mark.parametrize(
    ("details", "info", "why"),
    [
        ("Karte", "Umsatz vorgemerkt", "pending"),
        ("Karte", "Umsatz vorgemerkt und nicht gebucht", "pending"),
        ("vorgemerkte Buchung", "", "pending"),
        ("noch nicht gebucht", "", "pending"),
        ("Saldo", "", "a balance"),
        ("Kontostand", "", "a balance"),
        ("Kontostand am 30.06.2027", "", "a balance"),
        ("Current balance", "", "a balance"),
        ("New balance", "", "a balance"),
        ("Summe", "", "a total"),
        ("Total", "", "a total"),
        ("Declined", "", "declined"),
        ("Karte", "storniert", "storniert"),
    ],
)
def test_dated_rows_that_are_no_movements_are_named_and_can_be_taken_in(read, details, info, why):
    lines = ("Date;From;Details;Amount;Info", "20/05/2027;A;one;10.00;", f"21/05/2027;;{details};20.00;{info}")
    done = read(*lines)
    assert amounts(done) == ["10.00"]
    assert [(one["place"], one["why"]) for one in done.data["left_out"]] == [("line 3", why)]
    taken = read(*lines, options=("--take", "3"))
    assert (amounts(taken), taken.data["left_out"], taken.data["seen_before"]) == (["20.00"], [], 1)


@pytest.mark.parametrize("details", ["Saldo", "Total", "Kontostand", "Current balance", "Summe", "New balance"])
def test_a_dated_row_that_says_whose_money_it_is_is_a_movement(read, details):
    done = read("Date;From;Details;Amount", f"20/05/2027;Una Flett;{details};10.00")
    assert (amounts(done), done.data["left_out"]) == (["10.00"], [])


def test_a_real_payment_that_calls_itself_a_balance_can_be_taken_in(bizkit, read, tmp_path):
    lines = ("Date;From;Details;Amount", "20/05/2027;A;one;10.00", "21/05/2027;Una Flett;Closing balance;20.00")
    assert amounts(read(*lines)) == ["10.00"]
    shown = bizkit("bank", "import", tmp_path / "may.csv", "--bank", "harbour", "--on", "2027-05-31").out
    assert "left out, line 3: a balance: 21/05/2027 Una Flett Closing balance 20.00" in shown
    assert "bizkit bank import FILE --take LINE" in shown
    assert amounts(read(*lines, options=("--take", "3"))) == ["20.00"]
    wrong = read(*lines, options=("--take", "2"))
    assert (wrong.code, "--take: wanted a line that was left out, got 2" in wrong.err) == (2, True)


def test_a_column_of_states_that_says_booked_is_believed(read):
    lines = (
        "Date;From;Details;Amount;State",
        "20/05/2027;A;Pending;10.00;COMPLETED",
        "21/05/2027;;Total;5.00;booked",
    )
    assert amounts(read(*lines)) == ["10.00", "5.00"]


@pytest.mark.parametrize("starter", ["gbp-uk", "eur-de"])
def test_every_key_of_a_statement_stands_in_the_starters(bizkit, tmp_path, starter):
    from dataclasses import fields

    from bizkit.domain.statement_columns import StatementColumns

    bizkit("init", tmp_path / starter, "--starter", starter)
    text = (tmp_path / starter / "studio.toml").read_text(encoding="utf-8")
    keys = {one.name.removesuffix("_column") for one in fields(StatementColumns)}
    table = text[text.index("# [statement.") :].split("\n\n")[0]
    assert {key for key in keys if f"\n# {key} = " not in table} == set()
