"""Receipts, statements and reminders as documents, and as the papers that print them."""

import io
from datetime import date

import pypdf

from bizkit.domain.billing.credit import credit_note
from bizkit.domain.billing.debtors import open_invoices, statement_entries
from bizkit.domain.billing.home_tax import tax_at_home
from bizkit.domain.billing.late import LateTerms, compensation, late_interest
from bizkit.domain.billing.letters import Overdue, PaidPart, receipt, reminder, statement
from bizkit.domain.billing.payment import Payment, balance, check_payment
from bizkit.domain.billing.records import Issued
from bizkit.domain.money import Money
from bizkit.papers.render import render


def printed(document):
    """The text of the paper, blanks evened out."""
    pages = pypdf.PdfReader(io.BytesIO(render(document))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_receipt_says_what_is_left(issue, studio, client):
    paper = Issued.from_document(issue((1, "1000")))
    payment = Payment(paper.number, date(2027, 6, 1), Money(200, "GBP"), reference="bank 7")
    after = check_payment(paper.owed, payment, balance(paper.owed, []))
    document = receipt(
        studio=studio,
        client=client,
        issued_on=date(2027, 6, 2),
        parts=[PaidPart(payment, after, "Follow the Kelp")],
        left=after.left,
    )
    assert (document["kind"], document["amount"], document["left"]) == ("receipt", "200.00", "1000.00")
    assert document["paid"] == [
        {"number": "GL-2027-0001", "title": "Follow the Kelp", "amount": "200.00", "left": "1000.00"}
    ]
    text = printed(document)
    assert "£200.00" in text
    assert "£1,000.00" in text


def test_a_statement_runs_from_opening_to_closing(issue, studio, client):
    first = Issued.from_document(issue((1, "1000"), issued_on=date(2027, 3, 1)))
    second = Issued.from_document(issue((1, "50"), number="GL-2027-0002"))
    papers, payments = [first, second], [Payment(first.number, date(2027, 5, 20), Money(700, "GBP"))]
    since, until = date(2027, 5, 1), date(2027, 6, 30)
    opening, entries = statement_entries(papers, payments, "skerrow", "GBP", since, until)
    document = statement(
        studio=studio,
        client=client,
        first=since,
        last=until,
        opening=opening,
        entries=entries,
        open_ones=open_invoices(papers, payments, until),
    )
    assert (document["opening"], document["closing"], document["overdue"]) == ("1200.00", "560.00", "560.00")
    assert [(row["what"], row["charged"], row["paid"], row["balance"]) for row in document["entries"]] == [
        ("invoice", "60.00", "", "1260.00"),
        ("payment", "", "700.00", "560.00"),
    ]
    # both were due on 2027-06-09: 21 days late on 30 June
    assert document["aged"] == [{"label": "1-30", "amount": "560.00"}]
    assert "560.00" in printed(document)


def test_a_firm_reminder_asks_for_interest_and_compensation_with_the_working(issue, studio, client):
    paper = Issued.from_document(issue((1, "1000"), issued_on=date(2024, 1, 10), due_on=date(2024, 2, 9)))
    today = date(2024, 3, 30)
    state = balance(paper.owed, [])
    entry = Overdue(
        paper.owed,
        paper.gross,
        state,
        50,
        late_interest(paper.owed, [], today, country="GB", terms=LateTerms()),
        compensation(state.left, "GB"),
    )
    document = reminder(
        studio=studio, client=client, issued_on=today, pay_by=date(2024, 4, 6), step="firm", overdue=[entry]
    )
    assert document["invoices"][0]["open"] == "1200.00"
    # 13.25 % of 1,200 for 50 days of a year of 365: 21.7808
    assert (document["interest"]["amount"], document["interest"]["compensation"]) == ("21.78", "70.00")
    assert document["total"] == "1291.78"
    text = printed(document)
    assert "£1,291.78" in text
    assert "£1,200.00 at 13.25% a year, 10 February 2024 to 30 March 2024: 50 days. – A year has 365 days." in text
    assert "That makes £21.78. – The rate is 8 points over the Bank of England's of 31 December 2023 (5.25%)" in text
    assert "GBP" not in text.replace("All amounts in GBP", "")


def test_a_friendly_reminder_of_two_invoices_asks_for_them_only(issue, studio, client):
    papers = [Issued.from_document(issue((1, "1000"), number=f"GL-2027-000{n}")) for n in (1, 2)]
    overdue = [Overdue(paper.owed, paper.gross, balance(paper.owed, []), 3) for paper in papers]
    document = reminder(
        studio=studio,
        client=client,
        issued_on=date(2027, 6, 12),
        pay_by=date(2027, 6, 19),
        step="friendly",
        overdue=overdue,
    )
    assert (document["interest"], document["total"]) == (None, "2400.00")
    assert document["payment"]["reference"] == "GL-2027-0001, GL-2027-0002"
    assert "£2,400.00" in printed(document)


def test_invoice_credit_note_and_pro_forma_print_as_they_are(issue):
    at_home = tax_at_home(Money(20, "EUR"), "0.85", "GBP", source="tax office, May 2027", on=date(2027, 5, 1))
    invoice = issue((1, "100"), currency="EUR", tax_at_home=at_home)
    text = printed(invoice)
    assert "GL-2027-0001" in text
    assert "Tax in GBP: £17.00" in text
    note = credit_note(original=invoice, number="CN-2027-0001", issued_on=date(2027, 6, 1), reason="One day less")
    text = printed(note)
    assert "CN-2027-0001" in text
    assert "One day less" in text
    assert "€120.00" in text
    assert "This is not a tax invoice" in printed(issue((1, "100"), kind="pro_forma", number=""))
