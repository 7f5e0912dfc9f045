"""The [licence] table of a brief, and grants: when they allow anything and in what state they are."""

import json
import tomllib
from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import ArchiveClip, LicenceRequest
from bizkit.domain.rights.media import MEDIA_TREE, OwnMedium
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import WORLD

BASE = """
media = ["owned_channels", "paid social"]
territory = "United Kingdom and Ireland"
"""


def read(text: str, base: str = BASE) -> LicenceRequest:
    tree = tomllib.loads(base + text, parse_float=Decimal)
    return LicenceRequest.read(tree, where="brief.toml", path="licence")


def test_a_licence_from_a_day_for_months():
    asked = read("starts = 2026-07-01\nmonths = 12")
    assert asked.media == {"owned_channels", "paid_social"}
    assert asked.territory.codes == {"GB", "IE"}
    assert asked.term() == Term(date(2026, 7, 1), date(2027, 6, 30))  # Dodds v Walker, corresponding date
    assert not asked.on_full_payment


def test_when_nothing_is_said_it_begins_on_full_payment():
    asked = read("months = 12")
    assert asked.on_full_payment
    assert asked.term() is None
    assert asked.term(paid_on=date(2026, 1, 31)) == Term(date(2026, 1, 31), date(2027, 1, 30))


def test_with_a_first_day_and_full_payment_the_days_before_payment_are_lost():
    asked = read("starts = 2026-07-01\nmonths = 12\non_full_payment = true")
    assert asked.term() is None
    assert asked.term(date(2026, 6, 1)) == Term(date(2026, 7, 1), date(2027, 6, 30))
    assert asked.term(date(2026, 9, 15)) == Term(date(2026, 9, 15), date(2027, 6, 30))
    assert asked.term(date(2027, 7, 1)) is None


def test_from_first_use_at_the_latest_on_a_day():
    asked = read("first_use_by = 2026-10-01\nmonths = 3")
    assert asked.term(first_used_on=date(2026, 8, 1)) == Term(date(2026, 8, 1), date(2026, 10, 31))
    assert asked.term(first_used_on=date(2026, 11, 1)) == Term(date(2026, 10, 1), date(2026, 12, 31))
    assert asked.term() == Term(date(2026, 10, 1), date(2026, 12, 31))
    # Before it is known, it may run from any day up to the latest: cleared for all of them.
    assert asked.widest_term(date(2026, 7, 1)) == Term(date(2026, 7, 1), date(2026, 12, 31))
    assert asked.widest_term(date(2026, 11, 1)) == Term(date(2026, 10, 1), date(2026, 12, 31))


def test_until_a_day_and_without_an_end():
    assert read("starts = 2026-07-01\nuntil = 2026-07-01").term() == Term(date(2026, 7, 1), date(2026, 7, 1))
    forever = read("starts = 2026-07-01\nopen_end = true")
    assert forever.term() == Term(date(2026, 7, 1), OPEN_END)
    assert forever.widest_term(date(2030, 1, 1)) == Term(date(2026, 7, 1))
    late = read("until = 2026-12-31")
    assert late.widest_term(date(2026, 12, 31)) == Term(date(2026, 12, 31), date(2026, 12, 31))
    assert late.widest_term(date(2027, 1, 1)) is None


def test_everything_else_that_can_be_agreed():
    asked = read(
        """
        months = 12
        except = ["Isle of Man", "Ireland"]
        exclusivity = "sector"
        sector = "island tourism"
        works = ["film", "stills"]
        edits = true
        transfer = true
        affiliates = ["Skerrow Ferries"]
        credit = "Gannet & Lark Films"
        limits = ["party politics"]
        clips = [{title = "gannet dive", seconds = 4.5}]
        """
    )
    assert asked.territory.codes == {"GB"}
    assert (asked.exclusivity, asked.sector) == ("sector", "island tourism")
    assert asked.clips == (ArchiveClip("gannet dive", Decimal("4.5")),)
    assert (asked.works, asked.affiliates, asked.limits) == (
        ("film", "stills"), ("Skerrow Ferries",), ("party politics",),
    )  # fmt: skip
    assert (asked.edits, asked.transfer, asked.credit) == (True, True, "Gannet & Lark Films")


def test_all_works_are_the_default():
    assert read("months = 1").works == read('months = 1\nworks = "all"').works == ()


def test_a_buy_out_is_every_medium_everywhere_without_an_end():
    asked = read("buy_out = true\nstarts = 2026-07-01", base="")
    assert asked.media == MEDIA_TREE.leaves("all")
    assert asked.territory.codes == WORLD
    assert asked.term() == Term(date(2026, 7, 1))


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("starts = 2026-07-01", "licence.months: wanted one of months, until or open_end = true, got none of them"),
        (
            "months = 1\nuntil = 2026-08-01",
            "licence.months: wanted one of months, until or open_end = true, got months",
        ),
        ("months = 0", "licence.months: wanted a whole number 1..1200, got 0"),
        ("months = 1.5", "licence.months: wanted a whole number 1..1200, got 1.5"),
        (
            "starts = 2026-07-02\nuntil = 2026-07-01",
            "licence.until: wanted a day on or after 2026-07-02, got 2026-07-01",
        ),
        ("first_use_by = 2026-07-02\nuntil = 2026-07-01", "wanted a day on or after 2026-07-02"),
        (
            "months = 1\nstarts = 2026-07-01\nfirst_use_by = 2026-08-01",
            "wanted either starts or first_use_by, got both",
        ),
        (
            "months = 1\non_full_payment = false",
            "licence.starts: wanted a first day, first_use_by, or on_full_payment",
        ),
        (
            'months = 1\nexclusivity = "exclusive"',
            "licence.exclusivity: wanted one of none, sector, sole, got exclusive",
        ),
        ('months = 1\nexclusivity = "sector"', "licence.sector: wanted the line of business that is protected"),
        ('months = 1\nsector = "tourism"', 'licence.sector: wanted exclusivity = "sector" too, got tourism'),
        ('months = 1\nexcept = "UK, Ireland"', "licence.territory: wanted a territory with at least one country"),
        ("months = 1\nclips = [{title = 'x', seconds = 0}]", "licence.clips[1].seconds: wanted a length above zero"),
        ("months = 1\nmonth = 2", "licence: wanted a known key, got month. Did you mean months?"),
    ],
)
def test_a_wrong_licence_table_is_refused_in_one_line(text, says):
    with pytest.raises(BadInput) as error:
        read(text)
    assert says in str(error.value)
    assert str(error.value).startswith("brief.toml: licence")
    assert "\n" not in str(error.value)


@pytest.mark.parametrize(
    ("base", "says"),
    [
        ('media = "teletext"\nterritory = "UK"\n', "licence.media: wanted a known medium, got teletext"),
        (
            'media = "online"\nterritory = "North America"\n',
            "licence.territory: wanted a territory that can be read one",
        ),
        ('media = "online"\nterritory = "Ruritania"\n', "licence.territory: wanted a known country or region"),
        ('media = "online"\n', "licence.territory: wanted a list of texts, got nothing"),
    ],
)
def test_an_unknown_medium_or_country_is_refused_in_one_line(base, says):
    with pytest.raises(BadInput) as error:
        read("months = 1", base)
    assert says in str(error.value)


@pytest.mark.parametrize(
    "text",
    [
        "starts = 2026-07-01\nmonths = 12",
        "months = 12",
        "starts = 2026-07-01\nuntil = 2026-09-30\non_full_payment = true",
        "starts = 2026-07-01\nopen_end = true",
        "first_use_by = 2026-10-01\nmonths = 3\nexclusivity = 'sole'\nclips = [{title = 'x', seconds = 3}]",
    ],
)
def test_the_frozen_data_reads_back(text):
    asked = read(text)
    data = json.loads(json.dumps(asked.data("Skerrow Islands Tourism")))
    assert data["licensee"] == "Skerrow Islands Tourism"
    assert data["territory"] == {"phrase": "United Kingdom and Ireland", "codes": ["GB", "IE"]}
    assert data["media"] == ["owned_channels", "paid_social"]
    assert LicenceRequest.from_data(data) == asked


# --- grants ---


def grant(text: str, **more: object) -> Licence:
    return Licence("L-1", "Skerrow Islands Tourism", frozenset({"kelp/film"}), read(text), date(2026, 6, 1), **more)


def test_a_grant_with_a_first_day_comes_lives_and_ends():
    licence = grant("starts = 2026-07-01\nmonths = 12")
    states = [
        licence.state(day) for day in (date(2026, 6, 30), date(2026, 7, 1), date(2027, 6, 30), date(2027, 7, 1))
    ]
    assert states == ["coming", "live", "live", "ended"]
    assert licence.scope == Scope.box(
        {"owned_channels", "paid_social"}, {"GB", "IE"}, Term(date(2026, 7, 1), date(2027, 6, 30))
    )


def test_a_grant_allows_nothing_until_it_is_paid_in_full():
    waiting = grant("months = 12")
    assert (waiting.state(date(2026, 8, 1)), waiting.scope) == ("waiting", Scope())
    paid = grant("months = 12", paid_on=date(2026, 7, 15))
    assert (paid.state(date(2026, 8, 1)), paid.scope.end) == ("live", date(2027, 7, 14))


def test_a_grant_ended_early_for_non_payment_allows_nothing_after():
    licence = grant("starts = 2026-07-01\nmonths = 12", ended_after=date(2026, 9, 30), ended_because="not paid")
    assert licence.scope.end == date(2026, 9, 30)
    assert [licence.state(day) for day in (date(2026, 9, 30), date(2026, 10, 1))] == ["live", "ended early"]
    before = grant("starts = 2026-07-01\nmonths = 12", ended_after=date(2026, 6, 15))
    assert (before.scope, before.state(date(2026, 7, 1))) == (Scope(), "ended early")


def test_a_grant_paid_after_its_last_day_has_ended():
    licence = grant("starts = 2026-07-01\nmonths = 1\non_full_payment = true", paid_on=date(2026, 9, 1))
    assert (licence.scope, licence.state(date(2026, 9, 1))) == (Scope(), "ended")


def test_a_grant_from_first_use_allows_the_widest_until_first_use_is_recorded():
    text = "first_use_by = 2026-10-01\nmonths = 3"
    assert grant(text).term == Term(date(2026, 6, 1), date(2026, 12, 31))
    assert grant(text, first_used_on=date(2026, 8, 1)).term == Term(date(2026, 8, 1), date(2026, 10, 31))
    both = text + "\non_full_payment = true"
    assert grant(both).term is None
    assert grant(both, paid_on=date(2026, 7, 1)).term == Term(date(2026, 7, 1), date(2026, 12, 31))


@pytest.mark.parametrize(
    "more", [{}, {"paid_on": date(2026, 7, 1), "ended_after": date(2026, 8, 1), "ended_because": "not paid"}]
)
def test_a_grant_reads_back_from_its_data(more):
    licence = grant("months = 12", licensee_sector="tourism", **more)
    again = Licence.from_data(json.loads(json.dumps(licence.data())))
    assert again == licence
    assert again.scope == licence.scope


def test_a_renewal_is_the_same_use_for_the_same_length_again():
    by_months = grant("starts = 2026-07-01\nmonths = 12").renewal(date(2026, 1, 1))
    assert by_months.term() == Term(date(2027, 7, 1), date(2028, 6, 30))
    assert by_months.media == {"owned_channels", "paid_social"}
    by_days = grant("starts = 2026-07-01\nuntil = 2026-07-10").renewal(date(2026, 1, 1))
    assert by_days.term() == Term(date(2026, 7, 11), date(2026, 7, 20))
    late = grant("starts = 2026-07-01\nuntil = 2026-07-10").renewal(date(2026, 9, 1))
    assert late.term() == Term(date(2026, 9, 1), date(2026, 9, 10))
    from_payment = grant("months = 12", paid_on=date(2026, 1, 31)).renewal(date(2026, 1, 1))
    assert from_payment.term() is None  # again on full payment
    assert from_payment.term(date(2027, 1, 1)) == Term(date(2027, 1, 31), date(2028, 1, 30))


@pytest.mark.parametrize("text", ["months = 12", "starts = 2026-07-01\nopen_end = true"])
def test_what_has_no_last_day_is_not_renewed(text):
    with pytest.raises(RuleBroken, match="L-1 has no last day"):
        grant(text).renewal(date(2026, 1, 1))


def test_a_studio_s_own_medium_is_named_in_the_frozen_data():
    tree = MEDIA_TREE.with_own({"dome": OwnMedium("Planetariums", label="domes", under="public_places")})
    asked = {"media": ["dome", "cinema"], "territory": "UK", "months": 1}
    data = LicenceRequest.read(asked, media=tree).data(tree=tree)
    assert data["media"] == ["cinema", "dome"]
    assert data["sentences"][0] == "You may use everything we deliver in these media: cinema and domes."
