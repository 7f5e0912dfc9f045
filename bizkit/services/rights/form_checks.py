"""What a card or record must not get wrong before people go into the water or into the air."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.typed_numbers import declared_number

_TIME: Final = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
#: How somebody is in the water.
IN_WATER: Final = ("none", "snorkel", "breath_hold", "compressed_gas")

#: Metres above ground, United Kingdom and European Union open category (secondary); a permission may allow more.
HIGHEST_M: Final = 120


def check_form(document: Mapping[str, Any], where: str) -> list[str]:
    """Warnings about a document; empty fields are left to be written by hand. Raises BadInput, RuleBroken."""
    if document["kind"] == "water_day_card":
        return _water(document, where)
    if document["kind"] == "drone_record":
        return _drone(document, where)
    if document["kind"] == "crowd_notice":  # the caution is for the studio, not for those who pass by
        return ["check the local rules before you film in public: some places ask for a permit"]
    return []


def _water(card: Mapping[str, Any], where: str) -> list[str]:
    times = {"back_by": card["back_by"], "call_out.time": card["call_out"].get("time", "")}
    for group in ("tides", "light"):
        for number, one in enumerate(card.get(group, ()), start=1):
            times[f"{group}[{number}].time"] = one.get("time", "")
    for field, text in times.items():
        if text and not _TIME.fullmatch(text):
            raise BadInput(wanted="a time such as 14:30", got=text, field=field, where=where)
    back, call = times["back_by"], times["call_out.time"]
    if back and call and call <= back:
        raise BadInput(wanted=f"a call-out time after {back}, when everybody is expected back", got=call,
                       field="call_out.time", where=where)  # fmt: skip
    ashore = card["ashore"].get("name", "").casefold()
    warnings = []
    for number, one in enumerate(card["team"], start=1):
        how = one.get("how", "")
        if how and how not in IN_WATER:
            raise BadInput(wanted=f"one of {', '.join(IN_WATER)}", got=how, field=f"team[{number}].how", where=where)
        if ashore and how != "none" and one["name"].casefold() == ashore:
            raise RuleBroken(f"{where}: {one['name']} cannot be in the water and be the person ashore")
        if how == "compressed_gas":
            warnings.append(
                f"{one['name']} breathes compressed gas: that is diving at work, with its own plan, supervisor and "
                "medicals; this card is no dive plan. Check your local rules"
            )
        if how != "none" and not one.get("swims"):
            warnings.append(f"{one['name']}: how well they swim, as they say themselves, is not on the card")
    swimming = [one for one in card["team"] if one.get("how") != "none"]
    if len(swimming) == 1:
        warnings.append(f"{swimming[0]['name']} is alone in the water: nobody should be")
    missing = [
        name
        for name, value in (
            ("who is ashore and knows", ashore),
            ("when everybody is back", back),
            ("when to call for help", call),
            ("whom to call", card["call_out"].get("number", "")),
            ("the ways out of the water", card.get("exits")),
            ("the limits of conditions", card.get("limits")),
        )
        if not value
    ]
    if missing:
        warnings.append(f"to be written before anybody goes in: {', '.join(missing)}")
    return warnings


def _drone(record: Mapping[str, Any], where: str) -> list[str]:
    weight = record["aircraft"].get("weight_g", "")
    if weight:
        grams = declared_number(weight, point=".", group="")  # a number in TOML, whose decimal sign is a point
        if grams is None or grams <= 0:
            raise BadInput(wanted="a weight in grams", got=weight, field="aircraft.weight_g", where=where)
    flight = record["flight"]
    limit, planned = flight.get("height_limit_m") or HIGHEST_M, flight.get("planned_height_m") or 0
    if planned > limit:
        raise RuleBroken(f"{where}: planned at {planned} m, above the limit of {limit} m")
    warnings = []
    if limit > HIGHEST_M:
        warnings.append(f"a limit above {HIGHEST_M} m needs a permission of its own: check your local rules")
    on = flight["date"]
    for name, until in (
        ("the flyer ID", record["pilot"].get("flyer_id_until", "")),
        ("the operator ID", record["operator"].get("until", "")),
        ("the insurance", record["insurance"].get("until", "")),
    ):
        if until and until < on:
            warnings.append(f"{name} ended on {until}, before the flight on {on}")
    missing = [
        name
        for name, value in (
            ("pilot", record["pilot"].get("name")),
            ("flyer ID", record["pilot"].get("flyer_id")),
            ("operator ID", record["operator"].get("operator_id")),
            ("weight", weight),
            ("insurance", record["insurance"].get("insurer")),
            ("permission", record["permissions"]),
        )
        if not value
    ]
    if missing:
        warnings.append(f"to be written before take-off: {', '.join(missing)}")
    return warnings
