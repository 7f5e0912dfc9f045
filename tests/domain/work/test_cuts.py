"""One line of a brief becomes many deliverables."""

import tomllib
from decimal import Decimal
from fractions import Fraction

import pytest

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.work.cuts import CutSet, reshaped
from bizkit.domain.work.spec import PictureSpec, Spec, StillSpec, aspect_of

SPECS = {
    "web_film": Spec("Web film", "film", picture=PictureSpec(width_px=1920, height_px=1080)),
    "mezzanine": Spec("Master", "film"),
    "web_stills": Spec("Web stills", "stills", stills=StillSpec(formats=("jpeg",))),
}
LINE = """
key = "hero"
title = "Follow the Kelp"
spec = "web_film"
aspects = ["16:9", "9:16", "1:1"]
lengths_s = ["60", "30", "15"]
captions = ["clean", "burned_in"]
master = "mezzanine"
"""


def read(text: str) -> CutSet:
    return read_input(CutSet, tomllib.loads(text, parse_float=Decimal), where="brief.toml", path="sets[1]")


def test_shapes_times_lengths_times_captions_and_a_master() -> None:
    line = read(LINE)
    cuts = line.expand(SPECS)
    assert line.count == len(cuts) == 19
    assert len({cut.key for cut in cuts}) == 19
    assert [cut.key for cut in cuts[:4]] == [
        "hero-master",
        "hero-16x9-60s-clean",
        "hero-16x9-60s-burned-in",
        "hero-16x9-30s-clean",
    ]
    assert [cut.master for cut in cuts] == [True] + [False] * 18


def test_each_cut_carries_the_spec_it_is_held_against() -> None:
    cuts = {cut.key: cut for cut in read(LINE).expand(SPECS)}
    upright = cuts["hero-9x16-15s-burned-in"]
    assert (upright.spec.picture.width_px, upright.spec.picture.height_px) == (1080, 1920)
    assert (upright.spec.length.least_s, upright.spec.length.most_s) == (15, 15)
    assert upright.spec.captions.how == "burned_in"
    assert upright.text == "9:16, 15 s, captions burned in"
    assert upright.title == "Follow the Kelp: 9:16, 15 s, captions burned in"
    master = cuts["hero-master"]
    assert (master.spec.title, master.spec.length.most_s, master.spec.captions.how) == ("Master", 60, "clean")
    assert master.spec.picture.aspect == Fraction(16, 9)


def test_an_axis_left_out_leaves_the_spec_as_it_is() -> None:
    (cut,) = read('key = "set"\ntitle = "Cliff stills"\nspec = "web_stills"').expand(SPECS)
    assert (cut.key, cut.title, cut.kind, cut.text) == ("set", "Cliff stills", "stills", "")
    assert cut.spec == SPECS["web_stills"]


@pytest.mark.parametrize(
    ("aspect", "wide", "high"),
    [
        # Common sizes for channels (common practice).
        ("16:9", 1920, 1080),
        ("9:16", 1080, 1920),
        ("1:1", 1080, 1080),
        ("4:5", 1080, 1350),
        ("4:3", 1440, 1080),
        ("2:1", 1920, 960),
        ("2.39:1", 1920, 804),
    ],
)
def test_sizes_of_other_shapes(aspect: str, wide: int, high: int) -> None:
    for base in (PictureSpec(width_px=1920, height_px=1080), PictureSpec(width_px=1080, height_px=1920)):
        got = reshaped(base, aspect_of(aspect))
        assert (got.width_px, got.height_px, got.aspect) == (wide, high, aspect_of(aspect))


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (LINE.replace('"1:1"', '"square"'), "sets[1].aspects: wanted an aspect ratio"),
        (LINE.replace('"1:1"', '"9:16"'), "sets[1].aspects: wanted each value once, got 16:9, 9:16, 9:16"),
        (LINE.replace('"15"', '"0"'), "sets[1].lengths_s: wanted seconds in quotes"),
        (LINE.replace('"15"', '"x"'), "sets[1].lengths_s: wanted seconds in quotes"),
        (LINE.replace('"15"', '"60.0"'), "sets[1].lengths_s: wanted each value once"),
        (LINE.replace("burned_in", "burnt"), "sets[1].captions: wanted a known way to caption, got burnt"),
        (LINE + "rounds = 2", "sets[1]: wanted a known key, got rounds"),
        (
            LINE.replace('"60", "30", "15"', ", ".join(f'"{n}"' for n in range(1, 60))),
            "sets[1]: wanted 300 cuts or fewer from one set, got 355",
        ),
    ],
)
def test_what_is_wrong_names_file_and_field(text: str, line: str) -> None:
    with pytest.raises(BadInput) as caught:
        read(text)
    assert str(caught.value).startswith(f"brief.toml: {line}")


def test_an_unknown_spec_suggests_the_nearest() -> None:
    with pytest.raises(NotFound, match="Did you mean web_film"):
        read(LINE.replace('"web_film"', '"webfilm"')).expand(SPECS)
