"""What was found wrong stays so: for this deliverable, inside a folder, and whatever other spec is named."""

from __future__ import annotations

import shutil

import pytest
from PIL import Image

FILM = "campaign-film"
ON = ("--on", "2027-06-01")


@pytest.fixture
def look(bizkit, kelp):
    """`look(path, key)` holds it against the deliverable."""
    return lambda path, key, *more: bizkit(
        "deliverable", "check", path, "--job", kelp, "--deliverable", key, *more, *ON
    )


def test_a_verdict_is_about_one_deliverable(bizkit, kelp, look, good_film):
    assert look(good_film, FILM).code == 0
    assert bizkit("deliverable", "send", kelp, "hero-16x9-2s", good_film, *ON).code == 0
    assert "not looked at" in bizkit("deliverable", "show", kelp, "hero-16x9-2s", *ON).out


def test_a_spec_of_ones_own_takes_nothing_away(bizkit, kelp, look, studio, make_film):
    (studio / "specs" / "any.toml").write_text('title = "Any"\nkind = "film"\n', encoding="utf-8")
    short = make_film(f"{kelp}_{FILM}_v1.mp4", seconds=1)
    assert look(short, FILM).code == 1
    assert look(short, FILM, "--spec", "any").code == 0
    refused = bizkit("deliverable", "send", kelp, FILM, short, *ON)
    assert refused.code == 1
    assert "length: wanted" in refused.err
    sent = bizkit("deliverable", "send", kelp, FILM, short, *ON, "--reason", "a proof")
    assert sent.code == 0
    assert "1 wrong" in bizkit("deliverable", "show", kelp, FILM, *ON).out
    assert "Look: found wrong on 2027-06-01" in bizkit("deliverable", "approve", kelp, FILM, *ON).out
    other = make_film(f"{kelp}_{FILM}_v2.mp4", seconds=1, seed=4)
    assert look(other, FILM, "--spec", "any").code == 0
    told = bizkit("deliverable", "send", kelp, FILM, other, *ON, "--reason", "a proof").out
    assert "nobody looked at it" in told
    assert "as asked by any" in bizkit("deliverable", "show", kelp, FILM, *ON).out


def test_what_was_found_wrong_is_not_sent_inside_a_folder(bizkit, kelp, look, make_film, tmp_path):
    short = make_film(f"{kelp}_{FILM}_v1.mp4", seconds=1)
    assert look(short, FILM).code == 1
    folder = tmp_path / "package"
    folder.mkdir()
    shutil.copy(short, folder)
    refused = bizkit("deliverable", "send", kelp, FILM, folder, *ON)
    assert (refused.code, "length: wanted" in refused.err) == (1, True)
    stills = tmp_path / "stills"
    stills.mkdir()
    for number in (1, 2, 3):
        Image.effect_noise((300, 200), 60).convert("RGB").save(stills / f"{kelp}_00{number}_v1.jpg")
    cut = stills / f"{kelp}_002_v1.jpg"
    cut.write_bytes(cut.read_bytes()[:900])
    assert look(stills, "stills").code == 1
    (stills / f"{kelp}_003_v1.jpg").unlink()
    refused = bizkit("deliverable", "send", kelp, "stills", stills, *ON)
    assert refused.code == 1
    assert "as found before" in refused.err


def test_captions_are_no_film_and_an_empty_still_is_none(bizkit, kelp, tmp_path):
    words = tmp_path / f"{kelp}_{FILM}_v1.srt"
    words.write_text("1\n00:00:00,000 --> 00:00:01,500\nThe trail\n", encoding="utf-8")
    refused = bizkit("deliverable", "send", kelp, FILM, words, *ON)
    assert (refused.code, "holds no film or still: 1 promised" in refused.err) == (1, True)
    stills = tmp_path / "stills"
    stills.mkdir()
    (stills / "a.jpg").write_bytes(b"a")
    (stills / "b.jpg").touch()
    refused = bizkit("deliverable", "send", kelp, "stills", stills, *ON)
    assert (refused.code, "b.jpg in stills is empty" in refused.err) == (1, True)
