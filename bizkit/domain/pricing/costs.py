"""Travel and costs: what the studio pays others for a shoot, charged on with the card's markup for the kind."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.keys import Given, Key
from bizkit.domain.money import Money, currency_code, plain
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.sentences import shown
from bizkit.domain.pricing.working import Working

PAYERS = ("studio", "client")


@dataclass(frozen=True, slots=True)
class CostKind:
    """A [costs.NAME] table of the card: its unit, its usual cost where there is one, and the markup."""

    key: Annotated[str, Given.NAME]
    title: Annotated[str, Key("What papers call it.", example="Boat with skipper")]
    unit: Annotated[str, Key("What is counted, in the singular.", example="day")]
    cost: Annotated[Money | None, Key("What one costs; without it each brief says.", example=650)] = None
    markup_percent: Annotated[Decimal, Key("Yours on top.", "percent")] = Decimal(0)


@dataclass(frozen=True, slots=True)
class Cost:
    """A [[costs]] table of a brief: units of a kind at a cost each, in a currency (empty: the brief's)."""

    kind: Annotated[str, Key("Name of the kind on the card.", example="boat")]
    field: Annotated[str, Given.PLACE]
    where: Annotated[str, Given.FILE]
    title: Annotated[str, Key("What papers call it, where not as the card does.")] = ""
    quantity: Annotated[Decimal, Key("How many units.")] = Decimal(1)
    cost: Annotated[Decimal | None, Key("What one costs, where not as the card says.")] = None
    currency: Annotated[str, Key("Of that cost (ISO 4217), or the brief's.", rule=currency_code, example="EUR")] = ""
    at_cost: Annotated[bool, Key("Whether it is charged on without markup.")] = False
    paid_by: Annotated[str, Key("Who pays the supplier.", choices=PAYERS)] = "studio"
    note: Annotated[str, Key("For yourself.")] = ""


def cost_lines(
    kinds: Mapping[str, CostKind],
    costs: Sequence[Cost],
    words: Mapping[str, str],
    *,
    currency: str,
    known_currencies: Sequence[str],
) -> list[Line]:
    """One line a cost. currency: of amounts typed in the brief. known_currencies: those a rate is at hand for.

    Raises NotFound for a kind the card does not know, BadInput where neither card nor brief says what it costs.
    """
    return [_line(kinds, cost, words, currency, known_currencies) for cost in costs]


def _line(
    kinds: Mapping[str, CostKind], cost: Cost, words: Mapping[str, str], currency: str, known: Sequence[str]
) -> Line:
    if cost.kind not in kinds:
        raise NotFound("kind of cost", cost.kind, kinds, field=f"{cost.field}.kind", where=cost.where)
    kind = kinds[cost.kind]
    if cost.currency and cost.currency not in known:
        raise BadInput(
            wanted=f"an amount in {' or '.join(known)}",
            got=cost.currency,
            field=f"{cost.field}.currency",
            where=cost.where,
        )
    if cost.cost is not None:
        each, from_ = Money(cost.cost, cost.currency or currency), "the brief"
    elif kind.cost is not None:
        each, from_ = kind.cost, "the card"
    else:
        raise BadInput(
            wanted=f"what one {kind.unit} costs, as the card has no usual cost for {kind.title}",
            got="nothing",
            field=f"{cost.field}.cost",
            where=cost.where,
        )
    item = cost.title or kind.title
    unit, quantity = kind.unit, cost.quantity
    inputs = [("cost", each.text), ("quantity", plain(quantity)), ("cost from", from_)]
    if cost.paid_by == "client":
        text = f"{plain(quantity)} x {each} = {shown(each * quantity)}, paid by the client to the supplier"
        none = Money(0, each.currency)
        working = Working(text, "costs.paid_by_client", none, inputs=tuple(inputs))
        return Line("travel", f"{item} ({words['paid_by_client']})", quantity, unit, none, none.rounded(), working)
    markup = Decimal(0) if cost.at_cost else kind.markup_percent
    rate = each * (1 + markup / 100)
    exact = rate * quantity
    terms = f"{each} + {plain(markup)} % markup" if markup else f"{each} at cost"
    inputs.append(("markup percent", plain(markup)))
    text = f"{plain(quantity)} x {shown(rate)} ({terms}) = {shown(exact)}"
    working = Working(text, "costs.markup" if markup else "costs.at_cost", exact, inputs=tuple(inputs))
    return Line("travel", item, quantity, unit, rate, exact.rounded(), working)
