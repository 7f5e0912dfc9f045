"""Many files at once: each has its verdict, and a file is held against the version it is."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from PIL import Image

from .material import with_captions

FILM = "campaign-film"


def verdicts(data):
    """File name -> names of the points that failed."""
    return {
        Path(file["file"]).name: [point["name"] for point in file["points"] if point["ok"] is False]
        for file in data["files"]
    }


@pytest.fixture
def looked(bizkit, kelp):
    """`looked(*paths)` checks them against the campaign film."""

    def check(*paths, key=FILM):
        return bizkit(
            "deliverable", "check", *paths, "--job", kelp, "--deliverable", key, "--json", "--on", "2027-06-01"
        )

    return check


def test_one_file_that_cannot_be_read_is_a_verdict_and_the_others_are_judged(
    bizkit, kelp, looked, good_film, make_film, tmp_path
):
    broken, empty = tmp_path / "broken.mp4", tmp_path / "empty.mp4"
    broken.write_bytes(good_film.read_bytes()[:900])
    empty.touch()
    short = make_film(f"{kelp}_{FILM}_v2.mp4", seconds=1)
    done = looked(broken, good_film, empty, short)
    assert (done.code, done.err) == (1, "")
    assert verdicts(done.data) == {
        "broken.mp4": ["unreadable"],
        good_film.name: [],
        "empty.mp4": ["unreadable"],
        short.name: ["length", "file name"],
    }
    assert done.data["wrong"] == 4
    told = bizkit("deliverable", "check", broken, good_film, empty, "--spec", "small_film")
    assert "2 things are wrong in 2 of 3 files: broken.mp4, empty.mp4" in told.out
    # All of it is in the book: what is good is sent, what is not is refused.
    refused = bizkit("deliverable", "send", kelp, FILM, broken, "--on", "2027-06-01")
    assert (refused.code, "unreadable: wanted" in refused.err) == (1, True)
    sent = bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-06-01")
    assert (sent.code, "nobody looked at it" in sent.out) == (0, False)


def test_a_path_that_is_no_file_is_refused_alone_and_a_verdict_among_others(looked, good_film, tmp_path):
    done = looked("gone.mp4")
    assert (done.code, done.out) == (2, "")
    assert "wanted a known file, got gone.mp4" in done.err
    pipe, link, bare = tmp_path / "pipe.mp4", tmp_path / "link.mp4", tmp_path / "bare"
    os.mkfifo(pipe)
    link.symlink_to(tmp_path / "elsewhere.mp4")
    bare.mkdir()
    strange = os.fsdecode(os.fsencode(tmp_path) + b"/caf\xe9.mp4")
    Path(strange).write_bytes(b"x")
    done = looked("gone.mp4", pipe, link, bare, strange, good_film)
    assert (done.code, done.err) == (1, "")
    found = verdicts(done.data)
    assert found.pop(good_film.name) == []
    assert len(found) == 5
    assert set(map(tuple, found.values())) == {("unreadable",)}
    said = {Path(file["file"]).name: file["points"] for file in done.data["files"]}
    assert said["link.mp4"][0]["got"] == "a link to one that is not there"


def test_an_empty_file_among_stills_is_a_verdict_and_the_set_is_kept(bizkit, kelp, looked, tmp_path):
    folder = tmp_path / "stills"
    folder.mkdir()
    Image.effect_noise((300, 200), 60).convert("RGB").save(folder / f"{kelp}_001_v1.jpg")
    (folder / f"{kelp}_002_v1.jpg").touch()
    done = looked(folder, key="stills")
    assert (done.code, done.err) == (1, "")
    found = verdicts(done.data)
    assert found[f"{kelp}_002_v1.jpg"] == ["unreadable"]
    assert "long edge" in found[f"{kelp}_001_v1.jpg"]
    refused = bizkit("deliverable", "send", kelp, "stills", folder, "--on", "2027-06-01")
    assert refused.code == 1
    assert f"and {done.data['wrong'] - 1} more" in refused.err
    sent = bizkit("deliverable", "send", kelp, "stills", folder, "--on", "2027-06-01", "--reason", "a proof")
    assert sent.code == 0


def test_a_contact_sheet_that_cannot_be_drawn_takes_no_verdict_away(bizkit, kelp, tmp_path):
    empty = tmp_path / "empty.mp4"
    empty.touch()
    done = bizkit("deliverable", "check", empty, "--sheet", tmp_path / "sheet.jpg")
    assert (done.code, done.err) == (1, "")
    assert "WRONG  unreadable" in done.out
    assert "No contact sheet: a contact sheet needs a film or stills" in done.out


def test_a_file_is_held_against_the_version_it_is(bizkit, kelp, looked, good_film, make_film, tmp_path):
    # As the tool itself advises after a sending without a look.
    sent = bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-06-01")
    assert "nobody looked at it: bizkit deliverable check" in sent.out
    done = looked(good_film)
    assert (done.code, verdicts(done.data)) == (0, {good_film.name: []})
    shown = bizkit("deliverable", "show", kelp, FILM, "--on", "2027-06-01", "--json").data
    assert shown["versions"][0]["wrong"] == 0
    # The next version is v2, and v1 is still v1 afterwards.
    second = make_film(f"{kelp}_{FILM}_v2.mp4", seed=2)
    assert looked(second).code == 0
    bizkit("deliverable", "send", kelp, FILM, second, "--on", "2027-06-02")
    assert looked(good_film).code == 0
    bizkit("deliverable", "approve", kelp, FILM, "--on", "2027-06-03")
    assert looked(good_film, second).code == 0
    # By its content it is v1, whatever the name says.
    copy = Path(shutil.copy(good_film, tmp_path / f"{kelp}_{FILM}_v3.mp4"))
    done = bizkit("deliverable", "check", copy, "--job", kelp, "--deliverable", FILM)
    assert (done.code, "version should be v1" in done.out) == (1, True)


def test_other_content_under_the_name_of_a_version_sent_is_told(bizkit, kelp, looked, good_film, make_film, tmp_path):
    bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-06-01")
    other = make_film(good_film.name, seed=3)
    done = looked(other)
    assert (done.code, verdicts(done.data)) == (1, {good_film.name: ["version"]})
    (point,) = [point for point in done.data["files"][0]["points"] if point["name"] == "version"]
    assert (point["wanted"], point["got"]) == ("v1 as it was sent", "other content under its name")


def test_a_good_name_is_the_one_of_this_very_cut(bizkit, kelp, good_film, tmp_path):
    film = Path(shutil.copy(good_film, tmp_path / "final-FINAL.mp4"))
    done = bizkit("deliverable", "check", film, "--job", kelp, "--deliverable", FILM)
    assert f"A good name: {kelp}_{FILM}_v1." in done.out


def test_each_cut_of_a_set_asks_for_a_name_of_its_own(bizkit, studio, kelp, change, good_film, tmp_path):
    brief = Path(shutil.copy(studio / "briefs" / f"{kelp}.toml", studio / "briefs" / "second.toml"))
    change(brief, f'key = "{kelp}"', 'key = "second"')
    change(
        brief, 'lengths_s = ["2", "1"]', 'lengths_s = ["2"]\ncaptions = ["clean", "burned_in"]\nmaster = "small_film"'
    )
    # The pattern of the shipped web film.
    change(studio / "specs" / "small_film.toml", "{job}_{cut}_{version}", "{job}_{cut}_{aspect}_{seconds}_{version}")
    for verb in (("draft", brief), ("send", "second"), ("accept", "second")):
        assert bizkit("quote", *verb, "--on", "2027-02-10").err == ""
    film = Path(shutil.copy(good_film, tmp_path / "x.mp4"))
    names = {}
    for row in bizkit("deliverable", "list", "second", "--json", "--on", "2027-02-10").data:
        if row["key"].startswith("hero"):
            told = bizkit("deliverable", "check", film, "--job", "second", "--deliverable", row["key"]).out
            names[row["key"]] = told.partition("A good name: ")[2].partition(".\n")[0]
    assert names == {
        "hero-master": "second_hero-master_16x9_2s_v1",
        "hero-16x9-2s-clean": "second_hero-16x9-2s-clean_16x9_2s_v1",
        "hero-16x9-2s-burned-in": "second_hero-burned-in_16x9_2s_v1",
        "hero-9x16-2s-clean": "second_hero-clean_9x16_2s_v1",
        "hero-9x16-2s-burned-in": "second_hero-burned-in_9x16_2s_v1",
    }
    # A clean file does not pass as the captioned one.
    film = Path(shutil.copy(good_film, tmp_path / f"{names['hero-16x9-2s-clean']}.mp4"))
    for key, said in (("hero-16x9-2s-clean", ""), ("hero-16x9-2s-burned-in", "cut should be hero-burned-in")):
        assert said in bizkit("deliverable", "check", film, "--job", "second", "--deliverable", key).out


CAPTIONS = """
title = "Captioned film"
kind = "film"

[captions]
how = "{how}"
languages = [{languages}]
"""
CUE = "1\n00:00:00,000 --> 00:00:01,500\nThe trail\n"


@pytest.mark.parametrize(
    ("languages", "beside", "ok"),
    [
        ('"en"', ["film.de.srt"], False),
        ('"en"', ["film.en.srt"], True),
        ('"en"', ["film.srt"], True),
        ('"en"', ["film.en-GB.srt"], True),
        ('"en"', ["film.eng.srt"], True),
        ('"en", "de"', ["film.en-GB.srt", "film.ger.srt"], True),
        ('"en", "de"', ["film.en.srt", "film.srt"], False),
        ('"en-GB"', ["film.en-US.srt"], False),
    ],
)
def test_captions_beside_a_film_are_in_the_language_promised(
    bizkit, kelp, studio, good_film, tmp_path, languages, beside, ok
):
    spec = CAPTIONS.format(how="sidecar", languages=languages)
    (studio / "specs" / "captioned.toml").write_text(spec, encoding="utf-8")
    film = Path(shutil.copy(good_film, tmp_path / "film.mp4"))
    for name in beside:
        (tmp_path / name).write_text(CUE, encoding="utf-8")
    done = bizkit("deliverable", "check", film, "--spec", "captioned", "--json")
    assert [point["ok"] for point in done.data["files"][0]["points"] if point["name"] == "captions"] == [ok]


@pytest.mark.parametrize(("language", "ok"), [("en", True), ("eng", True), ("de", False), ("en-GB", True)])
def test_captions_inside_a_film_have_codes_of_three_letters(bizkit, kelp, studio, good_film, tmp_path, language, ok):
    # QuickTime and MP4 pack three letters by ISO 639-2/T (ISO/IEC 14496-12, 8.4.2, from memory).
    spec = CAPTIONS.format(how="embedded", languages=f'"{language}"')
    (studio / "specs" / "captioned.toml").write_text(spec, encoding="utf-8")
    film = with_captions(good_film, tmp_path / "film.mp4", "eng")
    done = bizkit("deliverable", "check", film, "--spec", "captioned", "--json")
    (point,) = [point for point in done.data["files"][0]["points"] if point["name"] == "captions"]
    assert (point["got"], point["ok"]) == ("eng", ok)
