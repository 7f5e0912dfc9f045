"""Holding: a paper by which the studio may use what is not its own - a face, a place, a tune, a shot.

Only a signed paper holds anything, a withdrawn one up to the day before. UK law behind it, to be checked where the
work is done: an assignment of copyright needs signed writing (Copyright, Designs and Patents Act 1988 s.90(3));
consent can be withdrawn (UK GDPR Article 7(3)); for somebody under 18 a parent or guardian signs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
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
    stays inside. client_conditions: what binds the client as well and is passed on. overtaken_on: the first day
    that another paper, overtaken_by, takes from it, and overtaken_why in words (`taken_back.as_they_stand`). client,
    client_name: key and name of the only client for whom it was given, empty where it was given for any; affiliates,
    passed_on: who else it names as using it, and whether it lets the client pass it on. barred: why it does not count
    for what is asked (`for_client`).

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
    client: str = ""
    client_name: str = ""
    affiliates: tuple[str, ...] = ()
    passed_on: bool = False
    barred: str = field(default="", compare=False)
    overtaken_on: date | None = field(default=None, compare=False)
    overtaken_by: str = field(default="", compare=False)
    overtaken_why: str = field(default="", compare=False)

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
        """What it lets the studio grant: its scope; where consent was taken back what came before that day.

        Withdrawing consent does not undo what was done before (UK GDPR Article 7(3)).
        """
        back = min((day for day in (self.withdrawn_on, self.overtaken_on) if day), default=None)
        if back is not None and not self.fault and not self.barred:
            return self.scope.ending_by(back - ONE_DAY)
        return Scope() if self.why_nothing else self.scope

    @property
    def why_nothing(self) -> str:
        """Why it holds nothing, or nothing any more, in a few words; empty while it holds its scope."""
        if self.status in {"draft", "sent"}:
            return {"draft": "not sent yet", "sent": "sent, not signed"}[self.status]
        if self.fault or self.barred:
            return self.fault or self.barred
        if self.withdrawn_on is not None:
            return f"withdrawn on {self.withdrawn_on}"
        return self.overtaken_why

    @property
    def fault(self) -> str:
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

    @property
    def owners(self) -> frozenset[str]:
        """Who gave it, by names as compared: whoever signed; nobody else than the person where it is about one."""
        if self.kind in PERSON_KINDS:
            return frozenset({self.subject})
        return frozenset(same_name(one.name) for one in self.signers)

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
            "client": self.client,
            "client_name": self.client_name,
            "affiliates": list(self.affiliates),
            "passed_on": self.passed_on,
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
            client=data.get("client", ""),
            client_name=data.get("client_name", ""),
            affiliates=tuple(data.get("affiliates", ())),
            passed_on=data.get("passed_on", False),
        )


@dataclass(frozen=True, slots=True)
class Licensee:
    """Who may use what is licensed. client: key of the client. affiliates: who else may. transfer: whether the client
    may pass it on."""

    client: str
    affiliates: tuple[str, ...] = ()
    transfer: bool = False


def for_client(holdings: Iterable[Holding], to: Licensee) -> list[Holding]:
    """The papers as far as they count for a licence: one given for one client alone neither counts for another, nor
    for affiliates that it does not name, nor where the client may pass on what it does not let them pass on."""
    return [replace(one, barred=why) if (why := _barred(one, to)) else one for one in holdings]


def _barred(holding: Holding, to: Licensee) -> str:
    if not holding.client:
        return ""
    if holding.client != to.client:
        return f"given for {holding.client_name} alone"
    named = {same_name(one) for one in holding.affiliates}
    others = [one for one in to.affiliates if same_name(one) not in named]
    if others and not holding.passed_on:
        return f"given for {holding.client_name} alone, and the licence is for {', '.join(others)} too"
    if to.transfer and not holding.passed_on:
        return f"given for {holding.client_name} alone, and by the licence they may pass it on"
    return ""


def without_erased(holdings: Iterable[Holding], erased: Mapping[str, date], granted_on: date) -> list[Holding]:
    """The papers as far as they carry what is granted on a day: those of somebody erased by then are evidence.

    erased: subject -> the day. Source: UK GDPR Article 17(3)(e) keeps them for legal claims, and for nothing else.
    """
    return [
        replace(one, barred=f"they asked to be erased on {day}: kept as evidence alone")
        if (day := erased.get(one.subject)) is not None and day <= granted_on
        else one
        for one in holdings
    ]
