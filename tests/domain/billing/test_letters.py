"""Receipts, statements and reminders as documents."""

from datetime import date

from bizkit.domain.billing.debtors import open_invoices, statement_entries
from bizkit.domain.billing.late import compensation, late_interest
from bizkit.domain.billing.letters import receipt, reminder, statement
from bizkit.domain.billing.payment import Payment, balance, check_payment
from bizkit.domain.billing.records import Issued
from bizkit.domain.billing.reminders import next_reminder
from bizkit.domain.money import Money
from bizkit.domain.payment_terms import LADDER, LateTerms


def test_a_receipt_says_what_is_left(issue, studio, client):
    paper = Issued.from_document(issue((1, "1000")))
    payment = Payment(paper.number, date(2027, 6, 1), Money(200, "GBP"), reference="bank 7")
    after = check_payment(paper.owed, payment, balance(paper.owed, []))
    document = receipt(
        studio=studio, client=client, issued_on=date(2027, 6, 2), payment=payment, balance=after, logo_sha256="ab"
    )
    assert (document["kind"], document["amount"], document["left"], document["state"]) == (
        "receipt",
        "200.00",
        "1000.00",
        "part paid",
    )
    assert document["studio"]["logo"] == "ab"


def test_a_statement_runs_from_opening_to_closing(issue, studio, client):
    first = Issued.from_document(issue((1, "1000"), issued_on=date(2027, 3, 1)))
    second = Issued.from_document(issue((1, "50"), number="GL-2027-0002"))
    papers, payments = [first, second], [Payment(first.number, date(2027, 5, 20), Money(700, "GBP"))]
    since, until = date(2027, 5, 1), date(2027, 6, 30)
    opening, entries = statement_entries(papers, payments, "skerrow", "GBP", since, until)
    document = statement(
        studio=studio,
        client=client,
        issued_on=until,
        first=since,
        last=until,
        opening=opening,
        entries=entries,
        open_ones=open_invoices(papers, payments, until),
    )
    assert (document["opening"], document["closing"]) == ("1200.00", "560.00")
    assert [(entry["kind"], entry["amount"], entry["balance"]) for entry in document["entries"]] == [
        ("invoice", "60.00", "1260.00"),
        ("payment", "-700.00", "560.00"),
    ]
    # GL-2027-0001 was due on 2027-06-09 by the fixture, GL-2027-0002 too: 21 days late on 30 June
    assert document["ages"] == {
        "not due": "0.00",
        "1-30": "560.00",
        "31-60": "0.00",
        "61-90": "0.00",
        "over 90": "0.00",
    }


def test_a_firm_reminder_asks_for_interest_and_compensation_with_the_working(issue, studio, client):
    paper = Issued.from_document(issue((1, "1000"), issued_on=date(2024, 1, 10), due_on=date(2024, 2, 9)))
    today = date(2024, 3, 30)
    state = balance(paper.owed, [])
    step = next_reminder(LADDER, paper.due_on, state.left, [("friendly", date(2024, 2, 13))], today)
    interest = late_interest(paper.owed, [], today, country="GB", terms=LateTerms())
    document = reminder(
        studio=studio,
        client=client,
        issued_on=today,
        pay_by=date(2024, 4, 6),
        owed=paper.owed,
        balance=state,
        step=step,
        interest=interest,
        compensation=compensation(state.left, "GB"),
    )
    assert (document["step"], document["days_late"], document["left"]) == ("firm", 50, "1200.00")
    # 13.25 % of 1,200 for 50 days of a year of 365: 21.7808
    assert (document["interest"], document["compensation"], document["total"]) == ("21.78", "70.00", "1291.78")
    assert "50 days" in document["working"]["parts"][0]["text"]
    assert document["payment"]["reference"] == "GL-2027-0001"


def test_a_friendly_reminder_asks_for_the_invoice_only(issue, studio, client):
    paper = Issued.from_document(issue((1, "1000")))
    step = next_reminder(LADDER, paper.due_on, paper.due, [], date(2027, 6, 12))
    document = reminder(
        studio=studio,
        client=client,
        issued_on=date(2027, 6, 12),
        pay_by=date(2027, 6, 19),
        owed=paper.owed,
        balance=balance(paper.owed, []),
        step=step,
    )
    assert (document["interest"], document["compensation"], document["total"]) == ("0.00", "0.00", "1200.00")
    assert document["working"] is None
