"""Shot lists: who and where in which cut, and what a frame rate means for the edit."""

from __future__ import annotations

import tomllib
from decimal import Decimal
from fractions import Fraction

import pytest

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.work.shots import Shot, appearances, rate_hints
from bizkit.domain.work.worksheet import Worksheet

LIST = """
[[shots]]
number = "1"
title = "Trail head, wide"
kind = "dry"
place = "Otter Sound"

[[shots]]
number = "2"
title = "Family over the kelp"
kind = "water"
place = "Otter Sound"
who = ["Morag Sinclair", "Finn Sinclair"]
cuts = ["hero"]
frame_rate = "50"

[[shots]]
number = "3"
title = "Bonfire"
kind = "dry"
place = "Selkie Bay"
who = ["Eilidh Rendall"]
cuts = ["loop", "hero-16x9"]
frame_rate = "100"
"""
CUTS = [("hero-16x9", "hero"), ("hero-9x16", "hero"), ("loop", ""), ("stills", "")]


def shots(text: str) -> tuple[Shot, ...]:
    return read_input(Worksheet, tomllib.loads(text, parse_float=Decimal), where="jobs/kelp.toml").shots


def test_a_shot_goes_into_the_cuts_it_names_their_whole_set_or_all() -> None:
    found = {one.deliverable: one for one in appearances(shots(LIST), CUTS)}
    assert found["hero-16x9"].who == ("Morag Sinclair", "Finn Sinclair", "Eilidh Rendall")
    assert found["hero-16x9"].places == ("Otter Sound", "Selkie Bay")
    assert found["hero-9x16"].who == ("Morag Sinclair", "Finn Sinclair")
    assert (found["loop"].who, found["loop"].shots) == (("Eilidh Rendall",), ("1", "3"))
    assert (found["stills"].who, found["stills"].shots) == ((), ("1",))


def test_a_cut_that_no_shot_is_meant_for_is_left_out() -> None:
    only = appearances(shots(LIST)[1:2], CUTS)
    assert [one.deliverable for one in only] == ["hero-16x9", "hero-9x16"]


def test_a_cut_that_does_not_exist_is_told() -> None:
    with pytest.raises(NotFound, match=r"jobs/kelp\.toml: shot 3\.cuts: wanted a known deliverable, got loop"):
        appearances(shots(LIST), CUTS[:2], where="jobs/kelp.toml")


def test_frame_rates_that_are_not_the_timelines_say_what_they_do() -> None:
    # Arithmetic: 50 on 25 is half speed, 100 a quarter; a 180-degree shutter is half of a frame (common practice).
    first, second = rate_hints(shots(LIST), Fraction(25))
    assert first.startswith("50 on a timeline of 25 (2): Frame by frame it plays at half speed: 10 s become 20 s.")
    assert first.endswith("Shutter at 180 degrees: 1/100 s.")
    assert "at a quarter of the speed: 10 s become 40 s" in second
    assert second.endswith("1/200 s.")
    assert len(rate_hints(shots(LIST), Fraction(50))) == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('number = "2"', 'number = "1"'), "shots[2].number: wanted a number no other shot has, got 1"),
        (('kind = "water"', 'kind = "wet"'), "shots[2].kind: wanted one of dry, water, got wet"),
        (('frame_rate = "50"', 'frame_rate = "59.94"'), "shots[2].frame_rate: wanted a frame rate as a fraction"),
        (('who = ["Eilidh Rendall"]', "whom = []"), "shots[3]: wanted a known key, got whom. Did you mean who?"),
    ],
)
def test_what_is_wrong_names_file_and_field(change: tuple[str, str], said: str) -> None:
    with pytest.raises(BadInput) as caught:
        shots(LIST.replace(*change))
    assert str(caught.value).startswith(f"jobs/kelp.toml: {said}")
