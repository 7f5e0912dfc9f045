"""The shapes of the documents: what each holds that may leave the studio (see `outgoing`).

All of it is JSON: amounts, quantities and rates are exact decimal text ("1250.00"), dates are ISO text
("2027-05-10"), an empty text stands for "not known". A key under `NotRequired` may be left out, and what it would
print is left out with it; on releases and records an empty field becomes a line to write on. Any other missing key
of a document is refused. What a shape does not name is the studio's own and never leaves.
"""

from __future__ import annotations

import types
import typing
from functools import cache
from typing import Any, NotRequired, get_args, get_origin, get_type_hints

from bizkit.domain.documents.letters import Receipt, Reminder, Statement
from bizkit.domain.documents.releases import (
    CrewAssignment,
    CrowdNotice,
    LocationPermission,
    ModelRelease,
    PerformerConsent,
    PropertyRelease,
)
from bizkit.domain.documents.reports import Report
from bizkit.domain.documents.sales import CreditNote, Invoice, Quote
from bizkit.domain.documents.work import (
    CueSheet,
    DeliveryNote,
    DroneRecord,
    LicenceCertificate,
    ShotList,
    WaterDayCard,
)

#: kind -> the shape of its documents.
SHAPES: dict[str, type] = {
    "quote": Quote,
    "invoice": Invoice,
    "pro_forma": Invoice,
    "credit_note": CreditNote,
    "statement": Statement,
    "reminder": Reminder,
    "receipt": Receipt,
    "report": Report,
    "model_release": ModelRelease,
    "location_permission": LocationPermission,
    "property_release": PropertyRelease,
    "crew_assignment": CrewAssignment,
    "performer_consent": PerformerConsent,
    "crowd_notice": CrowdNotice,
    "cue_sheet": CueSheet,
    "drone_record": DroneRecord,
    "water_day_card": WaterDayCard,
    "licence_certificate": LicenceCertificate,
    "delivery_note": DeliveryNote,
    "shot_list": ShotList,
}


@cache
def required_keys(kind: str) -> tuple[str, ...]:
    """The keys that a document of `kind` must have; none for a kind that a studio made up."""
    if kind not in SHAPES:
        return ()
    hints = get_type_hints(SHAPES[kind], include_extras=True)
    return tuple(key for key, hint in hints.items() if get_origin(hint) is not NotRequired)


@cache
def members(shape: type) -> dict[str, Any]:
    """Key -> type of what a shape holds, without the marks of keys that may be left out or be None."""
    return {key: _plain(hint) for key, hint in get_type_hints(shape, include_extras=True).items()}


def _plain(hint: Any) -> Any:
    if get_origin(hint) is NotRequired:
        hint = get_args(hint)[0]
    if get_origin(hint) in (typing.Union, types.UnionType):
        hint = next(one for one in get_args(hint) if one is not type(None))
    return hint
