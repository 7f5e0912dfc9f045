"""Day bundles and retainers: days a client has bought ahead, drawn down job by job."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.inputs.keys import Given, Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.money import Money, plain, total
from bizkit.domain.pricing.crew_pay import Shape, day_pay, role_rate
from bizkit.domain.pricing.crew_terms import CrewTerms
from bizkit.domain.pricing.line import Line, Shares
from bizkit.domain.pricing.sentences import shown
from bizkit.domain.pricing.shoot_day import SHOOT_KINDS, ShootDay
from bizkit.domain.pricing.working import Working


@dataclass(frozen=True, slots=True)
class Deal:
    """A [deals.NAME] table of the card: crew days bought ahead by a client, for shoot days in the roles of `covers`,
    from starts to ends (both included; None: open).
    """

    key: Annotated[str, Given.NAME]
    title: Annotated[str, Key("What papers call it.", example="Kelp year")]
    client: Annotated[str, Key("Whose it is: the name of the client's file.")]
    days: Annotated[Decimal, Key("Days bought ahead.", "days", example=12)]
    covers: Annotated[
        frozenset[str],
        Key("Roles it is for.", written=tuple[str, ...], rule=frozenset, example=["director", "camera"]),
    ]
    starts: Annotated[date | None, Key("Its first day; without it any.")] = None
    ends: Annotated[date | None, Key("Its last day; without it any.")] = None

    def settled(self, at: Table) -> "Deal":
        """It does not end before it begins."""
        if self.starts and self.ends and self.ends < self.starts:
            at.problem("ends", f"a day on or after starts ({self.starts})", self.ends)
        return self


@dataclass(frozen=True, slots=True)
class Draw:
    """What a job takes from a deal: days drawn, days of the deal left after, days wanted beyond it."""

    drawn: Decimal
    left: Decimal
    beyond: Decimal
    text: str


def draw(deal: Deal, *, wanted: Decimal, used_before: Decimal, on: date | None = None) -> Draw:
    """Draws `wanted` days, as far as the deal has them. on: the day they are worked, None while it is open.

    Raises RuleBroken outside the deal's dates, BadInput when more was used before than was bought.

    >>> deal = Deal("year", "Kelp year", "skerrow", Decimal(12), frozenset({"director"}), None, None)
    >>> draw(deal, wanted=Decimal(5), used_before=Decimal(9)).text
    'Kelp year: 12 days bought, 9 used before, 3 drawn now, 0 left; 2 beyond it'
    """
    if used_before < 0 or used_before > deal.days:
        raise BadInput(
            wanted=f"0 to {plain(deal.days)} days used before", got=plain(used_before), field=f"deals.{deal.key}"
        )
    if on and ((deal.starts and on < deal.starts) or (deal.ends and on > deal.ends)):
        raise RuleBroken(
            f"{deal.title} runs from {deal.starts or 'any day'} to {deal.ends or 'any day'}, the job is on {on}: "
            "leave [deal] out of the brief, or agree new dates on the card"
        )
    drawn = min(wanted, deal.days - used_before)
    left, beyond = deal.days - used_before - drawn, wanted - drawn
    text = (
        f"{deal.title}: {plain(deal.days)} days bought, {plain(used_before)} used before, {plain(drawn)} drawn now, "
        f"{plain(left)} left"
    )
    return Draw(drawn, left, beyond, text + (f"; {plain(beyond)} beyond it" if beyond else ""))


@dataclass(frozen=True, slots=True)
class DealRequest:
    """The [deal] table of a brief: the deal's name and the most days to draw (None: as many as it covers)."""

    name: Annotated[str, Key("Name of the deal on the card.", example="kelp_year")]
    where: Annotated[str, Given.FILE]
    days: Annotated[Decimal | None, Key("The most to draw; without it as many as it covers.", "days")] = None
    used_before: Annotated[Decimal, Key("Used before the first job in the book.", "days")] = Decimal(0)


def deal_line(
    deals: Mapping[str, Deal],
    request: DealRequest,
    terms: CrewTerms,
    days: Sequence[ShootDay],
    words: Mapping[str, str],
    *,
    client: str,
) -> Line | None:
    """The credit for crew days already paid: the plain pay of the first water and dry days in covered roles.

    Overtime, uplifts, kit and costs of those days are still charged. Raises NotFound for an unknown deal, RuleBroken
    for another client's.
    """
    if request.name not in deals:
        raise NotFound("deal", request.name, deals, field="deal.name", where=request.where)
    deal = deals[request.name]
    if client != deal.client:
        raise RuleBroken(f"{deal.title} belongs to {deal.client}, this brief is for {client}: leave [deal] out")
    found = _covered(deal, terms, days, words, request.where)
    covered = [pay for _, pay, _ in found]
    dates = [on for _, _, on in found if on]
    wanted = Decimal(len(covered)) if request.days is None else min(Decimal(len(covered)), request.days)
    # Whole days only: half a day left in the deal stays there.
    wanted = Decimal(int(min(wanted, max(deal.days - request.used_before, Decimal(0)))))
    taken = draw(deal, wanted=wanted, used_before=request.used_before, on=min(dates) if dates else None)
    whole = int(taken.drawn)
    if not whole:
        return None
    exact = -total(covered[:whole], covered[0].currency)
    text = f"{taken.text}; {whole} crew days already paid = {shown(exact)}"
    inputs = (("days drawn", str(whole)), ("days left", plain(taken.left)))
    item = words["deal"].replace("{deal}", deal.title)
    return Line.flat("discount", item, exact, Working(text, "discount.deal", exact, inputs=inputs))


def deal_shares(
    deals: Mapping[str, Deal],
    request: DealRequest,
    terms: CrewTerms,
    days: Sequence[ShootDay],
    words: Mapping[str, str],
    drawn: Decimal,
) -> Shares | None:
    """Which single days the `deal_line` of a quote that drew `drawn` days is for; None for a deal the card lacks."""
    deal = deals.get(request.name)
    if deal is None:
        return None
    weights: dict[int, Decimal] = {}
    for place, pay, _ in _covered(deal, terms, days, words, request.where)[: int(drawn)]:
        weights[place] = weights.get(place, Decimal(0)) + pay.amount
    return Shares("discount", words["deal"].replace("{deal}", deal.title), weights)


def _covered(
    deal: Deal, terms: CrewTerms, days: Sequence[ShootDay], words: Mapping[str, str], where: str
) -> list[tuple[int, Money, date | None]]:
    """Each crew day in a covered role: position of the day, its plain pay, its date."""
    found: list[tuple[int, Money, date | None]] = []
    position = 0
    for day in days:
        places = range(position + 1, position + day.count + 1)
        position += day.count
        if day.kind not in SHOOT_KINDS or day.half_day or day.by_hour:
            continue
        for entry in day.crew:
            if frozenset(entry.roles) <= deal.covers:
                role = role_rate(terms, entry.roles, words, field=entry.field, where=where)
                pay = day_pay(terms, role, Shape(day.kind, None, "day", role.lead.day_minutes)).amount
                for place, on in zip(places, day.dates() or [None] * day.count, strict=True):
                    found += [(place, pay, on)] * entry.people
    return found
