"""What a job may come to beyond its quote, from the card it is priced by: said in the quote, so that it is agreed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bizkit.domain.billing.late import POINTS, late_law
from bizkit.domain.billing.payment import Terms
from bizkit.domain.documents.extras import (
    DearDays,
    Extras,
    HoldDays,
    HourBand,
    HourPrice,
    HourRate,
    LatePayment,
    LongerDays,
    Night,
    Notice,
    NoticeRow,
    Overtime,
    Rest,
    ShorterDay,
)
from bizkit.domain.money import Money, plain
from bizkit.domain.parties import Client, Studio
from bizkit.domain.payment_terms import CONTRACT, NONE
from bizkit.domain.pricing.bands import Ladder
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.cancellation import CancellationScale
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.crew_pay import NO_OVERTIME, RoleRate, role_rate
from bizkit.domain.pricing.crew_terms import CrewTerms
from bizkit.domain.pricing.estimate import Estimate
from bizkit.domain.pricing.sentences import in_hours
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS, ShootDay


def extras(studio: Studio, client: Client, card: RateCard, brief: Brief, estimate: Estimate) -> Extras:
    """Everything that may be billed beyond the lines of this quote without another yes.

    brief: with its options, whose days may bring further people. What the card does not know, or what cannot come
    about in this job, is None: overtime without a day, notice without a shoot or post-production.
    """
    everything = [brief.parts, *(one.parts for one in brief.options.values())]
    days = [day for parts in everything for day in parts.days]
    crewed = [day for day in days if day.crew and day.kind not in NO_OVERTIME]
    shoots, post = any(day.kind in SHOOT_KINDS for day in days), any(parts.post for parts in everything)
    crew, terms = card.crew, Terms.of(studio, client)
    return Extras(
        overtime=_overtime(card, brief, crewed, estimate.currency),
        longer_days=_longer_days(card, brief, days, estimate.currency),
        shorter_day=_shorter_day(crew) if crewed and crew.overtime.bands else None,
        night=_night(crew) if crewed else None,
        rest=Rest(hours=in_hours(crew.rest_minutes), bands=_bands(crew.rest)) if crewed and crew.rest.bands else None,
        dear_days=_dear_days(crew) if crewed else None,
        notice=notice(card.cancellation, shoots=shoots, post=post)
        if card.cancellation and (shoots or post)
        else None,
        hold_days=_hold_days(estimate, dear=bool(crewed) and _dear_days(crew) is not None),
        late=_late(studio, client, estimate.currency, licensed=any(parts.licence for parts in everything)),
        paying={"days": terms.days, "counted_in": terms.counted_in},
    )


def _overtime(card: RateCard, brief: Brief, days: Sequence[ShootDay], currency: str) -> Overtime | None:
    ladder = card.crew.overtime
    if not ladder.bands or not days:
        return None
    rates = [
        HourRate(
            who=role.title,
            hours=in_hours(role.lead.day_minutes),
            per_hour=[(hour * band.factor).rounded().text for band in ladder.bands],
        )
        for role, hour in _basic_hours(card, brief, days, currency)
    ]
    found = Overtime(step_minutes=card.crew.step_minutes, bands=_bands(ladder), rates=rates)
    continuous = [day for day in days if day.continuous]
    if continuous:
        found["continuous_hours"] = in_hours(card.crew.continuous_minutes)
        found["continuous_on"] = [on.isoformat() for day in continuous for on in day.dates()]
    return found


def _basic_hours(
    card: RateCard, brief: Brief, days: Sequence[ShootDay], currency: str
) -> Iterator[tuple[RoleRate, Money]]:
    """Each person's roles once, in the order of the brief, with the basic hour: the day rate by the hours it buys."""
    seen = set()
    for day in days:
        for entry in day.crew:
            if frozenset(entry.roles) in seen:
                continue
            seen.add(frozenset(entry.roles))
            role = role_rate(card.crew, entry.roles, card.words, field=entry.field, where=brief.where)
            hour = Money(role.rate.amount * 60 / role.lead.day_minutes, role.rate.currency)
            yield role, brief.exchange.money(hour, currency) if brief.exchange else hour


def _longer_days(card: RateCard, brief: Brief, days: Sequence[ShootDay], currency: str) -> LongerDays | None:
    crew = card.crew
    roles = [crew.roles[name] for day in days if day.half_day for entry in day.crew for name in entry.roles]
    travel = [day for day in days if day.kind == "travel" and not day.abroad and day.minutes is not None]
    short = any((day.minutes or 0) <= crew.short_travel_minutes for day in travel)
    hourly = [day for day in days if day.by_hour]
    if not (roles or short or hourly):
        return None
    return LongerDays(
        half_day_hours=in_hours(min(role.half_day_minutes for role in roles)) if roles else "",
        short_travel_hours=in_hours(crew.short_travel_minutes) if short else "",
        by_hour=[
            HourPrice(who=role.title, hour=hour.rounded().text)
            for role, hour in _basic_hours(card, brief, hourly, currency)
        ],
    )


def _bands(ladder: Ladder) -> list[HourBand]:
    return [
        HourBand(
            from_hours=in_hours(band.from_minutes),
            until_hours="" if band.until_minutes is None else in_hours(band.until_minutes),
            factor=plain(band.factor),
        )
        for band in ladder.bands
    ]


def _shorter_day(crew: CrewTerms) -> ShorterDay | None:
    if crew.late_call is None:
        return None
    return ShorterDay(call=f"{crew.late_call.start:%H:%M}", hours=in_hours(crew.late_call.minutes))


def _night(crew: CrewTerms) -> Night | None:
    if crew.night is None or not crew.night.percent:
        return None
    night = crew.night
    return Night(starts=f"{night.start:%H:%M}", ends=f"{night.end:%H:%M}", percent=plain(night.percent))


def _dear_days(crew: CrewTerms) -> DearDays | None:
    shares = (crew.saturday_percent, crew.sunday_percent, crew.holiday_percent)
    if not any(shares):
        return None
    saturday, sunday, holiday = (plain(share) if share else "" for share in shares)
    return DearDays(saturday=saturday, sunday=sunday, holiday=holiday)


def notice(scale: CancellationScale, *, shoots: bool, post: bool) -> Notice:
    """The two scales side by side: a row between any two days at which either of them changes; none without a shoot.

    post: whether post-production is quoted, which is due for what was done of it (common practice).
    """
    edges = sorted({step.notice_days for step in (*scale.cancel, *scale.postpone)}, reverse=True)
    rows = [
        NoticeRow(
            least=least,
            most=None if longer is None else longer - 1,
            cancelled=plain(scale.percent("cancel", least)),
            postponed=plain(scale.percent("postpone", least)),
        )
        for longer, least in zip([None, *edges], edges, strict=False)
    ]
    return Notice(
        counting=scale.counting,
        counts_notice_day=scale.counts_notice_day,
        counts_to=scale.counts_to,
        rows=rows if shoots else [],
        after_moving=shoots,
        post_too=post,
    )


def _hold_days(estimate: Estimate, *, dear: bool) -> HoldDays | None:
    plan = estimate.weather
    if plan is None:
        return None
    return HoldDays(
        rate=plan.hold_rate.rounded().text,
        agreed=plan.hold_days,
        most=(plan.hold_rate.rounded() * plan.hold_days).text,
        charge=plan.request.charge,
        unused_too=plan.request.charge == "booked",
        dearer=("studio" if plan.request.charge == "expected" else "client") if dear else "",
    )


def _late(studio: Studio, client: Client, currency: str, *, licensed: bool) -> LatePayment | None:
    """Statute knows it between businesses only: a consumer owes what the contract says.

    licensed: whether anything is licensed that could rest.
    """
    terms = studio.late
    interest = terms.interest if client.business or terms.interest == CONTRACT else NONE
    law, sums = late_law(studio.country, currency)
    if interest not in (CONTRACT, NONE) and not law:
        interest = NONE
    agreed = terms.compensation and client.business and bool(sums)
    suspends = terms.suspends_licence and licensed
    if interest == NONE and not agreed and not suspends:
        return None
    return LatePayment(
        interest=interest,
        law=law,
        rate=plain(terms.rate) if interest == CONTRACT and terms.rate is not None else "",
        points="" if interest in (CONTRACT, NONE) else plain(POINTS[law]),
        rounding=terms.rounding,
        compensation=agreed,
        sums=[money.text for money in sums] if agreed else [],
        suspends_licence=suspends,
    )
