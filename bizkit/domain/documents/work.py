"""Papers of the shoot and of what is handed over."""

from __future__ import annotations

from typing import Any, NotRequired, TypedDict

from bizkit.domain.documents.base import Client, Form, JobPaper, Licence
from bizkit.domain.documents.releases import Insurance


class Programme(TypedDict):
    """The work that music is in; duration as hh:mm:ss."""

    title: str
    duration: str
    version: NotRequired[str]
    first_shown: NotRequired[str]
    producer: NotRequired[str]


class Cue(TypedDict):
    """One piece of music. start and length as hh:mm:ss; use: background featured title; origin: commissioned library
    commercial own; licence: the number of the holding. Shares are part of the names: "A. Tern (50%)"."""

    number: NotRequired[int]
    title: str
    composers: list[str]
    publishers: list[str]
    performer: NotRequired[str]
    label: NotRequired[str]
    start: str
    length: str
    use: str
    origin: NotRequired[str]
    licence: NotRequired[str]


class CueSheet(JobPaper):
    """The music in a work. music_total: length of all of it."""

    client: NotRequired[Client | None]
    programme: Programme
    cues: list[Cue]
    music_total: NotRequired[str]


class Flight(TypedDict):
    """A drone flight as planned; heights in metres above ground."""

    date: str
    place: str
    purpose: NotRequired[str]
    height_limit_m: NotRequired[int]
    planned_height_m: NotRequired[int]
    take_off: NotRequired[str]
    airspace: NotRequired[str]
    people: NotRequired[str]
    wildlife: NotRequired[str]


class Pilot(TypedDict):
    """Who flies."""

    name: str
    flyer_id: NotRequired[str]
    flyer_id_until: NotRequired[str]
    certificates: NotRequired[list[str]]


class Operator(TypedDict):
    """Who operates the drone; the studio where the name is empty."""

    name: NotRequired[str]
    operator_id: NotRequired[str]
    until: NotRequired[str]


#: A key that Python keeps for itself.
_ClassMark = TypedDict("_ClassMark", {"class": NotRequired[str]})


class Aircraft(_ClassMark):
    """The drone; weight in grams; class: its class mark."""

    name: NotRequired[str]
    weight_g: str
    serial: NotRequired[str]
    camera: NotRequired[str]


class DroneRecord(Form):
    """Papers and log of a day of drone flights. permissions: {from, reference, until, note}; checks: {text, done};
    flights: {from, until, battery, note}. rules: whose are summed up, uk eu or nothing; rules_note stands in place of
    the summary."""

    client: NotRequired[Client | None]
    flight: Flight
    pilot: Pilot
    operator: Operator
    aircraft: Aircraft
    insurance: Insurance
    permissions: list[dict[str, str]]
    checks: NotRequired[list[dict[str, Any]]]
    flights: NotRequired[list[dict[str, str]]]
    rules: NotRequired[str]
    rules_note: NotRequired[str]


class InWater(TypedDict):
    """Somebody in the water. how: none snorkel breath_hold compressed_gas; swims: in their own words."""

    name: str
    role: NotRequired[str]
    how: str
    swims: str
    contact: str


class Ashore(TypedDict):
    """The person ashore who knows."""

    name: str
    phone: NotRequired[str]
    channel: NotRequired[str]


class CallOut(TypedDict):
    """When somebody is late: when to call whom, what to say, where it is."""

    time: str
    number: str
    say: NotRequired[str]
    position: NotRequired[str]


class WaterDayCard(Form):
    """One sheet for a water day. Times are typed in, as are tides {what, time, height} and light {what, time}."""

    client: NotRequired[Client | None]
    day: str
    place: str
    plan: NotRequired[str]
    back_by: str
    call_out: CallOut
    ashore: Ashore
    team: list[InWater]
    tides: NotRequired[list[dict[str, str]]]
    light: NotRequired[list[dict[str, str]]]
    limits: NotRequired[list[str]]
    exits: NotRequired[list[str]]
    care: NotRequired[list[str]]


class Work(TypedDict):
    """A licensed work. quantity: films like it, or stills in the set."""

    title: str
    quantity: NotRequired[int]
    spec: NotRequired[str]
    version: NotRequired[str]


class Effect(TypedDict):
    """Whether a licence holds. status: in_force waiting resting ended cancelled; on: since, from or until.

    paid_on: in full. note: the unpaid invoice for which it rests, or why it ended. since: waits once more from then.
    gaps: first and last days, both included, of the times since at which it was not paid in full. latest: the last
    day at the latest, where its months count from a first use that is not recorded yet.
    """

    status: str
    on: NotRequired[str]
    paid_on: NotRequired[str]
    note: NotRequired[str]
    since: NotRequired[str]
    gaps: NotRequired[list[list[str]]]
    latest: NotRequired[str]


class Replaced(TypedDict):
    """The revision of a paper that a newer one takes the place of."""

    revision: int
    issued_on: str


class LicenceCertificate(JobPaper):
    """Proof of a licence; number is its id. digest: SHA-256 of the licence. qr: the text of the QR code.

    client_conditions: what the people and places in it asked for and the client keeps to. restrictions: on older
    certificates, everything that was asked for. revision: printed where it `replaces` an earlier one.
    """

    revision: NotRequired[int]
    replaces: NotRequired[Replaced]
    client: NotRequired[Client | None]
    licence: Licence
    works: list[Work]
    effect: Effect
    client_conditions: NotRequired[list[str]]
    restrictions: NotRequired[list[str]]
    digest: NotRequired[str]
    qr: NotRequired[str]


class PlannedShot(TypedDict):
    """One shot. kind: water or dry; on: the day or empty; cuts: keys of deliverables; frame_rate: or empty."""

    number: str
    title: str
    kind: str
    place: str
    who: list[str]
    cuts: list[str]
    on: str
    frame_rate: str
    note: str


class ConformFacts(TypedDict):
    """What shooting at another rate does, in figures; see `domain.work.conform.conform_facts`."""

    percent: str
    ten_s: str
    every: str
    off: str
    made_up: str
    no_sound: str
    shutter: str


class ShotRate(ConformFacts):
    """A frame rate that is not the timeline's, and the shots of it."""

    rate: str
    timeline: str
    shots: list[str]


class ShotList(JobPaper):
    """What is shot on which day. hints: sentences on frame rates, in English; rates: the same in figures."""

    shots: list[PlannedShot]
    hints: NotRequired[list[str]]
    rates: NotRequired[list[ShotRate]]


class DeliveredFile(TypedDict):
    """A file handed over; size and duration in words."""

    title: str
    version: NotRequired[str]
    spec: NotRequired[str]
    duration: NotRequired[str]
    name: str
    size: str
    sha256: NotRequired[str]


class Restriction(TypedDict):
    """A limit of a place, a tune or a thing. until: the last day it allows anything. what: on older notes."""

    who: str
    what: str
    until: NotRequired[str]


class DeliveryNote(JobPaper):
    """What was handed over. manifest: the name of the checksum list. count: of the files, without the note.
    purchase_order, buyer_reference: of the client, as invoices of the job carry them."""

    client: Client
    purchase_order: NotRequired[str]
    buyer_reference: NotRequired[str]
    how: NotRequired[str]
    manifest: NotRequired[str]
    kept_until: NotRequired[str]
    reply_by: NotRequired[str]
    files: list[DeliveredFile]
    count: NotRequired[int]
    licence: NotRequired[Licence | None]
    licence_sentences: NotRequired[list[str]]
    client_conditions: NotRequired[list[str]]
    restrictions: NotRequired[list[Restriction]]
    credits: NotRequired[list[str]]
