"""What the command line says of a job that is called off: the fee, what it leaves out, what is left to do."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import TYPE_CHECKING

from bizkit.cli.show import amount, table

if TYPE_CHECKING:
    from bizkit.services.shooting.calling_off import CalledOff, Cancelled, Postponed


def cancelled(data: Cancelled) -> Iterator[str]:
    """The lines of a cancelling, or of what it would come to."""
    if not data["job"]:
        yield f"{data['number']} {'would be ' if data['preview'] else ''}taken back; nobody accepted it: no fee."
        return
    yield from _fee(data, "cancelled")
    yield from _settled(data)


def postponed(data: Postponed) -> Iterator[str]:
    """The lines of a postponing, or of what it would come to."""
    currency = data["currency"]
    yield from _fee(data, "postponed")
    for move in data["days"]:
        yield f"  {move['moved_from']} -> {move['moved_to'] or 'open'}"
    for row in data["dearer"]:
        yield f"  {row['on']} is dearer than agreed, to invoice: {amount(row['difference'], currency)} ({row['why']})"
    for clash in data["clashes"]:
        yield f"Look: {clash}"
    if not data["preview"] and data["lines"]:
        yield f"Bill it with: bizkit invoice issue {data['job']} --charges"


def _fee(data: CalledOff, verb: str) -> Iterator[str]:
    name = f"{data['job']} ({data['number']})"
    would = f"would be {verb}" if data["preview"] else verb
    yield f"{name} {would} by notice on {data['notice_on']}: a fee of {amount(data['fee'], data['currency'])} net"
    rows = [[line["item"], line["amount"], line["why"]] for line in data["lines"]]
    for line, row in zip(data["lines"], table(rows, right=[1], indent=2), strict=True):
        yield row
        yield from (f"      {part['text']}" for part in line["working"].get("parts", []))
    if data["open_days"]:
        yield f"  {data['open_days']} shoot days have no date: no notice can be counted for them."


#: Section of a quote -> what becomes of it when a job is cancelled.
_OUTSIDE = {
    "travel": "what was spent is, as recorded with bizkit cost add; a bill that comes later with --to-client",
    "post": "say what is done of it with --post-done PERCENT",
    "licence": "what was granted of it is charged with bizkit charge add",
    "fees": "they fall away with it",
}


def _settled(data: Cancelled) -> Iterator[str]:
    """What a cancelled job comes to: the fee and what was charged before, less what was invoiced."""
    currency, left = data["currency"], Decimal(data["left"])
    if Decimal(data["other_charges"]):
        yield f"Charged before and still open: {amount(data['other_charges'], currency)} net."
    if Decimal(data["invoiced_before"]):
        yield f"Invoiced before: {amount(data['invoiced_before'], currency)} net, which is taken off."
    if left > 0:
        yield f"Left to invoice: {amount(data['left'], currency)} net."
    elif left < 0:
        yield f"To credit: {amount(str(-left), currency)} net, as more was invoiced than is owed."
    licence = data["licence"]
    if licence and licence["state"] == "cancelled":
        name = "The licence of the quote" if licence["name"] == data["job"] else f"Licence {licence['name']}"
        yield f"{name} is cancelled with it: nothing is granted."
    elif licence and licence["state"] in ("live", "at rest"):
        yield (
            f"Licence {licence['name']} is {licence['state']} and stays so. If it is to end: "
            f"bizkit rights end {licence['name']} --reason WHY"
        )
    for one in data["outside"]:
        said = _OUTSIDE[one["section"]]
        yield f"Not in it: {one['section']}, quoted at {amount(one['net'], currency)} net; {said}."
    if not data["preview"] and (left or data["lines"]):
        yield f"Settle it with: bizkit invoice settle {data['job']}"
