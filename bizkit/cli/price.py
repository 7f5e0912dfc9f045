"""`bizkit price`: what a brief costs, and why."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any

import typer

from bizkit.cli.show import JsonOption, OnOption, StudioOption, amount, day, show, studio_folder, table
from bizkit.domain.documents.reckoning import explained

app = typer.Typer(add_completion=False)


@app.command()
def price(
    brief: Annotated[Path, typer.Argument(help="The brief, a TOML file; also by name from briefs/.")],
    why: Annotated[int | None, typer.Option("--why", metavar="LINE", help="Explain one line as a tree.")] = None,
    option: Annotated[
        list[str] | None,
        typer.Option("--option", metavar="KEY", help="An option of the brief to take; again for more."),
    ] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """Price a brief without storing anything; every line says why. Options are shown side by side, or taken."""
    from bizkit.domain.errors import BadInput
    from bizkit.services.quoting.pricing import price_brief

    made = price_brief(studio_folder(studio, near=brief), brief, day(on), option or ()).document
    document: dict[str, Any] = {**made, "lines": explained(made)}
    if why is not None:
        lines = document["lines"]
        if not 1 <= why <= len(lines):
            raise BadInput(wanted=f"a line from 1 to {len(lines)}", got=why, field="--why")
        show(lines[why - 1], as_json, explain)
        return
    data = {
        name: document[name]
        for name in (
            "title", "currency", "chosen", "lines", "net", "taxes", "tax", "gross", "tax_later", "deposit", "options",
            "exchange", "stages", "warnings", "weather",
        )
    }  # fmt: skip
    show(data, as_json, priced)


def priced(document: Mapping[str, Any]) -> Iterator[str]:
    """A priced document as lines of text: each line with its reason, then the sums."""
    currency = document["currency"]
    section = ""
    number_width = len(str(len(document["lines"])))
    for number, line in enumerate(explained(document), start=1):
        if line["section"] != section:
            if section:
                yield ""
            section = line["section"]
            yield section.upper()
        quantity = f"{line['quantity']} {line['unit']}"
        yield f"  {number:>{number_width}}  {line['item']:<44} {quantity:>12} {line['amount']:>12}"
        yield f"  {'':>{number_width}}    {line['why']}"
    yield ""
    sums = [["Net", amount(document["net"], currency)]]
    for tax in document["taxes"]:
        label = f"{tax['name']} {tax['rate']} %" if tax["category"] == "S" else tax["note"] or tax["name"]
        sums.append([label, amount(tax["amount"], currency)])
    sums.append(["Total", amount(document["gross"], currency)])
    later = document.get("tax_later")
    if later:
        label = f"{later['taxes'][0]['name']} {later['taxes'][0]['rate']} %, if all is done from {later['starts']} on"
        sums += [[label, amount(later["tax"], currency)], ["Total with it", amount(later["gross"], currency)]]
    yield from table(sums, right=[1])
    if document.get("deposit"):
        yield f"Deposit for kit, given back: {amount(document['deposit'], currency)}"
    yield from side_by_side(document)
    if document.get("stages"):
        yield ""
        yield "STAGES"
        yield from table(
            [
                [
                    stage["title"],
                    f"{stage['percent']} %",
                    stage["when"].replace("_", " "),
                    amount(stage["amount"], currency),
                ]
                for stage in document["stages"]
            ],
            right=[1, 3],
            indent=2,
        )
    weather = document.get("weather")
    if weather:
        yield ""
        yield "WEATHER PLAN"
        for sentence in weather["sentences"]:
            yield f"  {sentence}"
    for warning in document.get("warnings", []):
        yield ""
        yield f"Look: {warning}"


def side_by_side(document: Mapping[str, Any]) -> Iterator[str]:
    """The options of a document: choices in columns, section by section, then the add-ons."""
    from bizkit.domain.pricing.line import SECTIONS

    options = document.get("options", [])
    choices = [one for one in options if one["kind"] == "choice"]
    addons = [one for one in options if one["kind"] == "addon"]
    if choices:
        yield ""
        yield f"CHOICES, the lines above are with {choices[0]['key']}"
        rows = [["", *(one["key"] for one in choices)]]
        for section in SECTIONS:
            if any(section in one["sections"] for one in choices):
                rows.append([section, *(one["sections"].get(section, "-") for one in choices)])
        rows.append(["net", *(one["net"] for one in choices)])
        rows.append(["total", *(one["gross"] for one in choices)])
        yield from table(rows, right=range(1, len(choices) + 1), indent=2)
        for one in choices:
            yield f"  {one['key']}: {one['title']}"
    if addons:
        yield ""
        yield "ADD-ONS, on top"
        currency = document["currency"]
        rows = [[one["key"], one["title"], f"+ {amount(one['difference'], currency)} net"] for one in addons]
        yield from table(rows, right=[2], indent=2)


def explain(line: dict[str, Any]) -> Iterator[str]:
    """One line's working as an indented tree."""
    yield f"{line['item']}: {line['quantity']} {line['unit']} -> {line['amount']}"
    yield from _tree(line["working"], 1)


def _tree(working: dict[str, Any], depth: int) -> Iterator[str]:
    space = "  " * depth
    result = f" = {amount(working['amount'], working['currency'])}" if "amount" in working else ""
    yield f"{space}{working['text']}{result}"
    source = f"; source: {working['source']}" if working.get("source") else ""
    yield f"{space}  rule {working['rule']}{source}"
    for name, value in working.get("inputs", {}).items():
        yield f"{space}  {name}: {value}"
    for part in working.get("parts", []):
        yield from _tree(part, depth + 1)
