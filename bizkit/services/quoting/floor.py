"""The price below which the studio loses money, and what a quote leaves over it. For the studio's eyes only."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from decimal import Decimal
from typing import TYPE_CHECKING, NotRequired, TypedDict

from bizkit.domain.errors import BadInput, BizkitError
from bizkit.domain.money import plain
from bizkit.domain.pricing.floor import MarginData
from bizkit.services.studio.file_kind import read_as
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.on_file import QuoteOnFile
    from bizkit.domain.pricing.brief import Brief
    from bizkit.domain.pricing.card import RateCard
    from bizkit.domain.pricing.estimate import Estimate
    from bizkit.domain.pricing.floor import Floor
    from bizkit.domain.pricing.working import WorkingData
    from bizkit.store.issued import IssuedQuote

#: The file with a year of the studio: costs, wanted income, set-asides, days really sold.
FILE = "floor.toml"


def read_floor(folder: StudioFolder) -> Floor | None:
    """The break-even day rate of floor.toml, in its `currency` or the studio's own; None without the file."""
    from bizkit.domain.inputs.reading import read_input
    from bizkit.domain.pricing.floor import FloorTerms
    from bizkit.services.studio.toml_file import read_toml

    if not (folder.path / FILE).is_file():
        return None
    file = read_toml(folder.path / FILE, "the studio's year")
    currency = folder.studio.currency
    with read_as("floor", file):
        return read_input(FloorTerms, file.tree, where=file.name, currency=currency).floor()


def show_floor(folder: StudioFolder) -> FloorShown:
    """The break-even day rate with its working, and the card's roles that fall below it.

    Raises BadInput without a floor.toml, or when it is in another currency than the rate card.
    """
    floor = read_floor(folder)
    if floor is None:
        raise BadInput(
            wanted=f"{FILE} with the studio's year",
            got="no such file",
            where=str(folder.path),
            hint="Write income, tax_percent, billable_days and [costs] into it: see README",
        )
    card, currency = folder.card, floor.rate_per_day.currency
    if card.currency != currency:
        raise BadInput(
            wanted=f"{card.currency}, the currency of the rate card", got=currency, field="currency", where=FILE
        )
    roles = {key: role.day_rate for key, role in card.crew.roles.items()}
    return {
        "currency": currency,
        "rate_per_day": floor.rate_per_day.text,
        "yearly": floor.yearly.text,
        "billable_days": plain(floor.billable_days),
        "working": floor.working.data(),
        "roles": len(roles),
        "roles_below": [
            {
                "role": below.role,
                "title": card.crew.roles[below.role].title,
                "rate_per_day": below.rate_per_day.text,
                "short_by": below.short_by.text,
            }
            for below in floor.roles_below(roles)
        ],
    }


def floor_as_sent(folder: StudioFolder, work: Connection, quote: IssuedQuote) -> Floor | None:
    """The floor by which a quote was sent, kept with the sending; None where there was none.

    For a quote from a time when it was not kept it is today's, None where that cannot be read.
    """
    from bizkit.domain.pricing.floor import Floor
    from bizkit.store.events import history

    accepted = quote.document.get("accepted")
    sent_as = accepted["of_revision"] if accepted else quote.revision
    for event in history(work, quote.key):
        data = event.data
        if event.verb == "sent" and (data.get("number"), data.get("revision")) == (quote.number, sent_as):
            if "floor" in data:
                return Floor.of_data(data["floor"]) if data["floor"] else None
            break
    with suppress(BizkitError):
        return read_floor(folder)
    return None


def margins(
    folder: StudioFolder, floor: Floor | None, card: RateCard, brief: Brief, estimate: Estimate
) -> Margins | None:
    """What a priced brief leaves the studio over a floor, plain and with weather risk; None without one.

    With choices left open, each is weighed; `warning` is of the first one under the floor. A quote in a currency that
    the floor cannot be converted to says so in `warning`.
    """
    if floor is None:
        return None
    converted = floor_in(floor, card, brief, estimate.currency)
    if converted is None:
        why = f"the floor is in {floor.rate_per_day.currency}, the quote in {estimate.currency}: no margin is known"
        return {"margin": None, "with_weather": None, "choices": [], "below_floor": False, "warning": why}
    base, *others = [_margin(folder, converted, card, *each) for each in _offers(folder, card, brief, estimate)]
    low = next((one for one in (base, *others) if one["margin"]["below_floor"]), None)
    weather = base["with_weather"]
    warning = low["margin"]["warning"] if low else ""
    if low and low["choice"]:
        warning = f"option {low['choice']}: {warning}"
    if not warning and weather and weather["below_floor"]:
        warning = "on average the weather takes it " + weather["warning"].partition(". Charge")[0]
    return {**base, "choices": others, "below_floor": low is not None, "warning": warning}


def margins_of_texts(
    folder: StudioFolder,
    floor: Floor | None,
    brief_text: str,
    brief_file: str,
    card_text: str,
    document: QuoteOnFile,
    options: tuple[str, ...] = (),
) -> Margins | None:
    """The same for a draft or a sent quote, from the texts it was priced from.

    None for a quote that its brief does not price to, such as the renewal of a licence: what it takes is not known.
    """
    if floor is None:
        return None
    from bizkit.domain.pricing.estimate import price
    from bizkit.domain.pricing.options import choose
    from bizkit.services.job.basis import read_basis
    from bizkit.services.quoting.pricing import with_deal_use

    card, brief, _ = read_basis(folder, brief_text, brief_file, card_text, document)
    brief = with_deal_use(folder, brief)
    if options:
        brief = choose(brief, options)
    try:
        estimate = price(card, brief, day_off=folder.day_off, holiday=folder.holiday)
    except BizkitError:
        return None
    return margins(folder, floor, card, brief, estimate) if estimate.net.text == document["net"] else None


def _offers(
    folder: StudioFolder, card: RateCard, brief: Brief, estimate: Estimate
) -> Iterator[tuple[str, Brief, Estimate]]:
    """The brief as priced, then with each further choice: (choice or "", brief, estimate)."""
    from bizkit.domain.pricing.estimate import price
    from bizkit.domain.pricing.options import choices, choose, chosen_brief

    yield "", chosen_brief(brief), estimate
    for option in choices(brief)[1:]:
        taken = choose(brief, [option.key])
        yield option.key, taken, price(card, taken, day_off=folder.day_off, holiday=folder.holiday)


def _margin(
    folder: StudioFolder, floor: Floor, card: RateCard, choice: str, brief: Brief, estimate: Estimate
) -> OneMargin:
    from bizkit.domain.pricing.job_cost import job_cost

    cost = job_cost(card, brief, estimate, folder.studio.people, day_off=folder.day_off)
    # Days drawn from a deal were paid for when it was bought.
    margin = floor.margin(estimate.net + estimate.deal_credit, cost.direct_costs, cost.own_days)
    weather: WeatherMargin | None = None
    if estimate.weather is not None:
        risked = margin.with_weather(cost.held_days, cost.weather_costs, cost.weather_income)
        weather = {**risked.data(), "held_days": plain(cost.held_days)}
    return {"choice": choice, "margin": margin.data(), "with_weather": weather}


def floor_in(floor: Floor, card: RateCard, brief: Brief, currency: str) -> Floor | None:
    """The floor in a quote's currency, converted at the brief's own rate; None without a rate."""
    from bizkit.domain.pricing.floor import Floor

    own = floor.rate_per_day.currency
    if own == currency:
        return floor
    if brief.exchange is None or card.currency != own:
        return None
    rate, yearly = (brief.exchange.money(amount, currency) for amount in (floor.rate_per_day, floor.yearly))
    return Floor(rate.rounded(), yearly.rounded(), Decimal(floor.billable_days), floor.working)


class FloorShown(TypedDict):
    """The break-even day rate, its working as a tree, and the roles of the card below it."""

    currency: str
    rate_per_day: str
    yearly: str
    billable_days: str
    working: WorkingData
    roles: int
    roles_below: list[RoleBelow]


class RoleBelow(TypedDict):
    """A role of the card that earns less than the floor."""

    role: str
    title: str
    rate_per_day: str
    short_by: str


class Margins(TypedDict):
    """What a quote leaves over the floor, plain and with weather risk; choices: with each further one taken.

    warning: why it is low, or why it is not known.
    """

    choice: NotRequired[str]
    margin: MarginData | None
    with_weather: WeatherMargin | None
    choices: list[OneMargin]
    below_floor: bool
    warning: str


class OneMargin(TypedDict):
    """What the quote leaves with one choice taken, '' for as priced."""

    choice: str
    margin: MarginData
    with_weather: WeatherMargin | None


class WeatherMargin(MarginData):
    """The margin on average over the weather; held_days: crew and kit wait so many."""

    held_days: str
