"""What the book knows for each kind of paper to be signed or carried on the shoot; the rest is left to be written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.domain.names import same_name
from bizkit.domain.rights.personal_data import PERSON_KINDS
from bizkit.domain.rights.territory import countries
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.services.rights.holdings import HoldingRow
    from bizkit.store.jobs import Job, JobDay


@dataclass(frozen=True, slots=True)
class Asked:
    """What a paper is wanted for. day: the shoot day it is about, None to take the first that fits."""

    folder: StudioFolder
    work: Connection
    job: Job
    quote: dict[str, Any]
    subject: str = ""
    guardian: str = ""
    minor: bool = False
    day: date | None = None

    @property
    def days(self) -> list[JobDay]:
        """The dated days on which a camera runs, in order."""
        from bizkit.services.job.jobs import SHOOTS, days_by_date

        return [row for row in days_by_date(self.work, self.job.key) if row.kind in SHOOTS and row.on]

    @property
    def shoot(self) -> dict[str, Any]:
        """When and where pictures are made, and of what; on the day asked for alone. Raises NotFound."""
        if self.day is not None:
            self.the_day(bool, "shoot day")
        days = [row for row in self.days if self.day is None or row.on == self.day.isoformat()]
        return {
            "days": list(dict.fromkeys(row.on for row in days)),
            "places": list(dict.fromkeys(row.place for row in days if row.place)),
            "what": self.quote.get("summary", ""),
        }

    @property
    def scope(self) -> dict[str, Any]:
        """Media and places of the client's licence, for a notice; a form to be signed has terms of its own."""
        licence = self.job.licence
        if not licence:
            return {}
        return {
            "media": licence["media"],
            "territory": licence["territory"],
            "starts": "",
            "ends": "",
            "months": None,
        }

    def crew(self, on: str = "", *, unnamed: bool = False) -> list[tuple[str, list[str]]]:
        """Names and roles of the crew in the brief, of the days that fall on `on` by now when asked.

        unnamed: with those who are not named yet.
        """
        from bizkit.services.job.jobs import brief_days
        from bizkit.store.jobs import shoot_days

        falls_on = {row.position: row.on for row in shoot_days(self.work, self.job.key)}
        found: dict[str, list[str]] = {}
        last = 0
        for row in brief_days(self.work, self.job.quote_number, self.job.quote_revision):
            first, last = last + 1, last + int(row.get("count", 1))
            if on and on not in [falls_on.get(position) for position in range(first, last + 1)]:
                continue
            for one in row.get("crew", ()):
                if one.get("person") or unnamed:
                    found.setdefault(one.get("person", ""), []).extend(one.get("roles", ()))
        return [(name, list(dict.fromkeys(roles))) for name, roles in found.items()]

    def the_day(self, fits: Callable[[JobDay], bool], what: str) -> JobDay:
        """The shoot day asked for, else the first that fits. Raises NotFound, RuleBroken."""
        if self.day is not None:
            for row in self.days:
                if row.on == self.day.isoformat():
                    return row
            raise NotFound("shoot day of the job", self.day, [row.on for row in self.days], field="--day")
        for row in self.days:
            if fits(row):
                return row
        raise RuleBroken(f"{self.job.key} has no dated {what}: name a day with --day")


def roles_in_words(asked: Asked, roles: list[str]) -> str:
    """`Director, Underwater camera`: as the rate card of the quote calls them, else by their names."""
    from bizkit.services.job.basis import card_of

    known = card_of(asked.folder, asked.work, asked.job).crew.roles if roles else {}
    titles = [known[role].title if role in known else role.replace("_", " ") for role in roles]
    return ", ".join(titles)


def _model_release(asked: Asked) -> dict[str, Any]:
    return {**_release(asked), **_person(asked, "talent_release"), "water": ""}


def _location_permission(asked: Asked) -> dict[str, Any]:
    shoot = asked.shoot
    here = [
        row
        for row in asked.days
        if asked.subject and same_name(row.place) == same_name(asked.subject) and row.on in shoot["days"]
    ]
    if here:
        shoot |= {"days": list(dict.fromkeys(row.on for row in here)), "places": [here[0].place]}
    return {
        **_release(asked),
        "shoot": shoot,
        "water": any(row.kind == "water" for row in here),
        "place": {"name": asked.subject, "address": []},
        "holder": {"name": "", "address": []},
    }


def _property_release(asked: Asked) -> dict[str, Any]:
    return {
        **_release(asked),
        "property": {"name": asked.subject, "what": "", "address": []},
        "owner": {"name": "", "role": "", "address": []},
    }


def _performer_consent(asked: Asked) -> dict[str, Any]:
    shoot = asked.shoot
    performance = {"what": "", "days": shoot["days"], "places": shoot["places"], "works": ""}
    return {**_release(asked), **_person(asked, "performer_consent"), "performance": performance}


def _crew_assignment(asked: Asked) -> dict[str, Any]:
    roles = {same_name(name): found for name, found in asked.crew()}.get(same_name(asked.subject), [])
    days = [
        row.on
        for row in asked.days
        if not roles or same_name(asked.subject) in [same_name(name) for name, _ in asked.crew(row.on)]
    ]
    return {
        "person": {"name": asked.subject, "role": roles_in_words(asked, roles), "address": []},
        "shoot": {"days": list(dict.fromkeys(days))},
        "work": "",
        "fee": None,
        "on_payment": False,
        "moral_rights": "kept",
        "own_material": [],
        "credit": "",
        "conditions": [],
        "client_conditions": [],
    }


def _crowd_notice(asked: Asked) -> dict[str, Any]:
    shoot = asked.shoot
    if asked.subject or asked.day:
        here = [
            row
            for row in asked.days
            if (not asked.subject or same_name(row.place) == same_name(asked.subject))
            and (asked.day is None or row.on == asked.day.isoformat())
        ]
        shoot |= {"days": [row.on for row in here], "places": list(dict.fromkeys(row.place for row in here))}
    shoot["what"] = asked.job.title
    studio = asked.folder.studio
    flies = any("drone" in role for day in shoot["days"] for _, roles in asked.crew(day) for role in roles)
    return {
        "shoot": shoot,
        "scope": asked.scope,
        "ask": {"name": studio.people[0] if studio.people else studio.name, "phone": studio.phone},
        "way_round": "",
        "data": {},
        "drone": flies,
    }


def _cue_sheet(asked: Asked) -> dict[str, Any]:
    """The tunes on file: who wrote each, whatever became of their paper; as licences those that hold."""
    from bizkit.services.rights.holdings import CORRECTED, MUSIC, holding_rows

    tunes: dict[str, dict[str, Any]] = {}
    for row in holding_rows(asked.work, asked.job.key, MUSIC):
        if row["status"] == CORRECTED:
            continue
        cue = tunes.setdefault(
            same_name(row["subject"]),
            {"title": row["subject"], "composers": [], "publishers": [], "label": "", "start": "", "length": "",
             "use": "", "papers": []},
        )  # fmt: skip
        holds = row["status"] == "signed" and not row["holds_nothing"]
        cue["papers"] += [str(row["id"])] if holds else []
        if row["kind"] == "composition" and row["signed_by"]:
            cue["composers"] = list(dict.fromkeys([*cue["composers"], row["signed_by"]]))
        if row["kind"] == "recording" and (holds or not cue["label"]):
            cue["label"] = row["signed_by"]
    cues = [{**cue, "licence": ", ".join(cue.pop("papers"))} for cue in tunes.values()]
    return {"programme": {"title": asked.subject or asked.job.title, "duration": ""}, "cues": cues}


def music_no_longer_held(asked: Asked) -> list[str]:
    """Tunes of a cue sheet of which a paper on file holds nothing, and no other of its kind does, one line each."""
    from bizkit.services.rights.holdings import CORRECTED, MUSIC, holding_rows

    about: dict[tuple[str, str], list[HoldingRow]] = {}
    for row in holding_rows(asked.work, asked.job.key, MUSIC):
        if row["status"] != CORRECTED:
            about.setdefault((row["kind"], same_name(row["subject"])), []).append(row)
    return [
        f"{rows[-1]['subject']}: its {kind} is not licensed: {rows[-1]['holds_nothing'] or rows[-1]['status']}"
        for (kind, _), rows in about.items()
        if all(row["holds_nothing"] or row["status"] != "signed" for row in rows)
    ]


def rules_of_the_air(country: str) -> str:
    """Whose rules for drones a record prints: "uk", "eu" (and the states that apply Regulation (EU) 2019/947 with it:
    the European Economic Area and Switzerland, from memory) or "" where none are known here.

    >>> rules_of_the_air("GB"), rules_of_the_air("DE"), rules_of_the_air("NZ")
    ('uk', 'eu', '')
    """
    if country == "GB":
        return "uk"
    return "eu" if country in countries("EU") | {"NO", "IS", "LI", "CH"} else ""


def _drone_record(asked: Asked) -> dict[str, Any]:
    from bizkit.services.rights.holdings import PERMISSION, holding_rows
    from bizkit.services.rights.shoot_papers import papers_valid_on

    def pilots(row: JobDay) -> list[str]:
        return [name for name, roles in asked.crew(row.on) if any("drone" in role for role in roles)]

    day = asked.the_day(lambda row: bool(pilots(row)), "day on which a drone flies")
    on = date.fromisoformat(day.on)
    name = asked.subject or next(iter(pilots(day)), "")
    valid = {
        kind: papers_valid_on(asked.work, kind, on) for kind in ("pilot_id", "operator_id", "insurance", "permit")
    }
    pilot = next((one for one in valid["pilot_id"] if one["subject"] == same_name(name)), {})
    operator = next(iter(valid["operator_id"]), {})
    insurance = next(iter(valid["insurance"]), {})
    leave = [
        {"from": row["signed_by"], "reference": f"paper {row['id']}", "until": row["expires_on"],
         "note": "; ".join([*row["conditions"], *row["client_conditions"]])}
        for row in holding_rows(asked.work, asked.job.key, (PERMISSION,))
        if row["status"] == "signed" and same_name(row["subject"]) == same_name(day.place)
    ]  # fmt: skip
    leave += [
        {"from": one["name"], "reference": one["number"], "until": one["ends"], "note": ""} for one in valid["permit"]
    ]
    return {
        "rules": rules_of_the_air(asked.folder.studio.country),
        "flight": {"date": day.on, "place": day.place, "purpose": day.data.get("note", "")},
        "pilot": {"name": name, "flyer_id": pilot.get("number", ""), "flyer_id_until": pilot.get("ends", "")},
        "operator": {"operator_id": operator.get("number", ""), "until": operator.get("ends", "")},
        "aircraft": {"name": "", "weight_g": ""},
        "insurance": {
            "insurer": insurance.get("name", ""), "policy": insurance.get("number", ""),
            "until": insurance.get("ends", ""),
        },
        "permissions": leave,
    }  # fmt: skip


def _water_day_card(asked: Asked) -> dict[str, Any]:
    day = asked.the_day(lambda row: row.kind == "water", "water day")
    crew = asked.crew(day.on, unnamed=True)
    wet = [(name, roles) for name, roles in crew if any("water" in role or "swim" in role for role in roles)]
    return {
        "day": day.on,
        "place": asked.subject or day.place,
        "plan": day.data.get("note", ""),
        "back_by": "",
        "call_out": {"time": "", "number": ""},
        "ashore": {"name": "", "phone": ""},
        "team": [
            {"name": name, "role": roles_in_words(asked, roles), "how": "", "swims": "", "contact": ""}
            for name, roles in wet
        ],
        "tides": [{"what": "High water", "time": ""}, {"what": "Low water", "time": ""}],
        "light": [{"what": "Sunrise", "time": ""}, {"what": "Sunset", "time": ""}],
        "limits": [],
        "exits": [],
    }


def works_too(asked: Asked, name: str, day: str) -> list[str]:
    """That the person ashore of a water day card has other work that day by the quote, though they only watch."""
    roles = {same_name(who): found for who, found in asked.crew(day)}.get(same_name(name), []) if name else []
    if not roles:
        return []
    return [
        f"{name} is {roles_in_words(asked, roles)} on {day} by the quote: who watches from the shore does nothing "
        "else, so write down somebody who is free"
    ]


def _release(asked: Asked) -> dict[str, Any]:
    return {"shoot": asked.shoot, "scope": asked.scope, "conditions": [], "client_conditions": []}


def _person(asked: Asked, holding: str) -> dict[str, Any]:
    young = asked.minor or bool(asked.guardian)
    basis, purpose = PERSON_KINDS[holding]
    return {
        "data": {"basis": basis, "purpose": purpose, "contact": asked.folder.studio.email},
        "person": {"name": asked.subject, "address": []},
        "minor": young,
        "guardian": {"name": asked.guardian, "address": []} if young else None,
    }


#: kind of paper -> what the book knows for it
FORMS: Final[dict[str, Callable[[Asked], dict[str, Any]]]] = {
    "model_release": _model_release,
    "location_permission": _location_permission,
    "property_release": _property_release,
    "crew_assignment": _crew_assignment,
    "performer_consent": _performer_consent,
    "crowd_notice": _crowd_notice,
    "cue_sheet": _cue_sheet,
    "drone_record": _drone_record,
    "water_day_card": _water_day_card,
}
