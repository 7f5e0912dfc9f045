"""A settings file is read with checks: every error names file and field, and no key is ignored in silence."""

import tomllib
from datetime import date
from decimal import Decimal

import pytest

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.fields import Fields
from bizkit.domain.money import Money


def card(text: str) -> Fields:
    return Fields(tomllib.loads(text, parse_float=Decimal), where="card.toml")


def test_a_whole_card_is_read_with_the_kinds_it_was_written_in():
    top = card("""
        name = " Summer "
        starts = 2027-05-03
        free = [2027-05-04, 2027-05-05]
        words = ["sea", "shore"]
        one = "sea"
        half = 0.5
        rounds = 2
        water = true
        kind = "film"
        [crew.diver]
        rate = 430
        [crew.editor]
        rate = 380.50
        [[stage]]
        percent = 50
        [[stage]]
        percent = 50
    """)
    assert top.text("name") == "Summer"
    assert top.day("starts") == date(2027, 5, 3)
    assert top.days("free") == (date(2027, 5, 4), date(2027, 5, 5))
    assert top.texts("words") == ("sea", "shore")
    assert top.texts("one") == ("sea",)
    assert top.number("half") == Decimal("0.5")
    assert top.whole("rounds") == 2
    assert top.flag("water") is True
    assert top.choice("kind", {"film", "stills"}) == "film"
    rates = {name: fields.money("rate", "GBP") for name, fields in top.tables("crew")}
    assert rates == {"diver": Money(430, "GBP"), "editor": Money("380.50", "GBP")}
    assert [row.number("percent") for row in top.rows("stage")] == [50, 50]
    top.done()


def test_a_tenth_in_the_file_is_exactly_a_tenth():
    # 0.1 has no exact binary float; its float is 0.1000000000000000055511151231257827... (IEEE 754).
    assert card("rate = 0.1").number("rate") == Decimal(1) / Decimal(10)
    assert card("rate = 1.005").money("rate", "GBP").rounded().text == "1.01"


def test_a_float_that_slipped_in_is_refused():
    with pytest.raises(BadInput, match=r"card\.toml: rate: wanted a number of 0 or more, got 0\.1"):
        Fields({"rate": 0.1}, where="card.toml").number("rate")


@pytest.mark.parametrize(
    "read",
    [
        lambda f: f.text("x"),
        lambda f: f.choice("x", {"film"}),
        lambda f: f.flag("x"),
        lambda f: f.whole("x"),
        lambda f: f.number("x"),
        lambda f: f.money("x", "GBP"),
        lambda f: f.day("x"),
        lambda f: f.texts("x"),
        lambda f: f.days("x"),
        lambda f: f.table("x"),
    ],
)
def test_a_key_that_must_be_there_is_asked_for(read):
    with pytest.raises(BadInput, match=r"^card\.toml: x: wanted .*, got nothing\. Add x to the file$"):
        read(card(""))


@pytest.mark.parametrize(
    ("text", "read", "wanted"),
    [
        ("x = 1", lambda f: f.text("x"), "text in quotes, got 1"),
        ("x = '  '", lambda f: f.text("x"), "text that is not empty, got empty text"),
        (
            "x = 'flim'",
            lambda f: f.choice("x", {"film", "stills"}),
            r"one of film, stills, got flim\. Did you mean film",
        ),
        ("x = 1", lambda f: f.choice("x", {"film"}), "one of film, got 1"),
        ("x = []", lambda f: f.choice("x", {"film"}), "one of film, got"),
        ("x = 'yes'", lambda f: f.flag("x"), "true or false, got yes"),
        ("x = 1", lambda f: f.flag("x"), "true or false, got 1"),
        ("x = 1.0", lambda f: f.whole("x"), r"a whole number of 0 or more, got 1\.0"),
        ("x = true", lambda f: f.whole("x"), "a whole number of 0 or more, got True"),
        ("x = -1", lambda f: f.whole("x"), "a whole number of 0 or more, got -1"),
        ("x = 0", lambda f: f.whole("x", least=1, most=9), r"a whole number 1\.\.9, got 0"),
        ("x = 10", lambda f: f.whole("x", least=1, most=9), r"a whole number 1\.\.9, got 10"),
        ("x = -0.01", lambda f: f.number("x"), r"a number of 0 or more, got -0\.01"),
        ("x = 100.1", lambda f: f.number("x", most=100), r"a number 0\.\.100, got 100\.1"),
        ("x = nan", lambda f: f.number("x"), "a number of 0 or more, got NaN"),
        ("x = inf", lambda f: f.number("x"), "a number of 0 or more, got Infinity"),
        ("x = 1e30", lambda f: f.number("x"), r"a number of 0 or more, got 1E\+30"),
        ("x = true", lambda f: f.number("x"), "a number of 0 or more, got True"),
        ("x = -5", lambda f: f.money("x", "GBP"), "a number of 0 or more, got -5"),
        ("x = '2027-05-03'", lambda f: f.day("x"), "a date such as .* got 2027-05-03"),
        ("x = 2027-05-03T10:00:00", lambda f: f.day("x"), "a date such as"),
        ("x = [1]", lambda f: f.texts("x"), "a list of texts, got"),
        ("x = ['']", lambda f: f.texts("x"), "a list of texts, got"),
        ("x = 2027-05-03", lambda f: f.days("x"), "a list of dates such as"),
        ("x = [2027-05-03T10:00:00]", lambda f: f.days("x"), "a list of dates such as"),
        ("x = 1", lambda f: f.table("x"), r"a table \[x\], got 1"),
        ("x = 1", lambda f: list(f.tables("x")), r"a table \[x\], got 1"),
        ("x.y = 1", lambda f: list(f.tables("x")), None),
        ("x = [1]", lambda f: f.rows("x"), r"tables \[\[x\]\], got"),
    ],
)
def test_a_value_of_the_wrong_kind_is_refused(text, read, wanted):
    place = "x.y: wanted a table" if wanted is None else f"x: wanted {wanted}"
    with pytest.raises(BadInput, match=rf"^card\.toml: {place}"):
        read(card(text))


def test_defaults_stand_in_for_keys_left_out():
    empty = card("")
    assert empty.text("a", "none") == "none"
    assert empty.text("a", "") == ""
    assert empty.choice("b", {"film"}, None) is None
    assert empty.choice("b", {"film"}, "film") == "film"
    assert empty.flag("c", False) is False
    assert empty.whole("d", 3) == 3
    assert empty.number("e", "0.5") == Decimal("0.5")
    assert empty.money("f", "EUR", 0) == Money(0, "EUR")
    assert empty.day("g", None) is None
    assert empty.texts("h", ()) == ()
    assert empty.days("i", ()) == ()
    assert list(empty.tables("j")) == []
    assert empty.rows("k") == []
    assert empty.table("l", optional=True).names() == []


def test_ends_of_a_range_are_allowed():
    top = card("low = 1\nhigh = 9\nwhole = 100")
    assert (top.whole("low", least=1, most=9), top.whole("high", least=1, most=9)) == (1, 9)
    assert top.number("whole", least=0, most=100) == 100


def test_a_key_nobody_asked_for_is_refused_with_the_nearest_one():
    top = card("[crew.editor]\nday_rate = 380\nday_rte = 400")
    editor = top.table("crew").table("editor")
    editor.money("day_rate", "GBP")
    with pytest.raises(BadInput) as refused:
        editor.done()
    expected = "card.toml: crew.editor: wanted a known key, got day_rte. Did you mean day_rate?"
    assert str(refused.value) == expected


def test_a_whole_table_nobody_asked_for_is_refused():
    top = card("name = 'a'\n[crw.editor]\nrate = 1")
    top.text("name")
    list(top.tables("crew"))
    with pytest.raises(BadInput, match=r"card\.toml: wanted a known key, got crw\. Did you mean crew\?"):
        top.done()


def test_fields_deep_in_the_file_are_named_in_full():
    top = card("[[stage]]\npercent = 50\n[[stage]]\npercent = -1\n[crew.diver]\nrate = 'much'")
    second = top.rows("stage")[1]
    with pytest.raises(BadInput, match=r"card\.toml: stage\[2\]\.percent: wanted"):
        second.number("percent")
    (_, diver), *_ = top.tables("crew")
    with pytest.raises(BadInput, match=r"card\.toml: crew\.diver\.rate: wanted"):
        diver.money("rate", "GBP")


def test_errors_raised_by_the_reader_carry_its_place():
    row = card("[[crew]]\nrole = 'divr'").rows("crew")[0]
    unknown = row.unknown("role", "role", row.text("role"), ["diver", "editor"])
    assert isinstance(unknown, NotFound)
    assert str(unknown) == "card.toml: crew[1].role: wanted a known role, got divr. Did you mean diver?"
    assert str(row.wrong("role", "a role", "x", hint="Ask")) == "card.toml: crew[1].role: wanted a role, got x. Ask"
