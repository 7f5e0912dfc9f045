"""Holdings: what a paper is, what it holds, and what makes it no paper."""

from datetime import date

import pytest

from bizkit.domain.errors import BadInput, Problems
from bizkit.domain.rights.age import is_minor
from bizkit.domain.rights.holding import HOLDING_KINDS, Holding, Signer
from bizkit.domain.rights.paper_file import read_paper
from bizkit.domain.rights.paper_terms import scope_of
from bizkit.domain.rights.scope import Scope
from bizkit.domain.rights.term import Term
from bizkit.domain.rights.territory import WORLD

#: The keys of a file that says what a paper allows.
SAID = ("media", "territory", "except", "starts", "months", "until", "open_end", "scope")


def read(**tree: object) -> Holding:
    """A paper whose terms are read from a file."""
    base = {
        "kind": "talent_release",
        "name": "Morag Sinclair",
        "media": ["online"],
        "territory": "World",
        "open_end": True,
        "signed_on": date(2027, 5, 9),
        "signers": ["Morag Sinclair"],
    }
    merged = {key: value for key, value in {**base, **tree}.items() if value is not None}
    said = {key: merged.pop(key) for key in SAID if key in merged}
    signed_on = merged.pop("signed_on", None)
    parts = read_paper(said, first_day=signed_on, where="releases.toml")
    signers = tuple(Signer(name) for name in merged.pop("signers", ()))
    if "guardian" in merged:
        signers = (*signers, Signer(merged.pop("guardian"), "guardian"))
    usual = "withdrawn" if "withdrawn_on" in merged else "signed" if signed_on else "draft"
    return Holding(
        key="R-1",
        subject=merged["name"],
        scope=scope_of(parts, signed_on or date(2027, 5, 1)),
        signed_on=signed_on,
        signers=signers,
        status=merged.pop("status", usual),
        works=frozenset(merged.pop("works", ())),
        conditions=tuple(merged.pop("conditions", ())),
        **merged,
    )


def test_a_signed_release_holds_its_scope_from_the_day_of_signing():
    paper = read()
    assert paper.status == "signed"
    assert paper.held == Scope.box({"owned_channels", "paid_online", "paid_social"}, WORLD, Term(date(2027, 5, 9)))
    assert paper.title == "talent release: Morag Sinclair"


def test_a_paper_may_allow_several_boxes():
    rows = [
        {"media": "online", "territory": "UK", "starts": date(2027, 1, 1), "months": 12},
        {"media": "cinema", "territory": "Ireland", "until": date(2027, 12, 31)},
    ]
    paper = read(media=None, territory=None, open_end=None, scope=rows)
    assert paper.scope.text() == (
        "online / United Kingdom / 2027-01-01..2027-12-31; cinema / Ireland / 2027-05-09..2027-12-31"
    )


@pytest.mark.parametrize("kind", sorted(HOLDING_KINDS))
def test_every_kind_reads_back_from_its_data(kind):
    paper = read(kind=kind, document="ab" * 32, works=["kelp/film"], conditions=["tell her first"])
    assert Holding.from_data(paper.data()) == paper


def test_a_withdrawn_paper_reads_back_and_held_until_the_day_before():
    paper = read(withdrawn_on=date(2027, 8, 1))
    assert Holding.from_data(paper.data()) == paper
    assert (paper.status, paper.why_nothing) == ("withdrawn", "withdrawn on 2027-08-01")
    assert paper.held == Scope.box(
        {"owned_channels", "paid_online", "paid_social"}, WORLD, Term(date(2027, 5, 9), date(2027, 7, 31))
    )
    assert read(withdrawn_on=date(2027, 5, 9)).held == Scope()
    # What never held anything did not hold it before the withdrawal either.
    assert read(kind="crew_assignment", withdrawn_on=date(2027, 8, 1)).held == Scope()


def test_a_paper_whose_last_day_has_passed_is_expired():
    paper = read(open_end=None, until=date(2027, 12, 31))
    assert paper.state(date(2027, 12, 31)) == "signed"
    assert paper.state(date(2028, 1, 1)) == "expired"
    assert read().state(date(2999, 1, 1)) == "signed"


def test_a_minor_needs_a_guardian_who_signs():
    paper = read(minor=True)
    assert (paper.age_fault, bool(paper.held)) == ("signed under 18 without a parent or guardian", False)
    paper = read(minor=True, guardian="Isla Sinclair")
    assert paper.signers == (Signer("Morag Sinclair"), Signer("Isla Sinclair", "guardian"))
    assert paper.held


def test_a_draft_for_a_minor_needs_no_signature_yet():
    assert read(minor=True, signed_on=None, signers=None, starts=date(2027, 5, 1)).status == "draft"


@pytest.mark.parametrize(
    ("tree", "says"),
    [
        ({"signers": None}, "signers: wanted who signed it, got nobody"),
        (
            {"status": "signed", "signed_on": None, "starts": date(2027, 1, 1)},
            "signed_on: wanted the day it was signed",
        ),
        ({"status": "sent"}, "status: wanted signed, as it has a day of signing, got sent"),
        ({"status": "withdrawn"}, "withdrawn_on: wanted the day of withdrawal"),
        ({"kind": "talent"}, "kind: wanted one of"),
        ({"media": "hologram"}, "media: wanted a known medium, got hologram"),
        ({"territory": "Atlantica"}, "territory: wanted a known country or region, got Atlantica"),
        ({"open_end": None, "until": date(2027, 1, 1)}, "until: wanted a day on or after 2027-05-09, got 2027-01-01"),
        ({"open_end": None}, "months: wanted one of months, until or open_end = true, got none of them"),
        ({"months": 3}, "months: wanted one of months, until or open_end = true, got months, open_end"),
        ({"open_end": False}, "open_end: wanted true, or months or until instead, got false"),
        ({"signed_on": None, "signers": None}, "starts: wanted the first day it allows anything, got nothing"),
        (
            {
                "scope": [{"media": "online", "territory": "UK", "month": 3}],
                "media": None,
                "territory": None,
                "open_end": None,
            },
            "wanted a known key, got month. Did you mean months?",
        ),
    ],
)
def test_a_paper_that_cannot_be_is_refused_in_one_line(tree, says):
    with pytest.raises(BadInput) as error:
        read(**tree)
    assert says in str(error.value)
    assert "\n" not in str(error.value)


def test_all_that_is_wrong_in_a_file_is_said_in_one_run():
    rows = [{"media": "hologram", "territory": "UK", "months": 12}, {"territory": "Atlantica", "open_end": False}]
    with pytest.raises(Problems) as error:
        read(media=None, territory=None, open_end=None, scope=rows)
    said = [str(one).partition(", got")[0] for one in error.value.problems]
    assert said == [
        "releases.toml: scope[1].media: wanted a known medium",
        "releases.toml: scope[2].media: wanted a list of texts",
        "releases.toml: scope[2].territory: wanted a known country or region",
        "releases.toml: scope[2].open_end: wanted true, or months or until instead",
    ]


def test_parts_stand_in_their_own_tables_or_the_file_is_one_part():
    part = {"media": "online", "territory": "UK", "months": 1}
    with pytest.raises(BadInput, match=r"months: wanted it inside each \[\[scope\]\], got it beside them"):
        read(media=None, territory=None, open_end=None, months=3, scope=[part])


# Family Law Reform Act 1969 s.1 (full age at 18) and s.9 (from the start of the birthday); from memory.
@pytest.mark.parametrize(
    ("born", "on", "minor"),
    [
        (date(2009, 5, 10), date(2027, 5, 9), True),
        (date(2009, 5, 10), date(2027, 5, 10), False),
        (date(2008, 2, 29), date(2026, 2, 28), True),
        (date(2008, 2, 29), date(2026, 3, 1), False),
    ],
)
def test_somebody_is_under_18_until_the_birthday(born, on, minor):
    assert is_minor(born, on) is minor


def test_a_birth_after_the_day_is_refused():
    with pytest.raises(BadInput, match="born_on: wanted a date of birth on or before 2027-05-10"):
        is_minor(date(2027, 5, 11), date(2027, 5, 10))
