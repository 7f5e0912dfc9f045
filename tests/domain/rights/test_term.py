"""Terms: corresponding dates, inclusive ends, and months counted for pricing."""

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.rights.term import OPEN_END, Term, months_in

days = st.dates(date(2020, 1, 1), date(2060, 12, 31))


# Dodds v Walker [1981] 1 WLR 1027: a period of months ends on the corresponding date, on the last day of the month
# where there is none; here the day before, as the first day counts and the end is inclusive.
@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        (date(2026, 7, 1), 12, date(2027, 6, 30)),
        (date(2026, 1, 31), 1, date(2026, 2, 28)),
        (date(2028, 2, 29), 12, date(2029, 2, 28)),
    ],
)
def test_months_run_to_the_corresponding_date(start, months, end):
    assert Term.months_from(start, months) == Term(start, end)


def test_an_end_before_the_start_is_refused():
    with pytest.raises(BadInput, match="term: wanted an end on or after 2026-07-01, got 2026-06-30"):
        Term(date(2026, 7, 1), date(2026, 6, 30))


def test_a_term_of_one_day_and_one_without_an_end():
    one = Term(date(2026, 7, 1), date(2026, 7, 1))
    assert date(2026, 7, 1) in one
    assert date(2026, 7, 2) not in one
    forever = Term(date(2026, 7, 1))
    assert forever.open
    assert OPEN_END in forever
    assert (one.text, forever.text) == ("2026-07-01..2026-07-01", "2026-07-01..")


def test_data_reads_back():
    for term in (Term(date(2026, 7, 1)), Term(date(2026, 7, 1), date(2026, 7, 9))):
        assert Term.from_data(term.data()) == term
    assert Term(date(2026, 7, 1)).data() == {"starts": "2026-07-01", "ends": ""}


def test_what_two_terms_share():
    year, half = Term(date(2026, 1, 1), date(2026, 12, 31)), Term(date(2026, 7, 1))
    assert year.meet(half) == Term(date(2026, 7, 1), date(2026, 12, 31))
    assert year.meet(Term(date(2027, 1, 1))) is None


@given(days, st.integers(1, 240))
def test_n_months_from_any_day_count_n(start, months):
    assert months_in(Term.months_from(start, months)) == months


@given(days, st.integers(0, 900), st.integers(1, 900))
def test_months_of_two_terms_that_join_add_up(start, first, second):
    middle, end = start + timedelta(days=first), start + timedelta(days=first + second)
    whole = months_in(Term(start, middle)) + months_in(Term(middle + timedelta(days=1), end))
    assert months_in(Term(start, end)) == whole


def test_a_week_of_february_is_a_quarter_of_a_month():
    assert months_in(Term(date(2027, 2, 8), date(2027, 2, 14))) == Fraction(1, 4)


def test_an_open_term_counts_to_the_end_of_the_calendar():
    assert months_in(Term(date(2027, 1, 1))) > 12 * 7900
