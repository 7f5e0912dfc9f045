"""File name patterns read and write the same names."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.work.naming import WORDS, NamePattern

FILM = NamePattern.of("{job}_{cut}_{aspect}_{seconds}_{version}")


def test_a_name_is_read_back_into_its_parts() -> None:
    assert FILM.parts("follow-the-kelp_hero_16x9_60s_v2") == {
        "job": "follow-the-kelp",
        "cut": "hero",
        "aspect": "16x9",
        "seconds": "60s",
        "version": "v2",
    }


@pytest.mark.parametrize(
    "name",
    [
        "follow-the-kelp_hero_16x9_60s",
        "Follow-the-Kelp_hero_16x9_60s_v2",
        "follow-the-kelp_hero_16x9_60s_v2_final",
        "follow the kelp_hero_16x9_60s_v2",
        "follow-the-kelp_hero_16x9_60s_v2\n",
        "",
        "_" * 255,
    ],
)
def test_other_names_do_not_follow(name: str) -> None:
    assert FILM.parts(name) is None


def test_fixed_text_is_no_pattern() -> None:
    assert NamePattern.of("cut(1).{version}").parts("cut(1).v1") == {"version": "v1"}
    assert NamePattern.of("a.b{version}").parts("axbv1") is None


def test_a_name_is_made_only_of_words_of_their_form() -> None:
    words = {"job": "follow-the-kelp", "cut": "hero", "aspect": "9x16", "seconds": "15s", "version": "v1"}
    assert FILM.name(words) == "follow-the-kelp_hero_9x16_15s_v1"
    with pytest.raises(BadInput, match="version: wanted a version such as v2, got final"):
        FILM.name({**words, "version": "final"})
    with pytest.raises(BadInput, match="job: wanted a job such as follow-the-kelp, got nothing"):
        FILM.name({})


@pytest.mark.parametrize("text", ["", "{job}{job}", "{job", "a/{job}", "..\\{job}", "{job}\n", "x" * 201])
def test_patterns_that_make_no_file_name_are_refused(text: str) -> None:
    with pytest.raises(BadInput):
        NamePattern.of(text)


def test_unknown_words_suggest_the_nearest() -> None:
    with pytest.raises(NotFound, match="Did you mean version"):
        NamePattern.of("{verson}")


@given(st.permutations(sorted(WORDS)), st.text(max_size=60))
def test_its_own_example_follows_and_other_text_never_fails(words: list[str], text: str) -> None:
    pattern = NamePattern.of("_".join(f"{{{word}}}" for word in words))
    assert pattern.parts(pattern.example) == {word: WORDS[word][1] for word in words}
    pattern.parts(text)
