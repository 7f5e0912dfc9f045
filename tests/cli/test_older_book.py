"""An older copy of the book beside newer papers: named by verify, no number drawn twice, no paper replaced.

That a number is given once is the law of a series (SI 1995/2518 regulation 14(1)(a), Directive 2006/112/EC article
226(2)); that a restored copy must not break it is common practice.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

JOB = "follow-the-kelp"
OTHER = "gannet-week"


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo as it stands at its end; copied, never worked in."""
    from bizkit.services.demo.playing import play

    folder = tmp_path_factory.mktemp("played") / "studio"
    list(play(folder))
    return folder


@pytest.fixture
def studio(played: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path / "studio"
    shutil.copytree(played, folder)
    monkeypatch.chdir(folder)
    return folder


def deposit(bizkit, studio, day):
    return bizkit("invoice", "deposit", OTHER, "100.00", "--received", "2027-08-02", "--on", day)


def credit(bizkit, studio, day):
    return bizkit("invoice", "credit", "GL-2027-0003", "--amount", "10.00", "--reason", "agreed", "--on", day)


def quote(bizkit, studio, day):
    text = (studio / "briefs" / "gannet-week.toml").read_text(encoding="utf-8")
    text = text.replace('key = "gannet-week"', 'key = "puffin-week"').replace("Gannet week", "Puffin week")
    (studio / "briefs" / "puffin-week.toml").write_text(text, encoding="utf-8")
    assert bizkit("quote", "draft", "puffin-week", "--on", day).code == 0
    return bizkit("quote", "send", "puffin-week", "--on", day)


def certificate(bizkit, studio, day):
    bizkit("rights", "end", "LC-2027-0001", "--reason", "agreed", "--after", "2027-08-10", "--on", "2027-08-02")
    return bizkit("rights", "certificate", "LC-2027-0001", "--on", day)


def handover(bizkit, studio, day):
    drive = studio.parent / f"drive-{day}"
    shutil.rmtree(drive, ignore_errors=True)
    shutil.copytree(studio / "deliveries", drive)
    return bizkit("handover", "make", JOB, drive, "--reason", "asked for everything", "--on", day)


def receipt(bizkit, studio, day):
    return bizkit("payment", "receipt", 1, "--on", day)


def form(bizkit, studio, day):
    """Written elsewhere: what shows its number in papers/ is its trace."""
    out = ("--out", studio.parent / f"form of {day}.pdf")
    return bizkit("release", "form", JOB, "--who", f"Eilidh of {day}", *out, "--on", day)


#: The act and the paper it makes, of each series of numbers.
SERIES: dict[str, tuple[Callable, str]] = {
    "invoice": (deposit, "GL-2027-0004.pdf"),
    "credit note": (credit, "GLC-2027-0001.pdf"),
    "quote": (quote, "Q-2027-0003-r1.pdf"),
    "licence certificate": (certificate, "LC-2027-0001-r3.pdf"),
    "delivery note": (handover, "DN-2027-0002.pdf"),
    "receipt": (receipt, "R-2027-0001.pdf"),
    "form": (form, "forms/F-2027-0007.txt"),
}


@pytest.mark.parametrize("series", SERIES)
def test_no_number_is_used_twice_beside_an_older_copy_of_the_book(bizkit, studio, series):
    act, name = SERIES[series]
    older = (studio / "book.sqlite").read_bytes()
    done = act(bizkit, studio, "2027-08-12")
    assert done.code == 0, done.err
    paper = studio / "papers" / name
    given = paper.read_bytes()
    (studio / "book.sqlite").write_bytes(older)

    checked = bizkit("verify")
    assert (checked.code, f"papers/{name}: the book does not know it: put the newest copy" in checked.out) == (
        1,
        True,
    )
    # Another paper of the series, on another day: refused, and what the client has stays as it is.
    again = act(bizkit, studio, "2027-08-20")
    assert again.code == 1
    assert f"papers/{name}" in again.err
    assert "Nothing was issued: put the newest copy of the book back" in again.err
    assert len(again.err.splitlines()) == 1
    assert paper.read_bytes() == given
    # So is a paper of any other series: this is not the book to go on with.
    other = credit if series != "credit note" else deposit
    assert f"papers/{name} is not in the book" in other(bizkit, studio, "2027-08-20").err
    assert len(bizkit("verify", "--json").data["faults"]) == 1
    # The very same act makes the very same paper: taken up again, it is as if the newer copy had been put back.
    done = act(bizkit, studio, "2027-08-12")
    assert done.code == 0, done.err
    assert paper.read_bytes() == given
    checked = bizkit("verify")
    assert (checked.code, "Look:" in checked.out) == (0, False), checked.out


def test_a_newer_revision_of_a_quote_counts_too(bizkit, studio):
    assert quote(bizkit, studio, "2027-08-12").code == 0
    older = (studio / "book.sqlite").read_bytes()
    brief = studio / "briefs" / "puffin-week.toml"
    brief.write_text(brief.read_text(encoding="utf-8").replace("Puffin week", "Puffins"), encoding="utf-8")
    assert bizkit("quote", "draft", "puffin-week", "--on", "2027-08-13").code == 0
    assert bizkit("quote", "send", "puffin-week", "--on", "2027-08-13").code == 0
    (studio / "book.sqlite").write_bytes(older)
    assert bizkit("quote", "draft", "puffin-week", "--on", "2027-08-14").code == 0
    done = bizkit("quote", "send", "puffin-week", "--on", "2027-08-14")
    assert (done.code, "papers/Q-2027-0003-r2.pdf lies there already and is another paper" in done.err) == (1, True)


def test_several_later_papers_are_taken_up_in_their_order(bizkit, studio):
    older = (studio / "book.sqlite").read_bytes()
    for day in ("2027-08-10", "2027-08-11", "2027-08-12"):
        assert deposit(bizkit, studio, day).code == 0
    papers = {path.name: path.read_bytes() for path in (studio / "papers").glob("*.pdf")}
    (studio / "book.sqlite").write_bytes(older)
    assert "papers/GL-2027-0006.pdf is not in the book, nor are 2 more" in credit(bizkit, studio, "2027-08-20").err
    for day in ("2027-08-10", "2027-08-11", "2027-08-12"):
        assert deposit(bizkit, studio, day).code == 0
    assert {path.name: path.read_bytes() for path in (studio / "papers").glob("*.pdf")} == papers
    assert bizkit("verify").code == 0
    assert credit(bizkit, studio, "2027-08-20").code == 0


def test_another_file_in_the_place_of_the_next_paper_refuses_it(bizkit, studio):
    mine = studio / "papers" / "GL-2027-0004.pdf"
    mine.write_bytes(b"a paper of somebody else's")
    done = deposit(bizkit, studio, "2027-08-12")
    assert (done.code, "papers/GL-2027-0004.pdf lies there already and is another paper" in done.err) == (1, True)
    assert mine.read_bytes() == b"a paper of somebody else's"
    mine.unlink()
    mine.mkdir()
    assert "papers/GL-2027-0004.pdf lies there already" in deposit(bizkit, studio, "2027-08-12").err
    mine.rmdir()
    assert bizkit("invoice", "list", "--json").data[-1]["number"] == "GL-2027-0003"
    assert deposit(bizkit, studio, "2027-08-12").code == 0


def test_what_belongs_in_the_folder_is_not_named(bizkit, studio, change):
    from PIL import Image

    for form in ("cii", "ubl", "hybrid"):
        assert bizkit("invoice", "export", "GL-2027-0002", "--format", form).code == 0
    Image.new("RGB", (60, 20), "navy").save(studio / "logo.png")
    change(studio / "studio.toml", "\n[", '\nlogo = "logo.png"\n\n[')
    assert deposit(bizkit, studio, "2027-08-12").code == 0
    checked = bizkit("verify", "--json")
    assert (checked.code, checked.data["faults"], checked.data["looks"]) == (0, [], [])


def test_what_does_not_belong_is_named_without_stopping_the_work(bizkit, studio):
    papers = studio / "papers"
    (papers / "Q-2027-0001-r2 signed.pdf").write_bytes(b"%PDF-")
    (papers / "scans" / f"{'a' * 64}.pdf").write_bytes(b"%PDF-")
    (papers / "2026").mkdir()
    (papers / "2026" / "GL-2026-0001.pdf").write_bytes(b"%PDF-")
    (papers / "scans" / "old").mkdir()
    (papers / ".writing-k3j2").write_bytes(b"%PDF-half")
    (papers / "statement-skerrow-islands-tourism-2027-08-01.pdf").write_bytes(b"%PDF-")
    checked = bizkit("verify")
    assert checked.code == 1
    lines = checked.out.splitlines()
    looks = [line for line in lines if line.startswith("Look: papers/")]
    assert [line.split(":")[1].strip() for line in looks] == [
        "papers/2026/", "papers/Q-2027-0001-r2 signed.pdf", f"papers/scans/{'a' * 64}.pdf", "papers/scans/old/",
        "papers/.writing-k3j2",
    ]  # fmt: skip
    assert [line.split(":")[0] for line in lines if "does not know it" in line] == [
        "papers/statement-skerrow-islands-tourism-2027-08-01.pdf"
    ]
    assert deposit(bizkit, studio, "2027-08-12").code == 0


def test_a_book_named_by_mistake_does_not_issue_into_the_folder(bizkit, studio, monkeypatch, tmp_path):
    """BIZKIT_BOOK left over from a trial: the papers in the folder belong to the studio's own book."""
    from bizkit.store.book import Book

    url = f"sqlite:///{tmp_path / 'trial.sqlite'}"
    Book.create(url).close()
    monkeypatch.setenv("BIZKIT_BOOK", url)
    before = {path.name: path.read_bytes() for path in (studio / "papers").glob("*.pdf")}
    assert bizkit("quote", "draft", "gannet-week", "--on", "2027-08-12").code == 0
    done = bizkit("quote", "send", "gannet-week", "--on", "2027-08-12")
    assert (done.code, "papers/Q-2027-0001-r1.pdf lies there already and is another paper" in done.err) == (1, True)
    assert {path.name: path.read_bytes() for path in (studio / "papers").glob("*.pdf")} == before


def test_verify_says_what_the_documents_end_in(bizkit, studio):
    """Noted elsewhere, it shows a book whose documents were all linked anew, which nothing inside it can show."""
    first = bizkit("verify", "--json").data["head"]
    assert f"They end in {first[:16]}: noted elsewhere" in bizkit("verify").out
    assert len(first) == 64
    assert deposit(bizkit, studio, "2027-08-12").code == 0
    assert bizkit("verify", "--json").data["head"] != first
