"""Calendars: shoot days, holds, deadlines and ends of licences as an iCalendar file.

Written here rather than with a library: only all-day and timed events and to-dos are needed, and the library then
checks what we wrote from outside, in the tests. Source: RFC 5545 (form, folding at 75 bytes, escaping), RFC 7986
(colour and name of a calendar left out: not read everywhere).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Final

from bizkit.domain.errors import BadInput

CONFIRMED: Final = "CONFIRMED"
TENTATIVE: Final = "TENTATIVE"
CANCELLED: Final = "CANCELLED"
_STATUSES: Final = (CONFIRMED, TENTATIVE, CANCELLED)


@dataclass(frozen=True, slots=True)
class Event:
    """One entry. Days from `first` to `last`, both included; or a time from `starts` to `ends`, each with its zone.

    uid: the same for the same thing for ever, so that a calendar replaces rather than doubles it. sequence: higher
    after each change of dates. status: a hold day is TENTATIVE. remind_days: days before on which to be reminded.
    """

    uid: str
    title: str
    first: date | None = None
    last: date | None = None
    starts: datetime | None = None
    ends: datetime | None = None
    text: str = ""
    place: str = ""
    link: str = ""
    status: str = CONFIRMED
    sequence: int = 0
    categories: tuple[str, ...] = ()
    remind_days: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        if not self.uid.strip() or not self.title.strip():
            raise BadInput(wanted="a uid and a title", got=self.title or self.uid, field="event")
        if self.status not in _STATUSES:
            raise BadInput(wanted=f"one of {', '.join(_STATUSES)}", got=self.status, field="event.status")
        if (self.first is None) == (self.starts is None):
            raise BadInput(wanted="days or times", got="both" if self.first else "neither", field=self.title)
        if self.first is not None and self.last is not None and self.last < self.first:
            raise BadInput(wanted=f"an end on or after {self.first}", got=self.last, field=self.title)
        for moment in (self.starts, self.ends):
            if moment is not None and moment.tzinfo is None:
                raise BadInput(wanted="a time with its zone", got=moment, field=self.title)
        if self.starts is not None and self.ends is not None and self.ends < self.starts:
            raise BadInput(wanted=f"an end after {self.starts}", got=self.ends, field=self.title)


def calendar(name: str, events: Iterable[Event], *, made_at: datetime) -> bytes:
    """The calendar as UTF-8. made_at: with its zone. Raises BadInput for two events with the same uid."""
    if made_at.tzinfo is None:
        raise BadInput(wanted="a time with its zone", got=made_at, field="made_at")
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//bizkit//bizkit//EN",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"X-WR-CALNAME:{_text(name)}",
    ]
    seen: set[str] = set()
    for event in events:
        if event.uid in seen:
            raise BadInput(wanted="a uid used once", got=event.uid, field="event.uid")
        seen.add(event.uid)
        lines += _event(event, _moment(made_at))
    lines.append("END:VCALENDAR")
    return b"".join(_folded(line) for line in lines)


def _event(event: Event, stamp: str) -> Sequence[str]:
    lines = ["BEGIN:VEVENT", f"UID:{_text(event.uid)}", f"DTSTAMP:{stamp}", f"SEQUENCE:{event.sequence}"]
    if event.first is not None:
        last = event.last or event.first
        lines.append(f"DTSTART;VALUE=DATE:{event.first:%Y%m%d}")
        # The end of an all-day event is the day after its last: RFC 5545 3.6.1.
        lines.append(f"DTEND;VALUE=DATE:{last + timedelta(days=1):%Y%m%d}")
        lines.append("TRANSP:TRANSPARENT" if event.status == CANCELLED else "TRANSP:OPAQUE")
    elif event.starts is not None:
        lines.append(f"DTSTART:{_moment(event.starts)}")
        if event.ends is not None:
            lines.append(f"DTEND:{_moment(event.ends)}")
    lines.append(f"SUMMARY:{_text(event.title)}")
    lines.append(f"STATUS:{event.status}")
    if event.text:
        lines.append(f"DESCRIPTION:{_text(event.text)}")
    if event.place:
        lines.append(f"LOCATION:{_text(event.place)}")
    if event.link:
        lines.append(f"URL:{_uri(event.link)}")
    if event.categories:
        lines.append("CATEGORIES:" + ",".join(_text(category) for category in event.categories))
    for days in event.remind_days:
        lines += [
            "BEGIN:VALARM",
            "ACTION:DISPLAY",
            f"DESCRIPTION:{_text(event.title)}",
            f"TRIGGER:-P{days}D",
            "END:VALARM",
        ]
    lines.append("END:VEVENT")
    return lines


def _moment(moment: datetime) -> str:
    return f"{moment.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def _text(value: str) -> str:
    """Escaped by RFC 5545 3.3.11; control characters, which no calendar takes, are dropped."""
    value = value.replace("\r\n", "\n").replace("\r", "\n")
    value = value.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")
    return "".join(sign for sign in value if sign >= " " and sign != "\x7f")


def _uri(value: str) -> str:
    if any(sign <= " " or sign in '"<>\\^`{|}\x7f' for sign in value):
        raise BadInput(wanted="an address such as https://example.com/job", got=value, field="link")
    return value


def _folded(line: str) -> bytes:
    """Cut into pieces of at most 75 bytes, each but the first begun by a space, never inside a character."""
    whole = line.encode("utf-8", "replace")
    if len(whole) <= 75:
        return whole + b"\r\n"
    pieces, piece, room = [], b"", 75
    for sign in line:
        encoded = sign.encode("utf-8", "replace")
        if len(piece) + len(encoded) > room:
            pieces.append(piece)
            piece, room = b"", 74
        piece += encoded
    pieces.append(piece)
    return b"\r\n ".join(pieces) + b"\r\n"
