"""Options that commands which issue an invoice share, and what they print of it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import amount

if TYPE_CHECKING:
    from bizkit.services.billing.bill_made import BillMade

HomeRateOption = Annotated[
    str,
    typer.Option(
        "--home-rate", metavar="RATE", help="Money of your tax office for one unit of the invoice's currency."
    ),
]
HomeRateSourceOption = Annotated[
    str, typer.Option("--home-rate-source", help="Whose rate it is, such as the monthly rate of the tax office.")
]
AddTaxOption = Annotated[
    bool,
    typer.Option("--add-tax", help="Charge tax though the quote was sent without; --reason says how it is known."),
]
DoneBeforeOption = Annotated[
    bool,
    typer.Option("--done-before", help="The work was done before you were registered: no tax; --reason says how."),
]
FeeTaxOption = Annotated[
    str,
    typer.Option(
        "--fee-tax",
        metavar="HOW",
        help="taxed or untaxed: the fee of a cancelled job, where your adviser says other than the usual.",
    ),
]
AgreedOption = Annotated[
    str,
    typer.Option(
        "--agreed", metavar="WHO", help="Who said yes, and when, to charges that the quote does not state; kept."
    ),
]


def issued_text(data: BillMade) -> Iterator[str]:
    """What was issued, in two or three lines."""
    deposit = data["document"].get("deposit")
    until = f"paid on {deposit['received_on']}" if deposit else f"to pay by {data['due_on']}"
    with_tax = " with tax" if data["tax"] != "0.00" else ""
    yield f"{data['number']}: {data['stage']}, {amount(data['gross'], data['currency'])}{with_tax}, {until}"
    if data["document"].get("taxed_when") == "paid":
        yield "Its tax falls due as it is paid, and with the work at the latest where you are not taxed by payment."
    elif data["tax_point"] != data["document"]["issued_on"]:
        yield f"Tax point {data['tax_point']}: {data['document']['reasons']['tax_point']}"
    yield f"Paper: {data['file']}"
    if data.get("einvoice"):
        yield f"Its client wants it as {data['einvoice']}: bizkit send {data['number']} attaches it."
    yield from (f"Look: {one}" for one in data["warnings"])
    yield "The tax on it follows the rule it names; that is no tax advice."
