"""What is said of the costs of a job: as written, as answered, as listed."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

from bizkit.services.shooting.spent_costs import TaxData

if TYPE_CHECKING:
    from bizkit.domain.pricing.line import LineData


class CostRow(TypedDict):
    """A cost of a job in a list."""

    number: int
    job: str
    on: str
    kind: str
    what: str
    supplier: str
    amount: str
    currency: str
    in_job: str
    tax: str
    tax_currency: str
    reclaimed: str
    why_not: str
    net: str
    rate: str
    rate_source: str
    receipt: str
    file: str
    charged_on: bool
    reverses: int
    reversed_by: int


class CostWritten(TypedDict):
    """What is written of a cost, apart from its sums."""

    job: str
    on: str
    kind: str
    what: str
    supplier: str
    rate: str
    rate_source: str
    receipt: str


class CostAdded(CostWritten, TaxData):
    """A cost just recorded. same: costs that say just the same; charged: what the client pays of it."""

    number: int
    amount: str
    currency: str
    in_job: str
    job_currency: str
    file: str
    same_paper: list[str]
    same: list[int]
    charged: LineData | None
    quoted: list[str]
    cancelled_on: str


class InputTaxNoted(TaxData):
    """The tax noted inside a cost, and what it changes for the client."""

    cost: int
    receipt: str
    job: str
    what: str
    currency: str
    job_currency: str
    charged: LineData | None
    to_invoice: str
