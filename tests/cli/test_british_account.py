"""Sort code and account number: what a client in the United Kingdom types to pay."""

from __future__ import annotations

import email
import email.policy

import pypdf
import pytest
from lxml import etree

RAM = "{urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100}"


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def test_papers_and_mail_name_sort_code_and_account_number_beside_the_iban(bizkit, job, studio):
    pro_forma = bizkit("invoice", "proforma", job, "--on", "2027-02-08", "--json").data
    bill = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data
    reminder = bizkit("late", "remind", bill["number"], "--on", "2027-04-08", "--json").data
    account = bizkit("statement", "skerrow-islands-tourism", "--on", "2027-04-08", "--json").data
    for paper in (pro_forma, bill, reminder, account):
        text = text_of(paper["file"])
        assert "Sort code 60-16-13 Account number 31926819 IBAN GB29 NWBK 6016 1331 9268 19" in text
    bizkit("send", bill["number"], "--on", "2027-02-08")
    mail = (studio / "mail" / f"{bill['number']}.eml").read_bytes()
    body = email.message_from_bytes(mail, policy=email.policy.default).get_body().get_content()
    assert (
        "Our account: Gannet & Lark Films, sort code 60-16-13, account number 31926819, "
        "IBAN GB29 NWBK 6016 1331 9268 19, BIC NWBKGB2L" in " ".join(body.split())
    )


def test_without_an_iban_they_are_the_account_of_the_electronic_invoice(bizkit, job, studio, change):
    change(studio / "studio.toml", 'iban = "GB29', '# iban = "GB29')
    bill = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data
    assert "Sort code 60-16-13" in text_of(bill["file"])
    done = bizkit("invoice", "export", bill["number"], "--format", "cii", "--json").data
    root = etree.parse(done["file"]).getroot()
    # EN 16931 BT-81 30 (credit transfer), BT-84 any account identifier, BT-86 "such as a BIC or a national clearing
    # code"; BR-61 wants an account with a credit transfer.
    found = [root.findtext(f".//{RAM}{name}") for name in ("ProprietaryID", "BICID", "AccountName")]
    assert found == ["31926819", "601613", "Gannet & Lark Films"]
    assert root.findtext(f".//{RAM}SpecifiedTradeSettlementPaymentMeans/{RAM}TypeCode") == "30"
    assert root.find(f".//{RAM}IBANID") is None


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("60-16-13", "60-16-1", "bank.sort_code: wanted a sort code of 6 digits, such as 60-16-13, got 60-16-1"),
        (
            '"31926819"',
            '"3192681"',
            "bank.account_number: wanted an account number of 8 digits, such as 31926819, got 3192681. A shorter",
        ),
        (
            'account_number = "31926819"\n',
            "",
            "bank.account_number: wanted the account number that goes with sort_code",
        ),
    ],
)
def test_what_is_no_account_of_the_united_kingdom_is_refused(bizkit, studio, change, old, new, said):
    change(studio / "studio.toml", old, new)
    refused = bizkit("rates", "check")
    assert (refused.code, said in refused.err) == (2, True), refused.err


def test_an_account_other_than_the_one_inside_the_iban_is_looked_at(bizkit, studio, change):
    change(studio / "studio.toml", '"31926819"', '"31926818"')
    told = bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-02-01").out
    assert "sort_code and account_number are not those inside iban" in told
