"""From quote to invoice and credit note."""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict

from bizkit.domain.documents.base import Client, JobPaper, Licence, Payment
from bizkit.domain.documents.extras import Extras


class Day(TypedDict):
    """A day, or `count` days without a date. kind: water dry travel prep recce wrap hold."""

    date: str
    count: int
    kind: str
    place: str
    note: str


class QuoteLine(TypedDict):
    """A priced line. unit: the trade's word in the singular. percent: of the amounts in the sections `percent_of`,
    where the line is a part of others that its reader may reckon again; never how a price itself was reckoned."""

    section: str
    item: str
    quantity: str
    unit: str
    rate: str
    amount: str
    percent: NotRequired[str]
    percent_of: NotRequired[list[str]]


class Tax(TypedDict):
    """Tax of one category (EN 16931 code). note: the wording where no tax is charged."""

    category: str
    name: str
    rate: str
    base: str
    amount: str
    note: str


class Deliverable(TypedDict):
    """One thing promised. due: in words, printed where due_on and due_days are empty. asks: the delivery spec as
    data, where `spec` is not in words alone. cut_of: the key of the set it comes from, all of which stand in one row;
    cut: what tells it from the others."""

    key: str
    title: str
    kind: str
    quantity: int
    spec: str
    rounds: int
    due: str
    due_on: str
    due_days: NotRequired[int | None]
    asks: NotRequired[dict[str, Any] | None]
    cut_of: NotRequired[str]
    cut: NotRequired[str]


class Rounds(TypedDict):
    """What is agreed about review rounds. extra_round: the price of a further one, or empty."""

    extra_round: str
    silence_days: int
    silence_approves: bool


class Stage(TypedDict):
    """A part of the price. when: acceptance, first_shoot_day, delivery, a date, or words. amount: with tax."""

    title: str
    percent: str
    when: str
    amount: str
    net: NotRequired[str]
    tax: NotRequired[str]


class ChartPoint(TypedDict):
    """The chance (0 to 1) that the work is done within `days` days; the chosen one is drawn strong."""

    days: int
    chance: str
    chosen: NotRequired[bool]


class Weather(TypedDict):
    """What happens when weather moves a day."""

    sentences: list[str]
    chart: list[ChartPoint]


class OptionDeliverable(TypedDict):
    """What an option adds to what the client gets."""

    title: str
    quantity: int
    spec: str


class OptionDay(TypedDict):
    """A day, or days without a date, that an option adds."""

    date: str
    count: int
    kind: str


class Option(TypedDict):
    """One option of a quote, priced with the whole job. kind: choice (one is taken) or addon (any may be).

    sections: section -> amount. difference, difference_gross: more than the quote as it stands. licence: where the
    option has one of its own.
    """

    key: str
    kind: str
    title: str
    summary: str
    net: str
    gross: str
    difference: str
    difference_gross: str
    sections: dict[str, str]
    deliverables: list[OptionDeliverable]
    licence: Licence | None
    tax: NotRequired[str]
    days: NotRequired[list[OptionDay]]


#: A key that Python keeps for itself.
_From = TypedDict("_From", {"from": NotRequired[str]})


class Exchange(_From):
    """The rate that a quote was converted at: 1 unit of `from` is `rate` units of the quote's currency."""

    rate: str
    on: str
    source: str


class Deal(TypedDict):
    """Days that the quote draws from those the client bought ahead."""

    name: str
    days: str


class Accepted(TypedDict):
    """Who took an option of which revision; the paper then says so in place of asking for a signature."""

    on: str
    by: str
    of_revision: int


class TaxLater(TypedDict):
    """What the quote comes to with the tax of a registration that begins on `starts`, if all of it falls into it."""

    starts: str
    taxes: list[Tax]
    tax: str
    gross: str


class ChangedRow(TypedDict):
    """One thing that a revision changed. kind: deliverable (before, after: how many), day (a date, or how many days;
    item: its kind), line (amounts), or a part of the quote that is another now; before, after: empty for none."""

    kind: str
    item: str
    before: str
    after: str


class Changed(TypedDict):
    """What a revision changed since the one that the client has."""

    revision: int
    issued_on: str
    net_before: str
    gross_before: str
    rows: list[ChangedRow]


class Quote(JobPaper):
    """An estimate sent to a client. changed: since the revision before it. option_titles: of the options taken, once
    accepted. tax_later: where the studio is to be registered for the tax before the work is done. withdrawal: what a
    consumer is told of the right to withdraw, in the studio's words, a paragraph a line."""

    revision: int
    valid_until: str
    client: Client
    summary: str
    days: list[Day]
    currency: str
    lines: list[QuoteLine]
    net: str
    taxes: list[Tax]
    tax: str
    gross: str
    tax_later: NotRequired[TaxLater | None]
    deliverables: list[Deliverable]
    rounds: NotRequired[Rounds]
    licence: Licence | None
    stages: list[Stage]
    weather: Weather | None
    terms: list[str]
    extras: NotRequired[Extras]
    options: NotRequired[list[Option]]
    chosen: NotRequired[list[str]]
    accepted: NotRequired[Accepted | None]
    option_titles: NotRequired[list[str]]
    exchange: NotRequired[Exchange | None]
    deposit: NotRequired[str]
    deal: NotRequired[Deal | None]
    payment_days: NotRequired[int]
    withdrawal: NotRequired[str]
    changed: NotRequired[Changed | None]
    valid_days: NotRequired[int]


class InvoiceLine(TypedDict):
    """A line of an invoice, net of tax."""

    item: str
    quantity: str
    unit: str
    rate: str
    amount: str
    category: str
    tax_rate: str


class Allowance(TypedDict):
    """Taken off the sum; amount without a sign."""

    reason: str
    amount: str
    category: str
    tax_rate: str


class AcceptedQuote(TypedDict):
    """The quote that an invoice is for."""

    number: str
    revision: int
    accepted_on: str


class TaxIn(TypedDict):
    """The tax in the currency of the tax office: `rate` units of it for one unit of the invoice's."""

    currency: str
    amount: str
    rate: str
    source: NotRequired[str]
    on: NotRequired[str]


class Deposit(TypedDict):
    """Money that came before its invoice."""

    received_on: str
    amount: str
    reference: NotRequired[str]


class FinalBill(TypedDict):
    """That it is the last of a job: everything agreed less what was billed. deducts: the numbers taken off."""

    deducts: list[str]


class Credited(TypedDict):
    """The invoice that a credit note corrects, or one that a later invoice takes off."""

    number: str
    issued_on: str


class Invoice(JobPaper):
    """An invoice; as `pro_forma` it says that it is no tax invoice. buyer_reference: what the client wants on it so
    that it finds its way. rounding: added to what is due. taxed_when: "paid" where the tax waits for the money.
    preceding: the invoices it takes off, and their credit notes."""

    client: Client
    currency: str
    tax_point: str
    due_on: str
    quote: NotRequired[AcceptedQuote]
    purchase_order: NotRequired[str]
    buyer_reference: NotRequired[str]
    supplied_from: NotRequired[str]
    supplied_to: NotRequired[str]
    work_done: NotRequired[bool]
    simplified: NotRequired[bool]
    deposit: NotRequired[Deposit]
    final: NotRequired[FinalBill]
    taxed_when: NotRequired[str]
    preceding: NotRequired[list[Credited]]
    lines: list[InvoiceLine]
    allowances: list[Allowance]
    net: str
    taxes: list[Tax]
    tax: str
    gross: str
    prepaid: str
    rounding: NotRequired[str]
    due: str
    payment: Payment
    tax_in: NotRequired[TaxIn]
    licence: NotRequired[Licence | None]
    licence_sentences: NotRequired[list[str]]
    suspends_licence: NotRequired[bool]
    notes: NotRequired[list[str]]


class CreditNote(Invoice):
    """An invoice with the credited amounts as positive figures. refund: a sentence on what happens with it."""

    credits: Credited
    reason: NotRequired[str]
    refund: NotRequired[str]
