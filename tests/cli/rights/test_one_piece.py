"""One piece of footage is one piece whichever job licenses it, and a paper counts where its works were made."""

from __future__ import annotations

import pytest

JOB = "follow-the-kelp"
CLIP = '[[licence.clips]]\ntitle = "{}"\nseconds = 12.5\n\n[weather]'


@pytest.fixture
def sold(bizkit, studio):
    """`sold("shark-a", "Basking shark", exclusivity="sole")` quotes a job with an archive clip, accepted."""

    def job(key, title, exclusivity="none", client=""):
        brief = studio / "briefs" / f"{key}.toml"
        text = (studio / "briefs" / f"{JOB}.toml").read_text("utf-8")
        for old, new in (
            (f'key = "{JOB}"', f'key = "{key}"'), ('title = "Follow the Kelp"', f'title = "{key}"'),
            ("[weather]", CLIP.format(title)), ('exclusivity = "sector"', f'exclusivity = "{exclusivity}"'),
            ('sector = "tourism"\n', ""),
        ):  # fmt: skip
            assert old in text, old
            text = text.replace(old, new, 1)
        if client:
            (studio / "clients" / f"{client}.toml").write_text(f'name = "{client}"\ncountry = "GB"\n', "utf-8")
            text = text.replace('client = "skerrow-islands-tourism"', f'client = "{client}"', 1)
        brief.write_text(text, "utf-8")
        for command in ("draft", "send", "accept"):
            done = bizkit("quote", command, key, "--on", "2027-02-09")
            assert done.code == 0, done.err
        return key

    return job


def conflicts(bizkit, key):
    return bizkit("rights", "check", key, "--on", "2027-06-01", "--json").data["conflicts"]


def test_the_same_clip_is_not_sole_to_two_clients(bizkit, sold):
    sold("shark-a", "Basking shark breach, drone 4K", "sole")
    sold("shark-b", "basking  shark BREACH, drone 4K", "sole", client="example-ferries")
    (against,) = conflicts(bizkit, "shark-b")
    assert against["works"] == ["clip basking shark breach, drone 4k"]
    assert "is a sole licence" in against["why"]
    assert len(bizkit("rights", "list", "--on", "2027-06-01", "--json").data["conflicts"]) == 1
    refused = bizkit("rights", "grant", "shark-b", "--on", "2027-06-01")
    assert refused.code == 1
    # The first is granted all the same, and stands against the second by its number.
    done = bizkit("rights", "grant", "shark-a", "--override", "papers come later", "--on", "2027-06-01")
    assert done.code == 0, done.err
    (against,) = conflicts(bizkit, "shark-b")
    assert against["first"] == "LC-2027-0001"


def test_another_clip_or_none_that_is_exclusive_stands_in_nobodys_way(bizkit, sold):
    sold("shark-a", "Basking shark", "sole")
    sold("shark-b", "Grey seal", "sole", client="example-ferries")
    sold("shark-c", "Grey seal", "none", client="example-tours")
    assert conflicts(bizkit, "shark-a") == []
    assert [one["works"] for one in conflicts(bizkit, "shark-c")] == [["clip grey seal"]]


def test_a_paper_is_filed_where_its_works_were_made(bizkit, live, scan, signature):
    """An offer makes a job that licenses works of another: a paper under it would count for nothing."""
    bizkit("rights", "offer", JOB, "--media", "cinema", "--where", "GB", "--from", "2027-08-01", "--months", "6",
           "--on", "2027-07-02")  # fmt: skip
    key = f"{JOB}-licence"
    for command in ("send", "accept"):
        assert bizkit("quote", command, key, "--on", "2027-07-02").code == 0
    said = f"{key} licenses works that {JOB} made: a paper counts under that job, for every licence of its works"
    on = ["--on", "2027-07-03"]
    terms = ["--media", "cinema", "--where", "GB", "--without-end", "--signed", "2027-07-02", "--scan", scan]
    for words in (
        ["release", "add", key, "--who", "Eilidh Rendall", *terms],
        ["release", "add", key, "--who", "Eilidh Rendall"],
        ["permission", "add", key, "--place", "Shore sauna, Selkie Bay", *terms],
        ["holding", "add", key, "--kind", "artwork", "--about", "Mural", "--by", "X", *terms],
        ["release", "form", key, "--who", "Eilidh Rendall"],
        ["release", "sign", key, "--who", "Eilidh Rendall", "--signature", signature],
    ):
        done = bizkit(*words, *on)
        assert (done.code, said in done.err) == (1, True), (words, done.err)

    def gaps():
        found = bizkit("rights", "check", key, "--on", "2027-07-03", "--json").data["gaps"]
        return "Eilidh Rendall" in {row["name"] for row in found}

    assert gaps()
    assert bizkit("release", "add", JOB, "--who", "Eilidh Rendall", *terms, *on).code == 0
    assert not gaps()
