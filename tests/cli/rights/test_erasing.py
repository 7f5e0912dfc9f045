"""`person erase`: never a file of somebody else's, nothing left behind, finished after a kill at any step.

UK GDPR Article 17: erasure of the data of the one who asks; Article 5(1)(f): others' data is not lost with it.
"""

from __future__ import annotations

import io
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import tarfile
import unicodedata
import zipfile
from pathlib import Path

import pytest

JOB = "follow-the-kelp"
ON = ("--on", "2027-06-20")
YES = ("--yes", "--reason", "asked by letter", *ON)


def whole_book(studio: Path) -> str:
    with sqlite3.connect(studio / "book.sqlite") as book:
        return "\n".join(book.iterdump()).casefold()


def paper(path: Path, words: str) -> Path:
    """A one-page PDF of its own."""
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(str(path), invariant=True)
    canvas.drawString(72, 720, words)
    canvas.save()
    return path


@pytest.fixture
def file(bizkit, clear, tmp_path):
    """`file("Isla Marwick")` files a release on a page of its own; or the page and options given."""

    def add(who: str, *more: object, page: Path | None = None, kind: str = "talent_release"):
        page = page or paper(tmp_path / f"{len(who)}-{abs(hash(who))}.pdf", f"Release of {who}")
        done = bizkit(
            "holding", "add", JOB, "--kind", kind, "--about", who, "--signed", "2027-05-14", "--scan", page, *more,
            "--media", "online", "--where", "Europe", "--without-end", "--on", "2027-05-20", "--json",
        )  # fmt: skip
        assert done.code == 0, done.err
        return done.data

    return add


def person_of(bizkit, name: str) -> str:
    (row,) = [row for row in bizkit("person", "list", "--json").data if row["name"] == name]
    return f"person-{row['id']}"


def test_a_file_that_may_hold_somebody_else_is_named_and_stays(bizkit, file, studio):
    file("Isla Marwick")
    kept = {
        "incoming/bank-august.csv": "Date,Amount,Details\n2027-08-02,13732.19,Una\n2027-08-03,40,ISLA MARWICK\n",
        "incoming/crew-list.txt": "Ailsa Gannet\nIsla  Marwick\nRowan Lark\n",
        "incoming/releases of Isla Marwick and Zelda Quokka.pdf": "%PDF- two people",
        "incoming/release_isla_marwick.pdf": "%PDF- another scan, of who knows what",
        "forms/talent-release-isla-marwick-and-zelda-quokka.pdf": "%PDF- two people",
        "forms/model-release-isla-marwick.pdf": "%PDF- signed and scanned, not a form that bizkit drew",
        "exports/holdings.csv": "who\nIsla Marwick\n",
        "notes.txt": "Call isla marwick\n",
    }
    for name, text in kept.items():
        (studio / name).parent.mkdir(exist_ok=True)
        (studio / name).write_text(text, encoding="utf-8")
    plan = bizkit("person", "erase", "Isla Marwick", *ON, "--json").data
    done = bizkit("person", "erase", "Isla Marwick", *YES, "--json").data
    for said in (plan, done):
        assert sorted(said["change_by_hand"]) == sorted(kept)
        assert [name for name in said["files_deleted"] if not name.startswith("papers/scans/")] == []
    for name, text in kept.items():
        assert (studio / name).read_text(encoding="utf-8") == text
    assert bizkit("verify").code == 0


def test_copies_of_a_paper_that_stays_and_forms_and_books_elsewhere_are_named(bizkit, file, studio, tmp_path):
    page = paper(tmp_path / "page.pdf", "Isla Marwick and Finn Sinclair")
    row = file("Isla Marwick", page=page)
    file("Finn Sinclair", page=page)
    (studio / "incoming").mkdir(exist_ok=True)
    shutil.copy(page, studio / "incoming" / "both.pdf")
    out = studio / "incoming" / "to print.pdf"
    assert bizkit("release", "form", JOB, "--who", "Isla Marwick", "--out", out).code == 0
    shutil.copy(studio / "book.sqlite", studio / "book.sqlite.bak")
    done = bizkit("person", "erase", "Isla Marwick", *YES, "--json").data
    assert done["change_by_hand"] == ["book.sqlite.bak", "incoming/both.pdf", "incoming/to print.pdf"]
    assert done["files_deleted"] == []
    assert (studio / row["file"]).is_file()


#: file -> its bytes; each names her and none did so to a search for UTF-8 alone.
NAMING = {
    "call.txt": "Call: Isla Marwick".encode("utf-16"),
    "call-le.log": "Call: Isla Marwick".encode("utf-16-le"),
    "bank.csv": "Isla Marwick;40".encode("utf-8-sig"),
    "crew": "Zoë und Isla Marwick".encode("latin-1"),
    "call.docx": {"word/document.xml": b"<w:t>Isla </w:t><w:r><w:t>Mar</w:t></w:r><w:t>wick</w:t>"},
    "backup.zip": {"scans/release_isla-marwick.jpg": b"\xff\xd8\xff\0"},
    "page.html": b"<b>Isla</b>&nbsp;Marwick",
    "old.tar.gz": {"list.txt": b"Isla Marwick"},
}
#: Those that are no text, of which nobody can tell.
CLOSED = {
    "IMG_1.jpg": b"\xff\xd8\xff\xe0" + bytes(200),
    "clip.mp4": bytes(200),
    "scan.pdf": b"%PDF-1.4 somebody",
    "locked.7z": b"7z\xbc\xaf\x27\x1c" + bytes(99),
    "cut off.zip": b"PK\x03\x04 no more",
}


def packed(name: str, members: dict[str, bytes]) -> bytes:
    target = io.BytesIO()
    if name.endswith(".tar.gz"):
        with tarfile.open(fileobj=target, mode="w:gz") as tape:
            for each, content in members.items():
                info = tarfile.TarInfo(each)
                info.size = len(content)
                tape.addfile(info, io.BytesIO(content))
    else:
        with zipfile.ZipFile(target, "w") as archive:
            for each, content in members.items():
                archive.writestr(each, content)
    return target.getvalue()


def test_a_name_is_found_in_packed_files_and_texts_of_any_letters_and_the_rest_is_counted(bizkit, file, studio):
    file("Isla Marwick")
    place = studio / "incoming"
    place.mkdir(exist_ok=True)
    before = bizkit("person", "erase", "Isla Marwick", *ON, "--json").data["not_looked_into"]
    for name, content in {**NAMING, **CLOSED}.items():
        (place / name).write_bytes(content if isinstance(content, bytes) else packed(name, content))
    (place / "all.zip").write_bytes(packed("all.zip", {"crew": NAMING["crew"], "IMG_1.jpg": CLOSED["IMG_1.jpg"]}))
    (place / "others.zip").write_bytes(packed("others.zip", {"IMG_2.jpg": CLOSED["IMG_1.jpg"], "a.txt": b"Finn"}))
    plan = bizkit("person", "erase", "Isla Marwick", *ON, "--json").data
    assert plan["change_by_hand"] == sorted(f"incoming/{name}" for name in (*NAMING, "all.zip"))
    more = {kind: count - before.get(kind, 0) for kind, count in plan["not_looked_into"].items()}
    assert {kind: count for kind, count in more.items() if count} == {
        "PDF": 1, "damaged or unreadable file": 1, "film": 1, "packed or encrypted file": 1, "picture": 2,
    }  # fmt: skip
    said = bizkit("person", "erase", "Isla Marwick", *ON).out
    assert "1 damaged or unreadable file, 1 film, " in said
    assert ": open those that may name or show them" in said
    assert "1 film" in bizkit("person", "export", "Isla Marwick", "--to", studio.parent / "out", *ON).out


def test_copies_of_the_scan_go_whatever_they_are_called_and_a_form_drawn_for_them(bizkit, file, studio, tmp_path):
    page = paper(tmp_path / "page.pdf", "Release of Isla Marwick")
    row = file("Isla Marwick", page=page)
    for name in ("incoming/IMG_0042.pdf", "outgoing/copy.pdf", "papers/copy of a scan.pdf"):
        (studio / name).parent.mkdir(exist_ok=True)
        shutil.copy(page, studio / name)
    (studio / "incoming" / "other.pdf").write_bytes(page.read_bytes() + b"%")
    form = bizkit("release", "form", JOB, "--who", "Isla Marwick", "--json").data["file"]
    plan = bizkit("person", "erase", "Isla Marwick", *ON, "--json").data
    assert plan["files_deleted"] == [
        f"forms/{Path(form).name}", "incoming/IMG_0042.pdf", "outgoing/copy.pdf",
        "papers/copy of a scan.pdf", row["file"],
    ]  # fmt: skip
    assert bizkit("person", "erase", "Isla Marwick", *YES).code == 0
    assert not [name for name in plan["files_deleted"] if (studio / name).exists()]
    assert (studio / "incoming" / "other.pdf").is_file()
    checked = bizkit("verify")
    assert (checked.code, "Look:" in checked.out) == (0, False)
    assert "marwick" not in whole_book(studio)


def test_a_scan_of_two_stays_for_the_other_and_is_still_held_against_the_book(bizkit, file, studio, tmp_path):
    page = paper(tmp_path / "page.pdf", "Isla Marwick and Finn Sinclair")
    row = file("Isla Marwick", page=page)
    file("Finn Sinclair", page=page)
    (studio / "incoming").mkdir(exist_ok=True)
    shutil.copy(page, studio / "incoming" / "both.pdf")
    done = bizkit("person", "erase", "Isla Marwick", *YES, "--json").data
    assert done["files_deleted"] == []
    scan = studio / row["file"]
    right = scan.read_bytes()
    assert bizkit("verify").code == 0
    scan.write_bytes(right + b" ")
    assert f"{row['file']}: not the file that was filed" in bizkit("verify").out
    scan.unlink()
    assert f"{row['file']}: missing: restore it from a copy" in bizkit("verify").out
    scan.write_bytes(right)
    # The last of them to go takes the page along.
    done = bizkit("person", "erase", "Finn Sinclair", *YES, "--json").data
    assert done["files_deleted"] == ["incoming/both.pdf", row["file"]]
    assert bizkit("verify").code == 0


def test_a_scan_that_is_a_receipt_as_well_stays(bizkit, file, studio, tmp_path):
    page = paper(tmp_path / "page.pdf", "Isla Marwick got 80.00 and signed")
    row = file("Isla Marwick", page=page)
    assert bizkit("cost", "add", JOB, "--kind", "boat", "--amount", "80.00", "--receipt", page, *ON).code == 0
    done = bizkit("person", "erase", "Isla Marwick", *YES, "--json").data
    assert done["files_deleted"] == []
    assert (studio / row["file"]).is_file()
    (studio / row["file"]).unlink()
    assert bizkit("verify").code == 1


def test_erasing_a_guardian_or_an_agent_leaves_the_paper_of_whom_they_signed_for(bizkit, file, studio):
    child = file("Finn Sinclair", "--guardian", "Morag Sinclair", "--born", "2017-08-02")
    singer = file(
        "Isla Marwick", "--by", "Zelda Quokka", "--reason", "her agency signs for her", kind="performer_consent"
    )
    for name, row, what in (
        ("Morag Sinclair", child, "talent release of Finn Sinclair"),
        ("Zelda Quokka", singer, "performer consent of Isla Marwick"),
    ):
        if name == "Zelda Quokka":
            assert bizkit(
                "person", "set", name, "--basis", "contract", "--purpose", "agent", *ON
            ).code == 0  # fmt: skip
        done = bizkit("person", "erase", name, *YES)
        assert done.code == 0, done.err
        assert f"stays: paper {row['id']}, {what}, which they signed: it is about somebody else" in done.out
        assert (studio / row["file"]).is_file()
    rows = {row["id"]: row for row in bizkit("holding", "list", JOB, "--json").data}
    assert rows[child["id"]]["guardian"] == "Morag Sinclair"
    assert rows[singer["id"]]["signed_by"] == "Zelda Quokka"
    assert bizkit("verify").code == 0
    # When the child's paper goes, the guardian can go as well.
    assert bizkit("person", "erase", "Finn Sinclair", *YES).code == 0
    assert bizkit("person", "erase", "Morag Sinclair", *YES).code == 0
    for gone in ("morag", "finn"):
        assert gone not in whole_book(studio)


def test_only_the_papers_that_a_licence_rests_on_are_kept(bizkit, file, studio, tmp_path):
    release = file("Isla Marwick")
    page = paper(tmp_path / "medical.pdf", "Fit to dive")
    medical = bizkit(
        "holding", "add", JOB, "--kind", "diver_medical", "--about", "Isla Marwick", "--from", "2027-01-01",
        "--number", "M 4711", "--scan", page, "--on", "2027-05-20", "--json",
    ).data  # fmt: skip
    assert bizkit("rights", "grant", JOB, "--on", "2027-06-14").code == 0
    (row,) = [one for one in bizkit("person", "list", "--json").data if one["name"] == "Isla Marwick"]
    assert row["papers"] == [release["id"], medical["id"]]
    done = bizkit("person", "erase", "Isla Marwick", *YES, "--json").data
    assert (done["papers_kept"], done["papers_erased"]) == ([release["id"]], [medical["id"]])
    assert done["files_deleted"] == [medical["file"]]
    assert (studio / release["file"]).is_file()
    assert not (studio / medical["file"]).exists()
    assert "m 4711" not in whole_book(studio)
    assert bizkit("rights", "check", JOB, *ON, "--json").data["cleared"]
    assert bizkit("verify").code == 0


@pytest.mark.parametrize("reason", ["Zoë Müller asked", "zoë müller asked", "ZOË  MÜLLER asked", "Zoë asked"])
def test_the_reason_is_kept_without_the_name_however_it_is_written(bizkit, file, studio, reason):
    file("Zoë Müller")
    for form in ("NFC", "NFD"):
        assert bizkit("person", "erase", unicodedata.normalize(form, "Zoë Müller"), *ON).code == 0
    done = bizkit("person", "erase", "Zoë Müller", "--yes", "--reason", unicodedata.normalize("NFD", reason), *ON)
    assert done.code == 0
    dump = unicodedata.normalize("NFC", whole_book(studio))
    assert "zoë" not in dump
    assert "müller" not in dump
    assert "this person asked" in dump


def test_a_name_inside_somebody_elses_is_left_alone(bizkit, file, studio):
    file("Finn Ash")
    row = file("Finn Ash (the younger)")
    assert bizkit("person", "erase", "Finn Ash", *YES).code == 0
    assert "Finn Ash (the younger)" in [one["name"] for one in bizkit("person", "list", "--json").data]
    (kept,) = [one for one in bizkit("holding", "list", JOB, "--json").data if one["id"] == row["id"]]
    assert kept["signed_by"] == "Finn Ash (the younger)"
    assert (studio / row["file"]).is_file()


#: Runs a command and dies at its COUNT-th step: before and after each file deleted, before each commit.
DYING = """
import os, signal, sys
from sqlalchemy import Engine, event
from bizkit.cli.main import run

left = [int(sys.argv.pop(1))]

def step():
    left[0] -= 1
    if left[0] == 0:
        os.kill(os.getpid(), signal.SIGKILL)

unlink = os.unlink

def dying(*words, **options):
    step()
    unlink(*words, **options)
    step()

os.unlink = dying
event.listen(Engine, "commit", lambda connection: step())
run()
"""


def die_at(count: int, *words: str) -> bool:
    """Whether the command was killed at its `count`-th step, and not over before."""
    surroundings = {key: value for key, value in os.environ.items() if not key.startswith("BIZKIT_")}
    done = subprocess.run([sys.executable, "-c", DYING, str(count), *words], env=surroundings, capture_output=True)
    assert done.returncode in (0, -signal.SIGKILL), done.stderr.decode()
    return done.returncode != 0


def test_a_kill_at_any_step_leaves_it_whole_or_said_and_finished_by_the_same_command(
    bizkit, file, studio, tmp_path, monkeypatch
):
    page = paper(tmp_path / "page.pdf", "Release of Isla Marwick")
    row = file("Isla Marwick", page=page)
    shared = paper(tmp_path / "shared.pdf", "Isla Marwick and Finn Sinclair")
    both = file("Isla Marwick", page=shared, kind="performer_consent")
    file("Finn Sinclair", page=shared)
    (studio / "incoming").mkdir(exist_ok=True)
    shutil.copy(page, studio / "incoming" / "IMG_0042.pdf")
    form = bizkit("release", "form", JOB, "--who", "Isla Marwick", "--json").data["file"]
    who = person_of(bizkit, "Isla Marwick")
    goes = [row["file"], "incoming/IMG_0042.pdf", f"forms/{Path(form).name}"]
    begun = 0
    for count in range(1, 40):
        trial = tmp_path / f"trial-{count}"
        shutil.copytree(studio, trial)
        monkeypatch.chdir(trial)
        killed = die_at(count, "person", "erase", "Isla Marwick", *YES)
        checked = bizkit("verify")
        there = [name for name in goes if (trial / name).exists()]
        if not killed:
            assert (checked.code, there) == (0, [])
            break
        if checked.code == 0:
            # Nothing was begun, or everything is done.
            assert len(there) in (0, 3)
        else:
            begun += 1
            assert f"{who}: erasing was begun on " in checked.out
            assert f"bizkit person erase {who} --yes --reason WHY" in checked.out
            assert "restore it from a copy" not in checked.out
        # By name or by number, the same command finishes it; once more does no harm.
        name = who if count % 2 else "Isla Marwick"
        if "isla" in whole_book(trial):
            assert bizkit("person", "erase", name, *YES).code == 0
        assert bizkit("person", "erase", who, *YES).code == 0
        assert not [each for each in goes if (trial / each).exists()]
        assert "marwick" not in whole_book(trial)
        assert (trial / both["file"]).is_file()
        checked = bizkit("verify")
        assert (checked.code, "Look:" in checked.out) == (0, False), checked.out
    else:
        pytest.fail("it never came to its end")
    assert begun >= 6


def test_a_file_that_cannot_be_deleted_stops_it_with_one_line(bizkit, file, studio, monkeypatch):
    row = file("Isla Marwick")
    who = person_of(bizkit, "Isla Marwick")
    copy = studio / "incoming" / "copy.pdf"
    copy.parent.mkdir(exist_ok=True)
    shutil.copy(studio / row["file"], copy)
    unlink = os.unlink

    def guarded(path, **options):
        if Path(path) == copy:
            raise PermissionError(1, "Operation not permitted", str(path))
        unlink(path, **options)

    monkeypatch.setattr(os, "unlink", guarded)
    done = bizkit("person", "erase", "Isla Marwick", *YES)
    assert (done.code, done.err) == (
        1,
        "bizkit: incoming/copy.pdf could not be deleted: Operation not permitted. Put that right, then run the same "
        "command again; until then nothing more is erased\n",
    )
    assert f"{who}: erasing was begun on" in bizkit("verify").out
    monkeypatch.setattr(os, "unlink", unlink)
    assert bizkit("person", "erase", "Isla Marwick", *YES).code == 0
    assert not copy.exists()
    assert not (studio / row["file"]).exists()
    assert bizkit("verify").code == 0


def test_what_an_older_bizkit_left_of_somebody_erased_is_named_and_goes(bizkit, file, studio, tmp_path):
    """It deleted after the commit: a kill in between left the scan, and nobody was told."""
    page = paper(tmp_path / "page.pdf", "Release of Isla Marwick")
    row = file("Isla Marwick", page=page)
    who = person_of(bizkit, "Isla Marwick")
    assert bizkit("person", "erase", "Isla Marwick", *YES).code == 0
    shutil.copy(page, studio / row["file"])
    checked = bizkit("verify")
    assert checked.code == 1
    assert f"{row['file']}: of {who}, who was erased, still to erase: bizkit person erase {who}" in checked.out
    # The name is gone from the book; whoever tries it is told.
    done = bizkit("person", "erase", "Isla Marwick", *YES)
    assert (done.code, f"Is it this? {row['file']}: of {who}" in done.err) == (2, True)
    done = bizkit("person", "erase", who, *YES)
    assert (done.code, f"deleted: {row['file']}" in done.out) == (0, True)
    assert bizkit("verify").code == 0


def test_somebody_who_is_only_named_in_records_is_pointed_to_the_way(bizkit, clear):
    done = bizkit("person", "erase", "Una Flett", *ON)
    assert done.code == 2
    assert "Named in 1 record all the same: put them on record first with bizkit person set" in done.err


def test_export_gives_no_paper_that_was_changed(bizkit, file, studio, tmp_path):
    row = file("Isla Marwick")
    (studio / row["file"]).write_bytes(b"%PDF- another")
    done = bizkit("person", "export", "Isla Marwick", "--to", tmp_path / "out", *ON)
    assert (done.code, f"{row['file']} is not the paper that was filed" in done.err) == (1, True)
    assert not (tmp_path / "out").exists()
