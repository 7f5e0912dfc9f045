"""One clear line each: where, which field, what was wanted, what came, what to do."""

import pytest
from hypothesis import given
from hypothesis import strategies as some

from bizkit.domain.errors import BadInput, BizkitError, NotFound, RuleBroken, one_line, suggest


def test_bad_input_names_file_field_wanted_got_and_the_way_out():
    error = BadInput(
        wanted="a date", got="soon", field="job.starts", where="brief.toml", hint="Write it as 2027-05-03"
    )
    assert str(error) == "brief.toml: job.starts: wanted a date, got soon. Write it as 2027-05-03"
    assert (error.where, error.field, error.wanted, error.got) == ("brief.toml", "job.starts", "a date", "soon")


@pytest.mark.parametrize(
    ("where", "field", "start"),
    [("", "", "wanted"), ("card.toml", "", "card.toml: wanted"), ("", "kit.day", "kit.day: wanted")],
)
def test_an_unknown_place_leaves_no_stray_colons(where, field, start):
    assert str(BadInput(wanted="a number", got=None, where=where, field=field)) == f"{start} a number, got None"


def test_the_nearest_known_name_is_suggested():
    # Near and far judged by eye: one letter apart, and nothing in common.
    assert str(NotFound("kit item", "houzing", ["housing", "drone"])).endswith("Did you mean housing?")
    assert str(NotFound("kit item", "zzz", ["housing", "drone"])).endswith("Known: drone, housing")
    assert str(NotFound("kit item", "zzz", [])).endswith("There are none yet")


def test_a_hint_given_replaces_the_suggestion():
    assert str(NotFound("job", "kelp", ["kelp-2"], hint="See bizkit job list")).endswith("See bizkit job list")


def test_a_long_list_of_known_names_is_cut():
    names = [f"role{number:02}" for number in range(15)]
    assert suggest("zzz", names) == f"Known: {', '.join(names[:12])} and 3 more"


def test_what_was_typed_wrong_and_what_is_forbidden_leave_by_different_exits():
    assert [kind.exit_code for kind in (BadInput, NotFound, RuleBroken, BizkitError)] == [2, 2, 1, 1]
    assert all(issubclass(kind, BizkitError) for kind in (BadInput, NotFound, RuleBroken))
    assert not issubclass(RuleBroken, BadInput)


@given(some.text(max_size=300))
def test_whatever_was_typed_the_error_is_one_printable_line(typed):
    for error in (BadInput(wanted="a role", got=typed), NotFound("role", typed, ["editor", "director"])):
        assert str(error).isprintable()
        assert len(str(error).splitlines()) == 1
        assert len(error.got) <= 120


@pytest.mark.parametrize(
    ("typed", "shown"),
    [("", "nothing"), (" \n\t ", "nothing"), ("a\x1b[31mb", "a [31mb"), ("x" * 500, "x" * 119 + "…"), (None, "None")],
)
def test_control_characters_and_length_are_tamed(typed, shown):
    assert one_line(typed) == shown
