"""CSV, ODRL and XMP: what other people's programs read, read back by other people's programs."""

from __future__ import annotations

import csv
import json
import shutil
import subprocess

import pytest
from PIL import Image

JOB = "follow-the-kelp"
PLUS = "http://ns.useplus.org/ldf/vocab/"


@pytest.fixture
def still(tmp_path):
    path = tmp_path / "kelp-01.jpg"
    Image.new("RGB", (64, 48), (10, 90, 90)).save(path)
    return path


@pytest.fixture
def sidecar(bizkit, tmp_path, still):
    def write(deliverable="stills"):
        done = bizkit("rights", "sidecar", JOB, deliverable, still, "--replace", "--on", "2027-08-01", "--json")
        assert done.code == 0, done.err
        path = done.data["files"][0]
        if shutil.which("exiftool") is None:  # pragma: no cover - CI installs it
            pytest.fail("ExifTool is not installed: install libimage-exiftool-perl")
        out = subprocess.run(["exiftool", "-j", "-G1", "-struct", "-n", path], capture_output=True, check=True).stdout
        return json.loads(out)[0]

    return write


def rows_of(path):
    return list(csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines()))


def test_all_licences_and_papers_as_tables(bizkit, live, tmp_path, hold):
    hold("talent_release", '=HYPERLINK("https://example.com")')
    done = bizkit("rights", "export", tmp_path / "out", "--on", "2027-08-01", "--json")
    assert done.code == 0, done.err
    (licence,) = rows_of(tmp_path / "out" / "licences.csv")
    assert licence["licence"] == "LC-2027-0001"
    assert (licence["state"], licence["from"], licence["until"]) == ("live", "2027-07-01", "2028-06-30")
    assert licence["media"] == "owned_channels, paid_social"
    papers = rows_of(tmp_path / "out" / "holdings.csv")
    assert [row["kind"] for row in papers] == [
        "location_permission", "location_permission", "location_permission", "talent_release", "crew_assignment",
        "talent_release",
    ]  # fmt: skip
    # A cell that a spreadsheet would run stays text (OWASP, CSV injection).
    assert papers[-1]["about"].startswith("'=")


def test_each_licence_as_a_policy_that_permits_what_the_licence_allows(bizkit, live, tmp_path):
    bizkit("rights", "export", tmp_path / "out", "--on", "2027-08-01")
    policy = json.loads((tmp_path / "out" / "LC-2027-0001.jsonld").read_text(encoding="utf-8"))
    assert (policy["uid"], policy["@type"]) == ("urn:bizkit:licence:LC-2027-0001", "Agreement")
    assert policy["target"] == [
        f"urn:bizkit:work:{JOB}/{key}" for key in ("campaign-film", "cut-downs", "sauna-loop", "stills")
    ]
    from datetime import date

    from bizkit.exchange.odrl import permits

    for medium, country, day, allowed in (
        ("paid_social", "IE", "2027-07-01", True), ("paid_social", "IE", "2028-06-30", True),
        ("paid_social", "IE", "2027-06-30", False), ("paid_social", "IE", "2028-07-01", False),
        ("broadcast", "IE", "2027-08-01", False), ("paid_social", "DE", "2027-08-01", False),
    ):  # fmt: skip
        on = date.fromisoformat(day)
        assert permits(policy, "use", on=on, medium=medium, country=country) is allowed
        use = bizkit("rights", "use", JOB, "--media", medium, "--where", country, "--on", day, "--json").data
        assert use["allowed"] is allowed


def test_a_sidecar_says_whose_it_is_and_what_the_licence_allows(live, sidecar):
    found = sidecar()
    assert found["XMP-dc:Title"] == "Campaign stills"
    assert found["XMP-dc:Creator"] == ["Ailsa Gannet", "Rowan Lark"]
    assert found["XMP-photoshop:Credit"] == "Gannet & Lark Films"
    assert found["XMP-plus:LicenseID"] == "LC-2027-0001"
    assert found["XMP-plus:LicenseStartDate"] == "2027:07:01"
    assert found["XMP-plus:LicenseEndDate"] == "2028:06:30"
    assert "You may do so for audiences in: United Kingdom and Ireland." in found["XMP-xmpRights:UsageTerms"]


def test_release_codes_are_derived_from_the_papers(bizkit, live, sidecar, hold):
    """IPTC Photo Metadata 2025.1 and PLUS: MR-NON none, MR-NAP not applicable, MR-LMR limited or incomplete, MR-UMR
    unlimited; PR likewise; AG-U14 for 14 or under."""
    # Eilidh's release says the licence's media only: limited. Her age is not known.
    found = sidecar()
    assert found["XMP-plus:ModelReleaseStatus"].removeprefix(PLUS) == "MR-LMR"
    assert found["XMP-plus:PropertyReleaseStatus"].removeprefix(PLUS) == "PR-LPR"
    assert found["XMP-plus:MinorModelAgeDisclosure"].removeprefix(PLUS) == "AG-UNK"
    link = ["rights", "link", JOB, "stills", "--on", "2027-06-01"]
    bizkit(*link, "--who", "none", "--place", "none")
    found = sidecar()
    assert found["XMP-plus:ModelReleaseStatus"].removeprefix(PLUS) == "MR-NAP"
    assert found["XMP-plus:PropertyReleaseStatus"].removeprefix(PLUS) == "PR-NAP"
    bizkit(*link, "--who", "Finn Sinclair")
    assert sidecar()["XMP-plus:ModelReleaseStatus"].removeprefix(PLUS) == "MR-NON"
    hold(
        "talent_release", "Finn Sinclair", "--guardian", "Morag Sinclair", "--born", "2017-08-02", "--media", "all",
        "--where", "World",
    )  # fmt: skip
    found = sidecar()
    assert found["XMP-plus:ModelReleaseStatus"].removeprefix(PLUS) == "MR-UMR"
    assert found["XMP-plus:MinorModelAgeDisclosure"].removeprefix(PLUS) == "AG-U14"


def test_somebodys_own_sidecar_is_not_written_over(bizkit, job, still):
    own = still.with_name("kelp-01.jpg.xmp")
    own.write_text("<x/>", encoding="utf-8")
    refused = bizkit("rights", "sidecar", job, "stills", still, "--on", "2027-08-01")
    assert (refused.code, "kelp-01.jpg.xmp is there already" in refused.err) == (1, True)
    assert own.read_text(encoding="utf-8") == "<x/>"
    gone = bizkit("rights", "sidecar", job, "stills", "nowhere.jpg", "--on", "2027-08-01")
    assert gone.code == 2


def test_a_sidecar_is_held_against_the_versions_sent(bizkit, live, still, tmp_path):
    """A file nobody sent is told; an older version too; one of another work is refused, whatever it is called."""
    write = ("rights", "sidecar", JOB, "stills", still, "--replace", "--on", "2027-08-01")
    assert "Look: kelp-01.jpg is no version of stills that was sent" in bizkit(*write).out
    assert bizkit("deliverable", "send", JOB, "stills", still, "--reason", "a first one",
                  "--on", "2027-06-15").code == 0  # fmt: skip
    assert "kelp-01.jpg" not in "".join(bizkit(*write, "--json").data["look"])
    newer = tmp_path / "kelp-02.jpg"
    newer.write_bytes(still.read_bytes() + b"newer")
    assert bizkit("deliverable", "send", JOB, "stills", newer, "--reason", "again", "--on", "2027-06-16").code == 0
    assert "Look: kelp-01.jpg is v1 of stills, and v2 counts" in bizkit(*write).out
    refused = bizkit("rights", "sidecar", JOB, "sauna-loop", newer, "--on", "2027-08-01")
    assert (refused.code, refused.out) == (1, "")
    assert f"kelp-02.jpg is v2 of stills of the job {JOB}, and none of {JOB}/sauna-loop" in refused.err
    assert not (tmp_path / "kelp-02.jpg.xmp").exists()
