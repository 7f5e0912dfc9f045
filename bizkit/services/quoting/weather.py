"""Weather: chances learned from past days, and the plan they make for a brief."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.typed_numbers import number_of
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.pricing.weather_observations import Limit, Observations

#: Keys of a brief's [weather] table that learned chances take the place of.
LEARNED = ("chance", "memory", "dry_chance", "after_good", "after_bad", "observations")


def read_limits(least: Sequence[str], most: Sequence[str], *, field: str) -> tuple[Limit, ...]:
    """Limits from texts such as `wind_kn=15`, one column once or with both ends. Raises BadInput."""
    from bizkit.domain.pricing.weather_observations import Limit

    ends: dict[str, dict[str, Decimal]] = {}
    for side, texts in (("least", least), ("most", most)):
        for text in texts:
            column, equals, number = text.rpartition("=")
            wanted = "COLUMN=NUMBER such as wind_kn=15"
            if not (column.strip() and equals):
                raise BadInput(wanted=wanted, got=text, field=field)
            value = number_of(number, field=field, wanted=wanted)
            found = ends.setdefault(column.strip(), {})
            if side in found:
                raise BadInput(wanted=f"one --{side} for {column.strip()}", got=text, field=field)
            found[side] = value
    limits = tuple(Limit(column, found.get("least"), found.get("most")) for column, found in ends.items())
    for limit in limits:
        if limit.least is not None and limit.most is not None and limit.least > limit.most:
            raise BadInput(wanted=f"least no greater than most for {limit.column}", got=limit.least, field=field)
    return limits


def learn_weather(
    file: Path,
    *,
    water: tuple[Limit, ...],
    dry: tuple[Limit, ...] = (),
    date_column: str = "date",
    least_days: int = 30,
    into: Path | None = None,
) -> dict[str, Any]:
    """Chances of a workable day by month, and how one day follows another, from a CSV of past days.

    water, dry: what the readings of a workable day keep to. least_days: days a month must have been observed.
    into: a brief whose [weather] table takes the chances over. Raises BadInput, also for too few days, saying how
    many there are.
    """
    from bizkit.domain.pricing.weather_observations import ObservationRules, observe
    from bizkit.services.studio.csv_file import read_rows

    if not water:
        raise BadInput(wanted="one limit or more such as --most wind_kn=15", got="none", field="--most")
    rules = ObservationRules(file.name, date_column, water, dry, least_days)
    past = observe(read_rows(file, "a CSV file of past days"), rules)
    text = _toml(past)
    if into is not None:
        _write_into(into, text)
    return {
        "file": file.name,
        "days": {str(month): days for month, days in past.days.items()},
        "pairs": past.pairs,
        "chance": {str(month): str(chance) for month, chance in past.chance.items()},
        "dry_chance": {str(month): str(chance) for month, chance in past.dry.items()},
        "memory": str(past.memory),
        "toml": text,
        "into": str(into) if into else "",
    }


def plan_weather(folder: StudioFolder, brief: Path, on: date, options: Sequence[str] = ()) -> dict[str, Any]:
    """The weather plan of a brief with everything behind it, for the studio. Raises RuleBroken without [weather]."""
    from bizkit.services.quoting.pricing import price_brief

    priced = price_brief(folder, brief, on, options)
    plan = priced.estimate.weather
    if plan is None:
        raise RuleBroken(f"{priced.brief_file}: no [weather] table: say from, to and chance to have a plan")
    return {
        "brief": priced.brief_file,
        **plan.studio_data(),
        "observed": (priced.document["weather"] or {}).get("observed"),
    }


def _toml(past: Observations) -> str:
    """The keys of a [weather] table."""

    def months(chances: Mapping[int, Decimal]) -> str:
        return "{ " + ", ".join(f"{month} = {chance}" for month, chance in chances.items()) + " }"

    lines = [f"chance = {months(past.chance)}", f"memory = {past.memory}"]
    if past.dry:
        lines.append(f"dry_chance = {months(past.dry)}")
    return "\n".join(lines) + "\n"


def _write_into(path: Path, learned: str) -> None:
    """Put the learned keys into the [weather] table of a brief, all other lines as they are.

    The result is read back before it is written: when anything else in the file would change, nothing is written.
    """
    from bizkit.services.studio.filing import write_whole
    from bizkit.services.studio.toml_file import read_toml

    text = read_toml(path, "a brief").text
    lines = text.splitlines(keepends=True)
    starts = [number for number, line in enumerate(lines) if line.split("#")[0].strip() == "[weather]"]
    if starts:
        first = starts[0] + 1
        end = next((n for n in range(first, len(lines)) if lines[n].lstrip().startswith("[")), len(lines))
        kept = [line for line in lines[first:end] if line.split("=")[0].strip() not in LEARNED]
        new = "".join([*lines[:first], learned, *kept, *lines[end:]])
    else:
        new = text + ("" if text.endswith("\n") else "\n") + f"\n[weather]\n{learned}"
    wanted = tomllib.loads(text, parse_float=Decimal)
    table = {key: value for key, value in wanted.get("weather", {}).items() if key not in LEARNED}
    wanted["weather"] = {**table, **tomllib.loads(learned, parse_float=Decimal)}
    try:
        same = tomllib.loads(new, parse_float=Decimal) == wanted
    except tomllib.TOMLDecodeError:
        same = False
    if not same:
        raise BadInput(
            wanted="a [weather] table with each key on a line of its own",
            got="another form",
            where=path.name,
            hint="Nothing was written: put the lines in yourself",
        )
    if "key" not in wanted:
        raise BadInput(wanted="a brief (a key first of all)", got="another file", field="--into", where=str(path))
    write_whole(path, new.encode())
