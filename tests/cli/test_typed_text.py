"""What no paper, mail or database can carry is refused where it is typed, and giants and ends of the calendar too."""

from __future__ import annotations

import contextlib
import inspect
import sys
import typing
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, BizkitError
from bizkit.domain.plain_text import carried, check_text

#: Line ends and a tab; a control character; U+0085; noncharacters; half of a surrogate pair.
BREAKS = ("a\nb", "a\tb", "a\x85b", "a\u2028b", "a\rb", "a\x0bb")
UNCARRIED = ("a\x07b", "a\x1bb", "a\ufffeb", "a\udc80b", "a\U0010ffffb")


@given(st.text())
def test_what_passes_goes_into_xml_utf_8_and_a_mail_header(text):
    from lxml import etree

    try:
        check_text(text, field="title")
    except BadInput:
        return
    element = etree.Element("a")
    element.text = text  # lxml refuses what XML 1.0 does not hold
    assert etree.fromstring(etree.tostring(element, encoding="utf-8")).text == (text or None)
    assert "\0" not in text
    assert len(text.splitlines()) <= 1


@given(st.text(alphabet=st.characters(), max_size=20))
def test_what_others_write_is_made_fit(text):
    fit = carried(text)
    assert len(fit) == len(text)
    assert check_text(fit) == fit


TITLE = 'title = "Follow the Kelp"'
BRIEF, CLIENT = "briefs/follow-the-kelp.toml", "clients/skerrow-islands-tourism.toml"


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        (BRIEF, TITLE, 'title = "Follow\\nthe Kelp"', "title: wanted text on one line"),
        (BRIEF, TITLE, 'title = "Follow\\u0000 Kelp"', "title: wanted text without control characters"),
        (BRIEF, TITLE, 'title = "Follow\\uFFFE Kelp"', "It holds U+FFFE"),
        ("studio.toml", '"Gannet & Lark Films"', '"Gannet & Lark\\tFilms"', "name: wanted text on one line"),
        ("studio.toml", '["2 Slipway Cottages"]', '["2 Slipway\\nCottages"]', "address: wanted text on one line"),
        (CLIENT, '"Una Flett"', '"Una\\rFlett"', "contact: wanted text on one line"),
        ("rate-card.toml", "[crew.director]", '[crew."dir\\u0007ector"]', "crew: wanted text without control"),
        ("floor.toml", "[costs]", '[costs]\n"a\\nb" = 1', "costs: wanted text on one line"),
    ],
)  # fmt: skip
def test_a_settings_file_is_refused_before_anything_is_made_of_it(bizkit, studio, change, file, old, new, said):
    change(studio / file, old, new)
    done = bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-01-26")
    assert (done.code, done.out) == (2, "")
    assert f"{file.rpartition('/')[2]}: " in done.err
    assert said in done.err
    assert len(done.err.splitlines()) == 1


def test_a_note_may_run_over_several_lines(bizkit, studio, change):
    brief = studio / "briefs" / "follow-the-kelp.toml"
    change(brief, 'note = "Housing vacuum test, ballast', 'note = "Housing vacuum test\\n\\tballast')
    assert bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-01-26").code == 0


def test_every_text_of_every_command_is_looked_at(commands):
    """Found from the command tree; what takes several lines says so, and names of files are their own business."""
    from bizkit.cli.typed_text import LINES

    seen = 0
    for command in commands.values():
        for one in command.params:
            if getattr(one, "is_flag", False) or _hint(command, one) & {Path, int, float, bool} or one.name == "help":
                continue
            for text in (*UNCARRIED, *(BREAKS if one.metavar != LINES else ())):
                with pytest.raises(BadInput, match=r"It holds U\+"):  # before the command runs: nothing else is given
                    command.callback(**{one.name: text})
                seen += 1
            if one.metavar == LINES:
                with pytest.raises((BadInput, TypeError)) as other:
                    command.callback(**{one.name: "one\nand two"})
                assert "It holds" not in str(other.value)
    assert seen > 2000


@pytest.mark.parametrize(
    "command",
    [
        (
            "charge",
            "add",
            "follow-the-kelp",
            "--what",
            "{}",
            "--amount",
            "1",
            "--reason",
            "x",
            "--agreed",
            "Una, by mail",
        ),
        ("invoice", "credit", "GL-2027-0001", "--reason", "{}"),
        ("quote", "accept", "{}"),
        ("release", "add", "follow-the-kelp", "--who", "Finn Sinclair", "--media", "online", "--media", "{}"),
        ("deliverable", "notes", "follow-the-kelp", "campaign-film", "--who", "{}", "--text", "shorter"),
    ],
)
def test_what_is_typed_is_refused_in_one_line(bizkit, job, command):
    for text in ("a\nb", "a\ufffeb"):
        done = bizkit(*(word.replace("{}", text) for word in command))
        assert (done.code, done.out, len(done.err.splitlines())) == (2, "", 1)
        assert f"It holds U+{ord(text[1]):04X}" in done.err


def _hint(command, parameter):
    """The types that a parameter of a command has."""
    hint = typing.get_type_hints(inspect.unwrap(command.callback))[parameter.name]
    parts = {hint, *typing.get_args(hint)}
    return parts | {inner for part in parts for inner in typing.get_args(part)}


def test_a_charge_no_paper_could_show_is_refused_when_it_is_typed(bizkit, job):
    for what in ("\u0642\u0627\u0631\u0628", "\u6d77\u5e95"):
        done = bizkit(
            "charge", "add", job, "--what", what, "--amount", "10", "--reason", "x", "--agreed", "Una, by mail",
            "--on", "2027-05-01",
        )  # fmt: skip
        assert (done.code, done.out) == (2, "")
        assert "--what: wanted letters that the papers can draw" in done.err
    assert bizkit("charge", "list", "--json").data["charges"] == []


def test_a_name_no_paper_could_show_is_refused_by_the_draft(bizkit, studio, change):
    change(studio / "clients" / "skerrow-islands-tourism.toml", '"Una Flett"', '"\u05d0\u05d5\u05e0\u05d4"')
    done = bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-01-26")
    assert done.code == 2
    assert "client.contact: wanted letters that the papers can draw" in done.err
    assert bizkit("quote", "list", "--json").data == []


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        # Published sample numbers with one sign changed: ISO 13616 check digits, ISO 9362 form, UK VAT modulus 97.
        (
            "GB29 NWBK 6016 1331 9268 19",
            "GB29 NWBK 6016 1331 9268 18",
            "bank.iban: wanted an IBAN whose check digits",
        ),
        ("NWBKGB2L", "NWBKGB2", "bank.bic: wanted a BIC of 8 or 11 characters, got NWBKGB2"),
        ('"GB980780684"', '"GB980780685"', "tax.number: wanted a VAT number of GB whose check digits"),
    ],
)
def test_bank_details_are_checked_whenever_they_are_read(bizkit, studio, change, old, new, said):
    change(studio / "studio.toml", old, new)
    for command in (("rates", "check"), ("status",), ("price", "follow-the-kelp", "--on", "2027-01-26")):
        done = bizkit(*command)
        assert (done.code, f"studio.toml: {said}" in done.err) == (2, True), done


@pytest.mark.parametrize(
    ("file", "old", "new", "said"),
    [
        ("briefs/follow-the-kelp.toml", 'territory = "United Kingdom and Ireland"', "territory = []",
         "licence.territory: wanted a territory with at least one country, got nothing"),
        ("rate-card.toml", "[usage.exclusivity]", "[usage.exclusivity]\nnone = 0",
         "usage.exclusivity.none: wanted a factor above zero, got 0"),
        ("briefs/follow-the-kelp.toml", "date = 2027-05-06", "date = 9999-12-31\ncount = 5",
         "days[1].date: wanted a date before the year 9000, got 9999-12-31"),
        ("briefs/follow-the-kelp.toml", "date = 2027-05-06", "date = 0001-01-01",
         "days[1].date: wanted a date from the year 1000 on, got 0001-01-01"),
        ("briefs/follow-the-kelp.toml", "[[days]]", f"x = {'[' * 5000}{']' * 5000}\n[[days]]",
         "wanted a brief in TOML, got tables or lists nested too deep"),
        ("rate-card.toml", "minimum = 950", "minimum = 1e-30", "fees.minimum: wanted 0 or a number of 1e-12 or more"),
        ("rate-card.toml", "minimum = 950", "minimum = 1e40",
         "fees.minimum: wanted a number of 0 or more, got 1E+40. That is: a number of 18 digits or fewer"),
    ],
)  # fmt: skip
def test_what_once_ended_in_a_traceback_is_one_line(studio, monkeypatch, change, file, old, new, said):
    from bizkit.cli.main import app

    text = (studio / file).read_text(encoding="utf-8")
    if old == "[usage.exclusivity]":
        text = "\n".join(line for line in text.splitlines() if not line.startswith("none = "))
        (studio / file).write_text(text, encoding="utf-8")
    change(studio / file, old, new)
    monkeypatch.setattr(sys, "argv", ["bizkit", "price", "follow-the-kelp", "--on", "2027-01-26"])
    # The app itself, without the boundary around it that turns any fault into a line.
    with pytest.raises(BizkitError) as error, contextlib.redirect_stdout(None):
        app(prog_name="bizkit", standalone_mode=False)
    assert error.value.exit_code == 2
    assert said in str(error.value)


def test_giant_amounts_are_refused_at_every_door(bizkit, job, studio):
    giant = "99999999999999.99"
    wanted = "wanted an amount of 13 digits or fewer before the point"
    for command in (
        ("cost", "add", job, "--kind", "boat", "--amount", giant), ("overhead", "add", "ship", giant),
        ("charge", "add", job, "--what", "x", "--reason", "y", "--agreed", "Una, by mail", "--amount", giant),
    ):  # fmt: skip
        done = bizkit(*command, "--on", "2027-05-01")
        assert (done.code, wanted in done.err) == (2, True), done
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write('\n[statement.harbour]\ndate = "Date"\namount = "Amount"\ntext = "Details"\n')
    (studio / "may.csv").write_text(f"Date,Details,Amount\n01/05/2027,x,{giant}\n", encoding="utf-8")
    # ISO 20022 allows 18 digits in all.
    entry = (
        '<Ntry><Amt Ccy="GBP">9999999999999999.00</Amt><CdtDbtInd>CRDT</CdtDbtInd><Sts><Cd>BOOK</Cd></Sts>'
        "<BookgDt><Dt>2027-05-01</Dt></BookgDt></Ntry>"
    )
    (studio / "may.xml").write_text(
        '<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.001.08"><BkToCstmrStmt><Stmt><Acct><Id><IBAN>'
        f"GB29NWBK60161331926819</IBAN></Id></Acct>{entry}</Stmt></BkToCstmrStmt></Document>",
        encoding="utf-8",
    )
    for name in ("may.csv", "may.xml"):
        done = bizkit("bank", "import", name, "--on", "2027-05-02")
        assert wanted in done.err + done.out, done
        assert bizkit("bank", "list", "--json").data == []
    assert bizkit("deliverable", "notes", job, "campaign-film", "--text", "x", "--version", 10**20).code == 2


def test_a_template_that_cannot_be_filled_is_named(bizkit, job, studio):
    own = studio / "templates" / "papers" / "en"
    own.mkdir(parents=True)
    for body, said in (
        ("{% for i in range(10**7) %}x{% endfor %}", "wanted a template that can be filled"),
        ("<image asset='*'/>", "wanted a filed image, got *"),
        ("{{ [][3].x }}{{ 1 // 0 }}", "en/invoice.xml.j2"),
    ):
        (own / "invoice.xml.j2").write_text(f"<paper>{body}</paper>", encoding="utf-8")
        done = bizkit("invoice", "issue", job, "--on", "2027-02-08")
        assert done.code == 2, done
        assert said in done.err or "invoice" in done.err
        assert "report" not in done.err
        assert bizkit("invoice", "list", "--json").data == []


def test_who_acts_is_text_too(bizkit, job, monkeypatch):
    monkeypatch.setenv("BIZKIT_WHO", "Ailsa\nGannet")
    from bizkit.services.studio.studio_folder import StudioFolder

    with pytest.raises(BadInput, match="BIZKIT_WHO: wanted text on one line"):
        StudioFolder.find().stamp(date(2026, 1, 1))
