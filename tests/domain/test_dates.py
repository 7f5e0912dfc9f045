"""Terms end on the corresponding date; due dates count working days of the studio's own place."""

import calendar
from datetime import date, timedelta

import holidays
import pytest
import sqlalchemy
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as some

from bizkit.domain.dates import (
    ONE_DAY,
    add_working_days,
    days_through,
    iso_date,
    term_end,
    weekend,
    working_days_between,
)
from bizkit.domain.errors import BadInput

days = some.dates(min_value=date(1990, 1, 1), max_value=date(2090, 12, 31))
months = some.integers(min_value=1, max_value=240)


@pytest.mark.parametrize(
    ("start", "term", "end"),
    [
        # Dodds v Walker [1981] 1 WLR 1027, the corresponding-date rule; dateutil and PostgreSQL agree.
        ("2026-07-01", 12, "2027-06-30"),
        ("2026-01-31", 1, "2026-02-28"),
        ("2028-02-29", 12, "2029-02-28"),
        # The same rule by hand: the day before the same number, or the last day of a month that has no such day.
        ("2026-07-15", 1, "2026-08-14"),
        ("2026-08-31", 1, "2026-09-30"),
        ("2028-01-31", 1, "2028-02-29"),
        ("2028-01-29", 1, "2028-02-28"),
        ("2027-01-29", 1, "2027-02-28"),
        ("2026-03-01", 1, "2026-03-31"),
        ("2028-02-29", 48, "2032-02-28"),
        ("2026-12-01", 1, "2026-12-31"),
        ("2026-07-01", 120, "2036-06-30"),
    ],
)
def test_a_term_ends_the_day_before_the_corresponding_date(start, term, end):
    assert term_end(date.fromisoformat(start), term) == date.fromisoformat(end)


def test_the_notice_of_the_case_runs_out_on_the_thirtieth():
    # Dodds v Walker: notice of 30 September 1978, four months; the corresponding date is 30 January 1979, and
    # 31 January was a day too late (the dates of the case from memory). Our ends are inclusive of the first day, so
    # the corresponding date is the day after.
    assert term_end(date(1978, 9, 30), 4) + ONE_DAY == date(1979, 1, 30)


@pytest.mark.parametrize("day", [29, 30, 31])
def test_a_month_too_short_for_the_date_ends_the_term_on_its_last_day(day):
    # Lord Diplock's reading of the rule in the same case: where there is no corresponding date, the last day.
    assert term_end(date(1978, 10, day), 4) == date(1979, 2, 28)


@given(days, months)
def test_a_term_agrees_with_the_calendar(start, term):
    year, month = divmod(start.year * 12 + start.month - 1 + term, 12)
    length = calendar.monthrange(year, month + 1)[1]
    if start.day <= length:
        assert term_end(start, term) == date(year, month + 1, start.day) - ONE_DAY
    else:
        assert term_end(start, term) == date(year, month + 1, length)


@given(days, months)
def test_dateutil_counts_the_same_months_in_a_term(start, term):
    counted = relativedelta(term_end(start, term) + ONE_DAY, start)
    assert counted.years * 12 + counted.months == term
    assert counted.days in {0, 1, 2, 3}
    assert counted.days == 0 or (start.day > 28 and (term_end(start, term) + ONE_DAY).day == 1)


@given(days.filter(lambda day: day.day <= 28), months, months)
def test_terms_that_follow_each_other_leave_no_gap(start, first, second):
    assert term_end(term_end(start, first) + ONE_DAY, second) == term_end(start, first + second)


@given(days, months)
def test_a_longer_term_ends_later_and_a_later_start_never_ends_earlier(start, term):
    assert term_end(start, term) < term_end(start, term + 1)
    assert term_end(start, term) <= term_end(start + ONE_DAY, term)
    assert term_end(start, term) > start


def test_postgresql_ends_every_term_on_the_same_day(postgresql_url):
    # PostgreSQL's own month arithmetic over every start day of a leap and three common years.
    query = sqlalchemy.text("""
        SELECT start, term, CASE WHEN extract(day FROM reached) = extract(day FROM start)
                                 THEN reached - 1 ELSE reached END AS ends
        FROM (SELECT day::date AS start, term, (day + make_interval(months => term))::date AS reached
              FROM generate_series(timestamp '2026-01-01', timestamp '2029-12-31', interval '1 day') AS day,
                   unnest(ARRAY[1, 2, 3, 6, 11, 12, 13, 18, 24, 36, 48, 60, 120]) AS term) AS terms
    """)
    engine = sqlalchemy.create_engine(postgresql_url)
    with engine.connect() as connection:
        rows = connection.execute(query).all()
    engine.dispose()
    assert len(rows) == 1461 * 13
    assert [row for row in rows if term_end(row.start, row.term) != row.ends] == []


@pytest.mark.parametrize("term", [0, -1])
def test_a_term_of_less_than_a_month_is_refused(term):
    with pytest.raises(BadInput, match="months: wanted a term of one month or more"):
        term_end(date(2026, 7, 1), term)


@pytest.mark.parametrize("term", [120_000, 10**12])
def test_a_term_beyond_the_calendar_is_refused(term):
    with pytest.raises(BadInput, match="months: wanted a term that ends before the year 10000"):
        term_end(date(2026, 7, 1), term)


def days_off(calendar_of):
    return lambda day: weekend(day) or day in calendar_of


@pytest.fixture(scope="module")
def scotland():
    return holidays.country_holidays("GB", subdiv="SCT")


@pytest.fixture(scope="module")
def schleswig_holstein():
    return holidays.country_holidays("DE", subdiv="SH")


@pytest.mark.parametrize(
    ("start", "count", "place", "end"),
    [
        # Public holidays from memory of the official lists (gov.uk for Scotland, the Land's own law for
        # Schleswig-Holstein); counted by hand.
        ("2026-12-31", 1, "scotland", "2027-01-05"),  # 1 January, the weekend, 2 January kept on Monday the 4th
        ("2027-03-25", 1, "scotland", "2027-03-29"),  # Good Friday is off, Easter Monday is not
        ("2027-11-29", 1, "scotland", "2027-12-01"),  # St Andrew's Day
        ("2027-07-30", 1, "scotland", "2027-08-03"),  # the Scottish summer holiday is the first Monday of August
        ("2027-12-24", 1, "scotland", "2027-12-29"),  # Christmas on a Saturday, both days kept on Monday and Tuesday
        ("2027-05-21", 10, "scotland", "2027-06-07"),  # ten working days over the spring holiday, 31 May
        ("2027-03-25", 1, "schleswig_holstein", "2027-03-30"),  # Good Friday and Easter Monday
        ("2028-10-30", 1, "schleswig_holstein", "2028-11-01"),  # Reformation Day, a holiday there since 2018
        ("2028-10-02", 1, "schleswig_holstein", "2028-10-04"),  # German Unity Day
        ("2027-05-05", 2, "schleswig_holstein", "2027-05-10"),  # Ascension
        ("2027-05-10", -2, "schleswig_holstein", "2027-05-05"),
    ],
)
def test_due_dates_pass_over_the_holidays_of_the_place(start, count, place, end, request):
    off = days_off(request.getfixturevalue(place))
    assert add_working_days(date.fromisoformat(start), count, off) == date.fromisoformat(end)


near = some.dates(min_value=date(2025, 1, 1), max_value=date(2030, 12, 31))


@given(near, some.integers(-60, 60).filter(bool))
def test_the_holidays_library_counts_to_the_same_day_in_scotland(scotland, start, count):
    assert add_working_days(start, count, days_off(scotland)) == scotland.get_nth_working_day(start, count)


@given(near, some.integers(-60, 60).filter(bool))
def test_the_holidays_library_counts_to_the_same_day_in_schleswig_holstein(schleswig_holstein, start, count):
    off = days_off(schleswig_holstein)
    assert add_working_days(start, count, off) == schleswig_holstein.get_nth_working_day(start, count)


@given(near, some.integers(1, 200))
def test_the_holidays_library_finds_as_many_working_days_between(schleswig_holstein, start, length):
    end = start + timedelta(days=length)
    counted = schleswig_holstein.get_working_days_count(start + ONE_DAY, end)
    assert working_days_between(start, end, days_off(schleswig_holstein)) == counted


@given(near, some.integers(1, 60))
def test_working_days_added_are_working_days_between(start, count):
    assert working_days_between(start, add_working_days(start, count)) == count


def test_no_working_days_added_is_the_day_itself():
    assert add_working_days(date(2027, 6, 5), 0) == date(2027, 6, 5)


def test_nothing_lies_between_a_day_and_an_earlier_one():
    assert working_days_between(date(2027, 6, 7), date(2027, 6, 7)) == 0
    assert working_days_between(date(2027, 6, 7), date(2027, 6, 1)) == 0


def test_a_place_where_nobody_ever_works_is_refused():
    with pytest.raises(BadInput, match="holidays: wanted a working day within ten years"):
        add_working_days(date(2027, 6, 7), 1, lambda day: True)


def test_days_through_has_both_ends():
    assert list(days_through(date(2028, 2, 28), date(2028, 3, 1))) == [
        date(2028, 2, 28),
        date(2028, 2, 29),
        date(2028, 3, 1),
    ]
    assert list(days_through(date(2028, 3, 1), date(2028, 2, 28))) == []


@pytest.mark.parametrize(
    "text", ["03/05/2027", "2027-5-3", "2027-02-29", "soon", "", "20270503", "2027-W18-1", "2027-05-03T10:00"]
)
def test_text_that_is_no_date_is_refused(text):
    with pytest.raises(BadInput, match=r"brief\.toml: starts: wanted a date as YYYY-MM-DD"):
        iso_date(text, field="starts", where="brief.toml")


def test_a_date_is_read():
    assert iso_date("2028-02-29") == date(2028, 2, 29)
