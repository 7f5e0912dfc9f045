"""When a supply counts for tax."""

from datetime import date

import pytest

from bizkit.domain.billing.tax_point import tax_point
from bizkit.domain.errors import BadInput

WORK = date(2027, 5, 14)


def test_a_deposit_received_before_the_work_makes_a_tax_point_on_the_day_received():
    # HMRC manual VATTOS5105: a payment in advance of the basic tax point always creates one.
    assert tax_point(paid_on=date(2027, 3, 1), performed_on=WORK).on == date(2027, 3, 1)
    assert tax_point(paid_on=date(2027, 3, 1), invoiced_on=date(2027, 3, 9)).on == date(2027, 3, 1)


def test_an_invoice_before_the_work_makes_one_on_its_day():
    # VAT Act 1994 s. 6(4)
    assert tax_point(invoiced_on=date(2027, 2, 20), paid_on=date(2027, 3, 1)).on == date(2027, 2, 20)


@pytest.mark.parametrize(
    ("invoiced", "point"),
    [
        # VAT Act 1994 s. 6(5): the invoice's day up to 14 days after, else the day of performance
        (date(2027, 5, 14), date(2027, 5, 14)),
        (date(2027, 5, 28), date(2027, 5, 28)),
        (date(2027, 5, 29), WORK),
        (None, WORK),
    ],
)
def test_an_invoice_within_fourteen_days_after_moves_it(invoiced, point):
    assert tax_point(performed_on=WORK, invoiced_on=invoiced).on == point


def test_a_payment_after_the_work_does_not_make_one():
    # VATTOS5105: received after the basic tax point, it creates none.
    assert tax_point(performed_on=WORK, paid_on=date(2027, 5, 20), invoiced_on=date(2027, 5, 25)).on == date(
        2027, 5, 25
    )
    assert tax_point(performed_on=WORK, paid_on=date(2027, 5, 20)).on == WORK


def test_where_there_are_no_fourteen_days_performance_counts():
    assert tax_point(performed_on=WORK, invoiced_on=date(2027, 5, 20), days_after=0).on == WORK


def test_nothing_happened_yet_is_refused():
    with pytest.raises(BadInput, match="tax_point: wanted a day of performance"):
        tax_point()
