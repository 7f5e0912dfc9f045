"""Age comes from the person: a date of birth on record, then or later, decides for every signature of theirs.

Full age is 18 from the start of the birthday: Family Law Reform Act 1969 s.1 and s.9 (from memory).
"""

from __future__ import annotations

import random
import unicodedata
from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta

JOB = "follow-the-kelp"
WHERE = ["--media", "online", "--where", "World"]
TERMS = [*WHERE, "--without-end"]
BORN = ["--basis", "consent", "--purpose", "release", "--on", "2027-03-01"]


@pytest.fixture
def file(bizkit, scan):
    """`file("talent_release", "Cal Kid", ...)` tries to file a paper signed on 2027-05-14."""

    def add(kind, about, *more, signed="2027-05-14"):
        terms = WHERE if "--until" in more else TERMS
        return bizkit(
            "holding", "add", JOB, "--kind", kind, "--about", about, "--signed", signed, "--scan", scan, *terms,
            *more, "--on", "2027-05-20", "--json",
        )  # fmt: skip

    return add


def born(bizkit, name, on, *more):
    done = bizkit("person", "set", name, "--born", on, *(more or BORN), "--json")
    assert done.code == 0, done.err
    return done.data


def gaps(bizkit):
    found = bizkit("rights", "check", JOB, "--on", "2027-06-01", "--json").data
    return {(row["kind"], row["name"]): row["why"] for row in found["gaps"]}


@pytest.mark.parametrize("kind", ["talent_release", "performer_consent", "crew_assignment"])
def test_a_birth_date_on_record_refuses_a_childs_own_signature_at_every_door(bizkit, clear, file, signature, kind):
    born(bizkit, "Cal Kid", "2015-01-01")
    wanted = "Cal Kid was born 2015-01-01, so under 18 when it was signed: a parent or guardian signs"
    done = file(kind, "Cal Kid")
    assert (done.code, wanted in done.err) == (1, True), done.err
    drawn = ["--signature", signature, "--on", "2027-05-14"]
    done = bizkit("holding", "sign", JOB, "--kind", kind, "--about", "Cal Kid", *drawn)
    assert (done.code, wanted in done.err) == (1, True), done.err
    if kind == "talent_release":
        done = bizkit("release", "sign", JOB, "--who", "Cal Kid", *drawn)
        assert (done.code, wanted in done.err) == (1, True), done.err
    assert "Cal Kid" not in [row["subject"] for row in bizkit("holding", "list", JOB, "--json").data]
    assert file(kind, "Cal Kid", "--guardian", "Ada Parent").code == 0


def test_a_child_who_owns_or_composes_needs_a_guardian_too(bizkit, clear, file):
    born(bizkit, "Cal Kid", "2015-01-01")
    for kind, about in (("location_permission", "Shore sauna, Selkie Bay"), ("composition", "Slack Water")):
        done = file(kind, about, "--by", "Cal Kid")
        assert done.code == 1
        assert "Cal Kid was born 2015-01-01, so under 18 when it was signed" in done.err
        assert file(kind, about, "--by", "Cal Kid", "--guardian", "Ada Parent").code == 0


def test_a_birth_date_recorded_later_takes_the_childs_paper_back(bizkit, clear, file):
    paper = file("talent_release", "Cal Kid").data
    assert bizkit("rights", "grant", JOB, "--on", "2027-06-14").code == 0
    told = born(bizkit, "Cal Kid", "2016-05-01", "--on", "2027-06-15")["look"]
    assert told == [
        f"paper {paper['id']}, talent release: Cal Kid, holds nothing: signed under 18 without a parent or guardian",
        "decide about LC-2027-0001, Skerrow Islands Tourism: waiting",
    ]
    why = "nothing held: signed under 18 without a parent or guardian"
    assert gaps(bizkit) == {("talent_release", "Cal Kid"): why}
    listed = bizkit("release", "list", JOB).out
    assert "nothing: signed under 18 without a p" in listed
    # A paper that a parent signs closes it; the date, corrected, would too.
    done = file("talent_release", "Cal Kid", "--guardian", "Ada Parent")
    assert done.code == 0, done.err
    assert gaps(bizkit) == {}


def test_a_birth_date_recorded_with_another_paper_decides_about_the_first(bizkit, clear, file, signature):
    file("talent_release", "Cal Kid")
    file("talent_release", "Isla Marwick")
    assert gaps(bizkit) == {}
    # By the option of a paper of another kind, and by one signed on screen.
    assert file("performer_consent", "Cal Kid", "--born", "2015-01-01", "--guardian", "Ada Parent").code == 0
    done = bizkit(
        "holding", "sign", JOB, "--kind", "performer_consent", "--about", "Isla Marwick", "--born", "2014-02-03",
        "--guardian", "Ada Parent", "--signature", signature, *TERMS, "--on", "2027-05-14",
    )  # fmt: skip
    assert done.code == 0, done.err
    assert set(gaps(bizkit)) == {("talent_release", "Cal Kid"), ("talent_release", "Isla Marwick")}


@pytest.mark.parametrize(
    "guardian",
    [
        "Zoë Müller",
        unicodedata.normalize("NFD", "Zoë Müller"),
        "  ZOË   MÜLLER ",
        "Zoë\u00a0Müller",
        "zoë mül\u00adler",
    ],
    ids=["as typed", "decomposed", "capitals and spaces", "no-break space", "soft hyphen"],
)
def test_nobody_is_their_own_guardian_however_it_is_typed(bizkit, clear, file, guardian):
    done = file("talent_release", "Zoë Müller", "--born", "2016-01-01", "--guardian", guardian)
    assert (done.code, "is named as their own guardian" in done.err) == (1, True), done.err


def test_a_guardian_is_of_age_as_far_as_is_known(bizkit, clear, file):
    born(bizkit, "Bo Brother", "2010-06-01")
    done = file("talent_release", "Cal Kid", "--born", "2015-01-01", "--guardian", "Bo Brother")
    assert (done.code, "Bo Brother was born 2010-06-01, so under 18 when it was signed" in done.err) == (1, True)
    assert file("talent_release", "Cal Kid", "--born", "2015-01-01", "--guardian", "Sam Sister").code == 0
    assert gaps(bizkit) == {}
    # Known later: the paper holds nothing any more.
    born(bizkit, "Sam Sister", "2011-06-01", "--on", "2027-06-01")
    assert gaps(bizkit) == {("talent_release", "Cal Kid"): "nothing held: the guardian who signed was under 18 too"}


def test_somebody_of_age_signs_in_person(bizkit, clear, file):
    born(bizkit, "Eve Twelve", "2009-05-14")
    done = file("talent_release", "Eve Twelve", "--guardian", "Ada Parent")
    assert (done.code, "of age when it was signed: they sign themselves" in done.err) == (1, True), done.err
    assert file("talent_release", "Eve Twelve").code == 0
    # The day before her birthday she was not.
    done = file("talent_release", "Eve Twelve", signed="2027-05-13")
    assert (done.code, "under 18 when it was signed" in done.err) == (1, True)


def test_two_birth_dates_for_one_name_are_never_merged(bizkit, clear, file):
    assert file("talent_release", "John Smith", "--born", "1980-03-02").code == 0
    for door in (
        file("talent_release", "john  SMITH", "--born", "2015-05-05", "--guardian", "Ada Parent"),
        bizkit("person", "set", "John Smith", "--born", "2015-05-05", "--on", "2027-05-20"),
    ):
        assert door.code == 2
        (line,) = door.err.splitlines()
        assert "--born: wanted the date of birth that person-" in line
        assert "has on record (1980-03-02), got 2015-05-05" in line
        assert "as in 'John Smith (the younger)'" in line
    done = file("talent_release", "John Smith (the younger)", "--born", "2015-05-05", "--guardian", "John Smith")
    assert done.code == 0, done.err
    rows = {row["name"]: row["born_on"] for row in bizkit("person", "list", "--json").data}
    assert (rows["John Smith"], rows["John Smith (the younger)"]) == ("1980-03-02", "2015-05-05")
    # The father's paper is one of the father's alone, and who files again under the name is told whose it is.
    again = file("performer_consent", "John Smith").data
    assert any("is taken to be person-" in one and "born 1980-03-02" in one for one in again["warnings"])


def test_a_wrong_birth_date_is_corrected_with_a_reason_and_decides_anew(bizkit, clear, file, studio):
    file("talent_release", "Cal Kid", "--born", "2017-01-01", "--guardian", "Ada Parent")
    (row,) = [one for one in bizkit("person", "list", "--json").data if one["name"] == "Cal Kid"]
    done = bizkit(
        "person", "set", f"person-{row['id']}", "--born", "1997-01-01", "--reason", "Cal  KID showed the passport",
        "--on", "2027-06-01", "--json",
    )  # fmt: skip
    assert done.code == 0, done.err
    assert gaps(bizkit) == {
        ("talent_release", "Cal Kid"): "nothing held: of age when it was signed, and only a parent or guardian signed"
    }
    import sqlite3

    with sqlite3.connect(studio / "book.sqlite") as book:
        (said,) = book.execute("SELECT data FROM event WHERE data LIKE '%passport%'").fetchone()
    assert "this person showed the passport" in said
    assert "1997" not in said
    assert bizkit("person", "set", "person-99", "--born", "1997-01-01", *BORN).code == 2


def test_coming_of_age_within_the_term_is_told(bizkit, clear, file):
    done = file("talent_release", "Finn Sinclair", "--guardian", "Morag Sinclair", "--born", "2010-03-01").data
    told = "turns 18 on 2028-03-01, within what paper"
    assert [one for one in done["warnings"] if told in one]
    found = bizkit("rights", "check", JOB, "--on", "2027-06-01", "--json").data
    assert found["cleared"]
    assert [one for one in found["warnings"] if told in one]
    soon = bizkit("status", "--on", "2028-01-15", "--json").data["ending"]
    assert ("2028-03-01", f"Finn Sinclair turns 18: ask them to confirm paper {done['id']}") in [
        (row["on"], row["what"]) for row in soon
    ]
    # Where the paper or the licence ends before the birthday there is nothing to tell.
    short = file(
        "performer_consent", "Finn Sinclair", "--guardian", "Morag Sinclair", "--until", "2028-02-29"
    ).data  # fmt: skip
    assert not [one for one in short["warnings"] if "turns 18" in one]
    young = file("talent_release", "Una Small", "--guardian", "Morag Sinclair", "--born", "2019-03-01").data
    assert [one for one in young["warnings"] if "turns 18 on 2037-03-01" in one]
    found = bizkit("rights", "check", JOB, "--on", "2027-06-01", "--json").data
    assert not [one for one in found["warnings"] if "2037-03-01" in one]


def test_a_childs_paper_without_a_birth_date_says_that_nobody_can_tell(bizkit, clear, file):
    done = file("talent_release", "Finn Sinclair", "--guardian", "Morag Sinclair").data
    assert [one for one in done["warnings"] if "whose date of birth is not on record" in one]


def test_erasing_the_birth_date_does_not_bring_a_paper_back(bizkit, clear, file):
    file("talent_release", "Cal Kid")
    assert bizkit("rights", "grant", JOB, "--on", "2027-06-14").code == 0
    born(bizkit, "Cal Kid", "2016-05-01", "--on", "2027-06-15")
    done = bizkit("person", "erase", "Cal Kid", "--yes", "--reason", "asked", "--on", "2027-06-20")
    assert done.code == 0, done.err
    (row,) = [one for one in bizkit("person", "list", "--json").data if one["name"] == "Cal Kid"]
    assert row["born_on"] == ""
    assert gaps(bizkit)["talent_release", "Cal Kid"].endswith("signed under 18 without a parent or guardian")


def test_a_child_in_the_job_asks_about_a_performance_licence(bizkit, clear, file):
    """Children and Young Persons Act 1963 s.37; asked for 21 days ahead, of the authority where the child lives."""

    def hints():
        found = bizkit("rights", "check", JOB, "--on", "2027-05-02", "--json").data["hints"]
        return [one for one in found if "child performance licence" in one]

    assert hints() == []
    file("talent_release", "Finn Sinclair", "--guardian", "Morag Sinclair", "--born", "2017-08-02")
    assert len(hints()) == 1
    done = bizkit(
        "holding", "add", JOB, "--kind", "child_licence", "--about", "Finn Sinclair", "--from", "2027-05-10",
        "--until", "2027-05-13", "--on", "2027-05-02",
    )  # fmt: skip
    assert done.code == 0, done.err
    assert hints() == []


def test_the_birth_date_of_who_signs_for_a_place_decides_too(bizkit, clear, file):
    """Given with the paper, and on record then or later."""
    place = ("location_permission", "Pier", "--by", "Cal Kid")
    done = file(*place, "--born", "2015-01-01")
    assert (done.code, "under 18 when it was signed: a parent or guardian signs" in done.err) == (1, True), done.err
    paper = file(*place).data
    assert paper["holds_nothing"] == ""
    born(bizkit, "Cal Kid", "2015-01-01")
    (row,) = [one for one in bizkit("permission", "list", JOB, "--json").data if one["id"] == paper["id"]]
    assert row["holds_nothing"] == "signed by somebody under 18 without a parent or guardian"
    done = file(*place, "--born", "1990-01-01")
    assert (done.code, "has on record (2015-01-01), got 1990-01-01" in done.err) == (2, True), done.err


@pytest.mark.parametrize(
    ("kind", "about"),
    [
        ("talent_release", "Cal Kid"), ("performer_consent", "Cal Kid"), ("crew_assignment", "Cal Kid"),
        ("location_permission", "Pier"), ("property_release", "The yawl Fulmar"),
    ],
)  # fmt: skip
def test_a_guardians_signature_is_drawn_on_every_paper(bizkit, clear, signature, studio, kind, about):
    import pypdf

    done = bizkit(
        "holding", "sign", JOB, "--kind", kind, "--about", about, "--by", "Cal Kid" if about != "Cal Kid" else "",
        "--under-18", "--guardian", "Ada Parent", "--signature", signature, "--on", "2027-05-14", "--json",
    )  # fmt: skip
    assert done.code == 0, done.err
    pages = pypdf.PdfReader(studio / done.data["file"]).pages
    assert [image.image.size for page in pages for image in page.images] == [(400, 120)]
    assert "Ada Parent" in " ".join(page.extract_text() for page in pages)


@pytest.mark.parametrize("seed", range(3))
def test_hunting_for_a_childs_signature_that_clears(bizkit, clear, file, seed):
    """Dates at random around the 18th birthday, recorded before or after the paper, by whichever door.

    The judge from outside is dateutil: complete years between two days.
    """
    hunt = random.Random(seed)
    for number in range(8):
        signed = date(2027, 1, 1) + timedelta(days=hunt.randrange(139))
        birth = signed - relativedelta(years=18) + timedelta(days=hunt.choice([-400, -1, 0, 1, 2, 400, 3000]))
        child = relativedelta(signed, birth).years < 18
        name = f"Person {seed} {number} {'abcdefgh'[number]}"
        guardian = ["--guardian", "Ada Parent"] if hunt.random() < 0.5 else []
        before = hunt.random() < 0.5
        if before:
            born(bizkit, name, birth)
        done = file("talent_release", name, *guardian, signed=signed)
        right = child == bool(guardian)
        if before:
            assert (done.code == 0) is right, (signed, birth, guardian, done.err)
            continue
        assert done.code == 0, done.err
        born(bizkit, name, birth, "--on", "2027-06-01")
        assert (("talent_release", name) not in gaps(bizkit)) is right, (signed, birth, guardian)


def test_a_childs_form_is_no_adults_paper(bizkit, job, scan):
    """The date of birth is wrong, or the wrong form was signed: somebody has to look before it holds anything."""
    form = bizkit("release", "form", JOB, "--who", "Cal Kid", "--under-18", "--guardian", "Gil Form",
                  "--on", "2027-05-01", "--json").data["number"]  # fmt: skip
    filed = ["release", "add", JOB, "--who", "Cal Kid", "--form", form, "--signed", "2027-05-14", "--scan", scan,
             "--on", "2027-05-20", "--json"]  # fmt: skip
    for more in (["--born", "1990-01-01"], ["--born", "1990-01-01", "--guardian", "Gil Form"]):
        done = bizkit(*filed, *more)
        assert (done.code, f"the model release {form} was printed for somebody under 18" in done.err) == (1, True)
    assert bizkit("release", "list", JOB, "--json").data == []
    done = bizkit(*filed, "--born", "2015-01-01", "--guardian", "Gil Form")
    assert (done.code, done.data["signed_by"]) == (0, "Gil Form")
    done = bizkit("holding", "correct", JOB, done.data["id"], "--about", "Cal Grown", "--born", "1990-01-01",
                  "--reason", "x", "--on", "2027-05-21")  # fmt: skip
    assert (done.code, "was printed for somebody under 18" in done.err) == (1, True)


def test_a_birth_date_typed_with_a_paper_says_what_it_makes_of_the_others(bizkit, job, file):
    first = file("talent_release", "Cal Kid", "--guardian", "Gil Form").data
    done = file("performer_consent", "Cal Kid", "--born", "1990-01-01")
    wanted = f"paper {first['id']}, talent release: Cal Kid, holds nothing: of age when it was signed"
    assert (done.code, [one for one in done.data["warnings"] if wanted in one] != []) == (0, True), done.data
    own = file("talent_release", "Tom Teen").data
    other = file("performer_consent", "Tom Teen").data
    words = ["--born", "2015-01-01", "--guardian", "Gil Form", "--reason", "x", "--on", "2027-05-21", "--json"]
    done = bizkit("holding", "correct", JOB, other["id"], *words)
    wanted = f"paper {own['id']}, talent release: Tom Teen, holds nothing: signed under 18"
    assert (done.code, [one for one in done.data["warnings"] if wanted in one] != []) == (0, True), done.data


def test_the_table_of_papers_holds_what_every_other_door_says(bizkit, job, file, tmp_path):
    import csv

    paper = file("talent_release", "Cal Kid").data["id"]
    other = file("talent_release", "Finn Sinclair").data["id"]
    born(bizkit, "Cal Kid", "2015-01-01")
    words = ["--where", "GB", "--reason", "x", "--on", "2027-05-21", "--json"]
    new = bizkit("holding", "correct", JOB, other, *words).data["id"]
    assert bizkit("rights", "export", tmp_path / "out", "--on", "2027-06-01").code == 0
    with (tmp_path / "out" / "holdings.csv").open(encoding="utf-8-sig", newline="") as table:
        rows = {int(row["paper"]): row for row in csv.DictReader(table)}
    assert (rows[paper]["allows"], rows[paper]["until"]) == ("", "")
    assert rows[paper]["holds_nothing"] == "signed under 18 without a parent or guardian"
    assert (rows[other]["allows"], rows[other]["corrected_by"]) == ("", str(new))
    assert (rows[new]["allows"] != "", rows[new]["holds_nothing"]) == (True, "")
    lines = [line for line in bizkit("holding", "list", JOB).out.splitlines() if "Cal Kid" in line]
    assert [("nothing: signed under 18" in line, "no end" in line) for line in lines] == [(True, False)]
