"""What may be charged beyond the price of a quote, and what comes after an invoice: part of what is agreed."""

from __future__ import annotations

from typing import NotRequired, TypedDict


class HourBand(TypedDict):
    """Hours from (inclusive) to (exclusive, empty for no end), each at `factor` times the basic hour."""

    from_hours: str
    until_hours: str
    factor: str


class HourRate(TypedDict):
    """What an hour beyond the day costs for one person or role, by the bands of `Overtime`, net.

    hours: of work in their day.
    """

    who: str
    hours: str
    per_hour: list[str]


class Overtime(TypedDict):
    """Hours beyond the day. step_minutes: counted in started steps of this length.

    continuous_hours: of work in a day without a meal break, where the job has one; continuous_on: their dates known.
    """

    step_minutes: int
    bands: list[HourBand]
    rates: list[HourRate]
    continuous_hours: NotRequired[str]
    continuous_on: NotRequired[list[str]]


class HourPrice(TypedDict):
    """What each hour of a day by the hour costs for one person or role, net."""

    who: str
    hour: str


class LongerDays(TypedDict):
    """Days sold short: beyond so many hours (empty where there are none) they are whole days."""

    half_day_hours: str
    short_travel_hours: str
    by_hour: list[HourPrice]


class ShorterDay(TypedDict):
    """A call at or after this time has a day of so many hours only."""

    call: str
    hours: str


class Night(TypedDict):
    """Clock hours that cost so many percent of the basic hour more."""

    starts: str
    ends: str
    percent: str


class Rest(TypedDict):
    """Rest due between wrap and the next call; hours of it that are missing are paid by these bands."""

    hours: str
    bands: list[HourBand]


class DearDays(TypedDict):
    """Percent more of a crew day on these days, empty for none."""

    saturday: str
    sunday: str
    holiday: str


class NoticeRow(TypedDict):
    """From `least` to `most` days of notice (inclusive, None for no end): percent due by who cancels, postpones."""

    least: int
    most: int | None
    cancelled: str
    postponed: str


class Notice(TypedDict):
    """The scale by notice. counting: working or calendar days. counts_to: first_day or each_day.

    rows: empty where nothing is shot. after_moving: whether a day that the client moved, cancelled before its old
    date, costs no less than if cancelled when it moved. post_too: whether post-production done by then is due.
    """

    counting: str
    counts_notice_day: bool
    counts_to: str
    rows: list[NoticeRow]
    after_moving: NotRequired[bool]
    post_too: NotRequired[bool]


class HoldDays(TypedDict):
    """Days kept free for the weather. rate: of one, net. agreed: how many. most: of all of them, net.

    charge: used (each that is used), booked or expected (in the price already). unused_too: whether those not used
    are due as well where the job is cancelled. dearer: who bears a dearer date that the weather moves a day to,
    "client" or "studio", empty where none is dearer; absent on older quotes, which do not say it.
    """

    rate: str
    agreed: int
    most: str
    charge: str
    unused_too: NotRequired[bool]
    dearer: NotRequired[str]


class LatePayment(TypedDict):
    """What comes after the last day to pay. interest: statutory, contract or none; law: whose rate it is over.

    rate: percent a year, agreed. points: percent over the reference rate. compensation: fixed sums, by the debt.
    """

    interest: str
    law: str
    rate: str
    points: str
    rounding: str
    compensation: bool
    sums: list[str]
    suspends_licence: bool


class Paying(TypedDict):
    """How long an invoice may wait; see `domain.billing.payment.due_date`."""

    days: int
    counted_in: str


class Extras(TypedDict):
    """All that may be billed beyond the lines of a quote without asking again; None for what is not agreed."""

    overtime: Overtime | None
    longer_days: LongerDays | None
    shorter_day: ShorterDay | None
    night: Night | None
    rest: Rest | None
    dear_days: DearDays | None
    notice: Notice | None
    hold_days: HoldDays | None
    late: LatePayment | None
    paying: Paying
