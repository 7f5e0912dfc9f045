"""A version is the files offered, captions included, and as many as were promised."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

FILM = "campaign-film"
ON = ("--on", "2027-06-08")
CUE = "1\n00:00:00,000 --> 00:00:01,500\nThe {} begins\n"


@pytest.fixture
def captioned(bizkit, studio, kelp, change):
    """The same promise as a job of its own, its film with captions in English beside it, its cut-downs three."""
    brief = Path(shutil.copy(studio / "briefs" / f"{kelp}.toml", studio / "briefs" / "second.toml"))
    change(brief, f'key = "{kelp}"', 'key = "second"')
    change(studio / "specs" / "small_film.toml", "[captions]", '[captions]\nhow = "sidecar"\nlanguages = ["en"]')
    change(brief, 'key = "sauna-loop"', 'key = "sauna-loop"\nquantity = 3')
    for verb in (("draft", brief), ("send", "second"), ("accept", "second")):
        assert bizkit("quote", *verb, "--on", "2027-02-10").err == ""
    return "second"


@pytest.fixture
def film(captioned, good_film, tmp_path):
    return Path(shutil.copy(good_film, tmp_path / f"{captioned}_{FILM}_v1.mp4"))


@pytest.fixture
def captions(film):
    path = film.with_suffix(".en.srt")
    path.write_text(CUE.format("trail"), encoding="utf-8")
    return path


def reasons(done):
    """What a handover says of its files, without what it says of papers, of which this job has none on file."""
    assert done.code == 0, done.err
    words = ("v1 of", "goes along", "among the files")
    return [one for one in done.data["warnings"] if any(word in one for word in words)]


def hand_over(bizkit, job, *files, tmp_path):
    target = tmp_path / "drive"
    shutil.rmtree(target, ignore_errors=True)
    target.mkdir()
    for file in files:
        (shutil.copytree if file.is_dir() else shutil.copy)(file, target / file.name)
    refused = bizkit("handover", "make", job, target, *ON)
    assert (refused.code, refused.out) == (1, "")
    return bizkit("handover", "make", job, target, *ON, "--reason", "to see what is said", "--json")


def test_captions_promised_beside_the_film_must_be_there_when_it_is_sent(bizkit, captioned, film):
    refused = bizkit("deliverable", "send", captioned, FILM, film, *ON)
    assert refused.code == 1
    assert "captions are promised beside it and there is no srt or vtt file in en" in refused.err
    film.with_suffix(".de.srt").write_text(CUE.format("Pfad"), encoding="utf-8")
    assert "there is no srt or vtt file in en" in bizkit("deliverable", "send", captioned, FILM, film, *ON).err
    sent = bizkit("deliverable", "send", captioned, FILM, film, *ON, "--reason", "captions follow")
    assert sent.code == 0


def test_captions_are_part_of_the_version(bizkit, captioned, film, captions, tmp_path):
    send = ("deliverable", "send", captioned, FILM, film, "--json", *ON)
    (first,) = bizkit(*send).data["versions"]
    assert list(first["captions"]) == [captions.name]
    assert bizkit("deliverable", "verify", captions, "--json").data["is"][0]["deliverable"] == FILM
    assert "is the same file as version 1" in bizkit(*send).err
    # The same film with other captions is another version.
    captions.write_text(CUE.format("path"), encoding="utf-8")
    changed = bizkit("deliverable", "verify", captions)
    assert (changed.code, "NOT the file that was sent under this name" in changed.out) == (1, True)
    second = bizkit(*send).data
    assert [one["number"] for one in second["versions"]] == [1, 2]
    assert second["versions"][0]["sha256"] == second["versions"][1]["sha256"]


def test_what_was_looked_at_with_other_captions_was_not_looked_at(bizkit, captioned, film, captions):
    look = ("deliverable", "check", film, "--job", captioned, "--deliverable", FILM, *ON)
    captions.write_text("1\n00:00:00,000 --> 00:00:03,500\nThe trail\n", encoding="utf-8")
    assert bizkit(*look).code == 1
    refused = bizkit("deliverable", "send", captioned, FILM, film, *ON)
    assert "captions: wanted no faults" in refused.err
    captions.write_text(CUE.format("trail"), encoding="utf-8")
    sent = bizkit("deliverable", "send", captioned, FILM, film, *ON)
    assert (sent.code, "nobody looked at it" in sent.out) == (0, True)


def test_nothing_leaves_without_the_captions_that_were_approved(bizkit, captioned, film, captions, tmp_path):
    bizkit("deliverable", "send", captioned, FILM, film, *ON)
    bizkit("deliverable", "approve", captioned, FILM, *ON)
    whole = hand_over(bizkit, captioned, film, captions, tmp_path=tmp_path)
    assert not [one for one in reasons(whole) if "v1 of" in one or "goes along" in one]
    without = hand_over(bizkit, captioned, film, tmp_path=tmp_path)
    assert f"v1 of {FILM} lacks {captions.name}" in reasons(without)
    captions.write_text("garbage", encoding="utf-8")
    other = hand_over(bizkit, captioned, film, captions, tmp_path=tmp_path)
    assert f"{captions.name} is not what was sent: v1 of {FILM} had this name and other content" in reasons(other)


def test_captions_alone_are_no_version_of_a_cut_with_the_same_words(bizkit, captioned, film, captions, tmp_path):
    upright = Path(shutil.copy(film, tmp_path / f"{captioned}_hero-16x9-2s_v1.mp4"))
    upright.write_bytes(film.read_bytes() + b"\0")
    shutil.copy(captions, upright.with_suffix(".en.srt"))
    for key, file in ((FILM, film), ("hero-16x9-2s", upright)):
        bizkit("deliverable", "send", captioned, key, file, *ON)
        bizkit("deliverable", "approve", captioned, key, *ON)
    done = hand_over(bizkit, captioned, film, captions, tmp_path=tmp_path)
    assert done.data["deliverables"] == [FILM]
    assert "hero-16x9-2s is not among the files" in reasons(done)
    assert not [one for one in reasons(done) if "lacks" in one or "goes along" in one]


FEW = ("--reason", "the others come on Monday")


def test_fewer_than_promised_are_sent_for_a_reason_alone_and_do_not_leave(bizkit, captioned, tmp_path):
    stills, loops = tmp_path / "stills", tmp_path / "loops"
    for folder, kind, count in ((stills, "jpg", 1), (loops, "mov", 2)):
        folder.mkdir()
        for number in range(count):
            (folder / f"{number}.{kind}").write_bytes(b"picture %d" % number)
        (folder / "read me.txt").write_text("hello", encoding="utf-8")
    for key, folder, said in (
        ("stills", stills, "2 promised, 1 in this version"),
        ("sauna-loop", loops, "3 promised, 2 in this version"),
    ):
        refused = bizkit("deliverable", "send", captioned, key, folder, *ON)
        assert (refused.code, f"holds {said[-17]} of {said[0]} promised: say with --reason" in refused.err) == (
            1,
            True,
        )
        assert f"Look: {said}" in bizkit("deliverable", "send", captioned, key, folder, *FEW, *ON).out
        assert f"Look: {said}" in bizkit("deliverable", "approve", captioned, key, *ON).out
    done = hand_over(bizkit, captioned, stills, loops, tmp_path=tmp_path)
    assert "v1 of stills has 1 of 2 promised" in reasons(done)
    assert "v1 of sauna-loop has 2 of 3 promised" in reasons(done)


def test_more_than_promised_is_given_away_and_told(bizkit, captioned, tmp_path):
    """Five stills for the two that were promised and licensed."""
    stills = tmp_path / "stills"
    stills.mkdir()
    for number in range(5):
        (stills / f"{number}.jpg").write_bytes(b"picture %d" % number)
    said = "Look: 2 promised, 5 in this version: the licence and its price are for 2. Take out the 3 beyond them"
    assert said in bizkit("deliverable", "send", captioned, "stills", stills, *ON).out
    assert said in bizkit("deliverable", "approve", captioned, "stills", *ON).out
    done = hand_over(bizkit, captioned, stills, tmp_path=tmp_path)
    assert "v1 of stills has 5 of 2 promised: what is more is licensed to nobody" in reasons(done)


def test_one_film_of_three_promised_does_not_leave(bizkit, captioned, tmp_path):
    loop = tmp_path / "loop.mov"
    loop.write_bytes(b"loop")
    bizkit("deliverable", "send", captioned, "sauna-loop", loop, *FEW, *ON)
    bizkit("deliverable", "approve", captioned, "sauna-loop", *ON)
    assert "v1 of sauna-loop has 1 of 3 promised" in reasons(hand_over(bizkit, captioned, loop, tmp_path=tmp_path))


def test_approving_says_what_was_not_answered(bizkit, captioned, tmp_path):
    loop = tmp_path / "loop.mov"
    loop.write_bytes(b"loop")
    bizkit("deliverable", "send", captioned, "sauna-loop", loop, *FEW, *ON)
    bizkit("deliverable", "notes", captioned, "sauna-loop", "--text", "Slower steam", *ON)
    assert "Look: notes without an answer: 1" in bizkit("deliverable", "approve", captioned, "sauna-loop", *ON).out


def test_the_very_file_of_something_else_promised_is_told(bizkit, captioned, film, captions, tmp_path):
    assert bizkit("deliverable", "send", captioned, FILM, film, *ON).code == 0
    again = bizkit("deliverable", "send", captioned, "sauna-loop", film, *ON, "--reason", "a trial", "--json")
    assert again.code == 0, again.err
    assert again.data["warnings"][0] == f"{film.name} is in version 1 of {FILM} too: is it the right one?"
    # Under another name, in a folder: still that file.
    folder = tmp_path / "all"
    folder.mkdir()
    shutil.copy(film, folder / "other-name.mp4")
    inside = bizkit("deliverable", "send", captioned, "sauna-loop", folder, *ON, "--reason", "a trial", "--json")
    assert inside.code == 0, inside.err
    assert f"other-name.mp4 is in version 1 of {FILM} too: is it the right one?" in inside.data["warnings"]
