"""A studio around its registration for the tax: its number, its quotes, its invoices.

Supplies before the day of registration bear no tax, whenever they are paid for (HMRC manuals VATTOS5210, VCAS2100;
read); who is not registered may not show a number (VAT Act 1994, from memory).
"""

from __future__ import annotations

import re
import shutil

import pypdf
import pytest

from .conftest import BRIEF

NUMBER = "GB980780684"
SETTINGS = 'registered = true\nnumber = "GB980780684"'
FROM = "registered_from = 2027-04-01"


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def before(studio):
    """The starter studio, to be registered from 1 April 2027; its first job is shot in May."""
    path = studio / "studio.toml"
    text = path.read_text(encoding="utf-8")
    found = re.search(r"^registered = true.*$", text, flags=re.M)
    assert found
    path.write_text(text.replace(found.group(), f"{found.group()}\n{FROM}", 1), encoding="utf-8")
    return studio


@pytest.fixture
def accepted(bizkit, before):
    """That studio with the quote of 26 January accepted."""
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    bizkit("quote", "send", BRIEF, "--on", "2027-01-26")
    assert bizkit("quote", "accept", BRIEF, "--on", "2027-02-08").code == 0
    return BRIEF


def test_no_paper_before_the_registration_shows_the_number(bizkit, accepted, before, tmp_path):
    job = accepted
    bizkit(
        "charge", "add", job, "--what", "Recce", "--amount", "100", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-02-10",
    )  # fmt: skip
    invoice = bizkit("invoice", "issue", job, "--charges", "--on", "2027-02-10", "--json").data
    assert invoice["tax"] == "0.00"
    bizkit("payment", "add", "40", "--invoice", invoice["number"], "--on", "2027-02-12")
    papers = [invoice["file"]]
    papers.append(bizkit("quote", "show", job, "--json").data["file"])
    papers.append(bizkit("payment", "receipt", 1, "--on", "2027-02-12", "--json").data["file"])
    papers.append(bizkit("late", "remind", invoice["number"], "--on", "2027-03-20", "--json").data["file"])
    client = "skerrow-islands-tourism"
    papers.append(bizkit("statement", client, "--on", "2027-03-20", "--json").data["file"])
    papers.append(bizkit("invoice", "proforma", job, "--on", "2027-03-20", "--json").data["file"])
    less = ("--reason", "less", "--amount", "10", "--lower-price", "--on", "2027-03-21", "--json")
    papers.append(bizkit("invoice", "credit", invoice["number"], *less).data["file"])
    out = tmp_path / "report.pdf"
    bizkit("report", "debtors", "--pdf", out, "--on", "2027-03-21")
    papers.append(str(out))
    for path in papers:
        assert "Gannet & Lark Films" in text_of(path), path
        assert NUMBER not in text_of(path), path
    for form in ("ubl", "cii"):
        out = tmp_path / f"{form}.xml"
        assert bizkit("invoice", "export", invoice["number"], "--format", form, "--out", out).code == 0
        assert NUMBER.encode() not in out.read_bytes()
    bizkit(
        "charge", "add", job, "--what", "Recce", "--amount", "100", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-04-01",
    )  # fmt: skip
    after = bizkit("invoice", "issue", job, "--charges", "--on", "2027-04-01", "--json").data
    assert NUMBER in text_of(after["file"])
    assert after["tax"] == "20.00"


def test_an_unregistered_studio_shows_no_number(bizkit, studio, change):
    change(studio / "studio.toml", "registered = true", "registered = false")
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    done = bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json").data
    assert NUMBER not in text_of(done["file"])
    assert done["document"]["tax_later"] is None


def test_a_quote_whose_work_falls_into_the_registration_shows_both_totals(bizkit, before):
    drafted = bizkit("quote", "draft", BRIEF, "--on", "2027-01-26", "--json").data["document"]
    done = bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json").data
    document = done["document"]
    later = document["tax_later"]
    assert later == drafted["tax_later"]
    net = document["net"]
    assert (document["gross"], document["tax"], later["starts"]) == (net, "0.00", "2027-04-01")
    # 20 % of the net and the sum of both, by plain arithmetic on the printed figures.
    pennies = round(float(net) * 100)
    assert round(float(later["tax"]) * 100) == (pennies * 20 + 50) // 100
    assert round(float(later["gross"]) * 100) == pennies + round(float(later["tax"]) * 100)
    text = text_of(done["file"])
    assert "From 1 April 2027 we are registered for VAT" in text
    for total in (net, later["gross"]):
        assert f"£{float(total):,.2f}" in text
    assert "Total with it" in bizkit("quote", "show", BRIEF).out
    assert "Total with it" in bizkit("price", BRIEF, "--on", "2027-01-26").out


def test_work_that_is_done_before_the_registration_says_nothing(bizkit, before, change):
    change(before / "studio.toml", FROM, "registered_from = 2028-04-01")
    document = bizkit("quote", "draft", BRIEF, "--on", "2027-01-26", "--json").data["document"]
    assert (document["tax"], document["tax_later"]) == ("0.00", None)


def test_a_german_quote_says_it_in_german(bizkit, before, change):
    client = before / "clients" / "skerrow-islands-tourism.toml"
    client.write_text(client.read_text(encoding="utf-8") + '\nlanguage = "de"\nlocale = "de_DE"\n', encoding="utf-8")
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    done = bizkit("quote", "send", BRIEF, "--on", "2027-01-26", "--json")
    assert done.code == 0, done.err
    assert "Ab dem 1. April 2027 unterliegen wir der VAT" in text_of(done.data["file"])


def test_what_the_quote_said_needs_no_second_yes(bizkit, accepted):
    bizkit(
        "charge", "add", BRIEF, "--what", "x", "--amount", "100", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-04-03",
    )  # fmt: skip
    done = bizkit("invoice", "issue", BRIEF, "--charges", "--on", "2027-04-03", "--json")
    assert (done.code, done.data["tax"]) == (0, "20.00")


def test_a_draft_from_before_is_not_sent_after(bizkit, before):
    bizkit("quote", "draft", BRIEF, "--on", "2027-03-30")
    late = bizkit("quote", "send", BRIEF, "--on", "2027-04-02")
    assert (late.code, "draft it again with bizkit quote draft" in late.err) == (1, True)
    bizkit("quote", "draft", BRIEF, "--on", "2027-04-02")
    done = bizkit("quote", "send", BRIEF, "--on", "2027-04-02", "--json").data
    assert done["document"]["taxes"][0]["category"] == "S"
    assert NUMBER in text_of(done["file"])


@pytest.fixture
def untold(bizkit, studio, change):
    """A quote sent and accepted by an unregistered studio that registers later, unknown to the client."""
    change(studio / "studio.toml", "registered = true", "registered = false")
    bizkit("quote", "draft", BRIEF, "--on", "2027-01-26")
    bizkit("quote", "send", BRIEF, "--on", "2027-01-26")
    bizkit("quote", "accept", BRIEF, "--on", "2027-02-08")
    change(studio / "studio.toml", "registered = false", f"registered = true\n{FROM}")
    bizkit(
        "charge", "add", BRIEF, "--what", "x", "--amount", "100", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-02-09",
    )  # fmt: skip
    return BRIEF


WAYS = {
    "stage": ("invoice", "issue"),
    "charges": ("invoice", "issue", "--charges"),
    "final": ("invoice", "issue", "--final"),
    "deposit": ("invoice", "deposit", "500", "--received", "2027-04-02"),
    "pro forma": ("invoice", "proforma"),
    "settle": ("invoice", "settle"),
}


@pytest.mark.parametrize("way", WAYS)
def test_tax_on_top_of_a_quote_without_needs_a_yes_and_a_reason(bizkit, untold, way):
    group, command, *more = WAYS[way]
    call = (group, command, untold, *more, "--on", "2027-04-03", "--json")
    refused = bizkit(*call)
    assert (refused.code, len(refused.err.splitlines())) == (1, 1)
    assert "was sent without VAT, this would charge VAT 20 % on top (tax point 2027-04-0" in refused.err
    assert "--reason" in bizkit(*call, "--add-tax").err
    assert bizkit("invoice", "list", "--json").data == []
    done = bizkit(*call, "--add-tax", "--reason", "agreed on the phone with Una Flett")
    assert done.code == 0, done.err
    assert float((done.data.get("invoice") or done.data)["document"]["tax"]) > 0


def test_an_invoice_before_the_registration_needs_none(bizkit, untold):
    done = bizkit("invoice", "issue", untold, "--charges", "--on", "2027-03-31", "--json")
    assert (done.code, done.data["tax"]) == (0, "0.00")


def test_a_document_from_before_this_rule_still_draws(bizkit, accepted, before):
    """Quotes frozen by the first version have no `tax_later`: they print as they were."""
    from bizkit.services.studio.filing import paper_pdf
    from bizkit.services.studio.studio_folder import StudioFolder

    document = dict(bizkit("quote", "show", accepted, "--json").data["document"])
    del document["tax_later"]
    assert paper_pdf(StudioFolder(before), document).startswith(b"%PDF")
    shutil.rmtree(before / "papers")
    assert bizkit("papers", "rebuild").code == 0


@pytest.mark.parametrize("way", WAYS)
def test_work_done_before_the_registration_is_billed_without_for_a_reason(bizkit, untold, way):
    group, command, *more = WAYS[way]
    call = (group, command, untold, *more, "--on", "2027-04-03", "--json")
    assert "or --done-before with --reason" in bizkit(*call).err
    bare = bizkit(*call, "--done-before")
    assert (bare.code, "--done-before: wanted --reason with it" in bare.err) == (2, True)
    done = bizkit(*call, "--done-before", "--reason", "delivered on 31 March")
    assert done.code == 0, done.err
    data = done.data.get("invoice") or done.data
    assert float(data["document"]["tax"]) == 0
    assert "No VAT: supplied before registration for VAT on 1 April 2027" in text_of(data["file"])


def test_nothing_of_a_job_agreed_after_the_registration_was_done_before(bizkit, accepted, before, change):
    change(before / "studio.toml", FROM, "registered_from = 2027-02-01")
    done = bizkit("invoice", "issue", BRIEF, "--on", "2027-04-03", "--done-before", "--reason", "x")
    assert (done.code, "nothing of it was done before" in done.err) == (1, True)


@pytest.mark.parametrize("way", WAYS)
def test_billing_before_a_registration_what_is_done_in_it_is_looked_at_again(bizkit, accepted, way):
    bizkit(
        "charge", "add", BRIEF, "--what", "x", "--amount", "100", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-02-09",
    )  # fmt: skip
    group, command, *more = WAYS[way]
    more = [one.replace("2027-04-02", "2027-03-01") for one in more]
    reason = () if way in ("deposit", "pro forma") else ("--reason", "asked for")
    done = bizkit(group, command, BRIEF, *more, *reason, "--on", "2027-03-01")
    assert done.code == 0, done.err
    said = "no VAT is charged, as its tax point is 2027-03-01; Q-2027-0001 says that work from 2027-04-01 on bears it"
    assert f"Look: {said}" in done.out


def test_what_was_billed_again_before_the_registration_is_not_in_the_way_of_the_final_invoice(bizkit, accepted):
    # EN 16931 BR-O-11: no line outside the scope of the tax beside one that bears it.
    job = accepted
    first = bizkit("invoice", "issue", job, "--on", "2027-02-10", "--json").data
    less = ("--amount", "100", "--reason", "slip", "--on", "2027-02-11")
    assert bizkit("invoice", "credit", first["number"], *less).code == 0
    assert bizkit("invoice", "issue", job, "--charges", "--on", "2027-02-12").code == 0
    asked = ("--add-tax", "--reason", "said in the quote", "--on", "2027-06-20", "--json")
    last = bizkit("invoice", "issue", job, "--final", *asked)
    assert last.code == 0, last.err
    assert {tax["category"] for tax in last.data["document"]["taxes"]} == {"S"}
    assert bizkit("job", "money", job, "--json").data["left_to_invoice"] == "0.00"
