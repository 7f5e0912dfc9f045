"""Calendars, read back by the icalendar library."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.exchange.calendar import CANCELLED, TENTATIVE, Event, calendar

MADE = datetime(2027, 3, 1, 12, 0, tzinfo=UTC)


def read(*events):
    return list(icalendar.Calendar.from_ical(calendar("Follow the Kelp", events, made_at=MADE)).walk("VEVENT"))


def test_a_shoot_day_is_a_whole_day_and_its_end_is_the_day_after():
    # RFC 5545 3.6.1: DTEND of an all-day event is not part of it.
    (found,) = read(Event("kelp/day/1", "Snorkel trail", date(2027, 5, 10), date(2027, 5, 12), place="South beach"))
    assert found.decoded("DTSTART") == date(2027, 5, 10)
    assert found.decoded("DTEND") == date(2027, 5, 13)
    assert str(found["LOCATION"]) == "South beach"
    assert str(found["STATUS"]) == "CONFIRMED"


def test_a_hold_day_is_tentative_and_a_day_called_off_frees_the_calendar():
    hold, off = read(
        Event("1", "Hold day", date(2027, 5, 13), status=TENTATIVE, sequence=2),
        Event("2", "Sauna", date(2027, 5, 14), status=CANCELLED),
    )
    assert (str(hold["STATUS"]), int(hold["SEQUENCE"]), str(hold["TRANSP"])) == ("TENTATIVE", 2, "OPAQUE")
    assert (str(off["STATUS"]), str(off["TRANSP"])) == ("CANCELLED", "TRANSPARENT")


def test_a_time_is_written_in_utc():
    starts = datetime(2027, 5, 10, 8, 30, tzinfo=ZoneInfo("Europe/London"))
    (found,) = read(Event("1", "Call", starts=starts, ends=starts + timedelta(hours=10)))
    assert found.decoded("DTSTART") == starts
    assert found.decoded("DTEND") - found.decoded("DTSTART") == timedelta(hours=10)


def test_reminders_links_and_categories():
    (found,) = read(
        Event(
            "1",
            "Licence ends",
            date(2028, 6, 30),
            link="https://example.com/a",
            categories=("ends", "a,b"),
            remind_days=(90, 30),
        )
    )
    assert [alarm.decoded("TRIGGER") for alarm in found.walk("VALARM")] == [timedelta(days=-90), timedelta(days=-30)]
    assert str(found["URL"]) == "https://example.com/a"
    assert found["CATEGORIES"].cats == ["ends", "a,b"]


def test_lines_are_folded_at_75_bytes_and_end_with_crlf():
    data = calendar("x", [Event("1", "Möwen über dem Tang, " * 30, date(2027, 5, 10))], made_at=MADE)
    assert data.endswith(b"END:VCALENDAR\r\n")
    for line in data.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")


@settings(max_examples=80)
@given(st.text(st.characters(blacklist_categories=["Cs"]), min_size=1, max_size=90).filter(str.strip))
def test_any_text_comes_back_as_it_was(text):
    (found,) = read(Event("1", text, date(2027, 5, 10), text=text))
    wanted = text.replace("\r\n", "\n").replace("\r", "\n")
    wanted = "".join(sign for sign in wanted if sign == "\n" or (sign >= " " and sign != "\x7f"))
    assert str(found["DESCRIPTION"]) == wanted


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Event("", "x", date(2027, 5, 10)), "wanted a uid and a title"),
        (lambda: Event("1", "x"), "x: wanted days or times, got neither"),
        (lambda: Event("1", "x", date(2027, 5, 10), starts=MADE), "x: wanted days or times, got both"),
        (lambda: Event("1", "x", date(2027, 5, 10), date(2027, 5, 9)), "x: wanted an end on or after 2027-05-10"),
        (lambda: Event("1", "x", starts=datetime(2027, 5, 10)), "x: wanted a time with its zone"),
        (lambda: Event("1", "x", date(2027, 5, 10), status="MAYBE"), "event.status: wanted one of"),
        (lambda: Event("1", "x", starts=MADE, ends=MADE - timedelta(1)), "x: wanted an end after"),
        (
            lambda: read(Event("1", "x", date(2027, 5, 10)), Event("1", "y", date(2027, 5, 10))),
            "wanted a uid used once",
        ),
        (lambda: read(Event("1", "x", date(2027, 5, 10), link="javascript:\nx")), "link: wanted an address such as"),
    ],
)
def test_what_cannot_be_an_event_is_refused(make, message):
    with pytest.raises(BadInput, match=message):
        make()
