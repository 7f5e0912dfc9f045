"""Facts survive JSON, and JSON of another form is refused."""

import json
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from bizkit.domain.errors import BadInput
from bizkit.domain.work.facts import Facts, Span

from .conftest import FILM, STILL


@pytest.mark.parametrize("facts", [FILM, STILL], ids=["film", "still"])
def test_facts_come_back_from_json_as_they_were(facts: Facts) -> None:
    assert Facts.read(json.loads(json.dumps(facts.data()))) == facts


def test_rates_and_levels_are_text() -> None:
    data = FILM.data()
    assert data["picture"]["frame_rate"] == "30000/1001"
    assert data["loudness"]["integrated_lufs"] == "-23.0"


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("duration_s",), 60.0),
        (("duration_s",), "1e999999999"),
        (("duration_s",), "1/0"),
        (("duration_s",), "sixty"),
        (("size_bytes",), "5"),
        (("size_bytes",), True),
        (("tracks",), {}),
        (("tracks",), ["one"]),
        (("picture", "even"), 1),
        (("picture", "black"), [["0", "1"]]),
        (("loudness", "integrated_lufs"), "NaN"),
        (("picture",), {"codec": "h264"}),
        (("damage",), [3]),
    ],
)
def test_another_form_is_refused_by_name(path: tuple[str, ...], value: Any) -> None:
    tree: Any = FILM.data()
    place = tree
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    with pytest.raises(BadInput, match=rf"^facts\.{path[0]}"):
        Facts.read(tree)


def test_a_member_too_many_is_refused() -> None:
    with pytest.raises(BadInput):
        Facts.read({**FILM.data(), "extra": 1})
    with pytest.raises(BadInput):
        Facts.read([1])


def test_head_tail_and_aspect() -> None:
    assert FILM.picture is not None
    picture = replace(
        FILM.picture,
        duration_s=Fraction(10),
        black=(Span(Fraction(0), Fraction(1)), Span(Fraction(4), Fraction(5)), Span(Fraction(8), Fraction(10))),
    )
    assert (picture.head_s(picture.black), picture.tail_s(picture.black)) == (1, 2)
    assert (picture.head_s(picture.frozen), picture.tail_s(picture.frozen)) == (0, 0)
    assert picture.aspect == Fraction(16, 9)
    assert replace(picture, turned_degrees=270).aspect == Fraction(9, 16)
    assert replace(picture, width_px=720, height_px=576, pixel_aspect=Fraction(64, 45)).aspect == Fraction(16, 9)
    assert Decimal(str(FILM.loudness and FILM.loudness.true_peak_dbtp)) == Decimal("-1.5")
