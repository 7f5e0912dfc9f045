"""May the client do this? Yes or no, because; and what to add for a yes."""

from datetime import date

import pytest

from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import Term
from bizkit.domain.rights.territory import Territory
from bizkit.domain.rights.use import may


def grant(key: str = "L-1", media: str = "owned_channels", where: str = "UK and Ireland", **more: object) -> Licence:
    asked = {"months": 12, "starts": date(2026, 7, 1), "on_full_payment": bool(more.pop("on_payment", False))}
    if more.pop("no_start", False):
        asked["starts"] = None
    request = LicenceRequest(frozenset(media.split()), Territory.read(where), **asked)
    return Licence(key, "Skerrow Islands Tourism", frozenset({"film"}), request, date(2026, 6, 1), **more)


def test_yes_because_a_licence_allows_it():
    answer = may([grant()], "film", "owned_channels", "IE", date(2027, 6, 30))
    assert answer.allowed
    assert answer.text == "yes, because L-1 allows own channels in Ireland until 30 June 2027"
    assert not answer.extension


@pytest.mark.parametrize(
    ("licence", "medium", "country", "on", "because"),
    [
        ({}, "cinema", "GB", date(2026, 8, 1), "it is for own channels, not for cinema"),
        ({}, "owned_channels", "FR", date(2026, 8, 1), "it is for UK and Ireland, without France"),
        ({}, "owned_channels", "GB", date(2027, 7, 1), "it ended with 30 June 2027"),
        ({}, "owned_channels", "GB", date(2026, 6, 30), "it begins only on 1 July 2026"),
        (
            {"on_payment": True},
            "owned_channels", "GB", date(2026, 8, 1), "it takes effect only when the invoices are paid in full",
        ),
        (
            {"ended_after": date(2026, 9, 1), "ended_because": "not paid"},
            "owned_channels", "GB", date(2026, 9, 2), "it was ended after 1 September 2026 (not paid)",
        ),
        (
            {"on_payment": True, "paid_on": date(2028, 1, 1)},
            "owned_channels", "GB", date(2028, 1, 1), "it ended before it took effect",
        ),
        (
            {},
            "cinema", "FR", date(2027, 7, 1),
            "it is for own channels, not for cinema; it is for UK and Ireland, without France; it ended with "
            "30 June 2027",
        ),
    ],
)  # fmt: skip
def test_no_because(licence, medium, country, on, because):
    answer = may([grant(**licence)], "film", medium, country, on)
    assert answer.text == f"no, because L-1 does not allow it: {because}"


def test_no_licence_of_the_work_at_all():
    answer = may([grant()], "stills", "owned_channels", "GB", date(2026, 8, 1))
    assert answer.text == "no, because no licence of stills is granted"
    assert answer.licence is None


def test_the_nearest_licence_is_named():
    far, near = grant("L-1", media="cinema", where="France"), grant("L-2", where="France")
    assert may([far, near], "film", "owned_channels", "GB", date(2026, 8, 1)).licence == near


@pytest.mark.parametrize(
    ("medium", "country", "on", "term"),
    [
        ("cinema", "GB", date(2026, 8, 1), Term(date(2026, 8, 1), date(2027, 6, 30))),
        ("owned_channels", "FR", date(2026, 6, 1), Term(date(2026, 6, 1), date(2027, 6, 30))),
        ("owned_channels", "GB", date(2027, 7, 1), Term(date(2027, 7, 1), date(2028, 6, 30))),
        ("owned_channels", "GB", date(2030, 1, 1), Term(date(2027, 7, 1), date(2030, 1, 1))),
    ],
)
def test_what_to_add_for_a_yes(medium, country, on, term):
    answer = may([grant()], "film", medium, country, on)
    assert answer.extension == Scope.box({medium}, {country}, term)
    assert answer.licence is not None
    assert answer.licence.scope.union(answer.extension).allows(medium, country, on)


@pytest.mark.parametrize("licence", [{"on_payment": True}, {"ended_after": date(2026, 9, 1)}])
def test_nothing_is_offered_on_a_licence_that_is_unpaid_or_was_ended_early(licence):
    assert not may([grant(**licence)], "film", "owned_channels", "GB", date(2026, 9, 2)).extension
