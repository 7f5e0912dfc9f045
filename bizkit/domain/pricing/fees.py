"""Fees on top of the priced lines: rush uplift, contingency, minimum fee."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from bizkit.domain.dates import DayOff, working_days_between
from bizkit.domain.inputs.keys import Key
from bizkit.domain.money import Money, plain
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.sentences import COMMON, shown
from bizkit.domain.pricing.sums import OWN_WORK, section_sum
from bizkit.domain.pricing.working import Working

#: What a rush makes dearer: people's time.
RUSHED = ("crew", "post")
#: What a contingency is kept for.
AT_RISK = ("crew", "kit", "travel", "post")


@dataclass(frozen=True, slots=True)
class FeeTerms:
    """The card's [fees]. rush_working_days: notice under which a job counts as a rush. minimum: of a whole job."""

    minimum: Annotated[Money, Key("Least of a whole job.", usual=0)]
    rush_percent: Annotated[Decimal, Key("On crew and post where a job is a rush.", "percent")] = Decimal(0)
    rush_working_days: Annotated[int, Key("Shorter notice is a rush.", "working days", most=250)] = 0
    contingency_percent: Annotated[
        Decimal, Key("Of crew, kit, travel and post, for what nobody foresees.", "percent", most=100)
    ] = Decimal(0)


def rush_line(
    terms: FeeTerms,
    lines: Sequence[Line],
    words: Mapping[str, str],
    *,
    currency: str,
    rush: bool | None,
    asked_on: date | None,
    first_day: date | None,
    day_off: DayOff,
) -> Line | None:
    """The uplift on crew and post where the brief says `rush`, or the notice between asked_on and first_day (working
    days after the one, the other included) is shorter than the card's. `rush` false is never a rush.
    """
    if not terms.rush_percent or rush is False:
        return None
    why = "the brief says rush"
    if rush is None:
        if asked_on is None or first_day is None:
            return None
        notice = working_days_between(asked_on, first_day, day_off)
        if notice >= terms.rush_working_days:
            return None
        why = f"{notice} working days from {asked_on} to {first_day}, under {terms.rush_working_days}"
    base = section_sum(lines, RUSHED, currency)
    line = _percent_line(terms.rush_percent, base, "crew and post", words["rush"], "fees.rush", why)
    return line and line.as_share(terms.rush_percent, RUSHED)


def contingency_line(
    percent: Decimal, lines: Sequence[Line], words: Mapping[str, str], *, currency: str
) -> Line | None:
    """`percent` of crew, kit, travel and post."""
    if not percent:
        return None
    base = section_sum(lines, AT_RISK, currency)
    line = _percent_line(percent, base, "crew, kit, travel and post", words["contingency"], "fees.contingency", "")
    return line and line.as_share(percent, AT_RISK)


def minimum_line(minimum: Money, lines: Sequence[Line], words: Mapping[str, str]) -> Line | None:
    """What is missing to the minimum fee: crew, kit, post and fees together never cost less."""
    own = section_sum(lines, (*OWN_WORK, "fees"), minimum.currency)
    missing = minimum - own
    if missing.amount <= 0:
        return None
    text = f"crew, kit, post and fees are {own}, the minimum is {shown(minimum)}: {shown(missing)} more"
    inputs = (("minimum", minimum.text), ("own work", own.text))
    working = Working(text, "fees.minimum", missing, COMMON, inputs)
    return Line.flat("fees", words["minimum"], missing, working)


def _percent_line(percent: Decimal, base: Money, of: str, item: str, rule: str, why: str) -> Line | None:
    exact = base * (percent / 100)
    if not exact:
        return None
    text = f"{plain(percent)} % of {of}, {base} = {shown(exact)}" + (f" ({why})" if why else "")
    inputs = (("percent", plain(percent)), ("base", base.text))
    return Line.flat("fees", item, exact, Working(text, rule, exact, COMMON, inputs))
