"""A spec frozen as data in a quote reads back as the same spec, whatever it asks."""

from __future__ import annotations

import json
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import read_input
from bizkit.domain.work.spec import CAPTION_FORMATS, CAPTIONS, METADATA, SCANS, Spec, aspect_of
from bizkit.resources import templates

SHIPPED = sorted(templates().joinpath("specs").glob("*.toml"))

words = st.text("abcdefgh-_.", min_size=1, max_size=8)
lists = st.lists(words, min_size=1, max_size=3)
seconds = st.decimals(0, 600, places=2)
numbers = {
    "width_px": st.integers(1, 16384), "height_px": st.integers(1, 16384), "bit_depth_least": st.integers(1, 32),
    "aspect": st.sampled_from(["16:9", "9:16", "2.39:1", "1:1.85", "4:5"]), "codecs": lists, "chroma": lists,
    "frame_rates": st.lists(st.sampled_from(["25", "30000/1001", "24000/1001", "60"]), min_size=1),
    "scan": st.sampled_from(SCANS), "primaries": words, "start_timecode": st.just("10:00:00:00"),
    "black_head_most_s": seconds, "frozen_inside_most_s": seconds,
}  # fmt: skip
sound = {
    "tracks": st.integers(0, 8), "channels": st.integers(1, 8), "sample_rates_hz": st.just(["48000"]),
    "loudness_lufs": st.decimals(-40, 0, places=1), "loudness_tolerance_lu": st.decimals(0, 3, places=1),
    "true_peak_most_dbtp": st.decimals(-9, 0, places=1), "silence_most_s": seconds,
}  # fmt: skip
stills = {
    "formats": lists, "long_edge_least_px": st.integers(1, 9000), "profiles": lists, "aspect": st.just("3:2"),
    "metadata_wanted": st.lists(st.sampled_from(METADATA), min_size=1),
}  # fmt: skip
file = {
    "containers": lists, "size_most_mb": st.decimals(1, 5000, places=1),
    "name": st.sampled_from(["{job}_{cut}_{version}", "{client}-{aspect}"]),
}  # fmt: skip
captions = {
    "how": st.sampled_from(CAPTIONS), "formats": st.just(list(CAPTION_FORMATS)), "languages": st.just(["en", "de"]),
}  # fmt: skip


def table(options: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({}, optional=options)


films = st.fixed_dictionaries(
    {"title": words, "kind": st.just("film"), "picture": table(numbers), "sound": table(sound), "file": table(file)},
    optional={
        "about": words,
        "captions": table(captions),
        "length": st.fixed_dictionaries({"least_s": st.just(Decimal(1)), "most_s": seconds.map(lambda s: s + 1)}),
    },
)
photographs = st.fixed_dictionaries(
    {"title": words, "kind": st.just("stills"), "stills": table(stills), "file": table(file)}
)


@settings(max_examples=80)
@given(tree=films | photographs)
def test_a_spec_reads_back_from_its_data(tree: dict[str, Any]) -> None:
    spec = read_input(Spec, tree, where="spec")
    assert read_input(Spec, json.loads(json.dumps(spec.data())), where="quote") == spec


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_every_shipped_spec_reads_back_from_its_data(path: Path) -> None:
    tree = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
    spec = read_input(Spec, tree, where=path.name)
    assert read_input(Spec, json.loads(json.dumps(spec.data())), where="quote") == spec


def test_what_is_not_asked_is_not_written() -> None:
    spec = read_input(Spec, {"title": "Any film", "kind": "film"}, where="spec")
    assert spec.data() == {
        "title": "Any film", "kind": "film", "about": "", "file": {}, "picture": {}, "captions": {},
        "length": {"slack_frames": 1}, "sound": {"loudness_tolerance_lu": "1"},
    }  # fmt: skip


def test_an_aspect_that_cannot_be_written_back_is_refused() -> None:
    with pytest.raises(BadInput, match="wanted an aspect ratio"):
        aspect_of("99999.9999:1")
