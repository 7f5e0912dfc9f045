"""A licence at rest for an unpaid invoice gives the same answer at every door."""

from __future__ import annotations

import csv
import json
from datetime import date

import pypdf
import pytest

JOB = "follow-the-kelp"


@pytest.fixture
def bill(bizkit, live):
    """An invoice of charges whose last reminder, of 25 September 2027, suspends the licence in force."""
    bizkit(
        "charge", "add", JOB, "--what", "Boat", "--amount", "100", "--reason", "asked", "--agreed", "Una, by mail",
        "--on", "2027-07-01",
    )  # fmt: skip
    number = bizkit("invoice", "issue", JOB, "--charges", "--on", "2027-07-01", "--json").data["number"]
    for on in ("2027-08-10", "2027-08-25", "2027-09-25"):
        assert bizkit("late", "remind", number, "--on", on).code == 0
    return number


def states(bizkit, tmp_path, on):
    """What each door says of the licence on a day."""
    from bizkit.exchange.odrl import permits

    def ask(*words):
        done = bizkit(*words, "--on", on, "--json")
        assert done.code == 0, done.err
        return done.data

    out = tmp_path / on
    ask("rights", "export", out)
    (line,) = csv.DictReader((out / "licences.csv").read_text(encoding="utf-8-sig").splitlines())
    policy = json.loads((out / "LC-2027-0001.jsonld").read_text(encoding="utf-8"))
    day = date.fromisoformat(on)
    found = {
        "list": ask("rights", "list", JOB)["licences"][0]["state"],
        "explain": ask("rights", "explain", JOB)["grants"][0]["state"],
        "check": ask("rights", "check", JOB)["licence"]["state"],
        "status": next(row["state"] for row in ask("status")["licences"] if row["job"] == JOB),
        "job show": ask("job", "show", JOB)["grants"][0]["state"],
        "job show, clearance": ask("job", "show", JOB)["clearance"]["state"],
        "ending": ask("rights", "ending", "--within", "400d")["ending"][0]["state"],
        "csv": line["state"],
        "certificate": ask("rights", "certificate", JOB)["state"],
        "odrl": "live" if permits(policy, "use", on=day, medium="paid_social", country="IE") else "at rest",
        "use": "live"
        if ask("rights", "use", JOB, "--media", "paid_social", "--where", "IE")["allowed"]
        else "at rest",
    }
    return set(found.values()) if len(set(found.values())) == 1 else found


def test_every_door_says_the_same_before_while_and_after(bizkit, bill, tmp_path):
    assert states(bizkit, tmp_path, "2027-09-24") == {"live"}
    assert states(bizkit, tmp_path, "2027-09-25") == {"at rest"}
    assert states(bizkit, tmp_path, "2027-11-01") == {"at rest"}
    assert bizkit("invoice", "paid", bill, "--on", "2027-11-05").code == 0
    assert states(bizkit, tmp_path, "2027-11-05") == {"live"}
    # What the book knows of October does not change by the payment of November.
    assert states(bizkit, tmp_path, "2027-10-15") == {"at rest"}


def test_a_licence_at_rest_is_not_proved_and_nothing_is_handed_over_on_it(bizkit, bill, tmp_path):
    drive = tmp_path / "drive"
    drive.mkdir()
    film = drive / "sauna-loop.mov"
    film.write_bytes(b"a film" * 100)
    assert bizkit("deliverable", "send", JOB, "sauna-loop", film, "--on", "2027-06-02").code == 0
    assert bizkit("deliverable", "approve", JOB, "sauna-loop", "--on", "2027-06-03").code == 0
    refused = bizkit("handover", "make", JOB, drive, "--on", "2027-10-01")
    assert refused.code == 1
    assert f"the licence rests since 2027-09-25: {bill} is unpaid after the last reminder" in refused.err
    still = tmp_path / "kelp.jpg"
    from PIL import Image

    Image.new("RGB", (64, 48), (10, 90, 90)).save(still)
    done = bizkit("rights", "sidecar", JOB, "stills", still, "--on", "2027-10-01", "--json")
    assert (done.code, done.data["licence"]) == (0, "")
    paper = bizkit("rights", "certificate", JOB, "--on", "2027-10-01", "--json").data["file"]
    assert "At rest since 25 September 2027" in " ".join(pypdf.PdfReader(paper).pages[0].extract_text().split())
    # Somebody whose consent goes is asked about it all the same.
    rows = bizkit("release", "list", JOB, "--json").data
    done = bizkit("holding", "withdraw", JOB, rows[0]["id"], "--reason", "x", "--on", "2027-10-02", "--json").data
    assert [(one["number"], one["state"]) for one in done["live"]] == [("LC-2027-0001", "at rest")]


def test_the_settings_of_today_change_nothing_about_it(bizkit, bill, studio, change, tmp_path):
    """What an invoice and its reminder said is frozen in them."""
    change(studio / "studio.toml", "\nsuspends_licence = true", "\nsuspends_licence = false")
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[reminders]]\nname = "once"\ndays_after_due = 5\n')
    assert states(bizkit, tmp_path, "2027-10-01") == {"at rest"}


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def test_the_certificate_says_that_it_rests_since_when_and_why(bizkit, bill, in_german):
    done = bizkit("rights", "certificate", JOB, "--on", "2027-09-30", "--json").data
    assert (
        f"This licence rests since 25 September 2027: invoice {bill} is unpaid after our last reminder. "
        "Until it is paid, nothing of what stands below is allowed."
    ) in text_of(done["file"])
    assert (
        f"Diese Lizenz ruht seit dem 25. September 2027: Rechnung {bill} ist nach unserer letzten Mahnung nicht "
        "bezahlt. Bis sie bezahlt ist, ist nichts von dem erlaubt, was unten steht."
    ) in in_german()
    bizkit("invoice", "paid", bill, "--on", "2027-10-05")
    after = bizkit("rights", "certificate", JOB, "--on", "2027-10-10", "--json").data
    text = text_of(after["file"])
    assert "This licence rests" not in text
    assert "Not in force 25 September 2027 to 4 October 2027, not paid in full" in text


def test_the_certificate_says_that_it_waits_once_more_since_money_was_taken_back(bizkit, live, in_german):
    assert bizkit("payment", "refund", "GL-2027-0002", "25", "--owed-again", "--on", "2027-08-03").code == 0
    done = bizkit("rights", "certificate", JOB, "--on", "2027-08-10", "--json").data
    assert "This licence waits since 3 August 2027: our invoices are not paid in full any more." in text_of(
        done["file"]
    )
    assert (
        "Diese Lizenz wartet seit dem 3. August 2027: unsere Rechnungen sind nicht mehr ganz bezahlt." in in_german()
    )


def permissions(bizkit, tmp_path, on):
    """First and last day of each permission of the policy written on a day, and the duties of all of them."""
    assert bizkit("rights", "export", tmp_path / f"out-{on}", "--on", on).code == 0
    policy = json.loads((tmp_path / f"out-{on}" / "LC-2027-0001.jsonld").read_text(encoding="utf-8"))
    spans, duties = [], set()
    for rule in policy["permission"]:
        days = [one["rightOperand"]["@value"] for one in rule["constraint"] if one["leftOperand"] == "dateTime"]
        spans.append(tuple(days))
        duties |= {str(duty["action"]) for duty in rule.get("duty", ())}
    return spans, {name for name in ("attribute", "compensate") if any(name in duty for duty in duties)}


def test_a_policy_has_a_permission_for_each_time_between_rests(bizkit, bill, tmp_path):
    assert permissions(bizkit, tmp_path, "2027-09-30") == ([("2027-07-01", "2027-09-24")], {"attribute"})
    bizkit("invoice", "paid", bill, "--on", "2027-10-05")
    spans, duties = permissions(bizkit, tmp_path, "2027-10-10")
    assert spans == [("2027-07-01", "2027-09-24"), ("2027-10-05", "2028-06-30")]
    assert duties == {"attribute"}  # everything is paid


def test_a_policy_asks_for_payment_only_until_there_was_one(bizkit, clear, paid, tmp_path):
    assert bizkit("rights", "grant", clear, "--on", "2027-06-14").code == 0
    assert permissions(bizkit, tmp_path, "2027-06-15")[1] == {"attribute", "compensate"}
    paid("2027-06-20")
    assert permissions(bizkit, tmp_path, "2027-06-21") == ([("2027-07-01", "2028-06-30")], {"attribute"})


def test_a_policy_has_a_permission_for_each_time_paid_in_full(bizkit, live, tmp_path):
    assert permissions(bizkit, tmp_path, "2027-07-10") == ([("2027-07-01", "2028-06-30")], {"attribute"})
    assert bizkit("payment", "refund", "GL-2027-0002", "25", "--owed-again", "--on", "2027-08-03").code == 0
    assert permissions(bizkit, tmp_path, "2027-08-10") == ([("2027-07-01", "2027-08-02")], {"attribute"})
    assert bizkit("invoice", "paid", "GL-2027-0002", "--on", "2027-08-20").code == 0
    assert permissions(bizkit, tmp_path, "2027-09-01") == (
        [("2027-07-01", "2027-08-02"), ("2027-08-20", "2028-06-30")], {"attribute"},
    )  # fmt: skip


def test_a_quote_that_does_not_say_that_it_may_rest_is_never_at_rest(bizkit, job, studio, change):
    """What an invoice says of it was agreed with the quote, whatever the studio's settings say by now."""
    change(studio / "studio.toml", "\nsuspends_licence = true", "\nsuspends_licence = false")
    assert bizkit("quote", "reopen", JOB, "--reason", "again", "--on", "2027-02-09").code == 0
    for command in ("draft", "send", "accept"):
        assert bizkit("quote", command, JOB, "--on", "2027-02-10").code == 0
    change(studio / "studio.toml", "\nsuspends_licence = false", "\nsuspends_licence = true")
    number = bizkit("invoice", "issue", JOB, "--on", "2027-02-11", "--json").data["number"]
    assert bizkit("invoice", "show", number, "--json").data["document"]["suspends_licence"] is False
