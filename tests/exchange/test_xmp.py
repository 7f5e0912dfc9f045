"""Sidecars, read back by ExifTool."""

import json
import shutil
import subprocess
from dataclasses import replace
from datetime import date

import pytest

from bizkit.domain.errors import BadInput
from bizkit.exchange.xmp import Contact, Place, RightsMetadata, release_status, sidecar, youngest_age

FACTS = RightsMetadata(
    title="Kelp forest at noon",
    headline="Follow the Kelp",
    description="A snorkeller over the kelp <at 3 m> & a seal",
    creators=("Isla Gannet", "Rob Lark"),
    creator_contact=Contact(
        email="hello@gannetlark.example", phone="01632 960123", website="https://gannetlark.example"
    ),
    copyright_owner="Gannet & Lark Films",
    copyright_notice="© 2027 Gannet & Lark Films",
    credit="Gannet & Lark Films",
    usage_terms="Own channels and paid social in the United Kingdom and Ireland until 30 June 2028.",
    terms_url="https://gannetlark.example/terms",
    licensor=Contact("Gannet & Lark Films", "hello@gannetlark.example", "01632 960123", "https://gannetlark.example"),
    instructions="Do not crop the diver's hand signal.",
    keywords=("kelp", "Möwe", "snorkel"),
    created_on=date(2027, 5, 10),
    shown=Place("South beach", "Skerrow", "Skerrow Islands", "GB", "United Kingdom"),
    identifier="urn:sha256:0123",
    media_type="image/jpeg",
    model_release=release_status("model", ["unlimited", "limited"]),
    model_release_ids=("R-7", "R-8"),
    property_release=release_status("property", []),
    minor_age=youngest_age([34, 41]),
    licence_id="LIC-2027-0001",
    licensee="Skerrow Islands Tourism",
    licence_from=date(2027, 7, 1),
    licence_until=date(2028, 6, 30),
    media_limits="Own channels, paid social",
    region_limits="United Kingdom, Ireland",
    no_data_mining=True,
)


def read(data, tmp_path, *options):
    if shutil.which("exiftool") is None:  # pragma: no cover - CI installs it
        pytest.fail("ExifTool is not installed: install libimage-exiftool-perl")
    path = tmp_path / "kelp.xmp"
    path.write_bytes(data)
    out = subprocess.run(
        ["exiftool", "-j", "-G1", "-struct", *options, str(path)], capture_output=True, check=True
    ).stdout
    return {key: value for key, value in json.loads(out)[0].items() if key.startswith("XMP")}


def test_exiftool_reads_every_property(tmp_path):
    found = read(sidecar(FACTS), tmp_path, "-n")
    plus = "http://ns.useplus.org/ldf/vocab/"
    expected = {
        "XMP-dc:Format": "image/jpeg",
        "XMP-dc:Title": "Kelp forest at noon",
        "XMP-dc:Description": "A snorkeller over the kelp <at 3 m> & a seal",
        "XMP-dc:Creator": ["Isla Gannet", "Rob Lark"],
        "XMP-dc:Subject": ["kelp", "Möwe", "snorkel"],
        "XMP-dc:Rights": "© 2027 Gannet & Lark Films",
        "XMP-photoshop:Headline": "Follow the Kelp",
        "XMP-photoshop:Credit": "Gannet & Lark Films",
        "XMP-photoshop:Instructions": "Do not crop the diver's hand signal.",
        "XMP-photoshop:DateCreated": "2027:05:10",
        "XMP-xmpRights:Marked": True,
        "XMP-xmpRights:UsageTerms": FACTS.usage_terms,
        "XMP-xmpRights:WebStatement": "https://gannetlark.example/terms",
        "XMP-xmpRights:Owner": ["Gannet & Lark Films"],
        "XMP-iptcCore:CreatorContactInfo": {
            "CiEmailWork": "hello@gannetlark.example",
            "CiTelWork": "01632 960123",
            "CiUrlWork": "https://gannetlark.example",
        },
        "XMP-iptcExt:LocationShown": [
            {
                "Sublocation": "South beach",
                "City": "Skerrow",
                "ProvinceState": "Skerrow Islands",
                "CountryName": "United Kingdom",
                "CountryCode": "GB",
            }
        ],
        "XMP-iptcExt:DigitalImageGUID": "urn:sha256:0123",
        "XMP-plus:CopyrightOwner": [{"CopyrightOwnerName": "Gannet & Lark Films"}],
        "XMP-plus:ImageCreator": [{"ImageCreatorName": "Isla Gannet"}, {"ImageCreatorName": "Rob Lark"}],
        "XMP-plus:Licensor": [
            {
                "LicensorName": "Gannet & Lark Films",
                "LicensorEmail": "hello@gannetlark.example",
                "LicensorTelephone1": "01632 960123",
                "LicensorURL": "https://gannetlark.example",
            }
        ],
        "XMP-plus:ModelReleaseID": ["R-7", "R-8"],
        "XMP-plus:LicenseID": ["LIC-2027-0001"],
        "XMP-plus:Licensee": [{"LicenseeName": "Skerrow Islands Tourism"}],
        "XMP-plus:LicenseStartDate": "2027:07:01",
        "XMP-plus:LicenseEndDate": "2028:06:30",
        "XMP-plus:MediaConstraints": "Own channels, paid social",
        "XMP-plus:RegionConstraints": "United Kingdom, Ireland",
    }
    for key, value in expected.items():
        assert found.get(key) == value or [found.get(key)] == value, (key, found.get(key))
    codes = {key.partition(":")[2]: value for key, value in found.items() if key.startswith("XMP-plus")}
    assert codes["ModelReleaseStatus"] in (f"{plus}MR-LMR", "MR-LMR")
    assert codes["PropertyReleaseStatus"] in (f"{plus}PR-NAP", "PR-NAP")
    assert codes["MinorModelAgeDisclosure"] in (f"{plus}AG-A25", "AG-A25")
    assert codes["DataMining"] in (f"{plus}DMI-PROHIBITED", "DMI-PROHIBITED")


def test_exiftool_knows_the_codes_by_their_meaning(tmp_path):
    # PLUS picture licensing glossary, as ExifTool prints it
    found = read(sidecar(FACTS), tmp_path)
    assert found["XMP-plus:ModelReleaseStatus"] == "Limited or Incomplete Model Releases"
    assert found["XMP-plus:PropertyReleaseStatus"] == "Not Applicable"
    assert found["XMP-plus:MinorModelAgeDisclosure"] == "Age 25 or Over"


def test_exiftool_finds_nothing_to_complain_about(tmp_path):
    path = tmp_path / "kelp.xmp"
    path.write_bytes(sidecar(FACTS))
    out = subprocess.run(["exiftool", "-validate", "-warning", "-a", str(path)], capture_output=True, check=True)
    assert b"OK" in out.stdout, out.stdout


def test_what_is_empty_is_left_out(tmp_path):
    found = read(sidecar(RightsMetadata(title="Kelp")), tmp_path)
    assert {key for key in found if "toolkit" not in key.lower()} == {"XMP-dc:Title", "XMP-xmpRights:Marked"}


@pytest.mark.parametrize(
    ("releases", "model", "property_"),
    [
        # IPTC Photo Metadata 2025.1 and PLUS: not applicable, none, unlimited, limited or incomplete
        ([], "MR-NAP", "PR-NAP"),
        (["none", "none"], "MR-NON", "PR-NON"),
        (["unlimited", "unlimited"], "MR-UMR", "PR-UPR"),
        (["unlimited", "none"], "MR-LMR", "PR-LPR"),
        (["limited"], "MR-LMR", "PR-LPR"),
        (["limited", "none"], "MR-LMR", "PR-LPR"),
    ],
)
def test_release_codes_are_derived_from_the_records(releases, model, property_):
    assert release_status("model", releases) == model
    assert release_status("property", releases) == property_


@pytest.mark.parametrize(
    ("ages", "code"),
    [
        ([], "AG-UNK"),
        ([None], "AG-UNK"),
        ([30], "AG-A25"),
        ([25], "AG-A25"),
        ([24, 40], "AG-A24"),
        ([15], "AG-A15"),
        ([14], "AG-U14"),
        ([3, None], "AG-U14"),
        ([20, None], "AG-UNK"),
    ],
)
def test_the_age_code_is_that_of_the_youngest(ages, code):
    assert youngest_age(ages) == code


def test_wrong_words_are_refused():
    with pytest.raises(BadInput, match="kind: wanted model or property"):
        release_status("person", [])
    with pytest.raises(BadInput, match="release: wanted one of limited, none, unlimited"):
        release_status("model", ["signed"])
    with pytest.raises(BadInput, match="age: wanted an age of 0 or more"):
        youngest_age([-1])
    with pytest.raises(BadInput, match=r"shown.country_code: wanted a country code"):
        sidecar(replace(FACTS, shown=Place(country_code="ZZ")))
