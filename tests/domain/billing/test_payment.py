"""Due dates, payments and balances."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.billing.payment import (
    OVERPAID,
    PAID,
    PART_PAID,
    Owed,
    Payment,
    Terms,
    balance,
    check_payment,
    due_date,
    spread,
)
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money

OWED = Owed("GL-2027-0001", date(2027, 5, 10), date(2027, 6, 9), Money("1455.49", "GBP"))


def gbp(text):
    return Money(text, "GBP")


def pay(amount, day=date(2027, 6, 1), **more):
    return Payment("GL-2027-0001", day, gbp(amount), **more)


@pytest.mark.parametrize(
    ("issued", "days", "counted", "due"),
    [
        # arithmetic on the calendar; 2027-05-10 is a Monday
        (date(2027, 5, 10), 30, "days", date(2027, 6, 9)),
        (date(2027, 5, 10), 0, "days", date(2027, 5, 10)),
        (date(2027, 5, 7), 1, "working_days", date(2027, 5, 10)),
        (date(2027, 5, 10), 10, "working_days", date(2027, 5, 24)),
        (date(2027, 5, 10), 0, "days_after_month_end", date(2027, 5, 31)),
        (date(2028, 2, 10), 0, "days_after_month_end", date(2028, 2, 29)),
        (date(2027, 12, 31), 30, "days_after_month_end", date(2028, 1, 30)),
    ],
)
def test_due_dates_by_terms(issued, days, counted, due):
    assert due_date(issued, days, counted) == due


def test_terms_are_the_clients_own_or_the_studios(studio, client):
    assert Terms.of(studio, client).text == "30 days"
    slow = replace(client, payment_days=45, payment_counted_in="days_after_month_end")
    assert Terms.of(studio, slow).text == "45 days after the month end"
    assert Terms.of(studio, replace(client, payment_days=0)).text == "on receipt"
    assert (
        Terms.of(studio, replace(client, payment_days=1, payment_counted_in="working_days")).text == "1 working day"
    )


def test_a_wrong_way_of_counting_is_refused():
    with pytest.raises(BadInput, match="wanted one of days, working_days, days_after_month_end, got moons"):
        due_date(date(2027, 5, 10), 3, "moons")


def test_partly_paid_then_paid_then_over():
    state = balance(OWED, [])
    assert (state.left.text, state.state) == ("1455.49", "open")
    state = check_payment(OWED, pay("1000"), state)
    assert (state.left.text, state.state) == ("455.49", PART_PAID)
    state = check_payment(OWED, pay("455.49"), state)
    assert (state.left.text, state.state) == ("0.00", PAID)
    with pytest.raises(RuleBroken, match=r"GBP 1.00 is more than the GBP 0.00 that is left"):
        check_payment(OWED, pay("1"), state)
    state = check_payment(OWED, pay("1"), state, accept_over=True)
    assert (state.left.text, state.state) == ("-1.00", OVERPAID)
    assert check_payment(OWED, pay("-1"), state).state == PAID
    assert balance(OWED, [pay("1000"), pay("455.49"), pay("1")]) == state


def test_a_credit_note_counts_and_its_refund_may_go_out():
    paid = balance(OWED, [pay("1455.49")], [gbp("200")])
    assert (paid.left.text, paid.state) == ("-200.00", OVERPAID)
    assert check_payment(OWED, pay("-200"), paid).left.text == "0.00"
    with pytest.raises(RuleBroken, match=r"a refund of GBP 1455\.50 is more than"):
        check_payment(OWED, pay("-1455.50"), paid)


@pytest.mark.parametrize(
    ("payment", "error", "message"),
    [
        (pay("10", date(2027, 5, 9)), RuleBroken, "issued on 2027-05-10, the payment came on 2027-05-09"),
        (
            Payment("GL-2027-0001", date(2027, 6, 1), Money(10, "EUR")),
            RuleBroken,
            "is in GBP, the payment in EUR",
        ),
        (pay("0"), BadInput, "wanted an amount other than zero"),
        (pay("1.005"), BadInput, "wanted whole minor units of GBP"),
        (pay("10", fee=gbp("-1")), BadInput, "wanted a bank fee of zero or more"),
    ],
)
def test_a_payment_that_cannot_be_is_refused(payment, error, message):
    with pytest.raises(error, match=message) as refused:
        check_payment(OWED, payment, balance(OWED, []))
    assert "\n" not in str(refused.value)


def test_what_the_bank_gave_for_foreign_money_is_kept():
    payment = Payment("GL-1", date(2027, 6, 1), Money(1000, "EUR"), gbp("5"), gbp("840"))
    assert payment.exchange_rate == Decimal("0.84")


def test_one_sum_settles_several_invoices_longest_due_first():
    later = Owed("GL-2027-0003", date(2027, 5, 20), date(2027, 6, 19), gbp("100"))
    parts, over = spread(gbp("1500"), [(later, gbp("100")), (OWED, gbp("1455.49"))])
    assert [(owed.number, part.text) for owed, part in parts] == [
        ("GL-2027-0001", "1455.49"),
        ("GL-2027-0003", "44.51"),
    ]
    assert over.text == "0.00"
    _, over = spread(gbp("1600"), [(later, gbp("100")), (OWED, gbp("1455.49"))])
    assert over.text == "44.51"
    with pytest.raises(RuleBroken, match="is in EUR, the payment in GBP"):
        spread(gbp("10"), [(later, Money("100", "EUR"))])
