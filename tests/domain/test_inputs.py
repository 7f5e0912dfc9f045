"""A settings file is read by its declaration: every problem in one run, each with its place and what to do."""

import tomllib
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

import pytest

from bizkit.domain.errors import BadInput, Problems
from bizkit.domain.inputs.keys import Given, Key, all_keys, keys_of
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.parties import Client, Studio


def studio(text):
    return read_input(Studio, tomllib.loads(text, parse_float=Decimal), where="studio.toml")


def refused(text):
    with pytest.raises(BadInput) as error:
        studio(text)
    return str(error.value).split("\n")


def test_every_problem_of_a_file_is_named_in_one_run():
    lines = refused(
        """
country = "UK"
email = "hello"
payment_days = 400
colour = "#123456"
[tax]
registered = true
standard_rate = "12,5x"
[[reminders]]
days_after_due = 0
[statement.harbour]
date_format = "d/m/y"
"""
    )
    places = [line.split(": wanted ")[0].removeprefix("studio.toml: ") for line in lines]
    assert places == [
        "name", "country", "email", "payment_days", "tax.standard_rate", "reminders[1].name",
        "reminders[1].days_after_due", "statement.harbour.date", "statement.harbour.date_format",
        "studio.toml",
    ]  # fmt: skip
    assert all(line.startswith("studio.toml: ") for line in lines)
    assert lines[-1].startswith("studio.toml: wanted a known key, got colour")


def test_one_problem_is_one_line_and_several_are_told_apart():
    with pytest.raises(BadInput) as one:
        studio('name = "A"\ncountry = "UK"')
    assert not isinstance(one.value, Problems)
    with pytest.raises(Problems) as two:
        studio('country = "UK"')
    assert [problem.field for problem in two.value.problems] == ["name", "country"]
    assert two.value.exit_code == 2


def test_an_unknown_key_is_told_the_nearest_or_the_table_it_stands_in_or_all_there_are():
    head = 'name = "A"\ncountry = "GB"\n'
    assert refused(head + "pay_days = 3")[0].endswith("Did you mean payment_days?")
    assert refused(head + 'iban = "x"')[0].endswith("got iban. It stands in [bank]")
    assert refused(head + '[bank]\naccent = "x"')[0].endswith(
        "It stands at the top of the file, before the first table"
    )
    # The list of known keys is whole, whatever else is wrong and whatever was read before.
    wrong = refused(head + "[mail]\nport = 0\nq = 1")
    assert [line.split(": wanted ")[0] for line in wrong] == [
        "studio.toml: mail.host", "studio.toml: mail.port", "studio.toml: mail",
    ]  # fmt: skip
    assert wrong[-1].endswith("Known: host, port, security, user")


@pytest.mark.parametrize(
    ("written", "hint"),
    [
        ('"3.5.2027"', "A date is written 2027-05-03, the day last"),
        ('"03/05/2027"', "A date is written 2027-05-03, the day last"),
        ('"2027-05-03"', "A date is written 2027-05-03, without quotes"),
        ("20270503", "(no quotes), got 20270503"),
    ],
)
def test_a_date_in_another_form_is_explained(written, hint):
    lines = refused(f'name = "A"\ncountry = "GB"\n[tax]\nregistered_from = {written}')
    assert lines == [line for line in lines if line.startswith("studio.toml: tax.registered_from: wanted a date")]
    assert lines[0].endswith(hint)


def test_an_optional_text_left_empty_is_not_said():
    made = studio('name = "A"\ncountry = "GB"\nlocale = ""\npaper_size = " "\n[numbers]\nquote = ""')
    assert (made.locale, made.paper_size, made.numbers.quote) == ("en_GB", "A4", "Q-{year}-{number:04}")


def test_rules_over_several_keys_are_asked_only_where_each_key_is_right():
    # A pattern that is wrong in itself is one problem, not also a second series of the same number.
    lines = refused('name = "A"\ncountry = "GB"\n[numbers]\nquote = "X"\ninvoice = "X"')
    assert [line.split(": wanted ")[0] for line in lines] == [
        "studio.toml: numbers.invoice", "studio.toml: numbers.quote",
    ]  # fmt: skip
    twice = refused('name = "A"\ncountry = "GB"\n[numbers]\nquote = "X{number}"\ninvoice = "X{number}"')
    assert len(twice) == 1
    assert twice[0].startswith("studio.toml: numbers.quote: wanted a pattern that differs from invoice's")


def test_what_the_reader_fills_in_is_the_place_and_not_a_key():
    @dataclass(frozen=True)
    class Role:
        key: Annotated[str, Given.NAME]
        field: Annotated[str, Given.PLACE]
        file: Annotated[str, Given.FILE]
        title: Annotated[str, Key("What papers call it.")]
        working: str = "not of the file"

    @dataclass(frozen=True)
    class Card:
        crew: Annotated[dict[str, Role], Key("Who works.")]

    card = read_input(Card, {"crew": {"editor": {"title": "Editor"}}}, where="rate-card.toml")
    assert card.crew["editor"] == Role("editor", "crew.editor", "rate-card.toml", "Editor")
    assert [one.name for one in keys_of(Role)] == ["title"]
    with pytest.raises(BadInput, match=r"crew\.editor: wanted a known key, got key"):
        read_input(Card, {"crew": {"editor": {"title": "Editor", "key": "x"}}}, where="rate-card.toml")


def test_every_key_says_what_it_means():
    for kind in (Studio, Client):
        for place, one in all_keys(kind):
            assert one.key.meaning.endswith("."), (place, one.name)
            assert len(one.key.meaning) < 100, (place, one.name)
