"""An archive clip brings what the deliverable needs that it comes from, by the papers of the job that made it."""

from __future__ import annotations

import pytest

JOB = "follow-the-kelp"
CLIP = "Seals at dawn"


@pytest.fixture
def sold(bizkit, clear, studio):
    """A second job whose licence includes a clip; everything is held and said of the first."""
    text = (studio / "briefs" / f"{JOB}.toml").read_text("utf-8")
    for old, new in (
        (f'key = "{JOB}"', 'key = "storm"'), ('title = "Follow the Kelp"', 'title = "Storm"'),
        ("[weather]", f'[[licence.clips]]\ntitle = "{CLIP}"\nseconds = 12.5\n\n[weather]'),
        ('exclusivity = "sector"\nsector = "tourism"\n', ""),
    ):  # fmt: skip
        assert old in text, old
        text = text.replace(old, new, 1)
    (studio / "briefs" / "storm.toml").write_text(text, "utf-8")
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, "storm", "--on", "2027-02-09")
        assert done.code == 0, done.err
    return "storm"


@pytest.fixture
def of_the_clip(bizkit, sold):
    """What is missing for the clip, and what nobody has said of it."""

    def ask():
        found = bizkit("rights", "check", sold, "--on", "2027-06-01", "--json").data
        gaps = [one for one in found["gaps"] if any(CLIP in work for work in one["works"])]
        return {(one["kind"], one["name"]) for one in gaps}, [one for one in found["questions"] if CLIP in one]

    return ask


def test_a_clip_of_which_nobody_said_where_it_comes_from_is_not_known(bizkit, sold, of_the_clip):
    gaps, (question,) = of_the_clip()
    assert gaps == {("archive", CLIP)}
    assert question.startswith(f'nobody has said where the clip "{CLIP}" comes from: bizkit rights link {sold}')
    # Ours, but who and what is in it?
    bizkit("rights", "link", sold, CLIP, "--archive", "none", "--on", "2027-06-01")
    gaps, questions = of_the_clip()
    assert (gaps, len(questions)) == (set(), 1)
    bizkit("rights", "link", sold, CLIP, "--who", "none", "--place", "none", "--on", "2027-06-01")
    assert of_the_clip() == (set(), [])


def test_it_brings_the_people_and_places_of_what_it_comes_from(bizkit, sold, of_the_clip, hold):
    bizkit("rights", "link", JOB, "campaign-film", "--who", "Finn Sinclair", "--on", "2027-06-01")
    done = bizkit("rights", "link", sold, CLIP, "--from", f"{JOB}/campaign-film", "--on", "2027-06-01", "--json")
    assert done.code == 0, done.err
    assert {"work": CLIP, "part": "from", "names": [f"{JOB}/campaign-film"], "said": True} in done.data
    assert of_the_clip() == ({("talent_release", "Finn Sinclair")}, [])
    said = bizkit("rights", "check", sold, "--on", "2027-06-01").out
    assert f"talent release: Finn Sinclair (nothing held: no paper on file), missing for {CLIP} (from {JOB}/" in said
    hold("talent_release", "Finn Sinclair", "--without-end")  # filed where the film was made
    assert of_the_clip() == (set(), [])


def test_where_the_paper_of_somebody_in_a_clip_counts_is_said_before_and_after_it_is_filed(bizkit, sold, hold, scan):
    bizkit("rights", "link", sold, CLIP, "--from", f"{JOB}/campaign-film", "--on", "2027-06-01")
    bizkit("rights", "link", JOB, "campaign-film", "--who", "Finn Sinclair", "--on", "2027-06-01")
    (paper,) = [
        one["text"]
        for one in bizkit("rights", "check", sold, "--on", "2027-06-01", "--json").data["papers"]
        if "Finn" in one["text"]
    ]
    assert paper.endswith(f", under {JOB}, which made it")
    terms = ("--media", "online", "--where", "World", "--without-end", "--signed", "2027-05-14", "--on", "2027-06-01")
    done = bizkit("release", "add", sold, "--who", "Finn Sinclair", "--scan", scan, *terms, "--json")
    assert done.data["warnings"][0].startswith(
        f"Finn Sinclair is in nothing that {sold} made, and in what a clip brings from {JOB}"
    )
    there = hold("talent_release", "Finn Sinclair", "--media", "online", "--where", "World")
    assert not any("clip" in one for one in there["warnings"])
    # A use names the clip as every other door does, and not the film that it is in.
    bizkit("rights", "grant", sold, "--override", "the papers follow", "--on", "2027-06-02")
    for stage in ("1", "2"):
        bill = bizkit(
            "invoice", "issue", sold, "--stage", stage, "--reason", "paid ahead", "--on", "2027-06-03", "--json"
        )
        assert bizkit("invoice", "paid", bill.data["number"], "--on", "2027-06-04").code == 0
    bizkit("holding", "withdraw", JOB, there["id"], "--reason", "asked", "--on", "2027-06-10")
    use = ("rights", "use", sold, "--media", "paid_social", "--where", "GB", "--on", "2027-09-01", "--json")
    said = [one for one in bizkit(*use).data["look"] if "Finn Sinclair" in one]
    assert said
    assert all(f"missing for {CLIP} (from {JOB}/campaign-film)" in one for one in said)


def test_who_withdraws_there_is_told_of_the_licence_that_includes_it(bizkit, sold, hold, studio):
    bizkit("rights", "link", sold, CLIP, "--from", f"{JOB}/campaign-film", "--on", "2027-06-01")
    done = bizkit("rights", "grant", sold, "--override", "the papers follow", "--on", "2027-06-02", "--json")
    assert done.code == 0, done.err
    papers = bizkit("holding", "list", JOB, "--json").data
    (paper,) = [one["id"] for one in papers if one["subject"] == "Eilidh Rendall"]
    done = bizkit("holding", "withdraw", JOB, paper, "--reason", "changed her mind", "--on", "2027-07-01", "--json")
    assert done.code == 0, done.err
    assert [one["number"] for one in done.data["live"]] == ["LC-2027-0001"]


@pytest.fixture
def third(bizkit, sold, studio):
    """A third job, whose licence includes a clip of the second."""
    text = (studio / "briefs" / "storm.toml").read_text("utf-8")
    text = text.replace('key = "storm"', 'key = "calm"').replace('title = "Storm"', 'title = "Calm"')
    (studio / "briefs" / "calm.toml").write_text(text.replace(CLIP, "Storm at sea"), "utf-8")
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, "calm", "--on", "2027-02-10")
        assert done.code == 0, done.err
    return "calm"


def test_a_clip_of_a_film_with_a_clip_brings_what_that_needs(bizkit, sold, third, hold):
    bizkit("rights", "link", JOB, "campaign-film", "--who", "Finn Sinclair", "--on", "2027-06-01")
    bizkit("rights", "link", third, "Storm at sea", "--from", f"{sold}/campaign-film", "--on", "2027-06-01")

    def asked():
        found = bizkit("rights", "check", third, "--on", "2027-06-01", "--json").data
        gaps = {one["name"] for one in found["gaps"] if any(JOB in work for work in one["works"])}
        return gaps, [one for one in found["questions"] if CLIP in one]

    # The second job's clip is in its film for all that anybody knows: where it comes from is asked here too.
    gaps, questions = asked()
    assert (gaps, len(questions)) == (set(), 1)
    bizkit("rights", "link", sold, CLIP, "--from", f"{JOB}/campaign-film", "--on", "2027-06-01")
    assert asked() == ({"Finn Sinclair"}, [])
    hold("talent_release", "Finn Sinclair", "--without-end")
    assert asked() == (set(), [])


def test_what_is_exclusive_is_so_as_a_clip_too(bizkit, sold, studio):
    """The first job's licence is exclusive for tourism; another house of that trade gets no clip of its film."""
    other = 'name = "Example Holidays"\ncountry = "GB"\nsector = "tourism"\n'
    (studio / "clients" / "example-holidays.toml").write_text(other, "utf-8")
    text = (studio / "briefs" / "storm.toml").read_text("utf-8").replace('key = "storm"', 'key = "dunes"')
    text = text.replace('client = "skerrow-islands-tourism"', 'client = "example-holidays"').replace(CLIP, "Kelp")
    (studio / "briefs" / "dunes.toml").write_text(text, "utf-8")
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, "dunes", "--on", "2027-02-10")
        assert done.code == 0, done.err

    def against(job):
        done = bizkit("rights", "check", job, "--on", "2027-06-01", "--json")
        return [one["text"] for one in done.data["conflicts"]]

    assert against("dunes") == []
    bizkit("rights", "link", "dunes", "Kelp", "--from", f"{JOB}/campaign-film", "--on", "2027-06-01")
    (said,) = against("dunes")
    assert f"{JOB}/campaign-film: {JOB} is exclusive for tourism, the business of Example Holidays" in said
    # Asked from the other side, and of both at once, it is the same.
    assert against(JOB) == [said]
    everything = bizkit("rights", "list", "--on", "2027-06-01", "--json").data
    assert [one["text"] for one in everything["conflicts"]] == [said]
    refused = bizkit("rights", "grant", "dunes", "--override", "", "--on", "2027-06-02")
    assert refused.code == 1
    # Another clip of the film for the same client as before stands beside it.
    bizkit("rights", "link", sold, CLIP, "--from", f"{JOB}/campaign-film", "--on", "2027-06-01")
    assert against(sold) == []


def test_who_withdraws_is_told_of_a_licence_two_clips_away(bizkit, sold, third):
    bizkit("rights", "link", third, "Storm at sea", "--from", f"{sold}/campaign-film", "--on", "2027-06-01")
    bizkit("rights", "link", sold, CLIP, "--from", f"{JOB}/campaign-film", "--on", "2027-06-01")
    done = bizkit("rights", "grant", third, "--override", "the papers follow", "--on", "2027-06-02", "--json")
    assert done.code == 0, done.err
    papers = bizkit("holding", "list", JOB, "--json").data
    (paper,) = [one["id"] for one in papers if one["subject"] == "Eilidh Rendall"]
    done = bizkit("holding", "withdraw", JOB, paper, "--reason", "changed her mind", "--on", "2027-07-01", "--json")
    assert [one["number"] for one in done.data["live"]] == ["LC-2027-0001"]


def test_a_clip_comes_from_no_film_that_it_goes_into(bizkit, sold, third):
    linked = bizkit("rights", "link", third, "Storm at sea", "--from", f"{sold}/campaign-film", "--on", "2027-06-01")
    assert linked.code == 0, linked.err
    for origin in (f"{sold}/campaign-film", f"{third}/campaign-film"):
        refused = bizkit("rights", "link", sold, CLIP, "--from", origin, "--on", "2027-06-01")
        assert refused.code == 2
        wanted = "--from: wanted a deliverable of an earlier job, which the clip was cut out of, got "
        assert f"{wanted}{origin}, which {CLIP} goes into" in refused.err


@pytest.mark.parametrize(
    ("named", "origin", "said"),
    [
        (CLIP, "campaign-film", "--from: wanted one deliverable as JOB/DELIVERABLE, got campaign-film"),
        (CLIP, f"{JOB}/campain-film", "wanted a known deliverable, got campain-film. Did you mean campaign-film?"),
        (CLIP, "nowhere/film", "nowhere"),
        ("campaign-film", f"{JOB}/campaign-film", "--from: wanted an archive clip by its title"),
    ],
)
def test_what_is_no_deliverable_of_ours_is_refused(bizkit, sold, of_the_clip, named, origin, said):
    before = of_the_clip()
    done = bizkit("rights", "link", sold, named, "--from", origin, "--on", "2027-06-01")
    assert done.code in (1, 2)
    assert said in done.err, done.err
    assert of_the_clip() == before


def test_a_job_that_a_clip_comes_from_is_not_taken_back(bizkit, sold, studio):
    text = (studio / "briefs" / f"{JOB}.toml").read_text("utf-8").replace(f'key = "{JOB}"', 'key = "calm"', 1)
    (studio / "briefs" / "calm.toml").write_text(text.replace("Follow the Kelp", "Calm"), "utf-8")
    for command in ("draft", "send", "accept"):
        assert bizkit("quote", command, "calm", "--on", "2027-02-09").code == 0
    reopen = ("quote", "reopen", "calm", "--reason", "a slip", "--preview", "--on", "2027-06-01")
    assert bizkit(*reopen).code == 0
    bizkit("rights", "link", sold, CLIP, "--from", "calm/stills", "--on", "2027-06-01")
    done = bizkit(*reopen)
    assert done.code == 1
    assert f"the clip {CLIP} of the job {sold} comes from what it makes" in done.err
