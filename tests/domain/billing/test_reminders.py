"""The ladder of reminders."""

from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.billing.reminders import next_reminder
from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.money import Money
from bizkit.domain.parties import Studio
from bizkit.domain.payment_terms import LADDER

DUE = date(2027, 6, 9)
LEFT = Money("10", "GBP")


def ask(today, sent=(), left=LEFT, **more):
    reminder = next_reminder(LADDER, DUE, left, sent, today, **more)
    return reminder.step.name if reminder else None


def test_the_ladder_is_climbed_step_by_step():
    assert ask(date(2027, 6, 9)) is None
    assert ask(date(2027, 6, 11)) is None
    assert ask(date(2027, 6, 12)) == "friendly"
    sent = [("friendly", date(2027, 6, 12))]
    assert ask(date(2027, 6, 22), sent) is None
    assert ask(date(2027, 6, 23), sent) == "firm"
    sent.append(("firm", date(2027, 6, 23)))
    assert ask(date(2027, 7, 9), sent) == "final"
    sent.append(("final", date(2027, 7, 9)))
    assert ask(date(2028, 7, 9), sent) is None


def test_whoever_starts_late_still_starts_friendly_and_leaves_a_week_between():
    assert ask(date(2027, 9, 1)) == "friendly"
    assert ask(date(2027, 9, 7), [("friendly", date(2027, 9, 1))]) is None
    assert ask(date(2027, 9, 8), [("friendly", date(2027, 9, 1))]) == "firm"


def test_the_paid_and_the_paused_are_left_alone():
    assert ask(date(2027, 9, 1), left=Money(0, "GBP")) is None
    assert ask(date(2027, 9, 1), left=Money(-5, "GBP")) is None
    assert ask(date(2027, 9, 1), paused=True) is None


def test_a_studio_writes_its_own_ladder_and_wrong_ones_are_refused():
    def ladder(*tables):
        told = {"name": "A", "country": "GB", "reminders": list(tables)}
        return read_input(Studio, told, where="studio.toml").reminders

    own = ladder({"name": "hello", "days_after_due": 1}, {"name": "again", "days_after_due": 5, "charges": True})
    assert [step.name for step in own] == ["hello", "again"]
    assert ladder() == LADDER
    with pytest.raises(BadInput, match=r"reminders\[2\].days_after_due: wanted more than 5, got 5"):
        ladder({"name": "a", "days_after_due": 5}, {"name": "b", "days_after_due": 5})
    with pytest.raises(BadInput, match=r"reminders\[2\].name: wanted a name used once, got a"):
        ladder({"name": "a", "days_after_due": 5}, {"name": "a", "days_after_due": 6})
    with pytest.raises(BadInput, match="wanted a step of the ladder"):
        ask(date(2027, 9, 1), [("shouting", date(2027, 6, 12))])
    with pytest.raises(BadInput, match="whole number"):
        ladder({"name": "a", "days_after_due": Decimal("1.5")})
