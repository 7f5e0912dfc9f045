"""A file that is not there, is of another kind, or is not written as TOML is: what is wrong, and what to do."""

from __future__ import annotations

import shlex
import shutil

import pytest

BRIEF = "briefs/follow-the-kelp.toml"
CLIENT = "clients/skerrow-islands-tourism.toml"


def refused(done, *said, code=2):
    assert (done.code, done.out) == (code, ""), done.err
    assert len(done.err.splitlines()) == 1, done.err
    for one in said:
        assert one in done.err
    return done.err


@pytest.mark.parametrize("command", [("price",), ("quote", "draft"), ("weather", "plan")])
def test_a_brief_that_is_not_there_is_told_with_those_there_are(bizkit, studio, command):
    refused(bizkit(*command, "folow-the-kelp"), "folow-the-kelp: wanted a brief, got no such file", "in briefs/")
    assert "Did you mean follow-the-kelp?" in bizkit(*command, "folow-the-kelp").err
    assert "Known: follow-the-kelp" in bizkit(*command, "something-else").err


#: A command that reads a settings file, where that file stands in a studio, and how it is called.
READERS = {
    "a brief": (("price", "follow-the-kelp"), BRIEF),
    "a rate card": (("rates", "check"), "rate-card.toml"),
    "a studio's details": (("status",), "studio.toml"),
    "a client's details": (("price", "follow-the-kelp"), CLIENT),
    "a studio's year (floor.toml)": (("floor",), "floor.toml"),
}


@pytest.mark.parametrize("wanted", READERS)
@pytest.mark.parametrize("got", READERS)
def test_a_file_of_another_kind_is_called_what_it_is(bizkit, studio, wanted, got):
    command, place = READERS[wanted]
    if wanted == got:
        assert bizkit(*command).code == 0
        return
    shutil.copy(studio / READERS[got][1], studio / place)
    refused(bizkit(*command), f"{place}: wanted {wanted}, got {got} (")


def test_a_file_given_to_a_command_is_called_what_it_is_too(bizkit, studio, job, scan):
    refused(bizkit("price", "rate-card.toml"), "wanted a brief, got a rate card (name, ", "Briefs stand in briefs/")
    done = bizkit(
        "release", "add", job, "--who", "Eilidh Rendall", "--signed", "2027-05-01", "--scan", scan,
        "--terms", "studio.toml", "--on", "2027-05-01",
    )  # fmt: skip
    refused(done, "studio.toml: wanted what a paper allows, got a studio's details")
    card = bizkit("papers", "form", "water_day_card", job, "--details", "studio.toml", "--on", "2027-05-01")
    refused(card, "studio.toml: wanted details of a water day card, got a studio's details (")


def test_a_draft_called_by_a_slip_is_told(bizkit, studio):
    bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-02-01")
    refused(bizkit("quote", "send", "folow-the-kelp", "--on", "2027-02-01"), "Did you mean follow-the-kelp?", code=1)


def test_one_wrong_key_is_still_told_as_that(bizkit, studio, change):
    change(studio / BRIEF, "title = ", "titel = ")
    refused(bizkit("price", "follow-the-kelp"), "title: wanted", "The file says titel: write title")


#: What somebody typed, in the place of the client line of a brief, and what they are told.
TYPED = {
    'client = "a"\nclient = "b"': "client stands there twice: leave one of them out",
    "client = Skerrow Islands": 'Text stands in straight quotes: client = "Skerrow Islands"',
    "client = “skerrow”": 'Only straight quotes count: client = "skerrow"',
    'client = "skerrow': "A quote that is opened there, or before, is not closed",
    "rush = True": "Write rush = true, in small letters",
    "contingency_percent = 5%": "A number stands alone, without a currency or unit: contingency_percent = 5",
    "contingency_percent = 05": "A number is written 5",
    "contingency_percent = .5": "A number is written 0.5",
    "contingency_percent = 4,5": "It can be read as 4.5",
    "asked_on = 25.1.2027": "A date is written 2027-01-25",
    "contingency_percent 5": "A line is KEY = VALUE",
    "contingency_percent =": "or leave the line out",
    "[stages]\n[[stages]]": "write [[stages]] each time where several are meant",
}


@pytest.mark.parametrize("typed", TYPED)
def test_a_line_that_is_no_toml_is_shown_with_how_it_is_written(bizkit, studio, typed):
    text = (studio / BRIEF).read_text(encoding="utf-8")
    (studio / BRIEF).write_text(f"{typed}\n{text}" if "[" not in typed else f"{text}\n{typed}\n", encoding="utf-8")
    said = refused(bizkit("price", "follow-the-kelp"), f"{BRIEF}: wanted a brief in TOML, got ", TYPED[typed])
    assert typed.splitlines()[-1] in said


def test_a_client_whose_file_no_brief_can_name_is_to_be_renamed(bizkit, studio, change):
    strange = "Skerrow Islands Tourism"
    (studio / CLIENT).rename(studio / "clients" / f"{strange}.toml")
    to_do = f"Then rename clients/{strange}.toml to {CLIENT}"
    refused(
        bizkit("price", "follow-the-kelp"),
        "client: wanted a known client",
        f"There is clients/{strange}.toml: rename it to {CLIENT}",
    )
    change(studio / BRIEF, 'client = "skerrow-islands-tourism"', 'client = "skerow-islands-tourism"')
    refused(bizkit("price", "follow-the-kelp"), "Did you mean skerrow-islands-tourism?", to_do)
    change(studio / BRIEF, 'client = "skerow-islands-tourism"', f'client = "{strange}"')
    refused(bizkit("price", "follow-the-kelp"), f"got {strange}. Write skerrow-islands-tourism")


def test_a_studio_is_found_above_the_brief_that_is_named(bizkit, studio, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for command in (("price",), ("quote", "draft"), ("weather", "plan"), ("brief", "copy")):
        more = ("another",) if command == ("brief", "copy") else ()
        done = bizkit(*command, studio / BRIEF, *more)
        assert done.code == 0, (command, done.err)
    assert (studio / "briefs" / "another.toml").is_file()
    refused(bizkit("price", "follow-the-kelp"), "wanted a studio folder", "--studio")


def test_a_book_that_is_gone_is_to_be_put_back(bizkit, studio, job):
    (studio / "book.sqlite").rename(studio / "book (copy).sqlite")
    said = refused(bizkit("status"), "book.sqlite: wanted the book of this studio, got no such file")
    assert "Put book.sqlite, the newest copy you have, back into" in said
    assert "beside it lies book (copy).sqlite" in said
    assert "1 paper in papers/ show" in said
    assert "init" not in said
    refused(bizkit("invoice", "issue", job), "make no new one beside them")
    for paper in (studio / "papers").glob("*.pdf"):
        paper.unlink()
    refused(bizkit("status"), "or make a new studio with bizkit init FOLDER")


def test_a_file_that_is_not_there_is_told_with_the_nearest(bizkit, studio, job, scan):
    (studio / "notes.txt").write_text("shorter", encoding="utf-8")
    (studio / "film-v1.mov").write_bytes(b"film")
    bizkit("deliverable", "send", job, "campaign-film", "film-v1.mov", "--on", "2027-06-01")
    notes = ("deliverable", "notes", job, "campaign-film", "--on", "2027-06-01", "--file")
    refused(bizkit(*notes, "note.txt"), "note.txt: wanted", "no such file", "Did you mean notes.txt?")
    refused(bizkit(*notes, "nowhere/notes.txt"), "There is no folder nowhere seen from ")
    assert "Did you mean notes.txt?" in bizkit("bank", "import", "note.txt", "--on", "2027-06-01").err


def test_options_before_the_command_are_told_where_they_stand(bizkit, studio):
    refused(bizkit("--studio", ".", "status"), "No such option: --studio here: options stand behind the command")
    assert "--studio FOLDER" in " ".join(bizkit("--help").out.split())


def test_what_init_says_next_can_be_pasted(bizkit, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = bizkit("init", "Mein Stüdio & Co")
    line = done.out.splitlines()[-1]
    assert shlex.split(line.removeprefix("Then: ").partition(" && bizkit")[0]) == ["cd", "Mein Stüdio & Co"]


def test_a_worksheet_called_otherwise_than_its_job_is_to_be_renamed(bizkit, studio, job):
    assert bizkit("shots", job).code == 0
    (studio / "jobs" / f"{job}.toml").rename(studio / "jobs" / "Follow the Kelp.toml")
    refused(bizkit("shots", job), f"Rename jobs/Follow the Kelp.toml to jobs/{job}.toml")
    (studio / "jobs" / "Follow the Kelp.toml").rename(studio / "jobs" / "otters.toml")
    assert "has no shot list" in bizkit("shots", job).err
