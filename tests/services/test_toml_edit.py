"""A settings file is changed in place: on every shipped file, at every place, nothing but that value changes."""

from __future__ import annotations

import tomllib
from datetime import date
from decimal import Decimal

import pytest

from bizkit import resources
from bizkit.domain.errors import BadInput
from bizkit.services.studio.toml_edit import rewritten, texts_and_dates, with_table
from bizkit.services.studio.toml_file import toml_tree

FILES = sorted(path for path in resources.templates().rglob("*.toml") if "wording" not in path.parts)


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_one_value_changes_and_no_other_byte(path):
    text = path.read_text(encoding="utf-8")
    places = list(texts_and_dates(toml_tree(text, path.name, "a file")))
    assert places
    for place, value in places[:: max(1, len(places) // 40)]:
        new = date(2031, 1, 31) if isinstance(value, date) else "Ebb & flow # “quoted”"
        after = rewritten(text, {place: new}, path.name)
        assert dict(texts_and_dates(tomllib.loads(after, parse_float=Decimal)))[place] == new
        if isinstance(value, str) and "\n" in value:
            continue
        before, now = text.splitlines(keepends=True), after.splitlines(keepends=True)
        changed = [number for number, pair in enumerate(zip(before, now, strict=False)) if pair[0] != pair[1]]
        more = len(before) - len(now)  # a text over several lines becomes one
        assert len(changed) == 1 or more > 0, (place, changed)
        # Behind the value the line is as it was, its comment too.
        if more == 0 and "#" in before[changed[0]].rpartition('"')[2]:
            assert before[changed[0]].rpartition("#")[2] == now[changed[0]].rpartition("#")[2]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_changing_nothing_gives_the_same_bytes(path):
    text = path.read_text(encoding="utf-8")
    assert rewritten(text, {}, path.name) == text
    windows = text.replace("\n", "\r\n")
    assert rewritten(windows, {}, path.name) == windows


def test_all_kinds_of_values_and_places():
    text = (
        'a = 1 # one\n[t]\nx = {p = "q", r = [1, 2]} # inline\n'
        "[[rows]]\nday = 2027-05-01\n[[rows]]\nday = 2027-05-02\n"
    )
    after = rewritten(
        text,
        {("t", "x", "p"): "new", ("rows", 1, "day"): date(2028, 2, 29), ("t", "share"): Decimal("0.30"),
         ("t", "by_month"): {"5": Decimal("0.6129"), "6": Decimal(1)}},
        "file.toml",
    )  # fmt: skip
    assert '[t]\nx = {p = "new", r = [1, 2]} # inline\n' in after
    assert "day = 2027-05-01\n[[rows]]\nday = 2028-02-29\n" in after
    tree = tomllib.loads(after, parse_float=Decimal)
    assert tree["t"]["share"] == Decimal("0.30")
    assert tree["t"]["by_month"] == {"5": Decimal("0.6129"), "6": 1}
    assert rewritten(after, {}, "file.toml", without=[("t", "share"), ("t", "by_month"), ("t", "none")]) == (
        text.replace('"q"', '"new"').replace("2027-05-02", "2028-02-29")
    )


def test_a_table_that_is_not_there_is_added_at_the_end():
    assert with_table("a = 1", "weather", "x.toml") == "a = 1\n\n[weather]\n"
    assert with_table("[weather]\na = 1\n", "weather", "x.toml") == "[weather]\na = 1\n"
    assert with_table("weather = {a = 1}", "weather", "x.toml") == "weather = {a = 1}"


def test_what_cannot_be_changed_in_place_is_left():
    with pytest.raises(BadInput, match="wanted a settings file in TOML"):
        rewritten("a = [", {}, "x.toml")
