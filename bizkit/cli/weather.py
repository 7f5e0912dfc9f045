"""`bizkit weather`: chances from past days, and the plan for a brief."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from bizkit.cli.show import JsonOption, OnOption, StudioOption, amount, day, show, studio_folder, table
from bizkit.domain.plain_text import many

if TYPE_CHECKING:
    from bizkit.services.quoting.weather import Learned, WeatherPlanned


app = typer.Typer(
    help="Chances of a workable day from past days; the weather plan of a brief.", no_args_is_help=True,
    add_completion=False,
)  # fmt: skip

Limits = list[str] | None


@app.command()
def learn(
    file: Annotated[Path, typer.Argument(metavar="CSV", help="Past days: a date and readings, one row a day.")],
    most: Annotated[
        Limits, typer.Option("--most", metavar="COLUMN=N", help="A reading of a workable water day is N or less.")
    ] = None,
    least: Annotated[
        Limits, typer.Option("--least", metavar="COLUMN=N", help="A reading of a workable water day is N or more.")
    ] = None,
    dry_most: Annotated[
        Limits, typer.Option("--dry-most", metavar="COLUMN=N", help="The same for dry scenes on a rough day.")
    ] = None,
    dry_least: Annotated[Limits, typer.Option("--dry-least", metavar="COLUMN=N", help="The same.")] = None,
    date_column: Annotated[str, typer.Option("--date-column", help="The column of dates.")] = "date",
    least_days: Annotated[
        int, typer.Option("--least-days", min=2, help="Days a month must have been observed before it counts.")
    ] = 30,
    into: Annotated[
        Path | None, typer.Option("--into", metavar="BRIEF", help="Write the chances into this brief.")
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """Learn the chance of a workable day by month, and how one day follows another, from past days."""
    from bizkit.services.quoting.weather import learn_weather, read_limits

    done = learn_weather(
        file,
        water=read_limits(least or (), most or (), field="--most or --least"),
        dry=read_limits(dry_least or (), dry_most or (), field="--dry-most or --dry-least"),
        date_column=date_column,
        least_days=least_days,
        into=into,
    )

    def text(data: Learned) -> Iterator[str]:
        days = sum(data["days"].values())
        yield f"{data['file']}: {many(days, 'day')}, {data['pairs']} of them with the day before"
        yield from table(
            [
                ["MONTH", "DAYS", "WORKABLE"],
                *(
                    [month, str(count), data["chance"].get(month, "too few days")]
                    for month, count in data["days"].items()
                ),
            ],
            right=[0, 1],
            indent=2,
        )
        yield ""
        yield f"Written into {data['into']}:" if data["into"] else "For the [weather] table of a brief:"
        yield from data["toml"].splitlines()

    show(done, as_json, text)


@app.command()
def plan(
    brief: Annotated[Path, typer.Argument(help="The brief, a TOML file; also by name from briefs/.")],
    option: Annotated[list[str] | None, typer.Option("--option", metavar="KEY", help="An option to take.")] = None,
    on: OnOption = None,
    studio: StudioOption = None,
    as_json: JsonOption = False,
) -> None:
    """The weather plan of a brief, with what holding and failing cost on average."""
    from bizkit.services.quoting.weather import plan_weather

    def text(data: WeatherPlanned) -> Iterator[str]:
        currency = data["currency"]
        yield from data["sentences"]
        yield ""
        for point in data["chart"]:
            chance = float(point["chance"])
            mark = "  <- kept free" if point["days"] == data["booked_days"] else ""
            yield f"  {point['days']:>3} days  {chance:>6.1%}  {'#' * round(chance * 40)}{mark}"
        yield ""
        rows = [
            ["Hold days waited on average", data["expected_hold_days"]],
            ["Water days lost on average", data["expected_lost_days"]],
            ["What that costs", amount(data["expected_hold_cost"], currency)],
            ["What the client pays of it beyond the quote", amount(data["expected_extra_income"], currency)],
            ["Chance that it fails all the same", data["chance_of_failing"]],
            ["What failing costs on average", amount(data["expected_failing_cost"], currency)],
        ]
        yield from table(rows, right=[1], indent=2)

    show(plan_weather(studio_folder(studio, near=brief), brief, day(on), option or ()), as_json, text)
