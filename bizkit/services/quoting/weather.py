"""Weather: chances learned from past days, and the plan they make for a brief."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.documents.on_file import weather_of
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.pricing.weather_plan import WeatherPlanData
from bizkit.domain.typed_numbers import number_of
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.toml_edit import Path as Place
from bizkit.services.studio.toml_edit import rewritten, with_table

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import Observed
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
) -> Learned:
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
    learned = _learned(past)
    if into is not None:
        _write_into(into, learned)
    return {
        "file": file.name,
        "days": {str(month): days for month, days in past.days.items()},
        "pairs": past.pairs,
        "chance": {str(month): str(chance) for month, chance in past.chance.items()},
        "dry_chance": {str(month): str(chance) for month, chance in past.dry.items()},
        "memory": str(past.memory),
        "toml": rewritten("", {(key,): value for key, value in learned.items()}, "weather"),
        "into": str(into) if into else "",
    }


def plan_weather(folder: StudioFolder, brief: Path, on: date, options: Sequence[str] = ()) -> WeatherPlanned:
    """The weather plan of a brief with everything behind it, for the studio. Raises RuleBroken without [weather]."""
    from bizkit.services.quoting.pricing import price_brief

    priced = price_brief(folder, brief, on, options)
    plan = priced.estimate.weather
    if plan is None:
        raise RuleBroken(f"{priced.brief_file}: no [weather] table: say from, to and chance to have a plan")
    kept = weather_of(priced.document)
    return {
        "brief": priced.brief_file,
        **plan.studio_data(),
        "observed": kept.get("observed") if kept else None,
    }


def _learned(past: Observations) -> dict[str, Any]:
    """The keys of a [weather] table."""

    def months(chances: Mapping[int, Decimal]) -> dict[str, Decimal]:
        return {str(month): chance for month, chance in chances.items()}

    learned = {"chance": months(past.chance), "memory": past.memory}
    return learned | ({"dry_chance": months(past.dry)} if past.dry else {})


def _write_into(path: Path, learned: Mapping[str, Any]) -> None:
    """Put the learned keys into the [weather] table of a brief, all else as it is."""
    from bizkit.services.studio.filing import write_whole
    from bizkit.services.studio.toml_file import read_toml

    file = read_toml(path, "a brief")
    if "key" not in file.tree:
        hint = "Name the brief's file, as --into briefs/follow-the-kelp.toml"
        raise BadInput(
            wanted="a brief (a key first of all)", got="another file", field="--into", where=str(path), hint=hint
        )
    text = with_table(file.text, "weather", path.name)
    places: dict[Place, Any] = {("weather", key): value for key, value in learned.items()}
    write_whole(path, rewritten(text, places, path.name, without=[("weather", key) for key in LEARNED]).encode())


class Learned(TypedDict):
    """Chances of a workable day by month, from past days. toml: the table for a brief; into: the one that took it."""

    file: str
    days: dict[str, int]
    pairs: int
    chance: dict[str, str]
    dry_chance: dict[str, str]
    memory: str
    toml: str
    into: str


class WeatherPlanned(WeatherPlanData):
    """The weather plan of a brief; observed: what the chances were learned from, where they were."""

    brief: str
    observed: Observed | None
