"""When a licence begins and ends is said alike at every door; what has no end is said in words, in JSON as null."""

from __future__ import annotations

import shutil

import pytest

JOB = "follow-the-kelp"


@pytest.fixture
def from_first_use(bizkit, clear, studio, change):
    """A licence of works held, for twelve months from first use, which is 1 September at the latest: granted."""
    brief = studio / "briefs" / "first-use.toml"
    shutil.copy(studio / "briefs" / f"{JOB}.toml", brief)
    change(brief, f'key = "{JOB}"', 'key = "first-use"')
    change(brief, "starts = 2027-07-01\non_full_payment = true", "first_use_by = 2027-09-01")
    for words in ("quote draft", "quote send", "quote accept"):
        done = bizkit(*words.split(), "first-use", "--on", "2027-02-09")
        assert done.code == 0, done.err
    done = bizkit("rights", "grant", "first-use", "--override", "papers come later", "--on", "2027-06-01")
    assert done.code == 0, done.err
    return "first-use"


def certificate_text(bizkit, on):
    import pypdf

    done = bizkit("rights", "certificate", "first-use", "--reason", "agreed", "--on", on, "--json")
    assert done.code == 0, done.err
    pages = pypdf.PdfReader(done.data["file"]).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_a_term_from_first_use_is_said_alike_before_and_after_it(bizkit, from_first_use, in_german, tmp_path):
    """Twelve months from a first use on 10 July end with 9 July; from 1 September with 31 August."""
    before = certificate_text(bizkit, "2027-06-02")
    assert "In force since 1 June 2027 Until 12 months from your first use, 31 August 2028 at the latest" in before
    assert "for 12 months, counted from the day you first use them, at the latest from 1 September 2027" in before
    assert "12 Monate ab Ihrer ersten Nutzung, spätestens 31. August 2028" in in_german()
    (row,) = bizkit("rights", "list", "first-use", "--on", "2027-06-02", "--json").data["licences"]
    assert (row["begins"], row["until"]) == ("first use, by 2027-09-01", "12 months on, by 2028-08-31")
    use = ("rights", "use", "first-use", "--media", "paid_social", "--where", "GB", "--on", "2027-06-02")
    assert "until 31 August 2028 at the latest, as its term counts from the first use" in bizkit(*use).out
    explained = bizkit("rights", "explain", "first-use", "--on", "2027-06-02").out
    assert "counted from the day you first use them" in explained
    assert "12 months on, by 2028-08-31" in explained
    shown = bizkit("job", "show", "first-use", "--on", "2027-06-02").out
    assert "live, from first use, by 2027-09-01 until 12 months on, by 2028-08-31" in shown
    still = tmp_path / "still.jpg"
    still.write_bytes(b"a still")
    sidecar = ("rights", "sidecar", "first-use", "stills", still, "--replace", "--on")
    assert bizkit(*sidecar, "2027-06-02").code == 0
    assert "LicenseEndDate" not in still.with_name("still.jpg.xmp").read_text("utf-8")

    assert bizkit("rights", "first-use", "first-use", "--on", "2027-07-10").code == 0
    days = "from 10 July 2027 to 9 July 2028, both days included"
    after = certificate_text(bizkit, "2027-07-11")
    assert "In force since 10 July 2027 Until 9 July 2028" in after
    assert days in after
    assert days in bizkit("rights", "explain", "first-use", "--on", "2027-07-11").out
    (row,) = bizkit("rights", "list", "first-use", "--on", "2027-07-11", "--json").data["licences"]
    assert (row["begins"], row["until"]) == ("2027-07-10", "2028-07-09")
    assert bizkit(*sidecar, "2027-07-11").code == 0
    said = still.with_name("still.jpg.xmp").read_text("utf-8")
    assert days in said
    assert "2028-07-09</plus:LicenseEndDate>" in said


def test_a_licence_that_waits_says_when_it_will_end(bizkit, clear):
    """Unpaid, with a first day: its days are known and no table calls it without an end."""
    assert bizkit("rights", "grant", clear, "--on", "2027-06-14").code == 0
    (row,) = bizkit("rights", "list", clear, "--on", "2027-06-15", "--json").data["licences"]
    assert (row["state"], row["begins"], row["until"]) == ("waiting", "full payment, from 2027-07-01", "2028-06-30")
    release = next(one for one in bizkit("holding", "list", clear, "--json").data if one["kind"] == "talent_release")
    withdrawn = bizkit("holding", "withdraw", clear, release["id"], "--reason", "asked", "--on", "2027-06-16").out
    assert "waiting, until 2028-06-30" in withdrawn


def test_what_has_no_end_is_null_and_said_in_words(bizkit, clear, studio, change):
    """Somebody erased whose paper a licence without an end needs is kept as long as that runs."""
    brief = studio / "briefs" / "open.toml"
    shutil.copy(studio / "briefs" / f"{JOB}.toml", brief)
    change(brief, f'key = "{JOB}"', 'key = "open"')
    change(brief, "months = 12\n", "open_end = true\n")
    for words in ("quote draft", "quote send", "quote accept"):
        done = bizkit(*words.split(), "open", "--on", "2027-02-09")
        assert done.code == 0, done.err
    scan = next((studio / "papers" / "scans").rglob("*.pdf"))
    release = ("release", "add", "open", "--who", "Morag Sinclair", "--signed", "2027-05-14", "--scan", scan)
    done = bizkit(*release, "--media", "all", "--where", "World", "--without-end", "--on", "2027-05-20")
    assert done.code == 0, done.err
    assert bizkit("rights", "grant", "open", "--override", "agreed", "--on", "2027-06-01").code == 0
    (row,) = bizkit("rights", "list", "open", "--on", "2027-06-02", "--json").data["licences"]
    assert (row["ends"], row["until"]) in ((None, "no end"), ("", "no end"))
    erased = bizkit("person", "erase", "Morag Sinclair", "--reason", "asked", "--yes", "--on", "2027-06-03", "--json")
    assert erased.data["kept_until"] is None
    rows = {one["id"]: one for one in bizkit("person", "list", "--json").data}
    assert None in [one["keep_until"] for one in rows.values()]
    listed = bizkit("person", "list").out
    assert "9999" not in listed
    assert "as long as a licence runs" in listed
