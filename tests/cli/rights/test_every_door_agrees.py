"""One licence, one answer: what is held is said alike by every door, before and after papers come and go."""

from __future__ import annotations

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
