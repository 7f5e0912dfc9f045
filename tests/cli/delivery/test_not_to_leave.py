"""What is another client's, on file or the studio's own does not leave with the files of a job."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import time

import pytest

FILM = "campaign-film"
ON = ("--on", "2027-06-08")
WHY = ("--reason", "no papers on file yet")


@pytest.fixture
def drive(bizkit, kelp, good_film, tmp_path):
    """A folder with the film, sent and approved."""
    bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-06-03")
    assert bizkit("deliverable", "approve", kelp, FILM, "--on", "2027-06-07").err == ""
    folder = tmp_path / "drive"
    folder.mkdir()
    shutil.copy(good_film, folder)
    return folder


@pytest.fixture
def others(bizkit, kelp, studio, make_film, drive):
    """The film of another client's job, sent and not approved."""
    (client,) = (studio / "clients").glob("*.toml")
    text = client.read_text(encoding="utf-8")
    assert "Skerrow Islands Tourism" in text
    (studio / "clients" / "brine-works.toml").write_text(
        text.replace("Skerrow Islands Tourism", "Brine Works"), encoding="utf-8"
    )
    brief = (studio / "briefs" / f"{kelp}.toml").read_text(encoding="utf-8")
    brief = brief.replace(f'client = "{client.stem}"', 'client = "brine-works"').replace("Follow the Kelp", "Brine")
    (studio / "briefs" / "brine.toml").write_text(brief.replace(f'key = "{kelp}"', 'key = "brine"'), encoding="utf-8")
    for words in (("draft", "briefs/brine.toml"), ("send", "brine"), ("accept", "brine")):
        assert bizkit("quote", *words, "--on", "2027-02-09").err == ""
    film = make_film("brine_plain_v1.mp4", seed=5)
    assert bizkit("deliverable", "send", "brine", FILM, film, "--on", "2027-06-03").err == ""
    return film


WHOSE = f"brine_plain_v1.mp4 is v1 of {FILM} of the job brine for another client, brine-works"


def test_a_film_of_another_client_does_not_leave(bizkit, kelp, drive, others):
    shutil.copy(others, drive)
    refused = bizkit("handover", "make", kelp, drive, *ON)
    assert refused.code == 1
    # Where it goes all the same, it is told for what it is.
    (drive / "extras").mkdir()
    (drive / others.name).rename(drive / "extras" / others.name)
    done = bizkit("handover", "make", kelp, drive, *ON, *WHY, "--json")
    assert f"extras/{WHOSE}" in done.data["warnings"]
    assert not any("without being a version" in line for line in done.data["warnings"])


def test_with_every_paper_in_order_it_is_what_holds_the_handover_back(bizkit, kelp, drive, others, scan, studio):
    terms = ["--media", "online", "--where", "Europe", "--without-end", "--on", "2027-05-01"]
    for place in ("Kelp trail, Otter Sound", "Seabird cliff, Kittiwake Head", "Shore sauna, Selkie Bay"):
        bizkit("permission", "add", kelp, "--place", place, "--by", "Skerrow Reserve", "--signed", "2027-05-01",
               "--scan", scan, *terms)  # fmt: skip
    bizkit("release", "add", kelp, "--who", "Eilidh Rendall", "--signed", "2027-05-01", "--scan", scan, *terms)
    bizkit("rights", "link", kelp, "all", "--music", "none", "--on", "2027-05-13")
    shutil.copy(others, drive / "mood.mp4")
    refused = bizkit("handover", "make", kelp, drive, *ON)
    assert (refused.code, refused.err.count("\n")) == (1, 1)
    assert f"mood.mp4 is {WHOSE.partition(' is ')[2]}" in refused.err
    assert not (drive / "SHA256SUMS").exists()
    (drive / "mood.mp4").unlink()
    # A signed paper, whatever it is called.
    shutil.copy(scan, drive / "thanks.pdf")
    refused = bizkit("handover", "make", kelp, drive, *ON)
    assert refused.code == 1
    assert "thanks.pdf is a paper on file (" in refused.err
    (drive / "thanks.pdf").unlink()
    assert bizkit("handover", "make", kelp, drive, *ON).code == 0


def test_nor_is_it_sent_as_a_version_of_this_job(bizkit, kelp, others, tmp_path):
    for path in (others, shutil.copy(others, tmp_path / f"{kelp}_{FILM}_v2.mp4")):
        refused = bizkit("deliverable", "send", kelp, "sauna-loop", path, *ON)
        assert refused.code == 1
        assert f"of {FILM} of the job brine for another client, brine-works" in refused.err
    assert bizkit("deliverable", "send", kelp, "sauna-loop", others, *ON, *WHY).code == 0


@pytest.mark.parametrize("name", ["studio.toml", "floor.toml", "rate-card.toml", "book.sqlite"])
def test_files_of_the_studio_leave_with_nothing(bizkit, kelp, drive, studio, name):
    (drive / "more").mkdir()
    shutil.copy(studio / name, drive / "more")
    for command in (
        ("handover", "make", kelp, drive),
        ("deliverable", "send", kelp, "stills", drive),
        ("deliverable", "send", kelp, "sauna-loop", studio / name),
    ):
        refused = bizkit(*command, *ON, *WHY)
        assert refused.code == 1
        assert f"{name} is the studio's own and leaves with no delivery" in refused.err
    assert bizkit("handover", "list", "--json").data == []


def test_the_studio_itself_is_no_delivery(bizkit, kelp, drive, studio, tmp_path):
    shutil.copy(next(drive.glob("*.mp4")), studio)
    for place in (studio, studio.parent, studio / "papers"):
        for command in (("handover", "make", kelp, place), ("deliverable", "send", kelp, "stills", place)):
            refused = bizkit(*command, *ON, *WHY)
            assert (refused.code, refused.err.count("\n")) == (1, 1)
            assert "is or holds the studio's own folder" in refused.err
    assert not (studio / "SHA256SUMS").exists()


def test_nothing_leaves_before_it_was_agreed_sent_or_approved(bizkit, kelp, drive, studio):
    for day, said in (
        ("2020-01-01", f"v1 of {FILM} was approved on 2027-06-07: 2020-01-01 is before it"),
        ("2027-06-06", f"v1 of {FILM} was approved on 2027-06-07"),
    ):
        refused = bizkit("handover", "make", kelp, drive, *WHY, "--on", day)
        assert refused.code == 1
        assert said in refused.err
    refused = bizkit(
        "deliverable", "send", kelp, "sauna-loop", drive / next(drive.glob("*.mp4")), "--on", "2027-02-07"
    )
    assert refused.code == 1
    assert "was agreed on 2027-02-08: 2027-02-07 is before it" in refused.err


def test_two_handovers_at_once_are_one(bizkit, kelp, drive, studio):
    command = [
        sys.executable,
        "-c",
        "from bizkit.cli.main import run; run()",
        "handover",
        "make",
        kelp,
        str(drive),
        *ON,
        *WHY,
    ]
    turn = sqlite3.connect(studio / "book.sqlite", isolation_level=None)
    turn.execute("BEGIN IMMEDIATE")  # both have read the folder by the time they may write
    both = [
        subprocess.Popen(
            command,
            cwd=studio,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    time.sleep(8)
    turn.execute("ROLLBACK")
    turn.close()
    said = [one.communicate(timeout=60)[1] for one in both]
    assert sorted(one.returncode for one in both) == [0, 1], said
    assert any("drive has its SHA256SUMS already" in one for one in said)
    assert len(bizkit("handover", "list", "--json").data) == 1
    assert bizkit("handover", "verify", drive).code == 0
