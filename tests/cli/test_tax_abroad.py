"""Clients abroad and other money: no tax without evidence, sterling beside euro, the reverse charge in words."""

from __future__ import annotations

from decimal import Decimal

import pytest

BRIEF = "follow-the-kelp"
IRISH = """
name = "Seal Sound Films"
contact = "Aoife Byrne"
address = ["4 Quay Lane"]
city = "Killary"
postcode = "H91 0000"
country = "IE"
email = "office@sealsound.example"
business = true
currency = "EUR"
"""


@pytest.fixture
def abroad(bizkit, studio, change):
    """A job in euro for a client in another country; `more` goes into the client's file."""

    def make(more="", country="IE", on="2027-02-08"):
        text = IRISH.replace('"IE"', f'"{country}"') + more
        (studio / "clients" / "seal-sound.toml").write_text(text, encoding="utf-8")
        brief = studio / "briefs" / f"{BRIEF}.toml"
        change(brief, 'client = "skerrow-islands-tourism"', 'client = "seal-sound"')
        change(brief, 'currency = "GBP"', 'currency = "EUR"')
        rate = '[exchange]\nrate = 1.16\non = 2027-01-20\nsource = "invented rate"\n\n[discount]'
        change(brief, "[discount]", rate)
        return brief

    def open_job():
        assert bizkit("quote", "draft", BRIEF, "--on", "2027-01-26").code == 0
        assert bizkit("quote", "send", BRIEF, "--on", "2027-01-26").code == 0
        assert bizkit("quote", "accept", BRIEF, "--on", "2027-02-08").code == 0
        return BRIEF

    make.open = open_job
    return make


RATE = ["--home-rate", "0.85", "--home-rate-source", "tax office, February"]


def test_a_business_abroad_without_evidence_is_refused_until_some_is_on_file(bizkit, abroad, scan):
    abroad(country="NO")
    refused = bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    # VAT Notice 741A: evidence of business status is kept.
    assert refused.code == 1
    assert "nothing shows that it is a business" in refused.err
    assert "741A" in refused.err
    done = bizkit(
        "evidence", "add", "seal-sound", "--what", "extract of the company register", "--scan", scan, "--on",
        "2027-01-25", "--json",
    ).data  # fmt: skip
    assert done["paper"] in done["file"]
    job = abroad.open()
    bill = bizkit("invoice", "issue", job, *RATE, "--on", "2027-02-08", "--json").data["document"]
    assert [tax["category"] for tax in bill["taxes"]] == ["O"]
    assert "Outside the scope of UK VAT" in bill["taxes"][0]["note"]
    assert bill["reasons"]["evidence"] == "extract of the company register (2027-01-25)"
    assert [row["what"] for row in bizkit("evidence", "list", "--json").data] == ["extract of the company register"]
    assert bizkit("verify").code == 0


def test_the_reverse_charge_says_so_and_names_the_number(bizkit, abroad):
    # 2006/112/EC art. 196 and 226(11a); the number is python-stdnum's valid Irish example.
    abroad('tax_number = "IE6433435F"\n')
    job = abroad.open()
    bill = bizkit("invoice", "issue", job, *RATE, "--on", "2027-02-08", "--json").data["document"]
    assert bill["taxes"][0]["category"] == "AE"
    assert bill["taxes"][0]["note"] == "Reverse charge: the customer is to account for VAT"
    assert bill["client"]["tax_number"] == "IE6433435F"
    assert bill["reasons"]["evidence"] == "VAT number IE6433435F"
    assert bill["tax"] == "0.00"


def test_an_invoice_in_euro_shows_its_tax_in_sterling_at_a_recorded_rate(bizkit, abroad):
    abroad(country="GB")
    job = abroad.open()
    bare = bizkit("invoice", "issue", job, "--on", "2027-02-08")
    assert bare.code == 1
    assert "--home-rate" in bare.err
    assert "reg 14(1)" in bare.err
    for arguments, said in (
        (["--home-rate", "0.85"], "--home-rate-source: wanted whose exchange rate it is"),
        (["--home-rate", "0", "--home-rate-source", "x"], "above zero"),
        (["--home-rate", "0,85", "--home-rate-source", "x"], "--home-rate: wanted a rate such as 0.8612"),
    ):
        done = bizkit("invoice", "issue", job, *arguments, "--on", "2027-02-08")
        assert done.code in (1, 2)
        assert said in done.err
    assert bizkit("invoice", "list", "--json").data == []
    bill = bizkit("invoice", "issue", job, *RATE, "--on", "2027-02-08", "--json").data["document"]
    home = bill["tax_in"]
    assert (home["currency"], home["rate"], home["source"]) == ("GBP", "0.85", "tax office, February")
    assert Decimal(home["amount"]) == (Decimal(bill["tax"]) * Decimal("0.85")).quantize(
        Decimal("0.01"), "ROUND_HALF_UP"
    )
    report = bizkit(
        "report", "tax", "--from", "2027-01-01", "--to", "2027-03-31", "--on", "2027-04-01", "--json"
    ).data
    assert report["tax_on_sales"] == home["amount"]
    assert report["currency"] == "GBP"


def test_a_payment_in_the_accounts_own_money_shows_what_the_rate_made_of_it(bizkit, abroad):
    abroad('tax_number = "IE6433435F"\n')
    job = abroad.open()
    bizkit(
        "charge", "add", job, "--what", "Rushes", "--amount", "1000", "--reason", "asked", "--agreed",
        "Una, by mail", "--on", "2027-02-09",
    )  # fmt: skip
    bizkit("invoice", "issue", job, "--charges", *RATE, "--on", "2027-02-09")
    wrong = bizkit("payment", "add", "850", "--invoice", "GL-2027-0001", "--currency", "GBP", "--on", "2027-03-01")
    assert wrong.code == 1
    assert "GL-2027-0001 is in EUR, the payment in GBP" in wrong.err
    done = bizkit(
        "payment", "add", "1000", "--invoice", "GL-2027-0001", "--fee", "10", "--account", "840.00",
        "--account-currency", "GBP", "--on", "2027-03-01", "--json",
    ).data  # fmt: skip
    # 990 euro reached the bank; at the invoice's 0.85 that is 841.50, the account got 840.00.
    assert done["parts"][0]["exchange_difference"] == "-1.50"
    assert (done["parts"][0]["state"], done["fee"]) == ("paid", "10.00")
    # What the bank brought in all is what the year says: 850 less 1.50 by the rate, less 8.50 that the bank kept.
    data = bizkit("report", "quarter", "--starts", "2026-04-06", "--on", "2027-04-05", "--json").data
    figures = {one["key"]: one["value"] for one in data["figures"]}
    assert figures == {"income": "848.50", "costs": "8.50", "profit": "840.00"}


def test_a_studio_in_the_union_prints_a_payment_code_that_a_banking_app_reads(bizkit, tmp_path, monkeypatch):
    zxingcpp = pytest.importorskip("zxingcpp")
    import subprocess

    from PIL import Image

    bizkit("init", tmp_path / "studio", "--starter", "eur-de", "--practice")
    monkeypatch.chdir(tmp_path / "studio")
    key = bizkit("quote", "draft", "seegras-im-bodden", "--on", "2027-01-26", "--json").data["key"]
    bizkit("quote", "send", key, "--on", "2027-01-26")
    bizkit("quote", "accept", key, "--on", "2027-01-27")
    bill = bizkit("invoice", "issue", key, "--on", "2027-02-08", "--json").data
    subprocess.run(
        ["pdftoppm", "-r", "200", "-png", bill["file"], str(tmp_path / "page")], check=True, capture_output=True
    )
    codes = [
        code.text for page in sorted(tmp_path.glob("page*.png")) for code in zxingcpp.read_barcodes(Image.open(page))
    ]
    (code,) = [one for one in codes if one.startswith("BCD")]
    lines = code.splitlines()
    # EPC069-12: amount on line 8, structured reference on line 10 (ISO 11649, checked by python-stdnum).
    from stdnum import iso11649

    assert lines[7] == f"EUR{bill['gross']}"
    assert iso11649.is_valid(lines[9])
    assert lines[9].endswith(bill["number"].replace("-", ""))


@pytest.mark.parametrize(
    ("options", "category", "rate", "tax"),
    [
        # United Kingdom: standard 20 %, reduced 5 % (tables, each with its source); 20 % and 5 % of 100.00.
        ([], "S", "20", "20.00"),
        (["--tax", "reduced"], "S", "5", "5.00"),
        (["--tax", "zero"], "Z", "0", "0.00"),
        (["--tax", "exempt", "--tax-note", "Training, exempt under Schedule 9 group 6"], "E", "0", "0.00"),
    ],
)
def test_a_supply_at_home_can_be_of_another_kind(bizkit, job, options, category, rate, tax):
    bizkit(
        "charge", "add", job, "--what", "Course", "--amount", "100", "--reason", "asked", "--agreed",
        "Una, by mail", "--on", "2027-05-01",
    )  # fmt: skip
    done = bizkit("invoice", "issue", job, "--charges", *options, "--on", "2027-05-02", "--json").data["document"]
    assert [(one["category"], one["rate"], one["amount"]) for one in done["taxes"]] == [(category, rate, tax)]


def test_an_exempt_supply_says_why_and_an_unknown_kind_is_refused(bizkit, job):
    bizkit(
        "charge", "add", job, "--what", "Course", "--amount", "100", "--reason", "asked", "--agreed",
        "Una, by mail", "--on", "2027-05-01",
    )  # fmt: skip
    for options, code, said in (
        (["--tax", "exempt"], 1, "an exempt line must say why"),
        (["--tax", "zeroo"], 2, "Did you mean zero?"),
    ):
        done = bizkit("invoice", "issue", job, "--charges", *options, "--on", "2027-05-02")
        assert (done.code, len(done.err.splitlines())) == (code, 1)
        assert said in done.err
    assert bizkit("invoice", "list", "--json").data == []


@pytest.mark.parametrize("rate", ["86.12", "0.08", "1.16"])
def test_a_home_rate_far_from_the_quotes_needs_a_reason(bizkit, abroad, rate):
    # The quote has 1.16 euro for a pound, so a euro is 0.8621 pounds.
    abroad('tax_number = "IE6433435F"\n')
    job = abroad.open()
    call = ("invoice", "issue", job, "--on", "2027-02-08", "--home-rate", rate, "--home-rate-source", "tax office")
    refused = bizkit(*call)
    assert (refused.code, len(refused.err.splitlines())) == (1, 1)
    assert f"--home-rate {rate}: by the quote's rate of 2027-01-20 one EUR is 0.8621 GBP" in refused.err
    assert bizkit("invoice", "list", "--json").data == []
    assert bizkit(*call, "--reason", "the pound fell").code == 0


@pytest.mark.parametrize(("rate", "code"), [("116", 1), ("0.86", 1), ("1.2", 0)])
def test_the_rate_of_a_cost_far_from_the_quotes_needs_a_reason(bizkit, abroad, rate, code):
    abroad('tax_number = "IE6433435F"\n')
    job = abroad.open()
    call = (
        "cost",
        "add",
        job,
        "--kind",
        "boat",
        "--amount",
        "120",
        "--currency",
        "GBP",
        "--rate",
        rate,
        "--rate-source",
        "card bill",
    )
    done = bizkit(*call, "--on", "2027-05-10")
    assert done.code == code, done.err
    if code:
        assert f"--rate {rate}: by the quote's rate of 2027-01-20 one GBP is 1.1600 EUR" in done.err
        assert "120.00" not in bizkit("cost", "list", job).out
        assert bizkit(*call, "--on", "2027-05-10", "--reason", "it is so").code == 0
