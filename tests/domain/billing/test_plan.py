"""Stages that add up to the whole."""

import tomllib
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.billing.plan import BillingPlan, Facts, Stage, report_stages, stage_amounts, stage_due
from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import read_made
from bizkit.domain.money import Money, percent


def plan(*percents):
    return BillingPlan(tuple(Stage(f"Stage {n}", Decimal(p), "delivery") for n, p in enumerate(percents, start=1)))


@dataclass(frozen=True)
class Stages:
    stages: Annotated[tuple[Stage, ...], Key("The stages.")] = ()

    def checked(self, at):
        report_stages(self.stages, at)
        return self.stages


def read(text):
    return read_made(Stages, Stages.checked, tomllib.loads(text, parse_float=Decimal), where="brief.toml")


def test_stages_are_read_with_events_and_days():
    stages = read(
        '[[stages]]\ntitle="Deposit"\npercent=33.3\nwhen="acceptance"\n'
        '[[stages]]\ntitle="Rest"\npercent=66.7\nwhen=2027-06-01\n'
    )
    assert stages[0] == Stage("Deposit", Decimal("33.3"), "acceptance")
    assert stages[1].day == date(2027, 6, 1)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('[[stages]]\ntitle="A"\npercent=50\nwhen="delivery"', r"stages: wanted .* add up to 100 %, got 50 %"),
        (
            '[[stages]]\ntitle="A"\npercent=100\nwhen="someday"',
            r"stages\[1\].when: wanted acceptance, first",
        ),
        (
            '[[stages]]\ntitle="A"\npercent=100\nwhen="2027-02-30"',
            r"stages\[1\].when: wanted acceptance, first",
        ),
        ('[[stages]]\ntitle="A"\npercent=0\nwhen="delivery"', r"brief.toml: stages\[1\].percent: wanted"),
        ('[[stages]]\ntitle="A"\npercent=100\nwhen=4', r"brief.toml: stages\[1\].when: wanted"),
    ],
)
def test_stages_that_cannot_be_are_refused(text, message):
    with pytest.raises(BadInput, match=message):
        read(text)


def test_no_stages_means_all_on_delivery():
    assert read("") == ()
    assert BillingPlan.whole().stages == (Stage("On delivery", Decimal(100), "delivery"),)


def test_thirds_of_a_hundred_go_to_the_penny():
    parts = stage_amounts({("Z", Decimal(0)): Money(100, "GBP")}, plan("33.3", "33.3", "33.4"))
    assert [part.net.text for part in parts] == ["33.30", "33.30", "33.40"]


def test_a_penny_of_tax_lost_in_rounding_is_found_again():
    # 20 % of 100.03 is 20.006 -> 20.01, but halves 50.02 and 50.01 bear 10.00 each.
    first, second = stage_amounts({("S", Decimal(20)): Money("100.03", "GBP")}, plan("50", "50"))
    assert first.net + second.net == Money("100.03", "GBP")
    assert first.tax + second.tax == Money("20.01", "GBP")
    assert abs(first.net.amount - second.net.amount) <= Decimal("0.05")


@settings(max_examples=60)
@given(
    st.lists(st.integers(1, 60), min_size=1, max_size=5),
    st.dictionaries(
        st.sampled_from([("S", Decimal(20)), ("S", Decimal("25.5")), ("S", Decimal(19)), ("Z", Decimal(0))]),
        st.integers(-5_000, 5_000_000),
        min_size=1,
    ),
    st.sampled_from(["GBP", "JPY", "TND"]),
)
def test_nets_taxes_and_grosses_of_the_stages_add_up_to_the_quote(weights, pennies, currency):
    whole = sum(weights)
    percents = [Decimal(100 * weight) / whole for weight in weights]
    percents = [p.quantize(Decimal("0.01")) for p in percents]
    percents[-1] += 100 - sum(percents)
    nets = {bracket: Money.from_minor(minor, currency) for bracket, minor in pennies.items()}
    parts = stage_amounts(nets, plan(*map(str, percents)))
    for bracket, amount in nets.items():
        split = [dict(part.nets).get(bracket, Money(0, currency)) for part in parts]
        assert sum(piece.minor for piece in split) == amount.minor
        assert sum(percent(piece, bracket[1]).minor for piece in split) == percent(amount, bracket[1]).minor
        # and no stage drifts: within 100 minor units of its exact share
        for piece, stage in zip(split, parts, strict=True):
            assert (
                abs(piece.amount - amount.amount * stage.stage.percent / 100) < Money.from_minor(250, currency).amount
            )
    assert sum(part.gross.minor for part in parts) == sum(
        amount.minor + percent(amount, bracket[1]).minor for bracket, amount in nets.items()
    )


@pytest.mark.parametrize(
    ("when", "facts", "due", "why"),
    [
        ("acceptance", {}, False, "the quote is not accepted yet"),
        ("acceptance", {"accepted_on": date(2027, 5, 1)}, True, "accepted on 2027-05-01"),
        ("first_shoot_day", {"first_shoot_day": date(2027, 5, 12)}, False, "first shoot day 2027-05-12"),
        ("first_shoot_day", {"first_shoot_day": date(2027, 5, 10)}, True, "first shoot day 2027-05-10"),
        ("delivery", {"accepted_on": date(2027, 5, 1)}, False, "not everything is delivered yet"),
        ("delivery", {"delivered_on": date(2027, 5, 10)}, True, "all delivered on 2027-05-10"),
        ("2027-05-10", {}, True, "agreed for 2027-05-10"),
        ("2027-05-11", {}, False, "agreed for 2027-05-11"),
    ],
)
def test_a_stage_is_due_when_its_event_has_happened(when, facts, due, why):
    answer = stage_due(Stage("A", Decimal(100), when), Facts(today=date(2027, 5, 10), **facts))
    assert (answer.due, answer.why) == (due, why)
