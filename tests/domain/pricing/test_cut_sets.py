"""Sets of cuts and named specs in a brief: what they become, and what the cuts cost, worked out by hand."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from decimal import Decimal

import pytest

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.cut_sets import expanded
from bizkit.domain.pricing.estimate import price
from bizkit.domain.work.spec import Spec
from bizkit.resources import templates

MakeBrief = Callable[[str], Brief]
MakeCard = Callable[[str], RateCard]

HERO = """
[[sets]]
key = "hero"
title = "Hero: the film"
spec = "web_film"
aspects = ["16:9", "9:16", "1:1"]
lengths_s = ["60", "30", "15"]
captions = ["clean", "burned_in"]
master = "mezzanine"
rounds = 3
due_days = 10
"""
CREW = '[crew.editor]\ntitle = "Editor"\nday_rate = 400\n'
USAGE = """
[usage.base]
film = 100
stills = 10
[usage.media]
owned_channels = 1
[usage.territory]
"United Kingdom and Ireland" = 1
[usage.term]
12 = 1
[usage.exclusivity]
none = 1
"""
LICENCE = """
[licence]
media = ["owned_channels"]
territory = "United Kingdom and Ireland"
months = 12
"""


@pytest.fixture(scope="module")
def specs() -> dict[str, Spec]:
    return {
        path.stem: read_input(
            Spec, tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal), where=path.name
        )
        for path in templates().joinpath("specs").iterdir()
    }


def test_one_line_of_a_brief_becomes_nineteen_deliverables(brief: MakeBrief, specs: dict[str, Spec]) -> None:
    # 3 shapes x 3 lengths x 2 ways to caption, and the master: 3 x 3 x 2 + 1 = 19.
    made = expanded(brief(HERO), specs).deliverables
    assert len(made) == 19
    assert (made[0].key, made[0].cut) == ("hero-master", "master")
    upright = next(one for one in made if one.key == "hero-9x16-30s-burned-in")
    assert (upright.title, upright.kind, upright.rounds, upright.due_days, upright.cut_of) == (
        "Hero: the film: 9:16, 30 s, captions burned in", "film", 3, 10, "hero",
    )  # fmt: skip
    assert upright.asks is not None
    assert (upright.asks.picture.width_px, upright.asks.picture.height_px) == (1080, 1920)
    assert (upright.asks.length.least_s, upright.asks.captions.how) == (30, "burned_in")
    assert (upright.spec, upright.cut) == ("Web film: 1080 x 1920, 30 s", "9:16, 30 s, captions burned in")


def test_further_lengths_shapes_and_captions_are_charged_by_the_card(
    brief: MakeBrief, card: MakeCard, specs: dict[str, Spec]
) -> None:
    priced = price(
        card(CREW + "[cuts]\nlength = 140\nshape = 65\ncaptions = 30.50\nmaster = 80\n"), expanded(brief(HERO), specs)
    )
    # 2 further lengths; 2 further shapes of each of 3 lengths; one more way to caption each of 9 cuts; one master.
    assert [(line.item, str(line.quantity), line.amount.text) for line in priced.lines] == [
        ("Hero: the film: further lengths", "2", "280.00"),
        ("Hero: the film: further shapes", "6", "390.00"),
        ("Hero: the film: captioned copies", "9", "274.50"),
        ("Hero: the film: master", "1", "80.00"),
    ]
    assert priced.warnings == ()


def test_a_card_without_cuts_says_that_they_cost_nothing(
    brief: MakeBrief, card: MakeCard, specs: dict[str, Spec]
) -> None:
    priced = price(card(CREW), expanded(brief(HERO), specs))
    assert priced.lines == ()
    assert "the 19 cuts of hero cost no more than their edit days" in priced.warnings[0]


def test_the_cuts_of_a_set_are_licensed_as_one_film(brief: MakeBrief, card: MakeCard, specs: dict[str, Spec]) -> None:
    other = '[[deliverables]]\nkey = "loop"\ntitle = "Loop"\nkind = "film"\nspec = "30 s, silent"\n'
    priced = price(card(CREW + USAGE), expanded(brief(HERO + other + LICENCE), specs))
    assert [(line.item, line.amount.text) for line in priced.lines] == [
        ("Licence: Loop", "100.00"),
        ("Licence: Hero: the film", "100.00"),
    ]
    only = price(card(CREW + USAGE), expanded(brief(HERO + other + LICENCE + 'works = ["hero"]\n'), specs))
    assert [line.item for line in only.lines] == ["Licence: Hero: the film"]


def test_a_licence_may_name_a_set_and_is_of_all_its_cuts(brief: MakeBrief, specs: dict[str, Spec]) -> None:
    licence = expanded(brief(HERO + LICENCE + 'works = ["hero"]\n'), specs).licence
    assert licence is not None
    assert len(licence.works) == 19
    assert "hero-1x1-15s-clean" in licence.works


def test_a_spec_of_one_small_word_is_a_name_and_anything_else_is_words(
    brief: MakeBrief, specs: dict[str, Spec]
) -> None:
    def one(spec: str, kind: str = "film") -> Brief:
        text = f'[[deliverables]]\nkey = "a"\ntitle = "A"\nkind = "{kind}"\nspec = "{spec}"\n'
        return expanded(brief(text), specs)

    named = one("web_film").deliverables[0]
    assert named.asks == specs["web_film"]
    assert named.spec == "Web film: 1920 x 1080"
    for words in ("60 s, 16:9", "JPEG", "web film", ""):
        kept = one(words).deliverables[0]
        assert (kept.spec, kept.asks) == (words, None)
    with pytest.raises(
        NotFound, match=r"brief\.toml: deliverables\[1\]\.spec: wanted a known delivery spec.*web_film"
    ):
        one("web_flim")
    with pytest.raises(BadInput, match="wanted a spec for stills, got web_film, for film"):
        one("web_film", "stills")
    with pytest.raises(BadInput, match="wanted a spec for film or stills, got Sound mix, for sound"):
        one("sound_mix")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (HERO.replace('"web_film"', '"web_flim"'), "sets[1].spec: wanted a known delivery spec, got web_flim"),
        (HERO.replace('"mezzanine"', '"mezanine"'), "sets[1].master: wanted a known delivery spec, got mezanine"),
        (HERO.replace('"hero"', '"Hero"'), "sets[1].key: wanted lower-case letters"),
        (HERO + HERO, "sets[2].key: wanted a key no other set has, got hero"),
        (HERO + "due_on = 2027-06-01\n", "sets[1].due_on: wanted either due_days or due_on, got both"),
        (HERO + "round = 2\n", "sets[1]: wanted a known key, got round"),
        (HERO.replace('"1:1"', '"square"'), "sets[1].aspects: wanted an aspect ratio"),
        (
            HERO + '[[deliverables]]\nkey = "hero-master"\ntitle = "A"\nkind = "film"\n',
            "sets: wanted a key no other deliverable has, got hero-master",
        ),
    ],
)
def test_a_set_that_cannot_be_used_says_why(text: str, said: str, brief: MakeBrief, specs: dict[str, Spec]) -> None:
    with pytest.raises(BadInput) as caught:
        expanded(brief(text), specs)
    assert said in str(caught.value)


def test_rounds_left_out_are_those_of_the_card(brief: MakeBrief, card: MakeCard) -> None:
    text = '[[deliverables]]\nkey = "a"\ntitle = "A"\nkind = "film"\n'
    assert brief(text).deliverables[0].rounds is None
    assert brief(text + "rounds = 0\n").deliverables[0].rounds == 0
    assert card(CREW + "[rounds]\nincluded = 3\nextra_round = 99\n").rounds.included == 3
    assert card(CREW).rounds.extra_round is None
