"""An answer recorded by mistake is taken back while nothing has left on it; then the quote is open as it was."""

from __future__ import annotations

import shutil

import pytest

CLIENT = "skerrow-islands-tourism"
KEY = "gannet-week"
QUOTE = "Q-2027-0001"
DAY = ("--on", "2027-07-05")
SLIP = ("--reason", "meant the other quote", *DAY)


@pytest.fixture
def waiting(bizkit, studio, played):
    """A quote with two choices and an add-on, sent and not answered."""
    shutil.copy2(played / "briefs" / f"{KEY}.toml", studio / "briefs")
    for command in ("draft", "send"):
        assert bizkit("quote", command, KEY, "--on", "2027-07-01").code == 0
    return KEY


@pytest.fixture
def accepted(bizkit, waiting):
    """The same, accepted by mistake with options: revision 2."""
    done = bizkit("quote", "accept", waiting, "--option", "boat", "--option", "stills", "--on", "2027-07-02")
    assert done.code == 0, done.err
    return waiting


def answers(bizkit, *names):
    """What every screen says of the quote."""
    asked = (
        ("quote", "show", KEY, *DAY), ("job", "list", *DAY), ("status", *DAY), ("kit", "bookings", *DAY),
        ("deliverable", "list", *DAY), ("rights", "list", *DAY), ("person", "list", *DAY), ("charge", "list"),
        ("report", "cash", *DAY), ("calendar", "--out", "all.ics", *DAY),
    )  # fmt: skip
    return [(command, bizkit(*command, "--json").data) for command in asked]


def states(bizkit):
    return {(row["revision"], row["state"]) for row in bizkit("quote", "list", "--json", *DAY).data}


def test_an_acceptance_with_options_is_taken_back_and_everything_is_as_it_was(bizkit, studio, waiting):
    before = answers(bizkit)
    bizkit("quote", "accept", KEY, "--option", "boat", "--option", "stills", "--on", "2027-07-02")
    assert states(bizkit) == {(1, "replaced"), (2, "accepted")}

    shown = bizkit("quote", "reopen", KEY, "--preview", *SLIP, "--json").data
    assert (shown["was"], shown["was_revision"], shown["revision"], shown["state"]) == ("accepted", 2, 1, "sent")
    assert states(bizkit) == {(1, "replaced"), (2, "accepted")}
    said = bizkit("quote", "reopen", QUOTE, *SLIP)
    assert said.out.strip() == (
        f"{QUOTE} revision 2, accepted on 2027-07-02, taken back. Revision 1 is sent, valid until 2027-07-31."
    )
    assert states(bizkit) == {(1, "sent"), (2, "taken back")}
    assert answers(bizkit) == before
    assert bizkit("verify").code == 0
    assert (studio / "papers" / f"{QUOTE}-r2.pdf").is_file()  # issued documents never change
    again = bizkit("quote", "reopen", KEY, *SLIP)
    assert (again.code, "waits for its answer" in again.err) == (1, True)
    old = bizkit("quote", "accept", KEY, "--revision", "2", *DAY)
    assert (old.code, "taken back: answer revision 1" in old.err) == (1, True)


def test_after_that_the_right_choice_makes_the_next_revision(bizkit, accepted):
    bizkit("quote", "reopen", KEY, *SLIP)
    done = bizkit("quote", "accept", KEY, "--option", "shore", "--on", "2027-07-06", "--json").data
    assert (done["revision"], done["document"]["chosen"]) == (3, ["shore"])
    assert states(bizkit) == {(1, "replaced"), (2, "taken back"), (3, "accepted")}
    assert bizkit("job", "show", KEY, "--json", *DAY).data["quote"] == {"number": QUOTE, "revision": 3}
    bizkit("quote", "reopen", KEY, *SLIP)
    assert states(bizkit) == {(1, "sent"), (2, "taken back"), (3, "taken back")}
    assert bizkit("verify").code == 0


def test_after_that_the_next_revision_can_be_drafted_compared_and_sent(bizkit, studio, change, accepted):
    bizkit("quote", "reopen", KEY, *SLIP)
    same = bizkit("quote", "draft", KEY, *DAY)
    assert (same.code, "as in Q-2027-0001 revision 1" in same.err) == (1, True)
    change(studio / "briefs" / f"{KEY}.toml", "hours = 10", "hours = 11")
    assert bizkit("quote", "draft", KEY, *DAY, "--json").data["revision"] == 3
    compared = bizkit("quote", "compare", KEY, "--json").data
    assert (compared["from"], compared["to"], compared["to_is_draft"]) == (1, 3, True)
    sent = bizkit("quote", "send", QUOTE, *DAY, "--json")
    assert (sent.code, sent.data["revision"]) == (0, 3)
    assert states(bizkit) == {(1, "replaced"), (2, "taken back"), (3, "sent")}


def test_a_mail_after_that_carries_the_offer_and_not_what_was_taken_back(bizkit, accepted):
    bizkit("quote", "reopen", KEY, *SLIP)
    for name in (KEY, QUOTE):
        mail = bizkit("send", name, *DAY, "--json").data
        assert [one["name"] for one in mail["attached"]] == [f"{QUOTE}-r1.pdf"]


@pytest.mark.parametrize(("command", "was"), [("decline", "declined"), ("cancel", "cancelled")])
def test_a_no_by_mistake_is_taken_back_too(bizkit, waiting, command, was):
    before = answers(bizkit)
    assert bizkit("quote", command, KEY, "--reason", "too dear", "--on", "2027-07-02").code == 0
    assert states(bizkit) == {(1, was)}
    done = bizkit("quote", "reopen", KEY, *SLIP, "--json").data
    assert (done["was"], done["state"]) == (was, "sent")
    assert answers(bizkit) == before
    assert bizkit("quote", "accept", KEY, "--option", "boat", *DAY).code == 0


def test_a_no_that_a_newer_revision_followed_stays(bizkit, studio, change, waiting):
    bizkit("quote", "decline", KEY, "--on", "2027-07-02")
    change(studio / "briefs" / f"{KEY}.toml", "hours = 10", "hours = 11")
    for command in ("draft", "send"):
        assert bizkit("quote", command, KEY, "--on", "2027-07-03").code == 0
    done = bizkit("quote", "reopen", KEY, *SLIP)
    assert (done.code, "revision 2 waits for its answer" in done.err) == (1, True)


def test_a_plain_acceptance_is_taken_back_and_a_lapsed_quote_is_lapsed_again(bizkit, job):
    done = bizkit("quote", "reopen", job, "--reason", "a slip", "--on", "2027-04-01", "--json").data
    assert (done["was_revision"], done["revision"], done["state"]) == (1, 1, "lapsed")
    assert bizkit("job", "show", job).code == 2
    assert bizkit("quote", "accept", job, "--on", "2027-04-01").code == 1
    assert bizkit("quote", "accept", job, "--on", "2027-04-01", "--reason", "it stands").code == 0


def test_a_client_taken_into_the_job_that_was_none_is_not_in_the_next(bizkit, job, studio, change):
    change(studio / "clients" / f"{CLIENT}.toml", '"1 Harbour Street"', '"9 Lighthouse Road"')
    bizkit("job", "client", job, "--on", "2027-02-09")
    bizkit("quote", "reopen", job, "--reason", "a slip", "--on", "2027-02-09")
    bizkit("quote", "accept", job, "--on", "2027-02-10")
    bill = bizkit("invoice", "issue", job, "--on", "2027-02-10", "--json").data["document"]
    assert "1 Harbour Street" in bill["client"]["address"]


def test_a_reason_is_asked_for_and_kept(bizkit, accepted):
    assert bizkit("quote", "reopen", KEY, *DAY).code == 2
    blank = bizkit("quote", "reopen", KEY, "--reason", " ", *DAY)
    assert (blank.code, "--reason: wanted why" in blank.err) == (2, True)
    bizkit("quote", "reopen", KEY, *SLIP)
    bizkit("quote", "accept", KEY, "--option", "shore", *DAY)
    history = bizkit("job", "show", KEY, "--json", *DAY).data["history"]
    (event,) = [one["data"] for one in history if one["did"] == "reopened"]
    assert (event["reason"], event["answer"], event["revision"]) == ("meant the other quote", "accepted", 2)


#: What may have happened, as it is typed, and what the refusal says of it.
HAPPENED = {
    "issued": ([("invoice", "issue", KEY, *DAY)], "GL-2027-0001 was issued"),
    "paid before": (
        [("invoice", "deposit", KEY, "100", "--received", "2027-07-05", *DAY)], "GL-2027-0001 was issued"
    ),
    "pro forma": ([("invoice", "proforma", KEY, *DAY)], "PF-gannet-week-1 was written"),
    "mailed": ([("send", QUOTE, *DAY)], "a mail with Q-2027-0001 revision 2 was written"),
    "paper": (
        [("permission", "add", KEY, "--place", "Gannet Stack", "--by", "A trust", "--signed", "2027-07-04", "--scan",
          "{scan}", "--media", "all", "--where", "World", "--without-end", *DAY)],
        "a paper is on file (location permission 1)",
    ),
    "form": (
        [("permission", "form", KEY, "--place", "Gannet Stack", *DAY)],
        "the form F-2027-0001 was written to be signed",
    ),
    "granted": (
        [("rights", "grant", KEY, "--override", "on their way", *DAY)], "LC-2027-0001 was granted"
    ),
    "sent": (
        [("deliverable", "send", KEY, "ferry-film", "{scan}", "--reason", "a layout", *DAY)], "ferry-film v1 was sent"
    ),
    "noted": (
        [("deliverable", "send", KEY, "ferry-film", "{scan}", "--reason", "a layout", *DAY),
         ("deliverable", "notes", KEY, "ferry-film", "--text", "shorter", *DAY)],
        "notes came on ferry-film v1",
    ),
    "logged": (
        [("day", "log", KEY, "2027-08-03", "--call", "08:00", "--wrap", "18:00", "--on", "2027-08-03")],
        "2027-08-03 was logged as worked",
    ),
    "moved": (
        [("day", "move", KEY, "2027-08-03", "--to", "2027-08-04", "--why", "studio", *DAY)],
        "2027-08-03 was moved to 2027-08-04",
    ),
    "spent": ([("cost", "add", KEY, "--kind", "boat", "--amount", "10", *DAY)], "Boat with skipper was paid for"),
    "charged": (
        [("charge", "add", KEY, "--what", "A poster", "--amount", "60", "--reason", "asked for", *DAY)],
        "A poster is charged",
    ),
    "cancelled": ([("quote", "cancel", KEY, *DAY)], "cancel by notice on 2027-07-05"),
    "planned": ([("schedule", "save", KEY, "--due", "2027-09-30", *DAY)], "its plan was saved on 2027-07-05"),
    "archived": (
        [("archive", "add", KEY, "--what", "Tests", "--place", "drive A", "--months", "2", *DAY)],
        "Tests is kept in the archive",
    ),
    "driven": (
        [("mileage", "add", "12", "--from", "Skerrow", "--to", "Gannet Stack", "--purpose", "recce", "--job", KEY,
          *DAY)],
        "a journey of 2027-07-05 was logged",
    ),
    "offered": (
        [("rights", "offer", KEY, "--media", "online", "--where", "GB", "--from", "2028-01-01", "--months", "6",
          *DAY)],
        "the draft gannet-week-licence licenses what it makes",
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", HAPPENED)
def test_once_something_has_happened_the_refusal_says_what(bizkit, accepted, scan, what):
    commands, said = HAPPENED[what]
    for command in commands:
        done = bizkit(*(str(one).replace("{scan}", str(scan)) for one in command))
        assert done.code == 0, done.err
    before = bizkit("job", "show", KEY, "--json", *DAY).data
    refused = bizkit("quote", "reopen", KEY, *SLIP)
    assert refused.code == 1
    assert said in refused.err
    assert f"bizkit quote cancel {KEY}" in refused.err
    assert len(refused.err.splitlines()) == 1
    assert bizkit("job", "show", KEY, "--json", *DAY).data == before


def test_all_that_has_happened_is_listed_at_once(bizkit, accepted):
    bizkit("invoice", "issue", KEY, *DAY)
    bizkit("cost", "add", KEY, "--kind", "boat", "--amount", "10", *DAY)
    bizkit("day", "log", KEY, "2027-08-03", "--call", "08:00", "--wrap", "18:00", "--on", "2027-08-03")
    refused = bizkit("quote", "reopen", KEY, "--reason", "a slip", "--on", "2027-08-04")
    for one in ("GL-2027-0001 was issued", "Boat with skipper was paid for", "2027-08-03 was logged as worked"):
        assert one in refused.err


def test_what_was_given_up_or_only_said_of_the_job_does_not_stand_in_the_way(bizkit, accepted):
    """Nothing of it has left: a charge waived, who is said to appear."""
    bizkit(
        "charge", "add", KEY, "--what", "A poster", "--amount", "60", "--reason", "asked for", "--agreed",
        "Una, by mail", *DAY,
    )  # fmt: skip
    assert bizkit("charge", "waive", "1", "--reason", "wrong job", *DAY).code == 0
    assert bizkit("rights", "link", KEY, "ferry-film", "--who", "none", *DAY).code == 0
    assert bizkit("quote", "reopen", KEY, *SLIP).code == 0
    assert states(bizkit) == {(1, "sent"), (2, "taken back")}


def test_every_table_that_can_name_a_job_is_looked_at():
    """A new table must say what its rows mean to an acceptance that is taken back."""
    from bizkit.services.quoting.reopening import HAPPENED as KNOWN
    from bizkit.store.job_rows import BEGUN
    from bizkit.store.schema import metadata

    naming = {table.name for table in metadata.sorted_tables if "job" in table.c}
    assert naming == set(KNOWN) | (set(BEGUN) - {"job"})
    # Whatever points at a job by a foreign key names it in a column `job`.
    for table in metadata.sorted_tables:
        for key in table.foreign_keys:
            assert key.column.table.name not in ("job", "deliverable") or "job" in table.c, table.name


def test_a_no_to_an_offer_whose_acceptance_was_taken_back_leaves_nothing_waiting(bizkit, accepted):
    """The revision issued as accepted stands no more, the one it was chosen from is answered."""
    assert bizkit("quote", "reopen", KEY, *SLIP).code == 0
    assert [row["state"] for row in bizkit("status", *DAY, "--json").data["quotes"]] == ["sent"]
    assert bizkit("quote", "decline", KEY, *DAY).code == 0
    done = bizkit("status", *DAY, "--json")
    assert (done.code, done.data["quotes"] if done.code == 0 else done.err) == (0, [])
