"""`person`: basis, purpose, retention; export; erasing what need not stay, files included.

UK GDPR: Article 6(1) the six lawful bases, Article 15 access, Article 17 erasure and in 17(3) what goes before it.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

JOB = "follow-the-kelp"


def whole_book(studio: Path) -> str:
    """Every text of every table, as SQLite's own shell would dump it."""
    import sqlite3

    with sqlite3.connect(studio / "book.sqlite") as book:
        return "\n".join(book.iterdump())


@pytest.fixture
def finn(bizkit, clear, hold, studio):
    """Finn is nine and in the campaign film; his mother signed, his form and his scan lie in the folder."""
    row = hold("talent_release", "Finn Sinclair", "--guardian", "Morag Sinclair", "--born", "2017-08-02")
    bizkit("person", "set", "Finn Sinclair", "--phone", "07700 900123", "--on", "2027-05-20")
    bizkit("release", "form", clear, "--who", "Finn Sinclair", "--under-18")
    return row


def test_everybody_on_a_paper_is_on_record_with_basis_purpose_and_retention(bizkit, finn):
    rows = {row["name"]: row for row in bizkit("person", "list", "--on", "2027-05-20", "--json").data}
    assert set(rows) == {"Eilidh Rendall", "Brodie Lunn", "Finn Sinclair", "Morag Sinclair"}
    child = rows["Finn Sinclair"]
    assert (child["basis"], child["born_on"], child["keep_until"]) == ("consent", "2017-08-02", "2033-05-14")
    assert child["contact"] == {"phone": "07700 900123"}
    assert rows["Brodie Lunn"]["basis"] == "contract"
    assert rows["Morag Sinclair"]["purpose"] == "to show who agreed for the child"
    assert rows["Morag Sinclair"]["papers"] == [finn["id"]]


def test_a_paper_with_an_end_is_kept_six_years_after_it(bizkit, hold):
    hold("talent_release", "Isla Marwick", "--until", "2029-02-28")
    (row,) = [one for one in bizkit("person", "list", "--json").data if one["name"] == "Isla Marwick"]
    assert row["keep_until"] == "2035-02-28"


def test_basis_purpose_and_retention_are_set_by_hand(bizkit, finn):
    done = bizkit(
        "person", "set", "finn  sinclair", "--basis", "legitimate interests", "--purpose", "campaign of 2027",
        "--keep-until", "2030-01-01", "--on", "2027-05-21", "--json",
    ).data  # fmt: skip
    assert (done["basis"], done["purpose"], done["keep_until"]) == (
        "legitimate interests", "campaign of 2027", "2030-01-01",
    )  # fmt: skip
    overdue = bizkit("person", "list", "--due", "--on", "2030-01-02", "--json").data
    assert [row["name"] for row in overdue] == ["Finn Sinclair"]
    for arguments, code, said in (
        (["person", "set", "Nobody New"], 2, "--basis: wanted why their data is kept"),
        (["person", "set", "Nobody New", "--basis", "curiosity"], 2, "wanted a known lawful basis, got curiosity"),
        (["person", "set", "Finn Sinclair", "--keep-until", "2027-01-01"], 1, "erase them with bizkit person erase"),
        (
            ["person", "set", "Finn Sinclair", "--born", "2027-06-01"],
            2,
            "--born: wanted a date of birth on or before",
        ),
        (["person", "erase", "Fin Sinclair"], 2, "Did you mean Finn Sinclair?"),
        (["person", "erase", "Finn Sinclair", "--yes"], 2, "--reason: wanted why they are erased"),
    ):
        done = bizkit(*arguments, "--on", "2027-05-21")
        assert (done.code, said in done.err) == (code, True), done.err


def forms_about_finn(studio):
    return [f"forms/{path.name}" for path in sorted((studio / "forms").glob("model-release-finn-sinclair-f-*.pdf"))]


def test_export_gives_everything_and_the_signed_paper(bizkit, finn, studio, tmp_path):
    done = bizkit("person", "export", "Finn Sinclair", "--to", tmp_path / "finn", "--on", "2027-06-01", "--json")
    assert done.code == 0, done.err
    data = json.loads((tmp_path / "finn" / "person.json").read_text(encoding="utf-8"))
    assert data["person"]["born_on"] == "2017-08-02"
    assert [row["id"] for row in data["papers"]] == [finn["id"]]
    # The worksheet of the starter names him in its shot list.
    assert data["other_files"] == ["jobs/follow-the-kelp.toml", *forms_about_finn(studio)]
    copy = tmp_path / "finn" / f"paper-{finn['id']}.pdf"
    assert copy.read_bytes() == (studio / finn["file"]).read_bytes()


def test_a_licence_in_force_keeps_the_signed_paper_and_nothing_else(bizkit, finn, studio):
    bizkit("rights", "grant", JOB, "--on", "2027-06-14")
    plan = bizkit("person", "erase", "Finn Sinclair", "--on", "2027-06-20", "--json").data
    assert plan["papers_kept"] == [finn["id"]]
    forms = forms_about_finn(studio)
    assert plan["files_deleted"] == forms
    # Said, not done.
    assert forms_about_finn(studio) == forms
    done = bizkit("person", "erase", "Finn Sinclair", "--yes", "--reason", "asked by letter", "--on", "2027-06-20")
    assert done.code == 0
    assert "LC-2027-0001 rests on it" in done.out
    assert "UK GDPR Article 17(3)(e)" in done.out
    assert forms_about_finn(studio) == []
    assert (studio / finn["file"]).is_file()
    (row,) = [one for one in bizkit("person", "list", "--json").data if one["name"] == "Finn Sinclair"]
    assert (row["born_on"], row["contact"]) == ("", {})
    dump = whole_book(studio)
    assert "2017-08-02" not in dump
    assert "07700 900123" not in dump
    assert bizkit("rights", "check", JOB, "--on", "2027-06-20", "--json").data["cleared"]
    assert bizkit("verify").code == 0


def test_without_a_licence_everything_goes_and_the_book_still_verifies(bizkit, finn, hold, studio):
    scan = studio / finn["file"]
    # One page signed for two people: their papers are one file, which must stay for the other.
    assert hold("talent_release", "Isla Marwick", "--scan", scan)["file"] == finn["file"]
    done = bizkit(
        "person", "erase", "Finn Sinclair", "--yes", "--reason", "Finn Sinclair asked", "--on", "2027-06-20"
    )
    assert done.code == 0
    assert scan.is_file()
    dump = whole_book(studio).casefold()
    assert "finn" not in dump
    rows = {row["id"]: row for row in bizkit("person", "list", "--json").data}
    erased = [row for row in rows.values() if row["erased_on"]]
    assert [(row["name"], row["erased_on"]) for row in erased] == [(f"erased person {erased[0]['id']}", "2027-06-20")]
    assert bizkit("verify").code == 0
    # What shows him can no longer be licensed, and says so without his name.
    bizkit("rights", "link", JOB, "stills", "--who", "none", "--on", "2027-06-21")
    assert bizkit("person", "erase", "Finn Sinclair", "--on", "2027-06-22").code == 2


def test_the_file_goes_when_no_other_paper_needs_it_and_verify_knows(bizkit, clear, studio, signature):
    row = bizkit(
        "release", "sign", clear, "--who", "Isla Marwick", "--signature", signature, "--on", "2027-05-13", "--json"
    ).data
    assert (studio / row["file"]).is_file()
    done = bizkit(
        "person", "erase", "Isla Marwick", "--yes", "--reason", "asked", "--on", "2027-06-20", "--json"
    ).data
    assert row["file"] in done["files_deleted"]
    assert not (studio / row["file"]).exists()
    assert bizkit("verify").code == 0
    assert "marwick" not in whole_book(studio).casefold()


def test_records_that_never_change_are_named_with_the_law_that_keeps_them(bizkit, clear, studio):
    """Brodie Lunn stands in the brief that the quote was priced from, and in the quote."""
    plan = bizkit("person", "erase", "Brodie Lunn", "--on", "2027-06-20", "--json").data
    kept = {row["what"]: row["why"] for row in plan["kept"]}
    assert "1 x brief and rate card behind a quote" in kept
    assert all("Article 17(3)" in why for why in kept.values())
    assert plan["change_by_hand"] == ["briefs/follow-the-kelp.toml"]


def test_a_name_inside_another_is_left_alone(bizkit, clear, hold, studio):
    hold("talent_release", "Ann Lee")
    hold("talent_release", "Joann Lees")
    done = bizkit("person", "erase", "Ann Lee", "--yes", "--reason", "asked", "--on", "2027-06-20")
    assert done.code == 0
    assert "Joann Lees" in [row["name"] for row in bizkit("person", "list", "--json").data]
    assert [row["subject"] for row in bizkit("release", "list", JOB, "--json").data] == [
        "Eilidh Rendall",
        "Joann Lees",
    ]


def test_two_people_of_one_name_are_asked_about(bizkit, clear, hold, studio):
    hold("talent_release", "Isla Marwick")
    engine = create_engine(f"sqlite:///{studio / 'book.sqlite'}")
    with engine.begin() as book:
        book.execute(
            text(
                "INSERT INTO person (name, born_on, contact, basis, purpose, keep_until, erased_on, recorded_at, "
                "recorded_by) VALUES ('ISLA  MARWICK', '', '{}', 'consent', 'x', '2033-01-01', '', 'x', 'x')"
            )
        )
    engine.dispose()
    done = bizkit("person", "erase", "Isla Marwick", "--on", "2027-06-20")
    assert (done.code, "wanted one person, got 2 called Isla Marwick" in done.err) == (2, True)
    assert bizkit("person", "erase", "person-3", "--on", "2027-06-20").code == 0


# --- names that are all but another's


@pytest.mark.parametrize("name", ["Zoe Ash", "ZOE-ASH", "Zo\u00e9 Ash", "Zoe\u0301 Ash"])
def test_all_but_the_name_of_somebody_on_record_is_asked_about(bizkit, job, hold, scan, name):
    hold("talent_release", "Zo\u00eb Ash", "--born", "2015-03-02", "--guardian", "Una Ash")
    refused = bizkit(
        "release", "add", job, "--who", name, "--signed", "2027-05-14", "--scan", scan, "--media", "online",
        "--where", "GB", "--without-end", "--on", "2027-05-20",
    )  # fmt: skip
    assert refused.code == 2
    assert len(refused.err.splitlines()) == 1
    assert "wanted a name that is told from Zo\u00eb Ash, person-1, who is on record" in refused.err
    assert len(bizkit("person", "list", "--json").data) == 2
    for meant in ("person-1", f"{name} (the elder)"):
        done = bizkit("person", "set", meant, "--basis", "consent", "--purpose", "a test", "--on", "2027-05-20")
        assert done.code == 0, done.err


def test_what_is_not_seen_in_a_name_is_none_of_it_and_two_alphabets_are_no_name(bizkit, job):
    new = ("--basis", "consent", "--purpose", "a test", "--on", "2027-05-20")
    assert bizkit("person", "set", "Eilidh\u3164 Ren\u034fdall", *new).code == 0
    assert [one["name"] for one in bizkit("person", "list", "--json").data] == ["Eilidh Rendall"]
    assert bizkit("person", "set", "Eilidh Rendall", *new, "--json").data["id"] == 1
    refused = bizkit("person", "set", "F\u0456nn Sinclair", *new)  # a Cyrillic letter that looks like an i
    assert (refused.code, "wanted a name in one alphabet" in refused.err) == (2, True)
    assert bizkit("person", "set", "\u200b\u3164", *new).code == 2


def test_a_list_and_an_erasure_keep_people_until_the_same_day(bizkit, live, hold):
    """Both while a licence that rests on a paper may be disputed, for who is in it and who signed for them alike."""
    child = ("--guardian", "Morag Sinclair", "--born", "2010-01-01", "--media", "online", "--where", "World")
    hold("talent_release", "Finn Sinclair", *child, "--until", "2028-03-31")
    bizkit("rights", "link", "follow-the-kelp", "campaign-film", "--who", "Finn Sinclair", "--on", "2027-07-01")
    kept = {row["name"]: row["keep_until"] for row in bizkit("person", "list", "--on", "2027-07-02", "--json").data}
    for name in ("Finn Sinclair", "Morag Sinclair"):
        plan = bizkit("person", "erase", name, "--reason", "asked", "--on", "2027-07-02", "--json").data
        # The licence ends on 30 June 2028; six years for claims on it.
        assert (name, kept[name], plan["kept_until"]) == (name, "2034-06-30", "2034-06-30")
