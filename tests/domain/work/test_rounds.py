"""Review rounds: what counts, what is left, what a further one costs, and what silence means."""

from __future__ import annotations

import tomllib
from datetime import date
from decimal import Decimal
from itertools import pairwise

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.money import Money
from bizkit.domain.work.rounds import (
    ReviewEvent,
    RoundCount,
    RoundTerms,
    count_rounds,
    extra_round_lines,
    silence,
    waiting_for_yes,
)

TERMS = RoundTerms(2, Money("180", "GBP"), 5, False)


def story(text: str) -> list[ReviewEvent]:
    """Events from a short script, one a day: "v1" sends, "n1" are notes on v1, "o1" notes on our own mistakes."""
    kinds = {"v": "sent", "n": "notes", "o": "notes"}
    return [
        ReviewEvent(kinds[word[0]], date(2027, 6, day), int(word[1:]), word[0] == "o")
        for day, word in enumerate(text.split(), start=1)
    ]


def count(text: str) -> RoundCount:
    return count_rounds(story(text), TERMS)


@pytest.mark.parametrize(
    ("text", "used", "left", "extra"),
    [
        ("", 0, 2, 0),
        ("v1", 0, 2, 0),
        ("v1 n1", 1, 1, 0),
        ("v1 n1 n1 n1", 1, 1, 0),  # notes in several mails are one round
        ("v1 n1 v2 n2", 2, 0, 0),
        ("v1 n1 v2 n1", 2, 0, 0),  # late notes on v1 belong to the round on v2
        ("v1 n1 v2 v3 n3 v4 n4", 3, 0, 1),
        ("v1 n1 v2 n2 v3 n3 n3 v4 n4", 4, 0, 2),
        ("v1 o1 v2 n2", 1, 1, 0),  # our own mistake uses up no round
        ("v1 o1 n1 v2", 1, 1, 0),  # but the client's own notes in the same round do
    ],
)
def test_a_round_is_all_notes_between_two_versions(text: str, used: int, left: int, extra: int) -> None:
    found = count(text)
    assert (found.used, found.left, len(found.extra)) == (used, left, extra)


def test_a_round_knows_its_version_its_day_and_what_its_notes_are_about() -> None:
    rounds = count("v1 n1 v2 n1 n2").rounds
    assert [(each.number, each.version, each.about, each.opened_on.day) for each in rounds] == [
        (1, 1, (1,), 2),
        (2, 2, (1, 2), 4),
    ]


def test_the_next_round_says_that_it_has_to_be_paid_before_it_opens() -> None:
    assert not count("v1 n1 v2").next_is_extra
    assert count("v1 n1 v2 n2 v3").next_is_extra


def test_only_rounds_with_a_yes_become_invoice_lines() -> None:
    found = count("v1 n1 v2 n2 v3 n3 v4 n4")
    assert waiting_for_yes(found, agreed=[]) == (3, 4)
    assert waiting_for_yes(found, agreed=[3], declined=[4]) == ()
    assert extra_round_lines(found, TERMS, agreed=[]) == []
    lines = extra_round_lines(found, TERMS, agreed=[3])
    assert [(line.section, line.item, line.unit, line.quantity, line.amount.text) for line in lines] == [
        ("post", "Further review round (3)", "round", Decimal(1), "180.00")
    ]
    assert lines[0].why == "round 3 on v3, 1 beyond the 2 included: GBP 180.00"


def test_what_cannot_be_charged_is_refused() -> None:
    found = count("v1 n1 v2 n2 v3 n3")
    with pytest.raises(RuleBroken, match="round 2 is not beyond the 2 included: nothing to charge"):
        extra_round_lines(found, TERMS, agreed=[2])
    with pytest.raises(RuleBroken, match="no price for a further round: add extra_round"):
        extra_round_lines(found, RoundTerms(2, None, 5, False), agreed=[3])


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("n1", "notes on v1 cannot be taken: that version was not sent"),
        ("v1 n2", "notes on v2 cannot be taken: that version was not sent"),
        ("v1 v1", "a version after v1 needs a higher number than v1"),
        ("v2 n2 v1", "a version after v2 needs a higher number than v1"),
    ],
)
def test_stories_that_cannot_be_are_refused(text: str, line: str) -> None:
    with pytest.raises(RuleBroken) as error:
        count(text)
    assert str(error.value) == line


def test_events_out_of_order_and_unknown_events_are_refused() -> None:
    first, second = story("v1 n1")
    with pytest.raises(BadInput, match="on: wanted events in order, on 2027-06-02 or later, got 2027-06-01"):
        count_rounds([ReviewEvent("sent", second.on, 1), first], TERMS)
    with pytest.raises(BadInput, match="kind: wanted one of sent, notes, got seen"):
        count_rounds([ReviewEvent("seen", first.on, 1)], TERMS)


def test_silence_is_a_reminder_and_never_an_approval_unless_agreed() -> None:
    # Sent on Friday 4 June 2027: five working days end on Friday 11.
    sent = date(2027, 6, 4)
    assert silence(sent, date(2027, 6, 11), TERMS).state == "waiting"
    late = silence(sent, date(2027, 6, 12), TERMS)
    assert (late.state, late.answer_by) == ("remind", date(2027, 6, 11))
    agreed = RoundTerms(2, None, 5, True)
    assert silence(sent, date(2027, 6, 12), agreed).state == "approved"
    with pytest.raises(BadInput, match="a day on or after 2027-06-04"):
        silence(sent, date(2027, 6, 3), TERMS)


@given(st.dates(date(2026, 1, 1), date(2028, 1, 1)), st.integers(1, 30))
def test_the_day_to_answer_by_is_the_one_numpy_counts(sent: date, days: int) -> None:
    by = silence(sent, sent, RoundTerms(2, None, days, False)).answer_by
    assert by == numpy.busday_offset(sent, days, roll="backward").astype(date)


def test_terms_are_read_with_common_defaults() -> None:
    def read(toml: str) -> RoundTerms:
        tree = tomllib.loads(toml, parse_float=Decimal)
        return read_input(RoundTerms, tree, where="card.toml", path="rounds", currency="GBP")

    assert read("") == RoundTerms(2, None, 5, False)
    assert read("included = 1\nextra_round = 180.00\nsilence_days = 3\nsilence_approves = true") == RoundTerms(
        1, Money("180.00", "GBP"), 3, True
    )
    with pytest.raises(BadInput, match=r"card\.toml: rounds\.extra_round: wanted a number of 0 or more, got -1"):
        read("extra_round = -1")
    with pytest.raises(BadInput, match=r"Did you mean silence_days"):
        read("silent_days = 3")


@given(st.lists(st.booleans(), max_size=20))
def test_rounds_are_never_more_than_versions_sent_and_notes_taken(sends: list[bool]) -> None:
    version, events = 1, [ReviewEvent("sent", date(2027, 6, 1), 1)]
    for send in sends:
        version += send
        events.append(ReviewEvent("sent" if send else "notes", date(2027, 6, 1), version))
    found = count_rounds(events, TERMS)
    # Counted another way: every send that is directly followed by notes opens one round.
    kinds = [event.kind for event in events]
    assert found.used == sum(1 for a, b in pairwise(kinds) if (a, b) == ("sent", "notes"))
    assert found.used + found.left == max(found.used, TERMS.included)
