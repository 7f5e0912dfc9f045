"""`rights link` and `rights check`: what is in each deliverable, and the exact part that is not held.

The gaps are those of the table in the reference check values (worked out there by PostgreSQL datemultirange
subtraction), moved to the licence of the job: {own channels, paid social} x {GB, IE} x 2027-07-01..2028-06-30.
"""

from __future__ import annotations

import json
from datetime import date

import pytest
from sqlalchemy import create_engine, text

JOB = "follow-the-kelp"


def gaps_of(bizkit, on="2027-06-01"):
    found = bizkit("rights", "check", JOB, "--on", on, "--json").data
    return {(row["kind"], row["name"]): row["missing"] for row in found["gaps"]}


def boxes(missing):
    return sorted((tuple(box["media"]), tuple(box["countries"]), box["starts"], box["ends"]) for box in missing)


def test_a_cleared_job_is_cleared(bizkit, clear):
    found = bizkit("rights", "check", clear, "--on", "2027-06-01", "--json").data
    assert (found["cleared"], found["gaps"], found["questions"], found["papers"]) == (True, [], [], [])
    assert "CLEARED" in bizkit("rights", "check", clear, "--on", "2027-06-01").out


def test_no_paper_on_file_means_nothing_held(bizkit, job):
    found = gaps_of(bizkit)
    assert set(found) == {
        ("location_permission", "Kelp trail, Otter Sound"),
        ("location_permission", "Seabird cliff, Kittiwake Head"),
        ("location_permission", "Shore sauna, Selkie Bay"),
        ("crew_assignment", "Brodie Lunn"),
    }
    year = [(("owned_channels", "paid_social"), ("GB", "IE"), "2027-07-01", "2028-06-30")]
    assert all(boxes(missing) == year for missing in found.values())
    said = bizkit("rights", "check", job, "--on", "2027-06-01").out
    assert "nothing held: no paper on file" in said
    assert "nobody has said who appears in campaign-film" in said


@pytest.mark.parametrize(
    ("papers", "missing"),
    [
        # talent A: covered
        ([["--media", "online", "--media", "broadcast", "--where", "World", "--from", "2027-01-01"]], []),
        # talent B: two papers, the second without Ireland
        (
            [
                ["--media", "owned_channels", "--where", "GB", "--where", "IE", "--from", "2027-01-01",
                 "--until", "2027-12-31"],
                ["--media", "owned_channels", "--where", "GB", "--from", "2028-01-01"],
            ],
            [
                (("owned_channels",), ("IE",), "2028-01-01", "2028-06-30"),
                (("paid_social",), ("GB", "IE"), "2027-07-01", "2028-06-30"),
            ],
        ),
        # ends a month early
        (
            [["--media", "online", "--where", "World", "--from", "2027-06-01", "--until", "2028-05-31"]],
            [(("owned_channels", "paid_social"), ("GB", "IE"), "2028-06-01", "2028-06-30")],
        ),
        # two boxes that join, and two that miss one day
        (
            [
                ["--media", "online", "--where", "World", "--from", "2027-06-01", "--until", "2027-12-31"],
                ["--media", "online", "--where", "World", "--from", "2028-01-01"],
            ],
            [],
        ),
        (
            [
                ["--media", "online", "--where", "World", "--from", "2027-06-01", "--until", "2027-12-30"],
                ["--media", "online", "--where", "World", "--from", "2028-01-01"],
            ],
            [(("owned_channels", "paid_social"), ("GB", "IE"), "2027-12-31", "2027-12-31")],
        ),
    ],
)  # fmt: skip
def test_the_exact_missing_part_of_each_paper(bizkit, clear, hold, papers, missing):
    for options in papers:
        hold("talent_release", "Finn Sinclair", *options)
    found = gaps_of(bizkit)
    assert boxes(found.get(("talent_release", "Finn Sinclair"), [])) == sorted(missing)
    assert set(found) == ({("talent_release", "Finn Sinclair")} if missing else set())


def test_postgresql_subtracts_the_dates_alike(bizkit, clear, hold, postgresql_url):
    """The independent oracle: a multirange minus what is held."""
    spans = [("2027-01-01", "2027-08-14"), ("2027-08-16", "2028-02-29"), ("2028-03-02", "2028-05-01")]
    for start, end in spans:
        hold(
            "talent_release",
            "Finn Sinclair",
            "--media",
            "online",
            "--where",
            "World",
            "--from",
            start,
            "--until",
            end,
        )
    ranges = ", ".join(f"daterange('{start}', '{end}', '[]')" for start, end in spans)
    engine = create_engine(postgresql_url)
    with engine.connect() as server:
        wanted = "datemultirange(daterange('2027-07-01', '2028-06-30', '[]'))"
        rows = server.execute(
            text(f"SELECT lower(r), upper(r) - 1 FROM unnest({wanted} - datemultirange({ranges})) AS r")
        ).all()
    engine.dispose()
    expected = [(low.isoformat(), high.isoformat()) for low, high in rows]
    assert expected == [("2027-08-15", "2027-08-15"), ("2028-03-01", "2028-03-01"), ("2028-05-02", "2028-06-30")]
    missing = gaps_of(bizkit)["talent_release", "Finn Sinclair"]
    assert sorted((box["starts"], box["ends"]) for box in missing) == expected


def test_one_paper_of_several_parts_is_read_from_a_file(bizkit, clear, hold, tmp_path):
    terms = tmp_path / "terms.toml"
    terms.write_text(
        """
        [[scope]]
        media = ["online"]
        territory = ["GB", "IE"]
        starts = 2027-06-01
        until = 2027-12-31

        [[scope]]
        media = ["online"]
        territory = ["GB"]
        starts = 2028-01-01
        open_end = true
        """,
        encoding="utf-8",
    )
    hold("talent_release", "Finn Sinclair", "--terms", terms)
    assert boxes(gaps_of(bizkit)["talent_release", "Finn Sinclair"]) == [
        (("owned_channels", "paid_social"), ("IE",), "2028-01-01", "2028-06-30")
    ]


def test_a_tune_needs_both_its_composition_and_its_recording(bizkit, clear, hold):
    bizkit("rights", "link", clear, "campaign-film", "--music", "Slack Water", "--on", "2027-05-20")
    assert set(gaps_of(bizkit)) == {("composition", "Slack Water"), ("recording", "Slack Water")}
    hold("composition", "slack  water", "--by", "Mairi Eider", "--media", "online", "--where", "Europe")
    found = bizkit("rights", "check", clear, "--on", "2027-06-01", "--json").data
    assert [(row["kind"], row["works"]) for row in found["gaps"]] == [("recording", [f"{clear}/campaign-film"])]
    assert len(hold("music", "Slack Water", "--by", "Mairi Eider", "--media", "online", "--where", "Europe")) == 2
    assert gaps_of(bizkit) == {}


def test_what_is_said_of_a_deliverable_is_the_whole_list_and_none_is_nobody(bizkit, clear):
    bizkit("rights", "link", clear, "stills", "--who", "Finn Sinclair", "--on", "2027-05-20")
    found = bizkit("rights", "check", clear, "--on", "2027-06-01", "--json").data
    assert [(row["name"], row["works"]) for row in found["gaps"]] == [("Finn Sinclair", [f"{clear}/stills"])]
    rows = {(row["work"], row["part"]): row for row in bizkit("rights", "link", clear, "--json").data}
    assert rows["stills", "who"]["names"] == ["Finn Sinclair"]
    # Elsewhere everybody with a release on file is still taken to appear.
    assert rows["campaign-film", "who"] == {
        "work": "campaign-film", "part": "who", "names": ["Eilidh Rendall"], "said": False,
    }  # fmt: skip
    bizkit("rights", "link", clear, "all", "--who", "none", "--place", "none", "--crew", "none", "--on", "2027-05-20")
    assert bizkit("rights", "check", clear, "--on", "2027-06-01", "--json").data["cleared"]


def test_a_paper_limited_to_one_deliverable_does_not_cover_the_others(bizkit, clear, hold):
    hold("talent_release", "Finn Sinclair", "--for", "stills")
    found = bizkit("rights", "check", clear, "--on", "2027-06-01", "--json").data
    (gap,) = found["gaps"]
    assert gap["works"] == [f"{clear}/campaign-film", f"{clear}/cut-downs", f"{clear}/sauna-loop"]


def test_the_shortest_list_takes_the_paper_that_waits_for_a_signature(bizkit, clear):
    bizkit("release", "add", clear, "--who", "Finn Sinclair", "--on", "2027-05-20")
    found = bizkit("rights", "check", clear, "--on", "2027-06-01", "--json").data
    (paper,) = found["papers"]
    assert paper["text"] == f"have paper {paper['holding']} signed (talent release: Finn Sinclair)"
    assert bizkit("job", "show", clear, "--on", "2027-06-01", "--json").data["missing"] == [
        "talent release: Finn Sinclair, to be signed"
    ]


def test_two_papers_of_one_person_add_up_and_papers_of_two_do_not(bizkit, clear, hold):
    hold("talent_release", "Finn Sinclair", "--media", "owned_channels", "--where", "GB", "--where", "IE")
    hold("talent_release", "Morag Sinclair", "--media", "paid_social", "--where", "GB", "--where", "IE")
    assert set(gaps_of(bizkit)) == {("talent_release", "Finn Sinclair"), ("talent_release", "Morag Sinclair")}
    hold("talent_release", "Finn Sinclair", "--media", "paid_social", "--where", "GB", "--where", "IE")
    assert set(gaps_of(bizkit)) == {("talent_release", "Morag Sinclair")}


def test_an_assignment_signed_after_the_shoot_is_warned_about_and_one_without_paper_holds_nothing(bizkit, job, scan):
    late = bizkit(
        "holding", "add", job, "--kind", "crew_assignment", "--about", "Brodie Lunn", "--signed", "2027-05-14",
        "--media", "all", "--where", "World", "--without-end", "--scan", scan, "--on", "2027-05-20", "--json",
    ).data  # fmt: skip
    (warning,) = late["warnings"]
    assert warning.startswith("signed on 2027-05-14, after the last shoot day 2027-05-13: check that it reaches back")
    found = bizkit("rights", "check", job, "--on", "2027-06-01", "--json").data
    assert [one for one in found["warnings"] if "after the last shoot day 2027-05-13" in one]


def test_the_two_expiry_tests_are_kept_apart(bizkit, clear, hold):
    """An operator ID that ends the day after the shoot is no gap in a licence; one that ends before it is one in the
    shoot, whatever the licence."""
    add = ["holding", "add", clear, "--about", "Gannet & Lark Films", "--on", "2027-05-01"]
    assert bizkit(*add, "--kind", "insurance").code == 0
    ok = bizkit(*add, "--kind", "operator_id", "--from", "2026-05-14", "--until", "2027-05-14", "--number", "OP-1")
    assert ok.code == 0
    assert "Look" not in ok.out
    short = bizkit(*add, "--kind", "permit", "--from", "2027-05-01", "--until", "2027-05-11", "--json").data
    assert short["warnings"] == ["permit: Gannet & Lark Films is not valid for 2027-05-12..2027-05-13"]
    found = bizkit("rights", "check", clear, "--on", "2027-05-02", "--json").data
    assert found["cleared"]
    assert [row["text"] for row in found["shoot"]] == [
        "insurance: Gannet & Lark Films is not on file for 2027-05-10..2027-05-13",
        "permit: Gannet & Lark Films is not valid for 2027-05-12..2027-05-13",
    ]
    missing = bizkit("status", "--on", "2027-05-02", "--json").data["missing"]
    assert "permit: Gannet & Lark Films is not valid for 2027-05-12..2027-05-13" in [
        row["missing"] for row in missing
    ]
    # Once the shoot is over, nobody can do anything about it any more.
    assert bizkit("status", "--on", "2027-06-01", "--json").data["missing"] == []
    # A release that ends before the licence is the other way round.
    hold("talent_release", "Finn Sinclair", "--until", "2027-12-31")
    found = bizkit("rights", "check", clear, "--on", "2027-05-02", "--json").data
    assert [row["name"] for row in found["gaps"]] == ["Finn Sinclair"]


def test_a_medical_may_be_needed_on_some_days_only(bizkit, clear):
    add = ["holding", "add", clear, "--kind", "diver_medical", "--about", "Ailsa Gannet", "--on", "2027-05-01"]
    assert bizkit(*add, "--day", "2027-05-10", "--day", "2027-05-12").code == 0
    found = bizkit("rights", "check", clear, "--on", "2027-05-02", "--json").data
    assert [row["days"] for row in found["shoot"]] == [["2027-05-10", "2027-05-12"]]
    assert bizkit(*add, "--from", "2026-05-11", "--until", "2027-05-10").code == 0
    found = bizkit("rights", "check", clear, "--on", "2027-05-02", "--json").data
    assert [row["days"] for row in found["shoot"]] == [["2027-05-12"]]


def test_a_drone_in_the_brief_and_nothing_noted_about_it_is_pointed_out(bizkit, clear):
    found = bizkit("rights", "check", clear, "--on", "2027-05-02", "--json").data
    assert len(found["hints"]) == 1
    for kind in ("pilot_id", "operator_id", "insurance"):
        bizkit(
            "holding", "add", clear, "--kind", kind, "--about", "Rowan Lark", "--from", "2027-01-01",
            "--until", "2027-12-31", "--on", "2027-05-01",
        )  # fmt: skip
    assert bizkit("rights", "check", clear, "--on", "2027-05-02", "--json").data["hints"] == []


def test_the_history_and_the_issued_papers_hold_nobodys_name(bizkit, clear, studio):
    """Names stand in the person's row, so that they can be taken out; records that never change say person-ID."""
    engine = create_engine(f"sqlite:///{studio / 'book.sqlite'}")
    with engine.connect() as book:
        rows = book.execute(text("SELECT data FROM event")).scalars().all()
        rows += book.execute(text("SELECT file || name || about FROM filed")).scalars().all()
    engine.dispose()
    assert rows
    assert not [row for row in rows if "eilidh" in row.casefold()]
    assert date.fromisoformat("2027-05-20")
    assert all(json.loads(row) is not None for row in rows if row.startswith("{"))


def test_a_studio_adds_its_own_media(bizkit, studio, change, clear):
    """A trade-show loop that the shipped tree does not know: priced, cleared, said in words."""
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write(
            '\n[media.ferry_screens]\nlabel = "ferry screens"\nmeaning = "On board"\nunder = "public_places"\n'
        )
    change(studio / "rate-card.toml", "[usage.media]\n", "[usage.media]\nferry_screens = 0.3\n")
    change(studio / "briefs" / f"{JOB}.toml", f'key = "{JOB}"', 'key = "ferry-loop"')
    change(studio / "briefs" / f"{JOB}.toml", '"owned_channels", "paid_social"', '"ferry_screens", "events"')
    for command in (["quote", "draft", JOB], ["quote", "send", "ferry-loop"], ["quote", "accept", "ferry-loop"]):
        done = bizkit(*command, "--on", "2027-02-09")
        assert done.code == 0, done.err
    said = bizkit("rights", "explain", "ferry-loop").out
    assert "in these media: events and ferry screens" in said
    out = bizkit("rights", "check", "ferry-loop", "--on", "2027-06-01").out
    assert "Must be held: events, ferry screens /" in out
    use = bizkit("rights", "use", JOB, "--media", "ferry screens", "--where", "GB", "--json")
    assert (use.code, use.data["media"]) == (0, ["ferry_screens"])
    wrong = studio / "studio.toml"
    wrong.write_text(wrong.read_text(encoding="utf-8").replace("public_places", "puddle"), encoding="utf-8")
    done = bizkit("rights", "list")
    assert (done.code, "media.ferry_screens.under: wanted one of" in done.err) == (2, True)
