"""Releases, permissions and assignments."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from bizkit.domain.documents.base import Client, Fee, Form, Scope


class Person(TypedDict):
    """Somebody on a release; what is empty is a line to write on. role: owner, tenant, camera... others: who else
    must agree. stage_name on a performer's consent, relation and chaperone for a guardian."""

    name: str
    address: NotRequired[list[str]]
    email: NotRequired[str]
    phone: NotRequired[str]
    born_on: NotRequired[str]
    role: NotRequired[str]
    others: NotRequired[str]
    stage_name: NotRequired[str]
    relation: NotRequired[str]
    chaperone: NotRequired[str]


#: A key that Python keeps for itself.
_From = TypedDict("_From", {"from": NotRequired[str]})


class Shoot(_From):
    """When and where pictures are made. days: dates or words. from and until: times of day."""

    days: list[str]
    places: NotRequired[list[str]]
    what: NotRequired[str]
    spare_days: NotRequired[list[str]]
    until: NotRequired[str]
    people: NotRequired[int]
    vehicles: NotRequired[int]


class PersonalData(TypedDict):
    """Why data are kept. basis: the lawful basis; contact: where consent is withdrawn."""

    basis: NotRequired[str]
    purpose: NotRequired[str]
    retention_until: NotRequired[str]
    contact: NotRequired[str]


class Consent(TypedDict):
    """One consent, asked separately."""

    text: str
    given: NotRequired[bool]


class Signed(TypedDict):
    """Who signed when; image: SHA-256 of a drawn signature."""

    name: str
    signed_on: str
    image: NotRequired[str]


class Release(Form):
    """What releases share. signatures: by role (person, guardian, holder, owner, studio, witness).

    conditions: what the studio keeps to. client_conditions: what its client keeps to as well. any_client: it may be
    licensed to others than the client too. affiliates, passed_on: who else may use it by the client's licence, and
    whether the client may pass it on.
    """

    client: NotRequired[Client | None]
    any_client: NotRequired[bool]
    affiliates: NotRequired[list[str]]
    passed_on: NotRequired[bool]
    scope: Scope
    fee: NotRequired[Fee | None]
    credit: NotRequired[str]
    conditions: NotRequired[list[str]]
    client_conditions: NotRequired[list[str]]
    data: NotRequired[PersonalData]
    consents: NotRequired[list[Consent]]
    signatures: NotRequired[dict[str, Signed]]


class ModelRelease(Release):
    """Talent release. With `minor` or a guardian it is the release for a child. water: none snorkel breath_hold
    compressed_gas."""

    person: Person
    minor: NotRequired[bool]
    guardian: NotRequired[Person | None]
    shoot: Shoot
    water: NotRequired[str]


class Place(TypedDict):
    """A location. what: which parts of it are used."""

    name: str
    address: NotRequired[list[str]]
    position: NotRequired[str]
    what: NotRequired[str]


class Insurance(TypedDict):
    """An insurance; cover in words."""

    insurer: str
    policy: NotRequired[str]
    cover: NotRequired[str]
    until: NotRequired[str]


class LocationPermission(Release):
    """Leave to film at a place."""

    place: Place
    holder: Person
    shoot: Shoot
    insurance: NotRequired[Insurance | None]
    drone: NotRequired[bool]
    water: NotRequired[bool]


class Property(TypedDict):
    """A thing that is shown. others: who has rights in it besides."""

    name: str
    what: NotRequired[str]
    maker: NotRequired[str]
    address: NotRequired[list[str]]
    others: NotRequired[str]


class PropertyRelease(Release):
    """Leave to show a building, boat, work of art, animal or product."""

    property: Property
    owner: Person
    shoot: NotRequired[Shoot]


class Performance(TypedDict):
    """What is performed; works: whose music, words or dance is in it."""

    what: str
    days: NotRequired[list[str]]
    places: NotRequired[list[str]]
    works: NotRequired[str]


class PerformerConsent(Release):
    """Consent to record and use a performance."""

    person: Person
    minor: NotRequired[bool]
    guardian: NotRequired[Person | None]
    performance: Performance


class CrewAssignment(Form):
    """Copyright of crew work passing to the studio. moral_rights: kept or waived."""

    client: NotRequired[Client | None]
    person: Person
    shoot: Shoot
    work: NotRequired[str]
    fee: NotRequired[Fee | None]
    on_payment: NotRequired[bool]
    moral_rights: NotRequired[str]
    own_material: NotRequired[list[str]]
    credit: NotRequired[str]
    showreel: NotRequired[str]
    conditions: NotRequired[list[str]]
    client_conditions: NotRequired[list[str]]
    signatures: NotRequired[dict[str, Signed]]


class Ask(TypedDict):
    """Whom people on the spot may talk to."""

    name: str
    phone: str


class CrowdNotice(Form):
    """A poster for the place of the shoot. way_round: a sentence that ends with a full stop."""

    client: NotRequired[Client | None]
    shoot: Shoot
    scope: NotRequired[Scope]
    way_round: NotRequired[str]
    ask: Ask
    data: NotRequired[PersonalData]
    drone: NotRequired[bool]
