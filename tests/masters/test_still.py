"""Photographs: size, colour, profile and what they say about themselves. ExifTool writes the metadata."""

import subprocess
import zlib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image, ImageCms

from bizkit.domain.errors import BadInput
from bizkit.domain.work.facts import Still
from bizkit.masters.still import plain_profile
from bizkit.masters.xmp import read_xmp

from .conftest import seen


def image(wide: int = 600, high: int = 400, mode: str = "RGB") -> Image.Image:
    noise = np.random.default_rng(2).integers(0, 255, (high, wide, 3), dtype=np.uint8)
    return Image.fromarray(noise).convert(mode)


def srgb() -> bytes:
    return ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def write_metadata(path: Path, *tags: str) -> None:
    subprocess.run(["exiftool", "-q", "-overwrite_original", *tags, path], check=True)


def still(path: Path) -> Still:
    facts = seen(path)
    assert (facts.kind, facts.picture, facts.tracks) == ("stills", None, ())
    assert facts.still is not None
    return facts.still


@pytest.mark.parametrize(
    ("name", "options", "form", "bits"),
    [
        ("gannet.jpg", {"quality": 90}, "jpeg", 8),
        ("gannet.jpg", {"progressive": True}, "jpeg", 8),
        ("gannet.png", {}, "png", 8),
        ("gannet.tif", {"compression": "tiff_lzw"}, "tiff", 8),
        ("gannet.tif", {}, "tiff", 8),
        ("gannet.webp", {}, "webp", 8),
    ],
)
def test_size_format_and_profile(tmp_path: Path, name: str, options: dict[str, Any], form: str, bits: int) -> None:
    image().save(tmp_path / name, icc_profile=srgb(), dpi=(300, 300), **options)
    found = still(tmp_path / name)
    assert (found.format, found.width_px, found.height_px) == (form, 600, 400)
    assert (found.profile, found.colour, found.bit_depth) == ("sRGB", "RGB", bits)
    assert found.per_inch == (0 if form == "webp" else 300)
    assert seen(tmp_path / name).damage == ()


def test_sixteen_bits_are_not_taken_for_eight(tmp_path: Path) -> None:
    deep = np.random.default_rng(2).integers(0, 65535, (40, 60), dtype=np.uint16)
    Image.fromarray(deep).save(tmp_path / "deep.tif")
    Image.fromarray(deep).save(tmp_path / "deep.png")
    for name in ("deep.tif", "deep.png"):
        assert (still(tmp_path / name).bit_depth, still(tmp_path / name).colour) == (16, "grey")


def test_an_upright_flag_turns_the_size(tmp_path: Path) -> None:
    turned = Image.Exif()
    turned[274] = 6
    image().save(tmp_path / "upright.jpg", exif=turned)
    found = still(tmp_path / "upright.jpg")
    assert (found.width_px, found.height_px) == (400, 600)


def test_a_second_picture_behind_the_first_leaves_it_a_jpeg(tmp_path: Path) -> None:
    image().save(tmp_path / "drone.jpg", format="MPO", save_all=True, append_images=[image(60, 40)])
    found = still(tmp_path / "drone.jpg")
    assert (found.format, found.width_px, found.height_px) == ("jpeg", 600, 400)


def test_a_tiff_past_four_gigabytes_would_be_read_too(tmp_path: Path) -> None:
    image().save(tmp_path / "big.tif", big_tiff=True)
    assert (tmp_path / "big.tif").read_bytes()[2] == 43
    assert still(tmp_path / "big.tif").format == "tiff"


def test_cmyk_and_no_profile_are_told(tmp_path: Path) -> None:
    image(mode="CMYK").save(tmp_path / "print.jpg")
    assert (still(tmp_path / "print.jpg").colour, still(tmp_path / "print.jpg").profile) == ("CMYK", "none")


@pytest.mark.parametrize("name", ["gannet.jpg", "gannet.tif", "gannet.png", "gannet.webp"])
def test_what_exiftool_writes_is_read_back(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    image(60, 40).save(path)
    write_metadata(
        path,
        "-XMP-dc:Creator=Gannet & Lark Films",
        "-XMP-dc:Rights=(c) 2027 Gannet & Lark Films",
        "-XMP-dc:Description=Gannets\nover the stack",
        "-XMP-photoshop:Credit=Gannet & Lark Films",
        "-XMP-xmpRights:UsageTerms=Owned channels until 30 June 2028",
        "-XMP-xmpRights:WebStatement=https://gannetandlark.example.com/rights",
        "-XMP-plus:ModelReleaseStatus=None",
        "-XMP-exif:GPSLatitude=60.1",
        "-XMP-aux:SerialNumber=0042",
    )
    assert dict(still(path).metadata) == {
        "camera_serial": "0042",
        "caption": "Gannets over the stack",
        "copyright": "(c) 2027 Gannet & Lark Films",
        "creator": "Gannet & Lark Films",
        "credit": "Gannet & Lark Films",
        "model_release": "http://ns.useplus.org/ldf/vocab/MR-NON",
        "position": "yes",
        "rights_page": "https://gannetandlark.example.com/rights",
        "usage_terms": "Owned channels until 30 June 2028",
    }


def test_exif_and_iptc_are_read_where_there_is_no_xmp(tmp_path: Path) -> None:
    path = tmp_path / "gannet.jpg"
    image(60, 40).save(path)
    write_metadata(
        path,
        "-EXIF:Artist=Gannet & Lark Films",
        "-EXIF:Copyright=(c) 2027",
        "-EXIF:GPSLatitude=60.1",
        "-EXIF:GPSLatitudeRef=N",
        "-EXIF:DateTimeOriginal=2027:05:10 06:30:00",
        "-EXIF:SerialNumber=0042",
        "-EXIF:ColorSpace=sRGB",
        "-IPTC:Caption-Abstract=Sauna at dusk",
        "-IPTC:Credit=Gannet & Lark Films",
    )
    found = still(path)
    assert found.profile == "sRGB"
    assert dict(found.metadata) == {
        "camera_serial": "0042",
        "caption": "Sauna at dusk",
        "copyright": "(c) 2027",
        "creator": "Gannet & Lark Films",
        "credit": "Gannet & Lark Films",
        "position": "yes",
        "taken_on": "2027:05:10 06:30:00",
    }


@pytest.mark.parametrize("name", ["gannet.jpg", "gannet.png", "gannet.tif"])
def test_an_image_cut_off_is_found(tmp_path: Path, name: str) -> None:
    image().save(tmp_path / name, **({"compression": "tiff_lzw"} if name.endswith("tif") else {}))
    data = (tmp_path / name).read_bytes()
    (tmp_path / name).write_bytes(data[: len(data) * 2 // 3])
    try:
        damage = seen(tmp_path / name).damage
    except BadInput as error:  # a TIFF keeps its index at the end
        damage = (str(error),)
    assert damage


def test_an_image_of_too_many_pixels_is_refused_before_it_is_decoded(tmp_path: Path) -> None:
    path = tmp_path / "huge.png"
    image(20, 20).save(path)
    data = bytearray(path.read_bytes())
    data[16:24] = (40_000).to_bytes(4, "big") * 2
    data[29:33] = zlib.crc32(bytes(data[12:29])).to_bytes(4, "big")
    path.write_bytes(data)
    with pytest.raises(BadInput, match="300 megapixels or fewer, got 40000 x 40000"):
        seen(path)


def test_names_of_profiles_are_plain() -> None:
    # As the profiles of the International Color Consortium, of Adobe, Apple and Kodak call themselves (from memory).
    assert plain_profile("sRGB IEC61966-2.1") == plain_profile("sRGB built-in") == "sRGB"
    assert plain_profile("Adobe RGB (1998)") == "Adobe RGB"
    assert plain_profile("Display P3") == "Display P3"
    assert plain_profile("ProPhoto RGB") == plain_profile("ROMM RGB: ISO 22028-2:2013") == "ProPhoto RGB"
    assert plain_profile("Coated FOGRA39") == "Coated FOGRA39"


def test_an_xmp_packet_with_entities_is_not_expanded() -> None:
    bomb = b"""<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>
    <r:RDF xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><r:Description
    xmlns:p="http://ns.adobe.com/photoshop/1.0/"><p:Credit>&b;</p:Credit></r:Description></r:RDF>"""
    assert read_xmp(bomb) == {}


def test_broken_and_bottomless_xmp_ends_quietly() -> None:
    assert read_xmp(b"<a" * 100_000) == {}
    assert read_xmp(b"<a>" * 100_000) == {}
    assert read_xmp(b"\xff\xfe\x00") == {}
    credit = (
        b'<r:RDF xmlns:r="http://www.w3.org/1999/02/22-rdf-syntax-ns#" xmlns:p="http://ns.adobe.com/photoshop/1.0/">'
        b"<r:Description><p:Credit>Lark</p:Credit>"
    )
    assert read_xmp(credit) == {"credit": "Lark"}
