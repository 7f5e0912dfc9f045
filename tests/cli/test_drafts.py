"""Drafts: a copied brief whose key was forgotten, drafts thrown away, key and number, briefs copied."""

from __future__ import annotations

import tomllib

import pytest

KEY = "follow-the-kelp"
CAFE = """
name = "Selkie Bay Cafe"
contact = "Morag Sinclair"
address = ["3 Bay Road"]
city = "Skerrow"
postcode = "ZZ2 3ZZ"
country = "GB"
email = "morag@selkie-bay-cafe.example"
business = true
"""
BRIEF = """
key = "{key}"  # one word
client = "{client}"
title = "{title}"
[[days]]
date = {day}
kind = "dry"
place = "Selkie Bay"
crew = [{{ roles = ["camera"] }}, {{ roles = ["director"] }}, {{ roles = ["stills"] }}]
"""


@pytest.fixture
def brief(studio):
    """Writes a small brief to briefs/NAME.toml."""
    (studio / "clients" / "selkie-bay-cafe.toml").write_text(CAFE, encoding="utf-8")

    def write(name, *, key="harbour", client="skerrow-islands-tourism", title="Harbour", day="2027-04-07"):
        text = BRIEF.format(key=key, client=client, title=title, day=day)
        (studio / "briefs" / f"{name}.toml").write_text(text, encoding="utf-8")
        return name

    return write


@pytest.fixture
def sent(bizkit, brief):
    """Q-2027-0001, one day for the tourism board, sent."""
    for command in (("draft", brief("harbour")), ("send", "harbour")):
        assert bizkit("quote", *command, "--on", "2027-03-01").code == 0
    return "harbour"


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"client": "selkie-bay-cafe"}, "for Skerrow Islands Tourism, not Selkie Bay Cafe"),
        ({"title": "Cafe", "day": "2027-05-03"}, "called Harbour, not Cafe, on other dates"),
        ({"client": "selkie-bay-cafe", "title": "Cafe", "day": "2027-05-03"}, "not Selkie Bay Cafe, called Harbour"),
    ],
)
def test_a_copied_brief_with_the_old_key_is_refused(bizkit, brief, sent, change, said):
    refused = bizkit("quote", "draft", brief("cafe", **change), "--on", "2027-03-02")
    assert refused.code == 1
    assert "harbour is the key of Q-2027-0001 revision 1" in refused.err
    assert said in refused.err
    assert "bizkit brief copy cafe NEW-KEY" in refused.err
    assert "--as-revision" in refused.err
    assert len(refused.err.splitlines()) == 1
    assert [row["state"] for row in bizkit("quote", "list", "--json", "--on", "2027-03-02").data] == ["sent"]

    meant = bizkit("quote", "draft", "cafe", "--as-revision", "the cafe pays now", "--on", "2027-03-02", "--json")
    assert (meant.code, meant.data["revision"]) == (0, 2)


@pytest.mark.parametrize(
    "change", [{"title": "Harbour and quay"}, {"day": "2027-04-08"}, {"title": "Harbour", "day": "2027-06-01"}]
)
def test_a_revision_may_have_another_title_or_other_dates(bizkit, brief, sent, change):
    assert bizkit("quote", "draft", brief("harbour", **change), "--on", "2027-03-02").code == 0


def test_a_draft_is_not_overwritten_by_another_file(bizkit, brief):
    assert bizkit("quote", "draft", brief("harbour"), "--on", "2027-03-01").code == 0
    refused = bizkit("quote", "draft", brief("cafe", title="Cafe"), "--on", "2027-03-01")
    assert refused.code == 1
    assert "harbour is the key of a draft from briefs/harbour.toml, called Harbour, not Cafe" in refused.err
    # The same job from a file with another name, and another job in the draft's own file, are nobody's mistake.
    assert bizkit("quote", "draft", brief("quay"), "--on", "2027-03-01").code == 0
    assert bizkit("quote", "draft", brief("quay", title="Quay", day="2027-05-03"), "--on", "2027-03-01").code == 0


def test_a_draft_is_thrown_away_by_key_or_number(bizkit, brief, sent):
    assert bizkit("quote", "draft", brief("other", key="other"), "--on", "2027-03-01").code == 0
    assert "Draft of other thrown away." in bizkit("quote", "discard", "other", "--on", "2027-03-01").out
    assert bizkit("quote", "show", "other").code == 2
    bizkit("quote", "draft", brief("harbour", day="2027-04-08"), "--on", "2027-03-02")
    said = bizkit("quote", "discard", "Q-2027-0001", "--reason", "not asked for", "--on", "2027-03-02")
    assert "Q-2027-0001 revision 1 stays" in said.out
    assert [row["state"] for row in bizkit("quote", "list", "--json", "--on", "2027-03-02").data] == ["sent"]
    none = bizkit("quote", "discard", "harbour")
    assert (none.code, "no draft to throw away" in none.err) == (1, True)


def test_a_draft_of_a_revision_is_listed_with_its_key_and_sent_by_the_number_it_is_listed_with(bizkit, brief, sent):
    bizkit("quote", "draft", brief("harbour", day="2027-04-08"), "--on", "2027-03-02")
    listed = bizkit("quote", "list", "--on", "2027-03-02").out
    assert listed.splitlines()[0].split()[:2] == ["NUMBER", "KEY"]
    assert [line.split()[:2] for line in listed.splitlines()[1:]] == [["Q-2027-0001", "harbour"]] * 2
    done = bizkit("quote", "send", "Q-2027-0001", "--on", "2027-03-02", "--json")
    assert (done.code, done.data["revision"]) == (0, 2)


def test_comparing_names_a_client_who_changed(bizkit, brief, studio, sent, change):
    file = studio / "clients" / "skerrow-islands-tourism.toml"
    change(file, 'name = "Skerrow Islands Tourism"', 'name = "Visit Skerrow"')
    change(file, 'contact = "Una Flett"', 'contact = "Morag Sinclair"')
    change(file, '"1 Harbour Street"', '"9 Lighthouse Road"')
    # A published sample number of HM Revenue & Customs, memory
    file.write_text('tax_number = "GB980780684"\n' + file.read_text(encoding="utf-8"), encoding="utf-8")
    assert bizkit("quote", "draft", "harbour", "--on", "2027-03-02").code == 0
    other = bizkit("quote", "compare", "harbour", "--json").data["other"]
    changed = {one["what"]: (one["before"], one["after"]) for one in other}
    assert changed["client's name"] == ("Skerrow Islands Tourism", "Visit Skerrow")
    assert changed["client's contact"] == ("Una Flett", "Morag Sinclair")
    assert changed["client's tax number"] == ("", "GB980780684")
    assert "9 Lighthouse Road" in changed["client's address"][1]
    assert "client's name: Skerrow Islands Tourism -> Visit Skerrow" in bizkit("quote", "compare", "Q-2027-0001").out

    bizkit("quote", "draft", brief("harbour", client="selkie-bay-cafe"), "--as-revision", "x", "--on", "2027-03-02")
    other = bizkit("quote", "compare", "harbour", "--json").data["other"]
    assert {"what": "client", "before": "skerrow-islands-tourism", "after": "selkie-bay-cafe"} in other


def test_a_licence_offered_to_another_client_takes_no_draft_away(bizkit, job, brief):
    """The key of an offer is made by bizkit: it must not be another client's."""
    asked = ["--media", "online", "--where", "GB", "--from", "2028-01-01", "--months", "6", "--on", "2027-08-01"]
    brief("unused")
    first = bizkit("rights", "offer", job, *asked, "--json").data
    second = bizkit("rights", "offer", job, *asked, "--to", "selkie-bay-cafe", "--json").data
    assert first["key"] != second["key"]
    drafts = {row["key"]: row["client"] for row in bizkit("quote", "list", "--json").data if row["state"] == "draft"}
    assert drafts == {first["key"]: "Skerrow Islands Tourism", second["key"]: "Selkie Bay Cafe"}


def test_a_brief_is_copied_with_its_comments_and_its_dates_moved(bizkit, studio):
    old = (studio / "briefs" / f"{KEY}.toml").read_text(encoding="utf-8")
    done = bizkit(
        "brief", "copy", KEY, "kelp-2028", "--title", "Follow the Kelp, again", "--first", "2028-05-04",
        "--on", "2028-01-10", "--json",
    )  # fmt: skip
    assert done.code == 0, done.err
    new = (studio / "briefs" / "kelp-2028.toml").read_text(encoding="utf-8")
    before, after = tomllib.loads(old), tomllib.loads(new)
    assert (after["key"], after["title"]) == ("kelp-2028", "Follow the Kelp, again")
    # 2027-05-06 to 2028-05-04 is 364 days: every date keeps its weekday
    assert [(str(a["date"]), str(b["date"])) for a, b in zip(before["days"], after["days"], strict=True)][::6] == [
        ("2027-05-06", "2028-05-04"),
        ("2027-05-14", "2028-05-12"),
    ]
    assert [str(after["weather"][name]) for name in ("from", "to")] == ["2028-05-08", "2028-05-19"]
    assert str(after["licence"]["starts"]) == "2028-06-29"
    assert str(after["mileage"][0]["on"]) == "2028-05-07"
    assert str(after["asked_on"]) == "2028-01-10"
    # Comments, order and everything else are as they were.
    lines = [(a, b) for a, b in zip(old.splitlines(), new.splitlines(), strict=True) if a != b]
    assert len(lines) == 3 + 7 + 2 + 1 + 1
    for moved in ("days", "weather", "licence", "mileage", "asked_on", "key", "title"):
        before.pop(moved), after.pop(moved)
    assert before == after
    assert bizkit("price", "kelp-2028", "--on", "2028-01-10").code == 0


def test_a_copy_is_of_the_brief_as_it_was_sent_where_only_the_quote_is_named(bizkit, brief, studio, sent):
    (studio / "briefs" / "harbour.toml").unlink()
    done = bizkit(
        "brief", "copy", "Q-2027-0001", "cafe", "--client", "selkie-bay-cafe", "--title", "Cafe", "--json"
    ).data  # fmt: skip
    assert (done["client"], done["days"]) == ("selkie-bay-cafe", ["2027-04-07"])
    assert done["looks"] == ["its days are still those of briefs/harbour.toml: change them, or copy with --first"]
    assert 'key = "cafe"  # one word' in (studio / "briefs" / "cafe.toml").read_text(encoding="utf-8")
    assert bizkit("quote", "draft", "cafe", "--on", "2027-03-02").code == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("harbour", "harbour"), "KEY: wanted a key that no quote has, got harbour, the key of Q-2027-0001"),
        (("harbour", "Not A Key"), "key"),
        (("nowhere", "new"), "wanted a brief, got no such file"),
        (("harbour", "new", "--client", "nobody"), "--client: wanted a known client, got nobody"),
        (("harbour", "new", "--out", "briefs/harbour.toml"), "--out: wanted a new file"),
        (("harbour", "new", "--first", "31/12/2027"), "--first: wanted a date"),
    ],
)
def test_a_copy_that_cannot_be_leaves_nothing(bizkit, studio, sent, arguments, said):
    files = sorted((studio / "briefs").iterdir())
    refused = bizkit("brief", "copy", *arguments)
    assert (refused.code, said in refused.err) == (2, True), refused.err
    assert sorted((studio / "briefs").iterdir()) == files


def test_a_draft_that_waited_when_the_quote_was_accepted_is_not_sent(bizkit, studio, change):
    """What was agreed stands: a revision of it would wait for an answer that cannot be given any more."""
    key, brief = "follow-the-kelp", studio / "briefs" / "follow-the-kelp.toml"
    assert bizkit("quote", "draft", key, "--on", "2027-01-26").code == 0
    assert bizkit("quote", "send", key, "--on", "2027-01-26").code == 0
    change(brief, 'title = "', 'title = "Once more ')
    assert bizkit("quote", "draft", key, "--on", "2027-01-27").code == 0
    assert bizkit("quote", "accept", key, "--on", "2027-02-08").code == 0
    done = bizkit("quote", "send", key, "--on", "2027-02-09")
    assert done.code == 1
    assert "is a job already" in done.err
    assert "bizkit quote discard" in done.err
    assert bizkit("quote", "discard", key, "--on", "2027-02-09").code == 0
    assert bizkit("quote", "reopen", key, "--reason", "a slip", "--on", "2027-02-09").code == 0
