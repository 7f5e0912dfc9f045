"""One licence, one answer: what is held is said alike by every door, before and after papers come and go."""

from __future__ import annotations

import csv

JOB = "follow-the-kelp"


def test_what_was_granted_before_somebody_was_erased_stays_covered_at_every_door(bizkit, live, tmp_path):
    """Papers of somebody erased carry what was granted by then, and nothing later (UK GDPR Article 17(3)(e))."""
    erased = bizkit("person", "erase", "Eilidh Rendall", "--reason", "asked", "--yes", "--on", "2027-08-01")
    assert erased.code == 0, erased.err
    assert bizkit("rights", "check", JOB, "--on", "2027-08-02", "--json").data["cleared"]
    use = ("rights", "use", JOB, "--media", "paid_social", "--where", "GB", "--on", "2027-08-02", "--json")
    assert (bizkit(*use).data["allowed"], bizkit(*use).data["held"], bizkit(*use).data["look"]) == (True, True, [])
    assert bizkit("rights", "explain", JOB, "--on", "2027-08-02", "--json").data["look"] == []
    assert bizkit("rights", "certificate", JOB, "--on", "2027-08-02", "--json").data["look"] == []
    still = tmp_path / "still.jpg"
    still.write_bytes(b"a still")
    sidecar = bizkit("rights", "sidecar", JOB, "stills", still, "--on", "2027-08-02", "--json").data
    assert not any("not held" in line for line in sidecar["look"])
    wider = ("rights", "use", JOB, "--media", "broadcast", "--where", "GB", "--on", "2027-08-02", "--json")
    assert any("they asked to be erased" in line for line in bizkit(*wider).data["look"])


def test_two_owners_are_not_added_up_in_time(bizkit, hold, live):
    """Each owner's leave is needed for the whole of a use (common practice)."""
    bizkit("rights", "link", JOB, "all", "--place", "Tern Skerry", "--on", "2027-07-01")
    terms = ("--media", "all", "--where", "World", "--from", "2027-05-14")
    half = hold("location_permission", "Tern Skerry", *terms, "--until", "2027-12-31", "--by", "Erlend Isbister")
    later = (*terms[:-1], "2028-01-01", "--until", "2029-12-31")
    hold("location_permission", "Tern Skerry", *later, "--by", "Marit Isbister")
    (gap,) = bizkit("rights", "check", JOB, "--on", "2027-08-02", "--json").data["gaps"]
    assert gap["why"] == "given by several owners one after the other, and by none of them for the whole time"
    assert "2028-01-01..2028-06-30" in gap["text"] or "2027-07-01..2027-12-31" in gap["text"]
    use = ("rights", "use", JOB, "--media", "paid_social", "--where", "GB", "--on", "2027-08-02", "--json")
    assert bizkit(*use).data["held"]  # on that one day Erlend Isbister's paper holds
    hold("location_permission", "Tern Skerry", *later, "--by", "Erlend Isbister")
    cleared = bizkit("rights", "check", JOB, "--on", "2027-08-02", "--json").data
    assert cleared["cleared"]
    assert any("signed by Marit Isbister, gives less: if both own it" in one for one in cleared["warnings"])
    assert half["id"]


def test_a_list_of_licences_says_which_is_not_held_any_more(bizkit, live):
    """The release of who appears taken back: the licence binds, and what it stands on is gone."""
    assert bizkit("rights", "list", "--on", "2027-08-01", "--json").data["licences"][0]["not_held"] == []
    paper = next(one for one in bizkit("holding", "list", JOB, "--json").data if one["kind"] == "talent_release")
    back = bizkit("holding", "withdraw", JOB, paper["id"], "--reason", "asked", "--on", "2027-08-10")
    assert back.code == 0, back.err
    listed = bizkit("rights", "list", "--on", "2027-08-11").out
    assert "live, not held" in listed
    assert "Look: LC-2027-0001 is not held: talent release: Eilidh Rendall (held no longer: withdrawn on" in listed


def test_a_place_known_and_written_wrongly_is_told_what_is_wrong(bizkit, job):
    def said(where):
        done = bizkit("rights", "use", job, "--media", "online", "--where", where, "--on", "2027-08-01")
        assert done.code == 2
        return done.err

    assert said("Germany France").endswith("--where: wanted a comma or and between two places, got Germany France\n")
    assert "An ISO 3166-1 code is written in capitals: DE is Germany" in said("de")
    assert "wanted one exception" in said("Europe except Germany except France")


def test_a_grant_names_the_papers_of_the_shoot_that_were_not_valid_on_its_days(bizkit, clear):
    """A child's licence to perform and an insurance that ended before the last day: facts of the shoot, a look."""
    for kind, about, until in (
        ("child_licence", "Finn Sinclair", "2027-05-11"),
        ("insurance", "Public liability", "2027-05-12"),
    ):
        add = ("holding", "add", clear, "--kind", kind, "--about", about, "--from", "2027-05-01", "--until", until)
        done = bizkit(*add, "--on", "2027-05-20")
        assert done.code == 0, done.err
    looks = bizkit("rights", "grant", clear, "--on", "2027-06-14", "--json").data["look"]
    assert "child performance licence: Finn Sinclair is not valid for 2027-05-12..2027-05-13" in looks
    assert "insurance: Public liability is not valid for 2027-05-13" in looks


def test_a_grant_names_a_child_without_a_licence_to_perform(bizkit, clear, hold):
    hold("talent_release", "Finn Sinclair", "--guardian", "Morag Sinclair", "--born", "2017-08-02")
    granted = bizkit("rights", "grant", clear, "--on", "2027-06-14")
    assert granted.code == 0, granted.err
    assert "Look: under 18, without a child performance licence noted: Finn Sinclair" in granted.out


def test_one_number_of_a_form_is_one_signed_sheet(bizkit, job, by_form, scan):
    """A second paper by it is a correction, a form of its own, or said with a reason."""
    form = by_form("location_permission", "Tern Skerry")
    add = (
        "holding",
        "add",
        job,
        "--kind",
        "location_permission",
        "--about",
        "Tern Skerry",
        *form,
        "--on",
        "2027-05-20",
    )
    first = bizkit(*add, "--by", "Erlend Isbister", "--signed", "2027-05-14", "--scan", scan, "--json")
    assert first.code == 0, first.err
    other = scan.with_name("better.pdf")
    other.write_bytes(scan.read_bytes() + b"% scanned again\n")
    again = (*add, "--by", "Marit Isbister", "--signed", "2027-05-15", "--scan", other)
    refused = bizkit(*again)
    assert refused.code == 1
    number = first.data["id"]
    assert (
        f"the form {form[1]} is on file as paper {number}, signed on 2027-05-14: if this is a better" in refused.err
    )
    better = ("holding", "correct", job, number, "--scan", other, "--reason", "a better scan", "--on", "2027-05-21")
    assert bizkit(*better).code == 0
    assert len(bizkit("holding", "list", job, "--json").data) == 2
    third = scan.with_name("third.pdf")
    third.write_bytes(scan.read_bytes() + b"% a copy\n")
    meant = (*again[:-1], third, "--reason", "she signed a copy of it")
    assert bizkit(*meant).code == 0


def test_a_renamed_client_is_looked_at_and_what_the_look_says_works(bizkit, clear, studio):
    """The grant is of what was agreed, to whom it was agreed with; somebody else is quoted a licence of their own."""
    file = studio / "clients" / "skerrow-islands-tourism.toml"
    renamed = file.read_text("utf-8").replace("Skerrow Islands Tourism", "Visit Skerrow", 1)
    file.with_name("visit-skerrow.toml").write_text(renamed, "utf-8")
    file.write_text(renamed, "utf-8")
    assert bizkit("job", "client", clear, "--reason", "renamed", "--on", "2027-06-10").code == 0
    granted = bizkit("rights", "grant", clear, "--on", "2027-06-14", "--json").data
    assert granted["licensee"] == "Skerrow Islands Tourism"
    assert any(f"bizkit rights offer {clear} --to CLIENT" in look for look in granted["look"])
    offer = ("rights", "offer", clear, "--to", "visit-skerrow", "--media", "paid_social", "--where", "GB")
    offered = bizkit(*offer, "--from", "2028-08-01", "--months", "6", "--on", "2027-06-15", "--json")
    assert offered.code == 0, offered.err
    key = offered.data["key"]
    assert bizkit("quote", "send", key, "--on", "2027-06-15").code == 0
    assert bizkit("quote", "accept", key, "--on", "2027-06-16").code == 0
    done = bizkit("rights", "grant", key, "--override", "as agreed", "--on", "2027-06-17", "--json")
    assert (done.code, done.data["licensee"]) == (0, "Visit Skerrow")


def test_a_job_shows_its_licence_as_it_stands_and_not_as_it_was_quoted(bizkit, live):
    paper = next(
        one for one in bizkit("permission", "list", JOB, "--json").data if one["subject"].startswith("Shore")
    )
    done = bizkit(
        "holding", "correct", JOB, paper["id"], "--client-condition", "No sauna guests in close-up", "--reason",
        "read again", "--on", "2027-08-01",
    )  # fmt: skip
    assert done.code == 0, done.err
    ended = bizkit(
        "rights", "end", "LC-2027-0001", "--reason", "agreed", "--after", "2027-12-31", "--on", "2027-08-01"
    )
    assert ended.code == 0, ended.err
    said = bizkit("rights", "explain", JOB, "--on", "2027-08-02", "--json").data
    shown = bizkit("job", "show", JOB, "--on", "2027-08-02")
    for sentence in (*said["sentences"], "The client keeps to this: No sauna guests in close-up"):
        assert sentence in " ".join(shown.out.split())
    assert "takes effect only when our invoices are paid" not in shown.out
    assert "30 June 2028" not in shown.out


def test_an_export_says_what_is_not_held_as_the_list_does(bizkit, live, tmp_path):
    def exported(folder):
        assert bizkit("rights", "export", tmp_path / folder, "--on", "2027-08-11").code == 0
        text = (tmp_path / folder / "licences.csv").read_text(encoding="utf-8-sig")
        (line,) = csv.DictReader(text.splitlines())
        return line["state"], line["not_held"]

    assert exported("before") == ("live", "")
    paper = next(one for one in bizkit("holding", "list", JOB, "--json").data if one["kind"] == "talent_release")
    bizkit("holding", "withdraw", JOB, paper["id"], "--reason", "asked", "--on", "2027-08-10")
    (listed,) = bizkit("rights", "list", JOB, "--on", "2027-08-11", "--json").data["licences"]
    assert exported("after") == ("live", "; ".join(listed["not_held"]))
    assert listed["not_held"] != []


def test_a_licence_that_is_coming_is_not_confirmed_anew_where_it_is_not_held(bizkit, live):
    paper = next(one for one in bizkit("holding", "list", JOB, "--json").data if one["kind"] == "talent_release")
    bizkit("holding", "withdraw", JOB, paper["id"], "--reason", "asked", "--on", "2027-06-22")
    bizkit("rights", "end", "LC-2027-0001", "--reason", "agreed", "--after", "2027-12-31", "--on", "2027-06-22")
    refused = bizkit("rights", "certificate", JOB, "--on", "2027-06-23")
    assert (refused.code, "would be confirmed as coming, and is not held: talent release" in refused.err) == (1, True)
    assert bizkit("rights", "certificate", JOB, "--on", "2027-06-23", "--reason", "told them").code == 0
