"""Where a careful lawyer says no: consent taken back, given by another, for another, by a child, kept as evidence."""

from __future__ import annotations

import shlex
import shutil
import subprocess
from decimal import Decimal

import pytest

JOB = "follow-the-kelp"
TERMS = ["--media", "online", "--where", "World", "--without-end"]


@pytest.fixture
def file(bizkit, clear, scan):
    """Files a talent release by its terms; the answer of the command, as `Done`."""

    def add(about, *more, signed="2027-05-14", on="2027-05-20", terms=TERMS):
        return bizkit(
            "holding",
            "add",
            JOB,
            "--kind",
            "talent_release",
            "--about",
            about,
            "--signed",
            signed,
            "--scan",
            scan,
            *terms,
            *more,
            "--on",
            on,
            "--json",
        )

    add.scan = scan
    return add


def run(bizkit, line, *more):
    """A command as it is typed."""
    return bizkit(*shlex.split(line), *more)


def check(bizkit, on="2027-06-01", job=JOB):
    done = bizkit("rights", "check", job, "--on", on, "--json")
    assert done.code == 0, done.err
    return done.data


def why(bizkit, name, **more):
    return [gap["why"] for gap in check(bizkit, **more)["gaps"] if gap["name"] == name]


def printed(path):
    return " ".join(subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True).stdout.split())


def test_consent_taken_back_by_one_guardian_reaches_the_paper_of_the_other(bizkit, file):
    by_mother = file("Finn Sinclair", "--guardian", "Morag Sinclair", "--born", "2017-08-02").data["id"]
    by_father = file("Finn Sinclair", "--guardian", "Ewan Sinclair").data["id"]
    assert check(bizkit)["cleared"]
    done = bizkit("holding", "withdraw", JOB, by_father, "--reason", "father wrote: no", "--on", "2027-05-24")
    assert f"Nor on paper {by_mother}, signed before" in done.out
    taken = f"consent was taken back on 2027-05-24, on paper {by_father}, and not given since"
    assert why(bizkit, "Finn Sinclair") == [f"nothing held: {taken}, withdrawn on 2027-05-24"]
    (row,) = [one for one in bizkit("release", "list", JOB, "--json").data if one["id"] == by_mother]
    assert row["holds_nothing"] == taken
    # The same scan, filed again, is older than the withdrawal too.
    assert file("Finn Sinclair", "--guardian", "Morag Sinclair", "--reason", "read again").code in (0, 1)
    assert not check(bizkit)["cleared"]
    file(
        "Finn Sinclair",
        "--guardian",
        "Morag Sinclair",
        "--reason",
        "they agreed again",
        signed="2027-05-26",
        on="2027-05-26",
    )
    assert why(bizkit, "Finn Sinclair") == []


def test_a_paper_about_other_works_is_not_taken_back_with_it(bizkit, file):
    stills = file("Isla Marwick", "--for", "stills").data["id"]
    film = file("Isla Marwick", "--for", "campaign-film").data["id"]
    done = bizkit("holding", "withdraw", JOB, stills, "--reason", "asked", "--on", "2027-05-24", "--json")
    assert done.data["older"] == []
    (row,) = [one for one in bizkit("release", "list", JOB, "--json").data if one["id"] == film]
    assert row["holds_nothing"] == ""


def test_a_withdrawal_names_what_the_same_person_signed_for_other_jobs(bizkit, file, studio, scan):
    mine = file("Isla Marwick").data["id"]
    brief = studio / "briefs" / "other-job.toml"
    text = (studio / "briefs" / f"{JOB}.toml").read_text(encoding="utf-8")
    brief.write_text(text.replace(f'key = "{JOB}"', 'key = "other-job"'), encoding="utf-8")
    bizkit("quote", "draft", "other-job", "--on", "2027-01-26")
    bizkit("quote", "send", "other-job", "--on", "2027-01-26")
    assert bizkit("quote", "accept", "other-job", "--on", "2027-02-08").code == 0
    filed = f"release add other-job --who 'Isla Marwick' --signed 2027-05-15 --scan {scan} --on 2027-05-20 --json"
    other = run(bizkit, filed, *TERMS, "--reason", "one paper for both")
    assert other.code == 0, other.err
    done = bizkit("holding", "withdraw", JOB, mine, "--reason", "asked", "--on", "2027-05-24", "--json").data
    assert done["elsewhere"] == [{"job": "other-job", "paper": other.data["id"], "kind": "talent_release"}]


def test_a_form_for_somebody_of_age_is_not_signed_by_a_guardian(bizkit, file, by_form):
    form = by_form("talent_release", "Finn Sinclair")
    done = file("Finn Sinclair", "--guardian", "Morag Sinclair", *form, terms=())
    assert (done.code, "has no line for a parent or guardian, and Morag Sinclair signed it" in done.err) == (1, True)
    young = by_form("talent_release", "Finn Sinclair", "--guardian", "Morag Sinclair")
    assert file("Finn Sinclair", "--guardian", "Morag Sinclair", *young, terms=()).code == 0


def test_a_form_printed_for_one_client_clears_nothing_for_another(bizkit, in_force, studio, scan):
    shutil.copytree(in_force, studio, dirs_exist_ok=True)
    client = 'name = "Example Ferries"\ncountry = "GB"\nsector = "ferries"\n'
    (studio / "clients" / "example-ferries.toml").write_text(client, encoding="utf-8")
    offer = f"rights offer {JOB} --to example-ferries --media online --where GB --from 2027-09-01 --months 3"
    key = run(bizkit, f"{offer} --on 2027-07-01 --json").data["key"]
    bizkit("quote", "send", key, "--on", "2027-07-01")
    bizkit("quote", "accept", key, "--on", "2027-07-02")
    only = "nothing held: given for Skerrow Islands Tourism alone"
    assert why(bizkit, "Eilidh Rendall", on="2027-07-03", job=key) == [only]
    refused = bizkit("rights", "grant", key, "--on", "2027-07-03")
    assert (refused.code, only in refused.err) == (1, True)
    # For its own client it stands.
    assert check(bizkit, on="2027-07-03")["cleared"]
    form = f"papers form model_release {JOB} --about 'Eilidh Rendall' --any-client --media online --where GB"
    wider = run(bizkit, f"{form} --on 2027-07-03 --json").data
    assert "by others to whom Gannet & Lark Films licenses them" in printed(wider["file"])
    filed = f"release add {JOB} --who 'Eilidh Rendall' --form {wider['number']} --signed 2027-07-04 --scan {scan}"
    signed = run(bizkit, f"{filed} --on 2027-07-04 --json")
    assert signed.code == 0, signed.err
    assert why(bizkit, "Eilidh Rendall", on="2027-07-05", job=key) == []
    forms = [row for row in bizkit("papers", "list", JOB, "--json").data if row["kind"] == "talent_release"]
    assert [row["for_client"] for row in forms] == ["Skerrow Islands Tourism", ""]


def test_anothers_signature_for_somebody_of_age_says_by_what_right(bizkit, file):
    done = file("Kirsty Mowat", "--by", "A Friend")
    assert (done.code, "A Friend signed for Kirsty Mowat, of age: say by what right with --reason" in done.err) == (
        1,
        True,
    )
    assert file("Kirsty Mowat", "--by", "A Friend", "--reason", "power of attorney of 2027-01-04").code == 0


def test_who_was_under_age_by_one_paper_is_so_by_every_earlier_one(bizkit, file):
    """Only a date of birth could say otherwise, and it is asked for."""
    alone = file("Sunniva Lund", signed="2027-05-10").data["id"]
    assert check(bizkit)["cleared"]
    assert file("Sunniva Lund", "--under-18", "--guardian", "Tora Lund", signed="2027-05-11").code == 0
    (row,) = [one for one in bizkit("release", "list", JOB, "--json").data if one["id"] == alone]
    assert row["holds_nothing"] == "signed under 18 without a parent or guardian"
    later = file("Sunniva Lund", signed="2027-05-12")
    assert (later.code, "--born: wanted the date of birth of Sunniva Lund" in later.err) == (2, True)
    assert file("Sunniva Lund", "--born", "2009-05-12", signed="2027-05-12").code == 0


def test_papers_of_somebody_erased_carry_nothing_new(bizkit, in_force, studio):
    shutil.copytree(in_force, studio, dirs_exist_ok=True)
    done = bizkit("person", "erase", "Eilidh Rendall", "--yes", "--reason", "asked by letter", "--on", "2027-07-01")
    assert "rests on it" in done.out
    # What was granted before stays held.
    assert check(bizkit, on="2027-07-02")["cleared"]
    offer = f"rights offer {JOB} --media paid_social --where GB --from 2028-07-01 --months 3 --on 2027-07-02 --json"
    key = run(bizkit, offer).data["key"]
    bizkit("quote", "send", key, "--on", "2027-07-02")
    bizkit("quote", "accept", key, "--on", "2027-07-02")
    gaps = [
        gap["why"] for gap in check(bizkit, on="2027-07-03", job=key)["gaps"] if gap["subject"].startswith("person-")
    ]
    assert "nothing held: they asked to be erased on 2027-07-01: kept as evidence alone" in gaps


def test_the_original_of_a_corrected_paper_stays(bizkit, file):
    old = file("Isla Marwick").data["id"]
    assert (
        bizkit("holding", "correct", JOB, old, "--months", "12", "--reason", "read again", "--on", "2027-05-21").code
        == 0
    )
    refused = bizkit("holding", "drop", JOB, old, "--reason", "tidy", "--on", "2027-05-22")
    assert (refused.code, "was signed, and stays on file beside paper" in refused.err) == (1, True)


def test_a_paper_corrected_away_from_its_form_says_what_that_printed(bizkit, file, by_form):
    form = by_form("talent_release", "Isla Marwick", "--media", "online", "--where", "GB")
    paper = file("Isla Marwick", *form, terms=()).data["id"]
    again = f"holding correct {JOB} {paper} --media all --where World --reason 'read again' --on 2027-05-21"
    done = run(bizkit, again)
    assert "which printed online / GB" in done.out.replace("United Kingdom", "GB")


@pytest.mark.parametrize(
    ("where", "said"),
    [
        (["World except USA", "Germany"], "World except United States"),
        (["Europe except Germany", "Germany"], "Europe"),
        (["Europe except Germany", "France"], "Europe except Germany"),
    ],
)
def test_a_form_never_says_left_out_what_it_asks_for(bizkit, clear, where, said):
    terms = [word for one in where for word in ("--where", one)]
    form = run(bizkit, f"papers form model_release {JOB} --about 'Isla Marwick' --on 2027-05-01 --json", *terms)
    assert f"Where {said} " in printed(form.data["file"])


def test_two_forms_are_never_one_file(bizkit, clear):
    write = ["release", "form", JOB, "--who", "Isla Marwick", "--on", "2027-05-01", "--json"]
    one, two = bizkit(*write).data, bizkit(*write, "--where", "Ireland").data
    assert one["file"] != two["file"]
    assert one["number"] in printed(one["file"])
    past = bizkit("release", "form", JOB, "--who", "Isla Marwick", "--until", "2026-01-01", "--on", "2027-05-01")
    assert (past.code, "--until: wanted a last day on or after 2027-05-01, when it is written" in past.err) == (
        2,
        True,
    )


def test_slips_of_the_year_are_a_look(bizkit, file):
    done = file("Isla Marwick", signed="2019-05-10")
    assert "signed on 2019-05-10, more than a year before the job was accepted" in " ".join(done.data["warnings"])
    early = file("Kirsty Mowat", "--from", "2020-01-01")
    assert "it allows from 2020-01-01 on, before it was signed on 2027-05-14" in " ".join(early.data["warnings"])


def test_a_performance_licence_is_asked_about_child_by_child(bizkit, file):
    file("Finn Sinclair", "--guardian", "Morag Sinclair", "--born", "2017-08-02")
    noted = f"holding add {JOB} --kind child_licence --about 'Somebody Else' --from 2027-05-01 --until 2027-05-20"
    run(bizkit, f"{noted} --on 2027-05-02")
    hints = [one for one in check(bizkit)["hints"] if "child performance licence" in one]
    assert [one.partition(". ")[0] for one in hints] == [
        "under 18, without a child performance licence noted: Finn Sinclair"
    ]


def test_conditions_are_those_of_who_is_in_the_work(bizkit, file):
    file("Isla Marwick", "--client-condition", "Nothing for alcohol")
    file("Kirsty Mowat", "--client-condition", "First names only")
    bizkit("rights", "link", JOB, "all", "--who", "Isla Marwick", "--on", "2027-05-20")
    said = bizkit("rights", "explain", JOB, "--on", "2027-06-01", "--json").data["conditions"]
    assert said == ["Nothing for alcohol"]


def test_a_sidecar_names_the_licence_its_files_go_out_under(bizkit, in_force, studio, tmp_path):
    from PIL import Image

    shutil.copytree(in_force, studio, dirs_exist_ok=True)
    client = 'name = "Example Ferries"\ncountry = "GB"\nsector = "ferries"\n'
    (studio / "clients" / "example-ferries.toml").write_text(client, encoding="utf-8")
    offer = f"rights offer {JOB} --to example-ferries --media online --where GB --from 2027-09-01"
    key = run(bizkit, f"{offer} --months 3 --at-once --on 2027-07-01 --json").data["key"]
    bizkit("quote", "send", key, "--on", "2027-07-01")
    bizkit("quote", "accept", key, "--on", "2027-07-02")
    second = run(bizkit, f"rights grant {key} --override 'forms come later' --on 2027-07-03 --json").data["number"]
    still = tmp_path / "kelp-01.jpg"
    Image.new("RGB", (64, 48), (10, 90, 90)).save(still)
    write = f"rights sidecar {JOB} stills {still} --replace --on 2027-07-05 --json"
    assert run(bizkit, write).data["licence"] == "LC-2027-0001"
    named = run(bizkit, f"{write} --licence {second}").data
    assert named["licence"] == second
    assert any("given for Skerrow Islands Tourism alone" in one for one in named["look"])
    assert run(bizkit, f"{write} --licence LC-2027-0009").code == 2


def test_an_offer_keeps_the_credit_and_the_limits_of_the_works(bizkit, in_force, studio):
    shutil.copytree(in_force, studio, dirs_exist_ok=True)
    client = 'name = "Example Ferries"\ncountry = "GB"\nsector = "ferries"\n'
    (studio / "clients" / "example-ferries.toml").write_text(client, encoding="utf-8")
    own = " ".join(run(bizkit, f"rights explain {JOB} --on 2027-07-01 --json").data["sentences"])
    kept = [one for one in ("Where names are given, credit: ", "Not for: ") if one in own]
    assert kept
    offer = f"rights offer {JOB} --to example-ferries --media online --where GB --from 2027-09-01 --months 3"
    said = " ".join(run(bizkit, f"{offer} --on 2027-07-01 --json").data["sentences"])
    assert [one for one in kept if one in said] == kept


def test_a_certificate_of_a_licence_ended_early_says_no_later_day(bizkit, in_force, studio):
    shutil.copytree(in_force, studio, dirs_exist_ok=True)
    done = run(bizkit, f"rights end {JOB} --reason 'not paid' --after 2027-07-15 --on 2027-08-06")
    assert "it was in force from 2027-07-16 to 2027-08-05, and by this it was not" in done.out
    paper = run(bizkit, f"rights certificate {JOB} --on 2027-08-06 --json").data["file"]
    said = printed(paper)
    assert "This licence ended on 15 July 2027: not paid. From the day after nothing" in said
    assert "It runs from 1 July 2027 to 15 July 2027" in said
    assert "30 June 2028" not in said


def test_a_certificate_says_what_is_not_held_any_more(bizkit, in_force, studio):
    shutil.copytree(in_force, studio, dirs_exist_ok=True)
    (paper,) = [row["id"] for row in bizkit("release", "list", JOB, "--json").data]
    run(bizkit, f"holding withdraw {JOB} {paper} --reason asked --on 2027-07-20")
    for command in ("certificate", "explain"):
        more = ["--reason", "told the client"] if command == "certificate" else []
        said = run(bizkit, f"rights {command} {JOB} --on 2027-07-21", *more).out
        assert "Look: not held: talent release: Eilidh Rendall" in said


def test_who_comes_of_age_is_told_at_the_grant(bizkit, file):
    file("Almost Grown", "--guardian", "A Parent", "--born", "2010-01-01")
    granted = run(bizkit, f"rights grant {JOB} --override 'papers come later' --on 2027-06-14")
    assert "turns 18 on 2028-01-01" in granted.out


def test_who_came_of_age_is_told_at_a_use(bizkit, in_force, studio, scan):
    shutil.copytree(in_force, studio, dirs_exist_ok=True)
    young = "--who 'Almost Grown' --guardian 'A Parent' --born 2010-01-01 --signed 2027-05-14 --on 2027-06-21"
    assert run(bizkit, f"release add {JOB} {young} --scan {scan}", *TERMS).code == 0
    ask = f"rights use {JOB} --media paid_social --where IE --json"
    used = run(bizkit, f"{ask} --on 2028-02-01").data
    assert any("turned 18 on 2028-01-01" in one for one in used["look"])
    assert used["held"]  # by the paper of the guardian it is held until they say otherwise
    assert run(bizkit, f"{ask} --on 2027-12-31").data["look"] == []
    # Their own signature answers it, for as much as it says.
    own = scan.with_name("own.pdf")
    own.write_bytes(scan.read_bytes() + b"% own")
    less = ["--media", "online", "--where", "IE", "--until", "2028-03-01"]
    for terms, lacks in ((less, ["does not reach far enough"]), (TERMS, [])):
        signed = f"release add {JOB} --who 'Almost Grown' --signed 2028-02-02 --on 2028-02-02 --scan {own}"
        assert run(bizkit, signed, *terms).code == 0
        found = check(bizkit, on="2028-02-03")
        assert not any("turned 18" in one for one in found["warnings"])
        assert [one["why"] for one in found["gaps"] if one["name"] == "Almost Grown"] == lacks
    assert run(bizkit, f"{ask} --on 2028-02-03").data["look"] == []


@pytest.fixture
def passed_on(bizkit, job, studio):
    """`passed_on('transfer = true')`: a second job, by a licence that says so too."""

    def accept(line):
        text = (studio / "briefs" / f"{job}.toml").read_text("utf-8")
        for old, new in (
            (f'key = "{job}"', 'key = "shared"'), ("[licence]\n", f"[licence]\n{line}\n"),
            ('exclusivity = "sector"\nsector = "tourism"\n', ""),
        ):  # fmt: skip
            assert text.count(old) == 1
            text = text.replace(old, new)
        (studio / "briefs" / "shared.toml").write_text(text, "utf-8")
        for command in ("draft", "send", "accept"):
            done = bizkit("quote", command, "shared", "--on", "2027-02-09")
            assert done.code == 0, done.err
        return "shared"

    return accept


@pytest.mark.parametrize(
    ("line", "before", "after", "missing"),
    [
        ('affiliates = ["Example Ferries"]', "affiliates", "by Example Ferries", "is for Example Ferries too"),
        ("transfer = true", "passed_on", "by those to whom Skerrow Islands Tourism passes them on", "may pass it on"),
    ],
)
def test_a_form_for_one_client_carries_no_others_that_it_does_not_name(
    bizkit, passed_on, studio, scan, line, before, after, missing
):
    import sqlite3

    job = passed_on(line)
    form = f"release form {job} --who 'Finn Moar' --on 2027-03-01 --json"
    done = run(bizkit, form)
    assert done.code == 0, done.err
    assert f"by Skerrow Islands Tourism, {after}" in printed(done.data["file"])
    filed = f"release add {job} --who 'Finn Moar' --born 1990-05-01 --form {done.data['number']} --signed 2027-03-02"
    done = run(bizkit, f"{filed} --scan {scan} --on 2027-03-02 --json")
    assert done.code == 0, done.err
    paper = done.data["id"]
    run(bizkit, f"rights link {job} all --who 'Finn Moar' --on 2027-03-02")
    assert why(bizkit, "Finn Moar", on="2027-03-03", job=job) == []
    # As a form of before named nobody else, what was filed on it holds for its client alone.
    with sqlite3.connect(studio / "book.sqlite") as book:
        told = book.execute("update holding set data = json_remove(data, ?) where id = ?", (f"$.{before}", paper))
        assert told.rowcount == 1
    (gap,) = why(bizkit, "Finn Moar", on="2027-03-03", job=job)
    assert gap.startswith("nothing held: given for Skerrow Islands Tourism alone, and ")
    assert missing in gap


def test_a_corrected_signature_of_another_says_by_what_right(bizkit, file):
    paper = file("Una Two", "--born", "1990-01-01").data["id"]
    changed = f"holding correct {JOB} {paper} --by 'Una Friend' --reason 'looked again' --on 2027-05-21"
    refused = run(bizkit, changed)
    assert refused.code == 1
    assert "Una Friend signed for Una Two, of age: say by what right with --authority" in refused.err
    done = run(bizkit, f"{changed} --authority 'power of attorney of 3 May 2027' --json")
    assert done.code == 0, done.err
    # What was said of it stays with a later correction of something else.
    again = f"holding correct {JOB} {done.data['id']} --signed 2027-05-13 --reason 'the day'"
    done = run(bizkit, f"{again} --on 2027-05-22")
    assert done.code == 0, done.err


def test_the_sheet_on_which_consent_was_taken_back_gives_it_to_nobody_again(bizkit, file):
    paper = file("Brodie Muir").data["id"]
    run(bizkit, f"holding withdraw {JOB} {paper} --reason 'changed his mind' --on 2027-05-21")
    for who, signed in (("Brodie Muir", "2027-05-22"), ("B. Muir", "2027-05-14")):
        refused = file(who, signed=signed, on="2027-05-22")
        assert refused.code == 1
        assert f"the same scan is on file as paper {paper} of {JOB}, on which consent was taken back" in refused.err
    both = file("Ina Muir", "--reason", "his sister signed the same sheet", on="2027-05-22")
    assert both.code == 0, both.err
    (look,) = [one for one in both.data["warnings"] if "same scan" in one]
    assert f"paper {paper} of {JOB}, signed on 2027-05-14, and withdrawn since" in look


def test_our_form_for_one_client_stays_so_when_corrected(bizkit, file, by_form):
    filed = bizkit(
        "holding", "add", JOB, "--kind", "talent_release", "--about", "Una Two", "--signed", "2027-05-14",
        *by_form("talent_release", "Una Two", "--media", "online", "--where", "GB", "--without-end"),
        "--scan", file.scan, "--on", "2027-05-20", "--json",
    )  # fmt: skip
    assert filed.code == 0, filed.err
    changed = f"holding correct {JOB} {filed.data['id']} --reason phoned --on 2027-05-21"
    refused = run(bizkit, f"{changed} --any-client")
    assert refused.code == 2
    assert "names Skerrow Islands Tourism alone" in refused.err
    grown = run(bizkit, f"{changed} --guardian 'Her Mother' --born 1990-01-01")
    assert grown.code == 1
    assert "has no line for a parent or guardian" in run(bizkit, f"{changed} --guardian 'Her Mother'").err


def test_a_licence_is_not_confirmed_as_in_force_with_what_is_not_held_any_more(bizkit, held_and_waiting):
    number, paper = held_and_waiting
    run(bizkit, f"holding withdraw {JOB} {paper} --reason 'changed her mind' --on 2027-06-16")
    bizkit("invoice", "paid", "GL-2027-0002", "--on", "2027-06-20")
    refused = run(bizkit, f"rights certificate {number} --on 2027-07-02")
    assert refused.code == 1
    assert f"{number} would be confirmed as in force, and is not held: talent release: Eilidh Rendall" in refused.err
    told = run(bizkit, f"rights certificate {number} --on 2027-07-02 --reason 'told the client' --json")
    assert (told.code, told.data["state"], told.data["revision"]) == (0, "live", 2)
    # Said once: what is on paper already is handed out again.
    assert run(bizkit, f"rights certificate {number} --on 2027-07-03").code == 0


@pytest.fixture
def held_and_waiting(bizkit, clear):
    """A licence granted with everything held, its last invoice open; its number, and the paper of one performer."""
    for line in (
        f"invoice issue {JOB} --on 2027-02-08", "invoice paid GL-2027-0001 --on 2027-03-01",
        f"rights grant {JOB} --on 2027-06-14", f"invoice issue {JOB} --stage 2 --reason agreed --on 2027-06-14",
    ):  # fmt: skip
        done = run(bizkit, line)
        assert done.code == 0, done.err
    papers = bizkit("holding", "list", JOB, "--json").data
    (paper,) = [one["id"] for one in papers if one["subject"] == "Eilidh Rendall"]
    return "LC-2027-0001", paper


def test_a_client_who_reads_german_gets_german_dates_and_amounts(bizkit, job, studio):
    client = studio / "clients" / "skerrow-islands-tourism.toml"
    text = client.read_text("utf-8")
    assert "language" not in text
    client.write_text(f'language = "de"\n{text}', "utf-8")
    brief = studio / "briefs" / f"{job}.toml"
    brief.write_text(brief.read_text("utf-8").replace(f'key = "{job}"', 'key = "second"'), "utf-8")
    assert bizkit("quote", "draft", brief, "--on", "2027-02-09").code == 0
    done = bizkit("quote", "send", "second", "--on", "2027-02-09", "--json")
    assert done.code == 0, done.err
    words = printed(done.data["file"])
    assert "9. Februar 2027" in words
    assert "February" not in words
    net = Decimal(done.data["net"])
    assert f"{net:,.2f}".translate(str.maketrans(",.", ".,")) in words


def test_a_second_owner_still_to_sign_is_a_look(bizkit, clear):
    signed = [row for row in bizkit("holding", "list", JOB, "--json").data if row["kind"] == "location_permission"]
    place = signed[0]["subject"]
    assert not [one for one in check(bizkit)["warnings"] if "still to be signed" in one]
    noted = bizkit("permission", "add", JOB, "--place", place, "--by", "Owner Two", "--on", "2027-05-20", "--json")
    assert noted.code == 0, noted.err
    found = check(bizkit)
    assert found["cleared"]
    (look,) = [one for one in found["warnings"] if "still to be signed" in one]
    assert look.startswith(f"location permission: {place} is held, and paper {noted.data['id']} about it")
    granted = bizkit("rights", "grant", JOB, "--on", "2027-06-14", "--json")
    assert look in granted.data["look"]
    bizkit("holding", "drop", JOB, noted.data["id"], "--reason", "one owner can give it", "--on", "2027-06-15")
    assert not [one for one in check(bizkit)["warnings"] if "still to be signed" in one]


def test_a_licence_granted_to_another_name_than_the_clients_is_a_look(bizkit, clear, studio):
    client = studio / "clients" / "skerrow-islands-tourism.toml"
    client.write_text(client.read_text("utf-8").replace("Skerrow Islands Tourism", "Visit Skerrow"), "utf-8")
    assert run(bizkit, f"job client {JOB} --on 2027-03-01").code == 0
    granted = run(bizkit, f"rights grant {JOB} --on 2027-06-14 --json")
    assert granted.code == 0, granted.err
    assert granted.data["licensee"] == "Skerrow Islands Tourism"
    (look,) = granted.data["look"]
    assert look.startswith(
        "granted to Skerrow Islands Tourism, as its quote was accepted; the job's client is called Visit"
    )
