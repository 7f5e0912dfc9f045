"""What is allowed and yet looks like a slip - a year, a time, a name, a number - is told before a quote goes out."""

from __future__ import annotations

import re

import pytest

BRIEF = "briefs/follow-the-kelp.toml"
CLIENT = "clients/skerrow-islands-tourism.toml"


def looks(done):
    assert done.code == 0, done.err
    return [line.removeprefix("Look: ") for line in done.out.splitlines() if line.startswith("Look: ")]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "date = 2027-05-06", "date = 2017-05-06",
            "days[2].date 2027-05-09 is 3655 days after 2017-05-06: check the year of both",
        ),
        ("date = 2027-05-06", "date = 2027-01-06", "days[1].date 2027-01-06 lies before asked_on, 2027-01-25"),
        ('wrap = "18:30"', 'wrap = "06:30"', "days[3]: from call 07:30 to wrap 06:30 is 23 hours, into the next day"),
        ("hours = 9\n", "hours = 19\n", "days[2]: 19 hours of work in a day: check the number"),
        ('"Rowan Lark"', '"Rowan Larc"', "Rowan Larc is nobody of people in studio.toml. Did you mean Rowan Lark?"),
        ("quantity = 2\n", "quantity = 1_000_000\n", "1000000 crossing - is the quantity right?"),
        ('sector = "tourism"', 'sector = "turism"', "licence.sector is turism, but the client's file says tourism"),
    ],
)  # fmt: skip
def test_a_slip_in_a_brief_is_told_when_it_is_priced_and_drafted(bizkit, studio, change, old, new, said):
    fine = bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-02-01")
    assert looks(fine) == []
    change(studio / BRIEF, old, new)
    for command in (("price",), ("quote", "draft")):
        told = looks(bizkit(*command, "follow-the-kelp", "--on", "2027-02-01"))
        assert [one for one in told if said in one], told


def test_a_slip_in_an_option_is_told_with_its_place(bizkit, studio):
    with (studio / BRIEF).open("a", encoding="utf-8") as file:
        file.write(
            '\n[options.pier]\nkind = "addon"\ntitle = "The pier too"\n'
            '[[options.pier.days]]\nkind = "dry"\ndate = 2027-05-20\ncall = "08:00"\nwrap = "07:00"\n'
            'crew = [{ person = "Ailsa Gannett", roles = ["director"] }]\n'
        )
    told = " ".join(looks(bizkit("price", "follow-the-kelp", "--on", "2027-02-01")))
    assert "options.pier.days[1]: from call 08:00 to wrap 07:00 is 23 hours" in told
    assert "options.pier.days[1].crew[1].person: Ailsa Gannett is nobody of people" in told


def test_a_quote_of_days_that_are_over_is_told_at_each_step(bizkit, studio):
    said = "the days quoted were over on 2027-05-14, before 2027-10-01"
    commands = (("price", "follow-the-kelp"), ("quote", "draft", "follow-the-kelp"))
    for command in commands:
        assert any(said in one for one in looks(bizkit(*command, "--on", "2027-10-01")))
    bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-02-01")
    assert any(said in one for one in looks(bizkit("quote", "send", "follow-the-kelp", "--on", "2027-10-01")))
    assert any(said in one for one in looks(bizkit("quote", "accept", "follow-the-kelp", "--on", "2027-10-01")))
    # What only has begun is said so; and what is told is no change of the offer.
    assert any("began on 2027-05-06, before 2027-05-10" in one for one in looks(
        bizkit("price", "follow-the-kelp", "--on", "2027-05-10")
    ))  # fmt: skip


def test_what_is_told_makes_no_new_revision(bizkit, studio):
    bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-02-01")
    bizkit("quote", "send", "follow-the-kelp", "--on", "2027-02-01")
    again = bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-05-20")
    assert (again.code, "brief and rate card are as in Q-2027-0001" in again.err) == (1, True)


def test_a_rate_card_to_come_is_told(bizkit, studio, change):
    change(studio / "rate-card.toml", "valid_from = 2027-01-01", "valid_from = 2028-01-01")
    told = " ".join(looks(bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-02-01")))
    assert "rate-card.toml: valid_from 2028-01-01 is after 2027-02-01, the day of the quote" in told


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("day_rate = 520", "day_rate = 520.005", "crew.director.day_rate is GBP 520.005, with a part of"),
        ("day_rate = 520", "day_rate = 0", "crew.director.day_rate is 0: whoever asks for it pays nothing"),
        ("day_rate = 380", "day_rate = 0", "post.edit.day_rate is 0"),
        ("cost = 178.50", "cost = 178.505", "GBP 178.505, with a part of"),
        ("[crew.stills]", "[crew.Stills]", "[crew.Stills] has capitals, and briefs must write it just so"),
    ],
)
def test_a_rate_that_looks_wrong_is_told_with_the_card(bizkit, studio, change, old, new, said):
    fine = bizkit("rates", "check")
    assert "nothing wrong" in fine.out
    change(studio / "rate-card.toml", old, new)
    told = bizkit("rates", "check")
    assert any(said in one for one in looks(told)), told.out
    assert "nothing wrong" not in told.out
    assert any(said in one for one in bizkit("rates", "check", "--json").data["looks"])


def without(path, *keys):
    """Take the lines of these keys out of a settings file."""
    text = path.read_text(encoding="utf-8")
    path.write_text(re.sub(rf"(?m)^({'|'.join(keys)}) = .*\n", "", text), encoding="utf-8")


def test_what_an_invoice_would_lack_is_told_with_the_draft(bizkit, studio):
    without(studio / CLIENT, "address", "city", "postcode")
    (told,) = looks(bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-02-01"))
    assert f"the invoice names the client's address (reg 14(1)(e)): write it in {CLIENT}" in told


def test_a_studio_without_an_account_bills_only_with_a_reason(bizkit, studio):
    without(studio / "studio.toml", "iban", "bic", "sort_code", "account_number")
    (told,) = looks(bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-02-01"))
    assert told.startswith("studio.toml says no account")
    assert "write iban under [bank]" in told
    bizkit("quote", "send", "follow-the-kelp", "--on", "2027-02-01")
    bizkit("quote", "accept", "follow-the-kelp", "--on", "2027-02-01")
    issue = ("invoice", "issue", "follow-the-kelp", "--on", "2027-02-01")
    refused = bizkit(*issue)
    assert (refused.code, refused.out) == (1, "")
    assert "studio.toml says no account" in refused.err
    assert bizkit("invoice", "list", "--json").data == []
    # Money that came first is not to be paid any more.
    assert bizkit("invoice", "deposit", "follow-the-kelp", "100", "--received", "2027-02-01").code == 0
    assert bizkit(*issue, "--reason", "in cash on the quay").code == 0


@pytest.mark.parametrize("file", ["studio.toml", CLIENT])
def test_a_language_without_papers_is_refused_where_it_stands(bizkit, studio, change, file):
    path = studio / file
    text = re.sub(r"(?m)^language = .*\n", "", path.read_text(encoding="utf-8"))
    path.write_text('language = "fr"\n' + text, encoding="utf-8")
    for command in (("price", "follow-the-kelp"), ("quote", "draft", "follow-the-kelp")):
        refused = bizkit(*command)
        assert (refused.code, refused.out) == (2, "")
        assert f"{file}: language: wanted a language there are papers in (de, en), got fr" in refused.err
    # With papers and words of its own the studio speaks it.
    papers = studio / "templates" / "papers" / "fr"
    papers.mkdir(parents=True)
    (papers / "quote.xml.j2").write_text("<page><text>Devis</text></page>", encoding="utf-8")
    assert bizkit("price", "follow-the-kelp").code == 2
    (studio / "templates" / "wording").mkdir()
    (studio / "templates" / "wording" / "fr.toml").write_text("", encoding="utf-8")
    assert bizkit("price", "follow-the-kelp").code == 0


def test_a_draft_in_a_language_without_papers_says_to_draft_again(bizkit, studio):
    import json
    import sqlite3

    bizkit("quote", "draft", "follow-the-kelp", "--on", "2027-02-01")
    with sqlite3.connect(studio / "book.sqlite") as book:  # as a bizkit before this rule would have kept it
        (document,) = book.execute("SELECT document FROM draft").fetchone()
        book.execute("UPDATE draft SET document = ?", (json.dumps({**json.loads(document), "language": "fr"}),))
    refused = bizkit("quote", "send", "follow-the-kelp", "--on", "2027-02-01")
    assert (refused.code, refused.out) == (1, "")
    assert "was drafted in the language fr" in refused.err
    assert "draft it again with bizkit quote draft follow-the-kelp" in refused.err
