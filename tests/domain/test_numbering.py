"""Numbers of papers: unique within a series (SI 1995/2518 reg 14(1)(a), Directive 2006/112/EC art 226(2))."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.numbering import Numbers, check_pattern, format_number, restarts_yearly


def test_a_number_is_zero_filled_and_grows_past_its_width():
    assert format_number("GL-{year}-{number:04}", 2027, 1) == "GL-2027-0001"
    assert format_number("GL-{year}-{number:04}", 2027, 12345) == "GL-2027-12345"
    assert format_number("Q{number}", 2027, 7) == "Q7"


@pytest.mark.parametrize(
    ("pattern", "why"),
    [
        ("GL-{year}", "No {number}"),
        ("GL-{number}-{number}", "once"),
        ("{year}-{year}-{number}", "once"),
        ("GL-{number:.2}", "Only {year}, {number}"),
        ("GL-{number!r}", "Only {year}, {number}"),
        ("GL-{month}-{number}", "Only {year}, {number}"),
        ("GL-{number", "brace"),
        ("../{number}", "file name"),
        ("2027/{number}", "file name"),
        ("-{number}", "file name"),
        ("GL-é-{number}", "plain"),
        ("GL-{number}-" + "x" * 40, "35 characters"),
    ],
)
def test_a_pattern_that_repeats_or_cannot_be_filed_is_refused(pattern, why):
    with pytest.raises(BadInput, match="numbers: wanted a pattern") as refused:
        check_pattern(pattern)
    assert why in str(refused.value)


def test_only_a_pattern_with_the_year_starts_again_every_year():
    assert restarts_yearly("GL-{year}-{number:04}")
    assert not restarts_yearly("GL-{number:06}")


def test_two_series_may_not_share_a_pattern():
    with pytest.raises(BadInput, match=r"studio.toml: credit_note: wanted a pattern that differs from invoice's"):
        read_input(Numbers, {"invoice": "GL-{number}", "credit_note": "GL-{number:01}"}, where="studio.toml")


@settings(max_examples=60)
@given(
    st.sampled_from(
        ["GL-{year}-{number:04}", "{year}{number}", "{number}{year}", "A{number:03}7{year}", "{number:02}"]
    ),
    st.sets(st.tuples(st.integers(2000, 2099), st.integers(1, 200_000)), min_size=2, max_size=8),
)
def test_different_papers_of_a_series_never_share_a_number(pattern, pairs):
    if not restarts_yearly(pattern):
        pairs = {(2027, number) for _, number in pairs}
    assert len({format_number(pattern, year, number) for year, number in pairs}) == len(pairs)
