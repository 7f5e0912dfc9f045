"""Holding: a paper by which the studio may use what is not its own - a face, a place, a tune, a shot.

Only a signed paper holds anything, a withdrawn one up to the day before. UK law behind it, to be checked where the
work is done: an assignment of copyright needs signed writing (Copyright, Designs and Patents Act 1988 s.90(3));
consent can be withdrawn (UK GDPR Article 7(3)); for somebody under 18 a parent or guardian signs.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

from bizkit.domain.dates import ONE_DAY, iso_date
from bizkit.domain.errors import BadInput
from bizkit.domain.names import same_name
from bizkit.domain.rights.age import minor_when, of_age_on
from bizkit.domain.rights.personal_data import PERSON_KINDS
from bizkit.domain.rights.scope import Scope

#: kind -> what the paper is called
HOLDING_KINDS: Final[dict[str, str]] = {
    "talent_release": "talent release",
    "location_permission": "location permission",
    "property_release": "property release",
    "composition": "music licence for the composition",
    "recording": "music licence for the recording",
    "crew_assignment": "crew assignment",
    "performer_consent": "performer's consent",
    "artwork": "artwork licence",
    "archive": "archive licence from others",
}

#: What is recorded of a paper. That it has run out is read from its dates, see `Holding.state`.
STATUSES: Final = ("draft", "sent", "signed", "withdrawn")

#: In what right somebody signs.
SIGNER_ROLES: Final = ("self", "guardian", "owner", "agent")


@dataclass(frozen=True, slots=True)
class Signer:
    """Who put their name to a paper, and in what right (one of `SIGNER_ROLES`).

    born_on: where the book knows it; it stands with the person, not with the paper.
    """

    name: str
    role: str = "self"
    born_on: date | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class Holding:
    """One paper.

    key: its id in the book. kind: one of `HOLDING_KINDS`. subject: id of the person, place or thing, the same in
    every paper about it; name: what that is called. scope: what it allows once signed. works: ids of the works it is
    limited to, empty for all. status: one of `STATUSES`. document: SHA-256 of the filed paper, or empty.
    minor: whether the person was under 18 as the paper has it; their date of birth, born_on, decides where the book
    knows it (it stands with the person, not with the paper). conditions: what the studio must keep to, in words; it
    stays inside. client_conditions: what binds the client as well and is passed on.

    Raises BadInput for a signed paper without a day or a signer.
    """

    key: str
    kind: str
    subject: str
    name: str
    scope: Scope
    works: frozenset[str] = frozenset()
    status: str = "draft"
    signed_on: date | None = None
    signers: tuple[Signer, ...] = ()
    minor: bool = False
    document: str = ""
    conditions: tuple[str, ...] = ()
    client_conditions: tuple[str, ...] = ()
    withdrawn_on: date | None = None
    born_on: date | None = field(default=None, compare=False)

    def __post_init__(self) -> None:
        if self.kind not in HOLDING_KINDS:
            raise self._wrong("kind", f"one of {', '.join(HOLDING_KINDS)}", self.kind)
        if self.status not in STATUSES:
            raise self._wrong("status", f"one of {', '.join(STATUSES)}", self.status)
        if self.status in {"signed", "withdrawn"}:
            if self.signed_on is None:
                raise self._wrong("signed_on", "the day it was signed", "nothing")
            if not self.signers:
                raise self._wrong("signers", "who signed it", "nobody")
        elif self.signed_on is not None:
            raise self._wrong("status", "signed, as it has a day of signing", self.status)
        if (self.status == "withdrawn") != (self.withdrawn_on is not None):
            raise self._wrong(
                "withdrawn_on", 'the day of withdrawal with status "withdrawn", else none', self.withdrawn_on
            )

    def _wrong(self, field: str, wanted: str, got: object) -> BadInput:
        return BadInput(wanted=wanted, got=got, field=field, where=f"{self.title}, {self.key}")

    @property
    def title(self) -> str:
        """What it is and about whom: `talent release: Morag Sinclair`."""
        return f"{HOLDING_KINDS.get(self.kind, self.kind)}: {self.name}"

    @property
    def held(self) -> Scope:
        """What it lets the studio grant: its scope; of a withdrawn one what came before the day of withdrawal.

        Withdrawing consent does not undo what was done before (UK GDPR Article 7(3)).
        """
        if self.withdrawn_on is not None and not self._fault:
            return self.scope.ending_by(self.withdrawn_on - ONE_DAY)
        return Scope() if self.why_nothing else self.scope

    @property
    def why_nothing(self) -> str:
        """Why it holds nothing, or nothing any more, in a few words; empty while it holds its scope."""
        if self.status in {"draft", "sent"}:
            return {"draft": "not sent yet", "sent": "sent, not signed"}[self.status]
        if self._fault or self.withdrawn_on is None:
            return self._fault
        return f"withdrawn on {self.withdrawn_on}"

    @property
    def _fault(self) -> str:
        """Why a signed paper never held anything; empty where it did."""
        if self.kind == "crew_assignment" and not self.document:
            return "an assignment needs signed writing on file"
        return self.age_fault or ("" if self.scope else "nobody has said what it allows")

    @property
    def young(self) -> bool:
        """Whether the person was under 18 when it was signed: by the date of birth where it is known."""
        known = minor_when(self.born_on, self.signed_on)
        return self.minor if known is None else known

    @property
    def age_fault(self) -> str:
        """Why nobody's signature counts: who is under 18 needs a parent or guardian, who is of age signs in person.

        A guardian is another person, and of age where that is known. Empty when there is no such fault.
        """
        guardians = [one for one in self.signers if one.role == "guardian"]
        if not guardians:
            if self.young:
                return "signed under 18 without a parent or guardian"
            if any(minor_when(one.born_on, self.signed_on) for one in self.signers):
                return "signed by somebody under 18 without a parent or guardian"
            return ""
        about_them = self.kind in PERSON_KINDS
        others = [one for one in guardians if not (about_them and same_name(one.name) == same_name(self.name))]
        if not others:
            return "signed under 18 as their own guardian"
        if all(minor_when(one.born_on, self.signed_on) for one in others):
            return "the guardian who signed was under 18 too"
        if about_them and not self.young and len(guardians) == len(self.signers):
            return "of age when it was signed, and only a parent or guardian signed"
        return ""

    @property
    def of_age_on(self) -> date | None:
        """The day on which a minor comes of age while the paper still allows something; None where none does."""
        if self.why_nothing or not self.young or self.born_on is None:
            return None
        day, last = of_age_on(self.born_on), self.scope.end
        return day if day is not None and last is not None and day <= last else None

    def state(self, on: date) -> str:
        """Its status on that day; "expired" for a signed one whose last day has passed."""
        if self.status == "signed" and self.scope.end is not None and self.scope.end < on:
            return "expired"
        return self.status

    def is_about(self, work: str) -> bool:
        """Whether it counts for that work."""
        return not self.works or work in self.works

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {
            "key": self.key,
            "kind": self.kind,
            "subject": self.subject,
            "name": self.name,
            "scope": self.scope.data(),
            "works": sorted(self.works),
            "status": self.status,
            "signed_on": self.signed_on.isoformat() if self.signed_on else "",
            "signers": [{"name": signer.name, "role": signer.role} for signer in self.signers],
            "minor": self.minor,
            "document": self.document,
            "conditions": list(self.conditions),
            "client_conditions": list(self.client_conditions),
            "withdrawn_on": self.withdrawn_on.isoformat() if self.withdrawn_on else "",
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Holding:
        """From `data()`."""
        return cls(
            key=data["key"],
            kind=data["kind"],
            subject=data["subject"],
            name=data["name"],
            scope=Scope.from_data(data["scope"]),
            works=frozenset(data["works"]),
            status=data["status"],
            signed_on=iso_date(data["signed_on"]) if data["signed_on"] else None,
            signers=tuple(Signer(signer["name"], signer["role"]) for signer in data["signers"]),
            minor=data["minor"],
            document=data["document"],
            conditions=tuple(data["conditions"]),
            client_conditions=tuple(data.get("client_conditions", ())),
            withdrawn_on=iso_date(data["withdrawn_on"]) if data["withdrawn_on"] else None,
        )
