"""Travel and costs: what the studio pays others for a shoot, charged on with the card's markup for the kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.fields import Fields
from bizkit.domain.money import Money, minor_digits, plain
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.sentences import shown
from bizkit.domain.pricing.working import Working

PAYERS = ("studio", "client")


@dataclass(frozen=True, slots=True)
class CostKind:
    """A kind of cost on the card: its unit, its usual cost where there is one, and the markup in percent."""

    key: str
    title: str
    unit: str
    cost: Money | None
    markup_percent: Decimal

    @classmethod
    def read(cls, key: str, fields: Fields, currency: str) -> CostKind:
        """One [costs.NAME] table of the card."""
        kind = cls(
            key,
            fields.text("title"),
            fields.text("unit"),
            fields.money("cost", currency) if "cost" in fields else None,
            fields.number("markup_percent", 0),
        )
        fields.done()
        return kind


@dataclass(frozen=True, slots=True)
class Cost:
    """One cost of a brief: `quantity` units of a kind at `cost` each (None: the card's own), in `currency`
    (empty: the brief's). at_cost: charged on without markup. paid_by: who pays the supplier.
    """

    kind: str
    title: str
    quantity: Decimal
    cost: Decimal | None
    currency: str
    at_cost: bool
    paid_by: str
    note: str
    field: str
    where: str

    @classmethod
    def read(cls, fields: Fields) -> Cost:
        """One [[costs]] table of the brief."""
        cost = cls(
            kind=fields.text("kind"),
            title=fields.text("title", ""),
            quantity=fields.number("quantity", 1),
            cost=fields.number("cost") if "cost" in fields else None,
            currency=fields.text("currency", ""),
            at_cost=fields.flag("at_cost", False),
            paid_by=fields.choice("paid_by", PAYERS, "studio"),
            note=fields.text("note", ""),
            field=fields.path,
            where=fields.where,
        )
        if cost.currency:
            try:
                minor_digits(cost.currency)
            except BadInput as error:
                raise fields.wrong("currency", error.wanted, error.got) from None
        fields.done()
        return cost


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
