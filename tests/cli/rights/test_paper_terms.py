"""A signed paper holds what the paper says: what our form of its number printed, else what was typed."""

from __future__ import annotations

import random
import subprocess
from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta

from bizkit.domain.rights.media import MEDIA_TREE

JOB = "follow-the-kelp"
#: Form, the kind of paper it becomes, and what it is about.
KINDS = [
    ("model_release", "talent_release", "Finn Sinclair"),
    ("location_permission", "location_permission", "Shore sauna, Selkie Bay"),
    ("property_release", "property_release", "The yawl Fulmar"),
    ("performer_consent", "performer_consent", "Mairi Eider"),
]
LICENCE = "own channels, paid social / Ireland and United Kingdom"


def text_of(path):
    """The words of a paper as poppler reads them."""
    done = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True)
    return " ".join(done.stdout.split())


@pytest.fixture
def write(bizkit, job):
    """`write("model_release", "Finn", ...)` writes a form on 1 May 2027."""

    def form(kind, about, *more):
        about = ["--about", about] if about else []
        return bizkit("papers", "form", kind, JOB, *about, *more, "--on", "2027-05-01", "--json")

    return form


@pytest.fixture
def file(bizkit, job, scan):
    """`file("talent_release", "Finn", ...)` tries to file a paper signed on 14 May 2027."""

    def add(kind, about, *more, signed="2027-05-14"):
        about = ["--about", about] if about else []
        return bizkit(
            "holding", "add", JOB, "--kind", kind, *about, "--signed", signed, "--scan", scan, *more,
            "--on", "2027-05-20", "--json",
        )  # fmt: skip

    return add


# --- what a paper holds


def test_a_paper_of_which_nothing_is_said_holds_nothing_and_says_so(bizkit, clear, file):
    done = file("talent_release", "Finn Sinclair").data
    assert (done["covers"], done["holds_nothing"]) == ("nothing", "nobody has said what it allows")
    assert done["warnings"][0].startswith(
        f"nobody has said what it allows, so it holds nothing. Say it with bizkit holding correct {JOB} {done['id']}"
    )
    found = bizkit("rights", "check", JOB, "--on", "2027-06-01", "--json").data
    assert [(gap["name"], gap["why"]) for gap in found["gaps"]] == [
        ("Finn Sinclair", "nothing held: nobody has said what it allows")
    ]
    assert "nothing: nobody has said" in bizkit("release", "list", JOB).out
    refused = bizkit("rights", "grant", JOB, "--on", "2027-06-14")
    assert (refused.code, "nobody has said what it allows" in refused.err) == (1, True)
    # Said now, with a reason, it is held.
    done = bizkit("holding", "correct", JOB, done["id"], "--media", "online", "--where", "Europe", "--without-end",
                  "--reason", "read again", "--on", "2027-06-01")  # fmt: skip
    assert done.code == 0, done.err
    assert bizkit("rights", "check", JOB, "--on", "2027-06-01", "--json").data["cleared"]


@pytest.mark.parametrize(("_", "kind", "about"), [*KINDS, ("", "crew_assignment", "Brodie Lunn")])
def test_terms_are_typed_whole_or_the_missing_part_is_asked_for(file, _, kind, about):
    media, where, length = ["--media", "online"], ["--where", "Europe"], ["--until", "2029-12-31"]
    for said, option in (
        (media + where, "--until, --months or --without-end: wanted how long the paper allows it"),
        (media + length, "--where: wanted the countries that the paper allows"),
        (where + length, "--media: wanted the media that the paper allows"),
        (["--from", "2027-06-01"], "--media: wanted the media that the paper allows"),
    ):
        done = file(kind, about, *said)
        assert (done.code, option in done.err) == (2, True), (said, done.err)
        assert len(done.err.splitlines()) == 1
    assert file(kind, about, *media, *where, *length).data["covers"] == "online / Europe / 2027-05-14..2029-12-31"
    assert file(kind, about, *media, *where, "--months", "12").data["covers"].endswith("2027-05-14..2028-05-13")


def test_a_paper_filed_by_an_older_book_stays_as_it_was_recorded(bizkit, clear, studio):
    """Papers that were filed before forms had numbers hold what was recorded then."""
    import json
    import shutil
    import sqlite3

    with sqlite3.connect(studio / "book.sqlite") as book:
        for number, data in book.execute("SELECT id, data FROM holding").fetchall():
            old = json.loads(data)
            for name in ("form", "client_conditions"):
                old.pop(name)
            book.execute("UPDATE holding SET data = ? WHERE id = ?", (json.dumps(old), number))
        book.execute("DELETE FROM form")
    shutil.rmtree(studio / "papers" / "forms")
    assert bizkit("rights", "check", clear, "--on", "2027-06-01", "--json").data["cleared"]
    assert bizkit("verify").code == 0


# --- forms and their numbers


@pytest.mark.parametrize(("form", "kind", "about"), KINDS)
def test_a_form_prints_its_number_and_the_term_it_asks_for(bizkit, write, file, form, kind, about):
    done = write(form, about).data
    assert done["number"].startswith("F-2027-000")
    english = text_of(done["file"])
    assert done["number"] in english
    assert "How long from the day it is signed, without an end" in english
    german = write(form, about, "--language", "de").data
    assert german["number"] != done["number"]
    said = text_of(german["file"])
    assert "Wie lange ab dem Tag der Unterschrift, ohne Ende" in said
    assert "Vereinigtes Königreich" in said
    # Filed by the number it holds just that.
    row = file(kind, about, "--form", done["number"])
    assert row.code == 0, row.err
    assert (row.data["covers"], row.data["form"]) == (f"{LICENCE} / 2027-05-14..", done["number"])
    (listed,) = [one for one in bizkit("papers", "list", "--json").data if one["number"] == done["number"]]
    assert (listed["kind"], listed["about"], listed["papers"]) == (kind, about, [row.data["id"]])
    assert listed["asks"] == (
        "own channels, paid social / United Kingdom and Ireland / from the day it is signed, without an end"
    )


@pytest.mark.parametrize(
    ("options", "english", "german"),
    [
        (["--until", "2029-12-31"], "from the day it is signed until 31 December 2029",
         "ab dem Tag der Unterschrift bis 31. Dezember 2029"),
        (["--months", "24"], "from the day it is signed for 24 months", "ab dem Tag der Unterschrift für 24 Monate"),
        (["--months", "1", "--from", "2027-07-01"], "from 1 July 2027 for 1 month", "ab 1. Juli 2027 für 1 Monat"),
        (["--without-end", "--from", "2027-07-01"], "from 1 July 2027, without an end", "ab 1. Juli 2027, ohne Ende"),
    ],
)  # fmt: skip
def test_every_length_is_printed_as_it_is_kept(write, options, english, german):
    assert f"How long {english}" in text_of(write("model_release", "Finn", *options).data["file"])
    text = text_of(write("model_release", "Finn", *options, "--language", "de").data["file"])
    assert f"Wie lange {german}" in text


def test_a_crew_assignment_gives_everything_and_is_filed_by_its_number(file, write):
    number = write("crew_assignment", "Brodie Lunn").data["number"]
    assert (
        file("crew_assignment", "Brodie Lunn", "--form", number).data["covers"] == "all media / World / 2027-05-14.."
    )
    done = write("crew_assignment", "Brodie Lunn", "--media", "online")
    assert (done.code, "nothing about what is allowed, as the crew assignment gives everything" in done.err) == (
        2,
        True,
    )


def test_a_form_written_again_alike_keeps_its_number_and_for_anybody_it_serves_many(bizkit, clear, file, write):
    first = write("model_release", "").data["number"]
    assert write("model_release", "").data["number"] == first
    assert write("model_release", "", "--until", "2029-12-31").data["number"] != first
    for name in ("Finn Sinclair", "Isla Marwick"):
        assert file("talent_release", name, "--form", first).code == 0
    (row,) = [one for one in bizkit("papers", "list", JOB, "--json").data if one["number"] == first]
    assert (row["about"], len(row["papers"])) == ("", 2)


def test_the_form_brings_whom_it_is_about_and_its_conditions(bizkit, clear, file, write):
    number = write(
        "model_release", "Finn Sinclair", "--under-18", "--condition", "She sees the cut first",
        "--client-condition", "Not beside alcohol",
    ).data["number"]  # fmt: skip
    refused = file("talent_release", "", "--form", number)
    assert (refused.code, "under 18 when it was signed: a parent or guardian signs" in refused.err) == (1, True)
    done = file("talent_release", "", "--form", number, "--guardian", "Morag Sinclair").data
    assert (done["subject"], done["conditions"], done["client_conditions"]) == (
        "Finn Sinclair", ["She sees the cut first"], ["Not beside alcohol"],
    )  # fmt: skip
    nobody = write("model_release", "").data["number"]
    assert "wanted who or what it is about" in file("talent_release", "", "--form", nobody).err


def test_a_number_that_is_another_papers_is_refused(bizkit, clear, studio, change, file, write):
    number = write("model_release", "Finn Sinclair").data["number"]
    for kind, about, more, said in (
        (
            "talent_release",
            "Isla Marwick",
            [number],
            f"--form: wanted Finn Sinclair, whom the model release {number}",
        ),
        (
            "performer_consent",
            "Finn Sinclair",
            [number],
            f"wanted a performer consent, got the model release {number}",
        ),
        ("artwork", "Mural", [number], "--form: wanted no form, for a artwork"),
        ("talent_release", "Finn Sinclair", ["F-2027-0999"], "--form: wanted a known form, got F-2027-0999"),
        ("talent_release", "Finn Sinclair", [number, "--media", "cinema"], "wanted what the model release"),
        ("talent_release", "Finn Sinclair", [number, "--until", "2029-01-01"], "file it by all that it says now"),
        ("talent_release", "Finn Sinclair", [number, "--from", "2027-01-01"], "wanted what the model release"),
    ):
        done = file(kind, about, "--form", *more)
        assert (done.code, said in done.err) == (2, True), done.err
        assert len(done.err.splitlines()) == 1
    # What says the same may be said.
    assert file("talent_release", "finn  SINCLAIR", "--form", number, "--without-end").code == 0
    (studio / "briefs" / "other.toml").write_text(
        (studio / "briefs" / f"{JOB}.toml").read_text("utf-8").replace(f'key = "{JOB}"', 'key = "other"'), "utf-8"
    )
    for command in (["draft", "other"], ["send", "other"], ["accept", "other"]):
        done = bizkit("quote", *command, "--on", "2027-02-09")
        assert done.code == 0, done.err
    done = bizkit("release", "add", "other", "--form", number, "--signed", "2027-05-14", "--scan", "x.pdf",
                  "--on", "2027-05-20")  # fmt: skip
    assert (done.code, f"--form: wanted a form of other, got {number}, of {JOB}" in done.err) == (2, True)


def test_what_a_form_left_blank_is_asked_for(bizkit, studio, change, scan):
    """The form of a job that licenses nothing has lines to write on."""
    brief = studio / "briefs" / f"{JOB}.toml"
    text = brief.read_text("utf-8")
    start, end = text.index("[licence]"), text.index("[weather]")
    (studio / "briefs" / "plain.toml").write_text(
        (text[:start] + text[end:]).replace(f'key = "{JOB}"', 'key = "plain"'), "utf-8"
    )
    for command in (["draft", "plain"], ["send", "plain"], ["accept", "plain"]):
        done = bizkit("quote", *command, "--on", "2027-02-09")
        assert done.code == 0, done.err
    form = bizkit("release", "form", "plain", "--who", "Finn", "--on", "2027-05-01", "--json").data
    assert form["asks"] == "____ / ____ / ____"
    add = ["release", "add", "plain", "--form", form["number"], "--signed", "2027-05-14", "--scan", scan,
           "--on", "2027-05-20"]  # fmt: skip
    done = bizkit(*add, "--media", "online", "--where", "GB")
    assert (done.code, f"The model release {form['number']} left it blank" in done.err) == (2, True), done.err
    assert bizkit(*add, "--media", "online", "--where", "GB", "--months", "6", "--json").data["covers"] == (
        "online / United Kingdom / 2027-05-14..2027-11-13"
    )


@pytest.mark.parametrize("seed", range(3))
def test_hunting_for_a_paper_that_holds_more_than_it_says(write, file, seed):
    """Terms at random, printed or typed; the judge of a length in months is dateutil (Dodds v Walker [1981])."""
    chance = random.Random(seed)
    media = sorted(MEDIA_TREE.leaves("all"))
    for number in range(7):
        form, kind, about = chance.choice(KINDS)
        about = f"{about} {'abcdefg'[number]}"
        chosen = chance.sample(media, chance.randrange(1, 4))
        codes = chance.sample(["GB", "IE", "DE", "FR", "NO", "IS", "CA"], chance.randrange(1, 4))
        signed = date(2027, 5, 2) + timedelta(days=chance.randrange(18))
        starts = chance.choice([None, date(2027, 1, 31), date(2027, 7, 1)])
        first = starts or signed
        months, until = chance.randrange(1, 60), date(2027, 7, 1) + timedelta(days=chance.randrange(900))
        length, last = chance.choice(
            [
                (["--months", months], first + relativedelta(months=months) - timedelta(days=1)),
                (["--until", until], until),
                (["--without-end"], None),
            ]
        )
        if first.day == 31 and length[0] == "--months":
            # The corresponding date of a day that a month lacks is the month's last, that day included.
            last = (
                first
                + relativedelta(months=months)
                - timedelta(days=(first + relativedelta(months=months)).day == 31)
            )
        terms = [word for code in chosen for word in ("--media", code)]
        terms += [word for code in codes for word in ("--where", code)] + length
        terms += ["--from", starts] if starts else []
        if chance.random() < 0.6:
            done = write(form, about, *terms)
            assert done.code == 0, done.err
            terms = ["--form", done.data["number"]]
        done = file(kind, about, *terms, signed=signed)
        assert done.code == 0, done.err
        (box,) = done.data["scope"]
        assert (box["media"], box["countries"]) == (sorted(chosen), sorted(codes))
        assert (box["starts"], box["ends"]) == (str(first), str(last) if last else ""), (first, length)


# --- signing on screen


def test_signed_on_screen_and_printed_say_the_same(bizkit, clear, write, signature, studio):
    printed = write("model_release", "Isla Marwick").data
    done = bizkit(
        "release", "sign", JOB, "--who", "Isla Marwick", "--signature", signature, "--on", "2027-05-13", "--json"
    ).data
    # What was printed alike is the same form, under the same number.
    assert (done["form"], done["covers"]) == (printed["number"], f"{LICENCE} / 2027-05-13..")
    line = "How long from the day it is signed, without an end"
    for path in (printed["file"], studio / done["file"]):
        text = text_of(path)
        assert line in text
        assert printed["number"] in text
    narrow = ["--media", "online", "--where", "Europe", "--months", "12"]
    asked = write("property_release", "The yawl Fulmar", *narrow).data
    signed = bizkit(
        "holding", "sign", JOB, "--kind", "property_release", "--about", "The yawl Fulmar", "--by", "Una Tern",
        "--signature", signature, *narrow, "--on", "2027-05-13", "--json",
    ).data  # fmt: skip
    assert (signed["form"], signed["covers"]) == (asked["number"], "online / Europe / 2027-05-13..2028-05-12")
    for path in (asked["file"], studio / signed["file"]):
        assert "How long from the day it is signed for 12 months" in text_of(path)


@pytest.fixture
def details(tmp_path):
    def write_down(text):
        path = tmp_path / "details.toml"
        path.write_text(text, encoding="utf-8")
        return path

    return write_down


SCOPE = '[scope]\nmedia = ["owned_channels"]\nends = 2028-03-01\n[scope.territory]\nphrase = "United Kingdom"\n'


def test_the_details_say_the_terms_of_what_is_signed(bizkit, clear, signature, details, studio):
    sign = ["release", "sign", JOB, "--who", "Eve Twelve", "--signature", signature, "--on", "2027-05-13", "--json"]
    done = bizkit(*sign, "--details", details(SCOPE))
    assert done.code == 0, done.err
    assert done.data["covers"] == "own channels / United Kingdom / 2027-05-13..2028-03-01"
    text = text_of(studio / done.data["file"])
    assert "Where United Kingdom How long from the day it is signed until 1 March 2028" in text
    # Left out of the details, the rest is as our form asks.
    done = bizkit(*sign, "--details", details("[scope]\nmonths = 6\nopen_end = false\nmedia = []\n"))
    assert done.data["covers"] == f"{LICENCE} / 2027-05-13..2027-11-12"


@pytest.mark.parametrize(
    ("text", "options", "said"),
    [
        ('[person]\nname = "Somebody Else"\n', [], "details.toml: person.name: wanted Eve Twelve, as --who says"),
        ('[guardian]\nname = "Ada"\n', ["--guardian", "Bo", "--under-18"], "guardian.name: wanted Bo, as --guardian"),
        (
            "[person]\nborn_on = 1990-01-01\n",
            ["--born", "1991-01-01"],
            "person.born_on: wanted 1991-01-01, as --born",
        ),
        ('[scope]\nmedia = ["telepathy"]\n', [], "details.toml: scope.media: wanted a known medium, got telepathy"),
        ('[scope.territory]\nphrase = "Europe"\ncodes = ["GB"]\n', [], "scope.territory.codes: wanted the codes of"),
        ('[scope.territory]\nphrase = "Atlantis"\n', [], "scope.territory.phrase: wanted a known country or region"),
        ('[scope]\nends = "soon"\n', [], "scope.ends: wanted a date as YYYY-MM-DD, got soon"),
        (
            "[scope]\nmonths = 3\nends = 2028-01-01\n",
            [],
            "scope.length: wanted one of until, months or without an end",
        ),
        ('[scope]\nsentences = ["Everything, for ever"]\n', [], "put other words under conditions"),
        (SCOPE, ["--media", "cinema"], "scope: wanted what --media says"),
        (SCOPE, ["--until", "2029-01-01"], "scope: wanted what --until, --months or --without-end says"),
        (
            'client_conditions = ["Ask on 01632 960111"]\n',
            [],
            "--client-condition: wanted a condition for the client",
        ),
    ],
)
def test_details_that_say_something_else_are_refused(bizkit, clear, signature, details, text, options, said):
    done = bizkit(
        "release", "sign", JOB, "--who", "Eve Twelve", "--signature", signature, *options, "--details", details(text),
        "--on", "2027-05-13",
    )  # fmt: skip
    assert (done.code, said in done.err) == (2, True), done.err
    assert len(done.err.splitlines()) == 1
    assert "Eve Twelve" not in [row["subject"] for row in bizkit("release", "list", JOB, "--json").data]
    assert bizkit("papers", "list", JOB, "--json").data == bizkit("papers", "list", "--json").data


def test_the_birth_dates_and_the_guardian_of_the_details_count(bizkit, clear, signature, details, studio):
    sign = ["release", "sign", JOB, "--who", "Cal Kid", "--signature", signature, "--on", "2027-05-13", "--json"]
    child = "[person]\nborn_on = 2015-01-01\n"
    done = bizkit(*sign, "--details", details(child))
    assert (done.code, "Cal Kid was born 2015-01-01, so under 18 when it was signed" in done.err) == (1, True), (
        done.err
    )
    done = bizkit(*sign, "--details", details(child + '[guardian]\nname = "Bo"\nborn_on = 2011-01-01\n'))
    assert (done.code, "Bo was born 2011-01-01, so under 18 when it was signed" in done.err) == (1, True), done.err
    done = bizkit(*sign, "--details", details(child + '[guardian]\nname = "Ada Parent"\n')).data
    assert (done["signed_by"], done["guardian"]) == ("Ada Parent", "Ada Parent")
    text = text_of(studio / done["file"])
    assert "the child named below" in text
    assert "Ada Parent" in text
    rows = {row["name"]: row["born_on"] for row in bizkit("person", "list", "--json").data}
    assert rows["Cal Kid"] == "2015-01-01"


def test_a_form_for_somebody_known_to_be_a_child_is_the_childs(bizkit, clear, write):
    bizkit("person", "set", "Cal Kid", "--born", "2015-01-01", "--basis", "consent", "--purpose", "x",
           "--on", "2027-03-01")  # fmt: skip
    said = "Signature of the parent or guardian"
    assert said in text_of(write("model_release", "Cal Kid").data["file"])
    assert said not in text_of(write("model_release", "Eilidh Rendall").data["file"])


# --- one set of options


SHARED = {
    "--media", "--where", "--from", "--until", "--months", "--without-end", "--condition", "--client-condition",
    "--guardian", "--born", "--under-18", "--by", "--witness", "--for",
}  # fmt: skip
FILING = {"--signed", "--scan", "--form", "--terms"}


def test_the_commands_about_papers_share_one_set_of_options(commands):
    def options(name, wanted):
        return {
            option: (one.help, one.metavar, one.multiple, one.is_flag)
            for one in commands[name].params
            for option in one.opts
            if option in wanted
        }

    first = options("release add", SHARED | FILING)
    assert set(first) == SHARED | FILING
    for name in ("permission add", "holding add", "holding correct"):
        assert options(name, SHARED | FILING) == first, name
    signing = options("release sign", SHARED)
    assert signing == options("holding sign", SHARED) == {name: first[name] for name in SHARED}
    forms = SHARED - {"--by", "--witness", "--born", "--for", "--guardian", "--under-18"}
    for name in ("release form", "permission form", "papers form"):
        assert options(name, forms) == {option: first[option] for option in forms}, name


# --- correcting


def test_a_wrongly_recorded_paper_is_corrected_and_both_are_kept(bizkit, live, hold):
    old = hold("talent_release", "Finn Sinclair", "--media", "all", "--where", "World")
    done = bizkit(
        "holding", "correct", JOB, old["id"], "--media", "online", "--where", "UK", "--until", "2027-12-31",
        "--reason", "the scan says so", "--on", "2027-08-01", "--json",
    )  # fmt: skip
    assert done.code == 0, done.err
    new = done.data
    assert (new["covers"], new["corrects"], new["correction"], new["paper"]) == (
        "online / United Kingdom / 2027-05-14..2027-12-31", old["id"], "the scan says so", old["paper"],
    )  # fmt: skip
    # The grant that rests on it is told, with what it lacks now.
    (told,) = new["live"]
    assert (told["number"], told["state"], told["certificate_differs"]) == ("LC-2027-0001", "live", True)
    assert told["lacks"].endswith(
        "own channels, paid social / Ireland / 2027-07-01..2028-06-30; "
        "own channels, paid social / United Kingdom / 2028-01-01..2028-06-30"
    )
    rows = {row["id"]: row for row in bizkit("release", "list", JOB, "--json").data}
    assert (rows[old["id"]]["status"], rows[old["id"]]["corrected_by"]) == ("corrected", new["id"])
    assert rows[old["id"]]["covers"] == "all media / World / 2027-05-14.."
    assert f"corrected by {new['id']}" in bizkit("release", "list", JOB).out
    found = bizkit("rights", "check", JOB, "--on", "2027-08-01", "--json").data
    assert [(gap["name"], gap["holdings"]) for gap in found["gaps"]] == [("Finn Sinclair", [str(new["id"])])]
    assert bizkit("verify").code == 0
    again = bizkit(
        "holding", "correct", JOB, old["id"], "--until", "2028-01-01", "--reason", "x", "--on", "2027-08-01"
    )
    assert (again.code, f"was corrected by paper {new['id']}: correct that one" in again.err) == (1, True)
    assert bizkit("holding", "withdraw", JOB, old["id"], "--reason", "x", "--on", "2027-08-01").code == 1


def test_only_what_is_said_changes(bizkit, clear, hold, write):
    old = hold("talent_release", "Finn Sinclair", "--media", "online", "--where", "Europe", "--condition", "A",
               "--client-condition", "B", "--for", "stills", "--by", "Ada Agent", "--reason",
               "her agency signs")  # fmt: skip

    def correct(paper, *more, about=JOB):
        done = bizkit("holding", "correct", about, paper, *more, "--reason", "x", "--on", "2027-06-01", "--json")
        assert done.code == 0, done.err
        return done.data

    one = correct(old["id"], "--months", "24")
    assert one["covers"] == "online / Europe / 2027-05-14..2029-05-13"
    assert (one["conditions"], one["client_conditions"], one["works"], one["signed_by"]) == (
        ["A"], ["B"], ["stills"], "Ada Agent",
    )  # fmt: skip
    # Signed on another day, what began with the signature begins then, and the months count from then.
    two = correct(one["id"], "--signed", "2027-05-10", "--condition", "none", "--for", "all")
    assert two["covers"] == "online / Europe / 2027-05-10..2029-05-09"
    assert (two["signed_on"], two["conditions"], two["client_conditions"], two["works"]) == (
        "2027-05-10", [], ["B"], [],
    )  # fmt: skip
    number = write("model_release", "Finn Sinclair").data["number"]
    three = correct(two["id"], "--form", number)
    assert (three["covers"], three["form"]) == (f"{LICENCE} / 2027-05-10..", number)


def test_a_name_misspelt_is_put_right(bizkit, clear, hold):
    old = hold("talent_release", "Fin Sinclar")
    assert ("talent_release", "Fin Sinclar") not in [
        (gap["kind"], gap["name"]) for gap in bizkit("rights", "check", JOB, "--json").data["gaps"]
    ]
    done = bizkit("holding", "correct", JOB, old["id"], "--about", "Finn Sinclair", "--reason", "misspelt",
                  "--on", "2027-06-01", "--json").data  # fmt: skip
    assert (done["subject"], done["signed_by"]) == ("Finn Sinclair", "Finn Sinclair")
    shown = bizkit("rights", "link", JOB, "--json").data
    assert {name for row in shown if row["part"] == "who" for name in row["names"]} == {
        "Eilidh Rendall", "Finn Sinclair",
    }  # fmt: skip


def test_what_cannot_be_corrected_is_said(bizkit, clear, hold):
    old = hold("talent_release", "Finn Sinclair", "--media", "online", "--where", "Europe")
    bizkit("release", "add", JOB, "--who", "Isla Marwick", "--on", "2027-05-20")
    (draft,) = [row for row in bizkit("release", "list", JOB, "--json").data if row["status"] == "draft"]
    born = ["person", "set", "Finn Sinclair", "--born", "1990-01-01", "--on", "2027-05-20"]
    assert bizkit(*born).code == 0
    for words, code, said in (
        ([old["id"], "--media", "online", "--reason", " "], 2, "--reason: wanted why it is corrected"),
        ([old["id"], "--reason", "x"], 2, "wanted what is to be corrected"),
        ([draft["id"], "--media", "online", "--reason", "x"], 1, "is draft: only a signed one can be corrected"),
        ([old["id"], "--signed", "2027-07-01", "--reason", "x"], 1, "a paper is filed once it is signed"),
        ([old["id"], "--guardian", "Morag Sinclair", "--reason", "x"], 1, "so of age when it was signed"),
        ([old["id"], "--until", "2027-05-01", "--reason", "x"], 2, "--until: wanted a last day on or after"),
        ([old["id"], "--born", "2015-01-01", "--reason", "x"], 2, "--born: wanted the date of birth that person-"),
        (["99", "--media", "online", "--reason", "x"], 2, "PAPER: wanted a known paper of the job, got 99"),
    ):
        done = bizkit("holding", "correct", JOB, *words, "--on", "2027-06-01")
        assert (done.code, said in done.err) == (code, True), (words, done.err)
    assert len(bizkit("release", "list", JOB, "--json").data) == 3


def test_a_withdrawn_paper_is_corrected_and_stays_withdrawn(bizkit, live, hold):
    old = hold("talent_release", "Finn Sinclair", "--media", "online", "--where", "World")
    bizkit("holding", "withdraw", JOB, old["id"], "--reason", "asked", "--on", "2027-09-01")
    done = bizkit(
        "holding", "correct", JOB, old["id"], "--where", "GB", "--reason", "x", "--on", "2027-09-02", "--json"
    )
    assert (done.data["status"], done.data["covers"]) == (
        "withdrawn",
        "online / United Kingdom / 2027-05-14..2027-08-31",
    )


def test_a_form_for_one_guardian_is_not_signed_by_another(bizkit, write, file):
    form = write("model_release", "Finn Sinclair", "--under-18", "--guardian", "Una Sinclair").data
    signed = ("talent_release", "Finn Sinclair", "--form", form["number"])
    refused = file(*signed, "--guardian", "Rory Sinclair")
    assert (refused.code, len(refused.err.splitlines())) == (1, 1)
    assert f"{form['number']} was printed for Una Sinclair to sign, and Rory Sinclair signed it" in refused.err
    assert file(*signed, "--guardian", "una  SINCLAIR").code == 0
    # A form that leaves it blank is signed by whoever may.
    blank = write("model_release", "Isla Ash", "--under-18").data
    assert file("talent_release", "Isla Ash", "--form", blank["number"], "--guardian", "Rory Ash").code == 0


def test_a_form_is_signed_once_it_is_written_or_somebody_says_why(bizkit, job, scan, write):
    form = write("model_release", "Finn Sinclair").data["number"]
    (written,) = [row["on"] for row in bizkit("papers", "list", "--json").data if row["number"] == form]
    ask = ["release", "add", job, "--who", "Finn Sinclair", "--form", form, "--scan", scan, "--on", "2027-06-20"]
    refused = bizkit(*ask, "--signed", "2026-12-01")
    assert (refused.code, f"--signed: wanted a day from {written} on" in refused.err) == (2, True)
    assert bizkit(*ask, "--signed", "2026-12-01", "--reason", "the book was moved to a new machine").code == 0


def test_a_childs_form_speaks_of_the_child(bizkit, write):
    for form in ("model_release", "performer_consent"):
        kind = form.replace("_", "-")
        english = text_of(write(form, "Finn Sinclair", "--under-18").data["file"])
        german = text_of(write(form, "Finn Sinclair", "--under-18", "--language", "de").data["file"])
        for wrong in ("sound of you", "likeness of you", "your performance", "You may stop", "Your safety"):
            assert wrong not in english, (kind, wrong)
        for wrong in ("von Ihnen", "Ihre Darbietung", "Ihre Sicherheit", "Sie dürfen jederzeit"):
            assert wrong not in german, (kind, wrong)
        assert "of the child" in english or "the child's performance" in english
