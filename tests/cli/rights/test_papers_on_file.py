"""`holding` and signing on screen: every kind of paper, and every wrong input in one clear line."""

from __future__ import annotations

from pathlib import Path

import pypdf
import pytest
from PIL import Image

JOB = "follow-the-kelp"


def text_of(path):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.mark.parametrize(
    ("kind", "about", "more"),
    [
        ("talent_release", "Eilidh Rendall", []),
        ("location_permission", "Shore sauna, Selkie Bay", ["--by", "Selkie Bay Sauna"]),
        ("property_release", "The yawl Fulmar", ["--by", "Una Tern"]),
        ("composition", "Slack Water", ["--by", "Mairi Eider", "--media", "online", "--where", "Europe"]),
        ("recording", "Slack Water", ["--by", "Mairi Eider", "--media", "online", "--where", "Europe"]),
        ("crew_assignment", "Brodie Lunn", []),
        ("performer_consent", "Mairi Eider", []),
        ("artwork", "Mural at the pier", ["--by", "Una Tern", "--media", "all", "--where", "World"]),
        ("archive", "Storm of 1953", ["--by", "Skerrow Archive", "--media", "online", "--where", "World"]),
    ],
)
def test_every_kind_of_holding_is_filed_and_listed(bizkit, hold, studio, kind, about, more):
    row = hold(kind, about, *more)
    assert (row["kind"], row["subject"], row["status"], row["signed_on"]) == (kind, about, "signed", "2027-05-14")
    assert (studio / row["file"]).is_file()
    assert [one["id"] for one in bizkit("holding", "list", JOB, "--kind", kind, "--json").data] == [row["id"]]
    assert bizkit("verify").code == 0


def test_a_paper_is_draft_sent_signed_expired(bizkit, job, scan):
    add = ["holding", "add", job, "--kind", "talent_release", "--about", "Finn Sinclair", "--on", "2027-05-01"]

    def status(on="2027-05-20"):
        return [row["status"] for row in bizkit("holding", "list", job, "--on", on, "--json").data]

    assert bizkit(*add).code == 0
    assert status() == ["draft"]
    assert "is noted already" in bizkit(*add).err
    assert bizkit(*add, "--sent").code == 0
    assert status() == ["sent"]
    signed = [*add[:-1], "2027-05-15", "--signed", "2027-05-14", "--scan", scan, "--media", "online", "--where",
              "Europe", "--until", "2027-12-31"]  # fmt: skip
    assert bizkit(*signed).code == 0
    assert status() == ["signed"]
    assert status("2028-01-01") == ["expired"]


def test_filed_by_its_number_a_paper_allows_what_our_own_form_asked_for(hold):
    """A release says the media and countries of the licence, an assignment says everything."""
    release = hold("talent_release", "Eilidh Rendall")
    assert release["covers"] == "own channels, paid social / Ireland and United Kingdom / 2027-05-14.."
    assert hold("crew_assignment", "Brodie Lunn")["covers"] == "all media / World / 2027-05-14.."


def test_a_paper_noted_by_mistake_is_taken_out_but_a_signed_one_stays(bizkit, job, hold):
    bizkit("holding", "add", job, "--kind", "talent_release", "--about", "Fin Sinclair", "--on", "2027-05-01")
    (noted,) = bizkit("holding", "list", job, "--json").data
    assert bizkit("holding", "drop", job, noted["id"], "--reason", "misspelt", "--on", "2027-05-02").code == 0
    assert bizkit("holding", "list", job, "--json").data == []
    signed = hold("talent_release", "Finn Sinclair", "--guardian", "Morag Sinclair")
    refused = bizkit("holding", "drop", job, signed["id"], "--reason", "misspelt", "--on", "2027-05-22")
    assert (refused.code, "stays on file" in refused.err) == (1, True)


def test_every_wrong_input_is_one_clear_line(bizkit, job, scan, tmp_path):
    add = ["holding", "add", job, "--on", "2027-05-20"]
    signed = [*add, "--signed", "2027-05-14", "--scan", scan, "--kind", "talent_release", "--about", "Finn Sinclair"]
    music = [*add, "--signed", "2027-05-14", "--scan", scan, "--kind", "composition", "--about", "Slack Water"]
    terms = tmp_path / "terms.toml"
    terms.write_text('media = ["online"]\nterritory = ["GB"]\nmonth = 12\n', encoding="utf-8")
    both = tmp_path / "both.toml"
    both.write_text('media = ["online"]\nterritory = ["GB"]\nmonths = 12\nuntil = 2028-01-01\n', encoding="utf-8")
    for arguments, code, said in (
        ([*signed, "--where", "Atlantis"], 2, "--where: wanted a known country or region, got Atlantis"),
        ([*signed, "--where", "North America"], 2, "--where: wanted a territory that can be read one way"),
        ([*signed, "--from", "2027-07-01", "--until", "2027-06-30"], 2, "wanted a last day on or after 2027-07-01"),
        ([*signed, "--media", "telepathy"], 2, "--media: wanted a known medium, got telepathy"),
        ([*signed, "--media", "paid_socail"], 2, "Did you mean paid_social?"),
        ([*signed, "--born", "2017-08-02"], 1, "a parent or guardian signs; name them with --guardian"),
        ([*signed, "--under-18"], 1, "a parent or guardian signs; name them with --guardian"),
        ([*signed, "--born", "2027-08-02"], 2, "wanted a date of birth on or before 2027-05-14"),
        ([*signed, "--months", "0"], 2, "--months: wanted a number of 1 or more, got 0"),
        ([*signed, "--months", "12", "--until", "2028-01-01"], 2, "either --until or --months"),
        ([*signed, "--for", "poster"], 2, "wanted a known deliverable, got poster"),
        ([*signed, "--terms", terms], 2, "terms.toml"),
        ([*signed, "--terms", both], 2, "both.toml: months: wanted one of months, until or open_end"),
        ([*signed, "--terms", terms, "--media", "online"], 2, "either --terms or the options it stands for"),
        (music, 2, "--media: wanted the media that the paper allows, got nothing"),
        ([*music, "--media", "online"], 2, "--where: wanted the countries that the paper allows, got nothing"),
        ([*add, "--kind", "realease", "--about", "X"], 2, "wanted a known kind of paper, got realease"),
        ([*add, "--kind", "talent_release", "--about", " "], 2, "wanted who or what it is about"),
        ([*add, "--kind", "insurance", "--about", "X", "--media", "online"], 2, "wanted --from and --until"),
        ([*add, "--kind", "insurance", "--about", "X", "--until", "2027-12-31"], 2, "the first day it is valid"),
        ([*add, "--kind", "insurance", "--about", "X", "--from", "2027-05-02", "--until", "2027-05-01"], 2,
         "--until: wanted a last day on or after 2027-05-02"),
        ([*add, "--kind", "insurance", "--about", "X", "--day", "2027-05-09"], 2,
         "--day: wanted a known shoot day of the job, got 2027-05-09. Did you mean 2027-05-1"),
        ([*add, "--kind", "talent_release", "--about", "X", "--number", "7"], 2, "--kind: wanted --number and --day"),
        (["holding", "withdraw", job, "99", "--reason", "x"], 2, "wanted a known paper of the job, got 99"),
        (["holding", "list", job, "--on", "2027-02-30"], 2, "--on: wanted a date"),
        (["rights", "link", job, "campain-film", "--who", "Finn"], 2, "Did you mean campaign-film?"),
        (["rights", "link", job, "--who", "Finn"], 2, "DELIVERABLE: wanted the deliverables it is in, or all"),
        (["rights", "link", job, "all", "--who", "none", "--who", "Finn"], 2, "--who: wanted names, or none alone"),
        (["rights", "link", job, "all", "--place", "Otter Sound"], 2, "--place: wanted a known place"),
        (["rights", "link", job, "all", "--music", "7"], 2, "--music: wanted a known paper for music, got 7"),
        (["rights", "use", job, "--media", "radio", "--where", "GB"], 2, "--media: wanted a known medium, got radio"),
        (["rights", "use", job, "--media", "online", "--where", "XX"], 2, "--where: wanted a known country"),
        (["rights", "use", job, "--media", "online", "--where", "GB", "--work", "x"], 2, "--work: wanted a known"),
        (["rights", "certificate", job], 2, "LICENCE: wanted a known licence (number or job), got follow-the-kelp"),
        (["rights", "ending", "--within", "soon"], 2, "--within: wanted a number of days such as 90d"),
        (["rights", "offer", job, "--media", "online", "--where", "GB", "--from", "2027-07-01"], 2,
         "--months, --until or --open-end: wanted one of months, until or open_end = true"),
        (["rights", "offer", job, "--media", "online", "--where", "GB", "--from", "2027-07-01", "--until",
          "2027-06-30"], 2, "--until: wanted a day on or after 2027-07-01"),
        (["rights", "offer", job, "--media", "online", "--where", "GB", "--from", "2027-07-01", "--months", "3",
          "--exclusivity", "total"], 2, "--exclusivity: wanted one of none, sector, sole, got total"),
    ):  # fmt: skip
        done = bizkit(*arguments)
        assert done.code == code, (arguments, done.err)
        (line,) = done.err.splitlines()
        assert said in line, (said, line)
    assert bizkit("holding", "list", job, "--json").data == []


def test_a_release_is_filled_in_signed_on_screen_and_kept_by_its_checksum(bizkit, job, signature, studio):
    row = bizkit(
        "release", "sign", job, "--who", "Eilidh Rendall", "--signature", signature, "--witness", "Rowan Lark",
        "--on", "2027-05-13", "--json",
    ).data  # fmt: skip
    kept = studio / row["file"]
    assert row["paper"] in kept.name
    text = text_of(kept)
    for said in ("Eilidh Rendall", "13 May 2027", "Rowan Lark", "own website and channels, paid social media"):
        assert said in text
    # The one picture on the paper is the line that was drawn.
    pictures = [image for page in pypdf.PdfReader(kept).pages for image in page.images]
    assert [picture.image.size for picture in pictures] == [(400, 120)]
    assert row["covers"] == "own channels, paid social / Ireland and United Kingdom / 2027-05-13.."
    from bizkit.services.studio.studio_folder import StudioFolder
    from bizkit.store.jobs import holdings

    with StudioFolder(studio).book.read() as work:
        (stored,) = holdings(work)
    assert (stored.data["signing"]["witness"], stored.data["signing"]["how"]) == ("Rowan Lark", "drawn")
    assert stored.data["signing"]["at"].startswith("20")
    assert bizkit("verify").code == 0


def test_a_guardian_signs_for_a_child_and_an_owner_for_a_place(bizkit, job, signature, studio):
    child = ["release", "sign", job, "--who", "Finn Sinclair", "--born", "2017-08-02", "--signature", signature]
    assert "name them with --guardian" in bizkit(*child, "--on", "2027-05-13").err
    row = bizkit(*child, "--guardian", "Morag Sinclair", "--on", "2027-05-13", "--json").data
    assert (row["signed_by"], row["guardian"]) == ("Morag Sinclair", "Morag Sinclair")
    place = bizkit(
        "holding", "sign", job, "--kind", "location_permission", "--about", "Shore sauna, Selkie Bay", "--by",
        "Selkie Bay Sauna", "--signature", signature, "--media", "online", "--where", "Europe", "--until",
        "2029-12-31", "--condition", "No bathers in the background", "--on", "2027-05-13", "--json",
    ).data  # fmt: skip
    assert place["covers"] == "online / Europe / 2027-05-13..2029-12-31"
    text = text_of(studio / place["file"])
    for said in ("Selkie Bay Sauna", "Europe", "31 December 2029", "No bathers in the background"):
        assert said in text


def test_what_is_no_drawn_signature_is_refused(bizkit, job, tmp_path):
    empty, text, huge = tmp_path / "empty.png", tmp_path / "text.png", tmp_path / "huge.png"
    Image.new("RGBA", (100, 40), (0, 0, 0, 0)).save(empty)
    text.write_text("a signature", encoding="utf-8")
    Image.new("1", (7000, 10)).save(huge)
    for path, said in (
        (empty, "an empty picture"), (text, "another kind of file"), (huge, "a picture of 7000 x 10"),
        (Path("nowhere.png"), "no such file"),
    ):  # fmt: skip
        done = bizkit("release", "sign", job, "--who", "X", "--signature", path, "--on", "2027-05-13")
        assert done.code == 2
        assert "--signature: wanted a drawn signature as PNG or JPEG" in done.err
        assert said in done.err
    assert bizkit("holding", "list", job, "--json").data == []
