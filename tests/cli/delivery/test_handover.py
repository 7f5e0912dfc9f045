"""A folder leaves with its checksums and a delivery note, and is checked again later, by us and by coreutils."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pypdf
import pytest

FILM = "campaign-film"
ON = ("--on", "2027-06-08")
#: What the papers say they allow.
TERMS = ["--media", "online", "--where", "Europe", "--without-end"]


def text_of(path):
    return " ".join("\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def cleared(bizkit, kelp, scan):
    """Every place and everybody in the film on paper, and no music in it."""
    for place in ("Kelp trail, Otter Sound", "Seabird cliff, Kittiwake Head", "Shore sauna, Selkie Bay"):
        bizkit("permission", "add", kelp, "--place", place, "--by", "Skerrow Reserve", "--signed", "2027-05-01",
               "--scan", scan, *TERMS, "--on", "2027-05-01")  # fmt: skip
    bizkit("release", "add", kelp, "--who", "Eilidh Rendall", "--signed", "2027-05-13", "--scan", scan,
           "--client-condition", "No use together with alcohol", "--condition", "She sees the cut first",
           *TERMS, "--on", "2027-05-13")  # fmt: skip
    assert bizkit("rights", "link", kelp, "all", "--music", "none", "--on", "2027-05-13").err == ""


@pytest.fixture
def folder(bizkit, kelp, good_film, tmp_path):
    """A folder with the final film, its captions and the final stills."""
    target = tmp_path / "to the client"
    (target / "stills").mkdir(parents=True)
    film = Path(shutil.copy(good_film, target / good_film.name))
    stills = tmp_path / "stills"
    stills.mkdir()
    for number in (1, 2):
        (stills / f"kelp_00{number}.jpg").write_bytes(b"still %d" % number)
        shutil.copy(stills / f"kelp_00{number}.jpg", target / "stills")
    (target / f"{film.stem}.en.srt").write_text("1\n00:00:00,000 --> 00:00:01,500\nThe trail\n", encoding="utf-8")
    for key, path in ((FILM, film), ("stills", stills)):
        bizkit("deliverable", "send", kelp, key, path, "--on", "2027-06-03")
        assert bizkit("deliverable", "approve", kelp, key, "--on", "2027-06-07").err == ""
    return target


def test_a_folder_of_finals_gets_its_checksums_and_a_delivery_note(bizkit, kelp, cleared, folder, studio):
    bizkit("archive", "add", kelp, "--what", "Masters", "--place", "Drive A", "--until", "2029-06-30", *ON)
    assert bizkit("job", "order", kelp, "PO-7", "--reference", "Cost centre 9", *ON).code == 0
    done = bizkit("handover", "make", kelp, folder, "--to", "Una Flett", "--how", "Drive by courier", *ON, "--json")
    assert (done.code, done.err) == (0, "")
    assert (done.data["number"], done.data["files"]) == ("DN-2027-0001", 5)
    assert done.data["deliverables"] == [FILM, "stills"]
    # coreutils reads the list and finds every file as listed.
    checked = subprocess.run(
        ["sha256sum", "--check", "--strict", "SHA256SUMS"], cwd=folder, capture_output=True, text=True, check=False
    )
    assert checked.returncode == 0, checked.stdout
    assert checked.stdout.count(": OK") == 5
    said = text_of(folder / "DN-2027-0001.pdf")
    for words in (
        "Delivery note DN-2027-0001", "Skerrow Islands Tourism", "Drive by courier", "SHA256SUMS", "30 June 2029",
        "Campaign film v1", "Small film: 320 x 180, 25 fps, 2 s", "Campaign stills (2) v1", "stills/",
        "own channels and paid social", "United Kingdom and Ireland", "No use together with alcohol",
        "4 files in all, and this note", "How Drive by courier", "Credits Gannet & Lark Films",
        "Your order PO-7", "Your reference Cost centre 9",
    ):  # fmt: skip
        assert words in said, words
    # Who has asked for it, and what the studio keeps to itself, is not for the client.
    assert "Eilidh Rendall" not in said
    assert "She sees the cut first" not in said
    assert (studio / "papers" / "DN-2027-0001.pdf").read_bytes() == (folder / "DN-2027-0001.pdf").read_bytes()
    assert bizkit("verify").code == 0
    listed = bizkit("handover", "list", kelp, "--json").data
    assert [(row["number"], row["files"], row["sent_to"]) for row in listed] == [("DN-2027-0001", 5, "Una Flett")]
    assert "has its SHA256SUMS already" in bizkit("handover", "make", kelp, folder, *ON).err


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_box_to_sign_in_stands_on_no_page_alone(bizkit, kelp, cleared, folder, studio, language):
    """Drawn with one file more each time, so that the end of the page comes everywhere before the box."""
    from io import BytesIO

    from bizkit.papers.render import render
    from bizkit.services.studio.filing import asset_reader
    from bizkit.services.studio.studio_folder import StudioFolder
    from bizkit.store.issued import by_number

    assert bizkit("handover", "make", kelp, folder, *ON).code == 0
    here = StudioFolder(studio)
    with here.book.read() as work:
        document = by_number(work, "DN-2027-0001").document
    check, credits = {"en": ("Check it now", "Credits"), "de": ("Jetzt prüfen", "Nennungen")}[language]
    pages = []
    for more in range(12):
        files = document["files"][:1] * more
        longer = {**document, "language": language, "files": files, "restrictions": [], "client_conditions": []}
        reader = pypdf.PdfReader(BytesIO(render(longer, own=None, asset=asset_reader(here))))
        texts = [page.extract_text() for page in reader.pages]
        (place,) = [number for number, text in enumerate(texts) if check in text]
        assert credits in texts[place], more
        pages.append(place)
    assert pages[0] < pages[-1]


def test_a_media_hash_list_lies_beside_them_where_asked_for(bizkit, kelp, cleared, folder):
    bizkit("handover", "make", kelp, folder, "--mhl", *ON)
    (listed,) = (folder / "ascmhl").glob("0001_to the client_*Z.mhl")
    text = listed.read_text(encoding="utf-8")
    for name in ("SHA256SUMS", "DN-2027-0001.pdf", "stills/kelp_001.jpg"):
        assert f">{name}</path>" in text
    assert bizkit("handover", "verify", folder, "--json").data["extra"] == []


def test_the_frozen_note_draws_the_same_paper_again(bizkit, kelp, cleared, folder, studio):
    bizkit("handover", "make", kelp, folder, *ON)
    paper = studio / "papers" / "DN-2027-0001.pdf"
    before = paper.read_bytes()
    paper.unlink()
    assert bizkit("papers", "rebuild").code == 0
    assert paper.read_bytes() == before


def test_later_one_command_says_what_changed_is_missing_moved_or_new(
    bizkit, kelp, cleared, folder, tmp_path, monkeypatch
):
    bizkit("handover", "make", kelp, folder, *ON)
    intact = bizkit("handover", "verify", folder)
    assert (intact.code, intact.out) == (0, "5 files are intact as handed over in DN-2027-0001 on 2027-06-08.\n")
    (folder / "stills" / "kelp_001.jpg").rename(folder / "kelp_001.jpg")
    (folder / "stills" / "kelp_002.jpg").write_bytes(b"touched")
    (folder / f"{kelp}_{FILM}_v1.en.srt").unlink()
    (folder / "new.txt").write_text("new", encoding="utf-8")
    done = bizkit("handover", "verify", folder, "--json")
    assert done.code == 1
    assert {name: done.data[name] for name in ("changed", "missing", "moved", "extra")} == {
        "changed": ["stills/kelp_002.jpg"],
        "missing": [f"{kelp}_{FILM}_v1.en.srt"],
        "moved": [["stills/kelp_001.jpg", "kelp_001.jpg"]],
        "extra": ["new.txt"],
    }
    # On the client's machine there is no studio: the list beside the files is enough.
    monkeypatch.chdir(tmp_path)
    assert bizkit("handover", "verify", folder, "--json").data["changed"] == ["stills/kelp_002.jpg"]


def test_a_list_that_was_changed_with_the_file_is_found_by_the_book(bizkit, kelp, cleared, folder):
    bizkit("handover", "make", kelp, folder, *ON)
    (folder / "stills" / "kelp_002.jpg").write_bytes(b"touched")
    written = subprocess.run(
        "sha256sum DN-2027-0001.pdf *.mp4 *.srt stills/*", cwd=folder, shell=True, capture_output=True, check=True
    )
    (folder / "SHA256SUMS").write_bytes(written.stdout)
    done = bizkit("handover", "verify", folder)
    assert done.code == 1
    assert "The list itself is not the one that was handed over" in done.out
    by_book = bizkit("handover", "verify", folder, "--note", "DN-2027-0001", "--json").data
    assert by_book["changed"] == ["stills/kelp_002.jpg"]
    assert "Did you mean DN-2027-0001?" in bizkit("handover", "verify", folder, "--note", "DN-2027-0002").err


def test_nothing_leaves_that_the_papers_on_file_do_not_cover(bizkit, kelp, folder):
    refused = bizkit("handover", "make", kelp, folder, *ON)
    assert refused.code == 1
    assert "location permission: Kelp trail, Otter Sound" in refused.err
    assert not (folder / "SHA256SUMS").exists()
    assert bizkit("handover", "list", "--json").data == []
    done = bizkit("handover", "make", kelp, folder, *ON, "--reason", "permission was given by phone", "--json")
    assert done.code == 0
    assert any("Kelp trail" in warning for warning in done.data["warnings"])
    rights = bizkit("rights", "check", kelp, "--json", *ON).data
    assert rights["overrides"][0]["reason"] == "permission was given by phone"


def test_a_version_that_is_not_final_does_not_leave(bizkit, kelp, cleared, folder, make_film):
    newer = make_film(f"{kelp}_{FILM}_v2.mp4", seed=2)
    bizkit("deliverable", "send", kelp, FILM, newer, "--reason", "new logo", "--on", "2027-06-07")
    shutil.copy(newer, folder)
    refused = bizkit("handover", "make", kelp, folder, *ON)
    assert f"{newer.name} is v2 of {FILM}: v1 is the final version" in refused.err


def test_a_set_that_lacks_files_does_not_leave(bizkit, kelp, cleared, folder):
    (folder / "stills" / "kelp_002.jpg").unlink()
    assert "v1 of stills lacks kelp_002.jpg" in bizkit("handover", "make", kelp, folder, *ON).err


def test_a_file_changed_after_it_was_sent_does_not_leave(bizkit, kelp, cleared, folder):
    film = folder / f"{kelp}_{FILM}_v1.mp4"
    film.write_bytes(film.read_bytes() + b"\0")
    refused = bizkit("handover", "make", kelp, folder, *ON)
    assert f"{film.name} is not what was sent: v1 of {FILM} had this name and other content" in refused.err


def test_a_folder_without_anything_promised_does_not_leave(bizkit, kelp, cleared, tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    assert "wanted a folder with files in it, got an empty one" in bizkit("handover", "make", kelp, other, *ON).err
    (other / "a.txt").write_text("a", encoding="utf-8")
    refused = bizkit("handover", "make", kelp, other, *ON)
    assert "nothing in the folder is the final version of anything promised" in refused.err
    assert "wanted a folder with the files" in bizkit("handover", "make", kelp, tmp_path / "gone", *ON).err


@pytest.mark.skipif(sys.platform != "linux", reason="other systems keep no such names")
def test_a_name_that_is_no_text_is_one_line(bizkit, kelp, cleared, folder):
    strange = os.fsencode(folder) + b"/caf\xe9.mp4"
    with open(strange, "wb") as file:
        file.write(b"x")
    for command in (
        ("handover", "make", kelp, folder, *ON),
        ("handover", "verify", folder),
        ("deliverable", "verify", os.fsdecode(strange)),
        ("deliverable", "check", os.fsdecode(strange)),
        ("deliverable", "send", kelp, "sauna-loop", os.fsdecode(strange), *ON),
    ):
        (folder / "SHA256SUMS").unlink(missing_ok=True)
        if command[1] == "verify":
            (folder / "SHA256SUMS").write_text(f"{'0' * 64}  a.mp4\n", encoding="utf-8")
        done = bizkit(*command)
        assert (done.code, done.out) == (2, "")
        assert "wanted a file name in UTF-8" in done.err
        assert done.err.count("\n") == 1


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "SHA256SUMS: wanted one file or more, got none"),
        ("not a list\n", "SHA256SUMS, line 1: wanted a SHA-256, two spaces and a file name"),
        (f"{'0' * 64}  ../../etc/passwd\n", "wanted a file name inside the folder, got ../../etc/passwd"),
    ],
)
def test_a_list_from_others_is_read_with_care(bizkit, kelp, tmp_path, text, said):
    target = tmp_path / "back"
    target.mkdir()
    (target / "a.txt").write_text("a", encoding="utf-8")
    assert "wanted SHA256SUMS in the folder, got none" in bizkit("handover", "verify", target).err
    (target / "SHA256SUMS").write_text(text, encoding="utf-8")
    done = bizkit("handover", "verify", target)
    assert done.code == 2
    assert said in done.err
