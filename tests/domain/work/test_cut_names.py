"""No two cuts of a job ask for the same file name."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.work.cut_names import PromisedCut, names_of_cuts
from bizkit.domain.work.cuts import CutSet
from bizkit.domain.work.naming import NamePattern
from bizkit.domain.work.spec import CAPTIONS, FileSpec, Spec

SHIPPED = "{job}_{cut}_{aspect}_{seconds}_{version}"


def promised(pattern: str, *sets: CutSet) -> list[PromisedCut]:
    spec = Spec("Web film", "film", file=FileSpec(name=NamePattern.of(pattern)))
    return [
        PromisedCut(cut.key, cuts.key, cut.spec)
        for cuts in sets
        for cut in cuts.expand({"web_film": spec, "mezzanine": replace(spec, title="Master")})
    ]


def names(cuts: list[PromisedCut]) -> dict[str, str]:
    words = names_of_cuts("follow-the-kelp", "skerrow-islands-tourism", cuts)
    return {
        cut.key: cut.spec.file.name.good({**words[cut.key], "version": "v1"}) for cut in cuts if cut.spec.file.name
    }


def test_a_clean_cut_and_one_with_captions_are_named_apart() -> None:
    hero = CutSet("hero", "Hero", "web_film", ("16:9",), (Decimal(20),), ("clean", "sidecar"))
    assert names(promised(SHIPPED, hero)) == {
        "hero-16x9-20s-clean": "follow-the-kelp_hero-clean_16x9_20s_v1",
        "hero-16x9-20s-sidecar": "follow-the-kelp_hero-sidecar_16x9_20s_v1",
    }


def test_what_tells_nothing_apart_stays_out_of_the_name() -> None:
    hero = CutSet("hero", "Hero", "web_film", ("16:9", "9:16"), (Decimal(20),), ("clean",))
    assert set(names(promised(SHIPPED, hero)).values()) == {
        "follow-the-kelp_hero_16x9_20s_v1",
        "follow-the-kelp_hero_9x16_20s_v1",
    }


def test_a_pattern_with_captions_in_it_says_them_there() -> None:
    pattern = "{cut}_{aspect}_{captions}_{version}"
    two = CutSet("hero", "Hero", "web_film", ("16:9",), (), ("clean", "burned_in"))
    assert set(names(promised(pattern, two)).values()) == {"hero_16x9_clean_v1", "hero_16x9_captioned_v1"}
    three = replace(two, captions=("clean", "burned_in", "sidecar"))
    assert set(names(promised(pattern, three)).values()) == {
        "hero_16x9_clean_v1",
        "hero_16x9_burned-in_v1",
        "hero_16x9_sidecar_v1",
    }


sets = st.builds(
    CutSet,
    key=st.sampled_from(["hero", "hero-clean", "teaser"]),
    title=st.just("Cut"),
    spec=st.just("web_film"),
    aspects=st.lists(st.sampled_from(["16:9", "9:16", "1:1", "2.39:1"]), unique=True).map(tuple),
    lengths_s=st.lists(st.sampled_from([Decimal(60), Decimal("2.5"), Decimal("3.5")]), unique=True).map(tuple),
    captions=st.lists(st.sampled_from(CAPTIONS), unique=True).map(tuple),
    master_spec=st.sampled_from(["", "mezzanine"]),
)


@given(
    st.lists(sets, min_size=1, max_size=2, unique_by=lambda one: one.key),
    st.sampled_from([SHIPPED, "{cut}_{version}", "{job}_{cut}_{aspect}_{captions}_{version}", "{seconds}_{cut}"]),
)
def test_no_two_cuts_ask_for_the_same_name(all_sets: list[CutSet], pattern: str) -> None:
    cuts = promised(pattern, *all_sets)
    if len({cut.key for cut in cuts}) == len(cuts):
        found = names(cuts)
        assert len(set(found.values())) == len(found)
