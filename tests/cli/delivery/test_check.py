"""Looking at real films and stills before the client does."""

from __future__ import annotations

import os
import pty
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

FILM = "campaign-film"


def points(data):
    """name -> ok, of the first file."""
    return {point["name"]: point["ok"] for point in data["files"][0]["points"]}


def test_a_film_as_promised_passes_every_point(bizkit, kelp, good_film):
    done = bizkit("deliverable", "check", good_film, "--job", kelp, "--deliverable", FILM, "--json")
    assert (done.code, done.err) == (0, "")
    assert done.data["wrong"] == 0
    found = points(done.data)
    assert {"frame size", "frame rate", "length", "loudness", "true peak", "black head", "file name"} <= set(found)
    assert False not in found.values()
    # EBU Tech 3341 case 1: a stereo sine of 1 kHz at -23 dBFS is -23 LUFS.
    loudness = next(one for one in done.data["files"][0]["points"] if one["name"] == "loudness")
    assert loudness["got"] in ("-23.0 LUFS", "-23.1 LUFS")


@pytest.mark.parametrize(
    ("options", "wrong"),
    [
        ({"seconds": 2.4}, {"length"}),
        ({"wide": 256, "high": 192}, {"frame size", "aspect"}),
        ({"dbfs": -12}, {"loudness"}),
        ({"black_s": 1}, {"black head"}),
    ],
)
def test_a_film_that_is_not_as_promised_says_what_was_wanted_and_got(bizkit, kelp, make_film, options, wrong):
    film = make_film(f"{kelp}_{FILM}_v1.mp4", **options)
    done = bizkit("deliverable", "check", film, "--job", kelp, "--deliverable", FILM, "--json")
    assert done.code == 1
    assert {name for name, ok in points(done.data).items() if ok is False} == wrong
    shown = bizkit("deliverable", "check", film, "--job", kelp, "--deliverable", FILM)
    assert shown.code == 1
    for name in wrong:
        assert f"WRONG  {name}" in shown.out


def test_the_name_of_the_file_is_held_against_the_job_the_cut_and_the_next_version(bizkit, kelp, good_film, tmp_path):
    for name, said in ((f"{kelp}_{FILM}_v2.mp4", "version should be v1"), ("final-FINAL.mp4", "A good name")):
        film = Path(shutil.copy(good_film, tmp_path / name))
        done = bizkit("deliverable", "check", film, "--job", kelp, "--deliverable", FILM)
        assert done.code == 1
        assert said in done.out
    cut = Path(shutil.copy(good_film, tmp_path / f"{kelp}_hero-16x9-2s_v1.mp4"))
    assert bizkit("deliverable", "check", cut, "--job", kelp, "--deliverable", "hero-16x9-2s").code == 0


def test_the_cuts_of_a_set_each_ask_their_own_shape_and_length(bizkit, kelp, good_film):
    done = bizkit("deliverable", "check", good_film, "--job", kelp, "--deliverable", "hero-9x16-1s", "--json")
    wrong = {one["name"]: one["wanted"] for one in done.data["files"][0]["points"] if one["ok"] is False}
    # 320 x 180 turned upright keeps its short side: 180 wide; 16/9 of it is 320 high (common practice).
    assert (wrong["frame size"], wrong["length"]) == ("180 x 320", "1 s")


def test_captions_beside_the_film_are_read_against_its_length(bizkit, kelp, good_film, tmp_path):
    film = Path(shutil.copy(good_film, tmp_path / good_film.name))
    beside = film.with_suffix(".en.srt")
    beside.write_text(
        "1\n00:00:00,000 --> 00:00:01,500\nThe trail\n\n2\n00:00:01,400 --> 00:00:02,600\nbegins\n", "utf-8"
    )
    done = bizkit("deliverable", "check", film, "--job", kelp, "--deliverable", FILM, "--json")
    (captions,) = done.data["files"][0]["captions"]
    assert (captions["file"], captions["cues"]) == (beside.name, 2)
    assert [fault["kind"] for fault in captions["faults"]] == ["overlap", "beyond_end"]
    assert (done.code, done.data["wrong"]) == (1, 2)


def test_a_caption_file_can_be_looked_at_by_itself(bizkit, kelp, tmp_path):
    good, bad = tmp_path / "good.vtt", tmp_path / "bad.srt"
    good.write_text("WEBVTT\n\n00:00.000 --> 00:02.000\nThe trail begins\n", encoding="utf-8")
    bad.write_bytes(b"\xff\xfe\x00broken")
    assert bizkit("deliverable", "check", good).code == 0
    done = bizkit("deliverable", "check", bad)
    assert done.code == 1
    assert "bad.srt: 0 captions, 1 faults" in done.out


def test_a_contact_sheet_is_a_picture_of_the_film(bizkit, kelp, good_film, tmp_path):
    sheet = tmp_path / "sheet.jpg"
    done = bizkit("deliverable", "check", good_film, "--spec", "small_film", "--sheet", sheet, "--frames", 4)
    assert f"Contact sheet: {sheet}" in done.out
    with Image.open(sheet) as picture:
        assert picture.width > 1000
        # Its middle holds frames of the film: many greys, not one colour.
        assert len(picture.convert("L").resize((64, 32)).getcolors(maxcolors=4096)) > 20


def test_without_a_spec_it_says_what_is_in_the_file(bizkit, kelp, good_film):
    done = bizkit("deliverable", "check", good_film)
    assert done.code == 0
    for said in ("320 x 180, 16:9, h264", "25 fps, 50 frames", "aac, stereo, 48000 Hz"):
        assert said in done.out


def still(path: Path, *, profile: bool = True, artist: str = "Rowan Lark") -> Path:
    from PIL import ImageCms

    exif = Image.Exif()
    exif[0x013B], exif[0x8298] = artist, "2027 Gannet & Lark Films"
    image = Image.effect_noise((2400, 1600), 60).convert("RGB")
    options = {"icc_profile": ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()} if profile else {}
    xmp = (
        b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        b'<rdf:Description xmlns:xmpRights="http://ns.adobe.com/xap/1.0/rights/"><xmpRights:UsageTerms><rdf:Alt>'
        b'<rdf:li xml:lang="x-default">As licensed</rdf:li></rdf:Alt></xmpRights:UsageTerms></rdf:Description>'
        b"</rdf:RDF></x:xmpmeta>"
    )
    image.save(path, quality=80, exif=exif, xmp=xmp, **options)
    return path


def test_a_folder_of_stills_is_looked_at_as_one_set(bizkit, kelp, tmp_path):
    folder = tmp_path / "stills"
    folder.mkdir()
    for number in (1, 2):
        still(folder / f"{kelp}_00{number}_v1.jpg")
    (folder / "read me.txt").write_text("Captions follow.", encoding="utf-8")
    done = bizkit("deliverable", "check", folder, "--job", kelp, "--deliverable", "stills", "--json")
    assert (done.code, done.data["wrong"]) == (0, 0)
    assert points(done.data)["how many"] is True
    still(folder / f"{kelp}_003_v1.jpg", profile=False)
    done = bizkit("deliverable", "check", folder, "--job", kelp, "--deliverable", "stills", "--json")
    assert done.data["wrong"] == 2
    assert points(done.data)["how many"] is False
    sent = bizkit("deliverable", "send", kelp, "stills", folder, "--on", "2027-06-01")
    assert sent.code == 1
    assert "stills/: " in sent.err


def test_what_was_found_wrong_is_not_sent_without_a_reason(bizkit, kelp, make_film, good_film):
    film = make_film(f"{kelp}_{FILM}_v1.mp4", seconds=2.4)
    bizkit("deliverable", "check", film, "--job", kelp, "--deliverable", FILM, "--on", "2027-06-01")
    refused = bizkit("deliverable", "send", kelp, FILM, film, "--on", "2027-06-01")
    assert refused.code == 1
    assert "length: wanted 2 s, got 2.4 s: export it again" in refused.err
    sent = bizkit("deliverable", "send", kelp, FILM, film, "--on", "2027-06-01", "--reason", "rough cut")
    assert sent.code == 0
    shown = bizkit("deliverable", "show", kelp, FILM, "--on", "2027-06-01", "--json").data
    assert (shown["versions"][0]["wrong"], shown["versions"][0]["checked_on"]) == (1, "2027-06-01")
    unseen = bizkit("deliverable", "send", kelp, FILM, good_film, "--on", "2027-06-02")
    assert "nobody looked at it: bizkit deliverable check" in unseen.out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["gone.mp4"], "wanted a known file, got gone.mp4"),
        (["{film}", "--spec", "smal_film"], "Did you mean small_film?"),
        (["{film}", "--job", "follow-the-kelp"], "wanted both --job and --deliverable"),
        (["{film}", "--job", "follow-the-kelp", "--deliverable", "campain-film"], "Did you mean campaign-film?"),
        (["{film}", "--spec", "small_film", "--sheet", "sheet.bmp"], "wanted a contact sheet called .jpg or .png"),
        (["/dev/null"], "wanted a regular file"),
    ],
)
def test_a_wrong_input_is_one_line(bizkit, kelp, good_film, arguments, said):
    done = bizkit("deliverable", "check", *(str(good_film) if one == "{film}" else one for one in arguments))
    assert done.code == 2
    assert said in done.err
    assert done.err.count("\n") == 1


def test_a_spec_in_words_cannot_be_checked_by_a_machine(bizkit, kelp, good_film):
    done = bizkit("deliverable", "check", good_film, "--job", kelp, "--deliverable", "sauna-loop")
    assert done.code == 1
    assert 'has its spec in words ("30 s, 16:9, silent, seamless")' in done.err


def test_specs_are_listed_the_studios_own_among_them(bizkit, kelp):
    found = {one["name"]: one["summary"] for one in bizkit("deliverable", "specs", "--json").data}
    assert found["small_film"] == "320 x 180, 25 fps, 2 s"
    assert {"web_film", "mezzanine", "web_stills"} <= set(found)
    assert "Web film" in bizkit("deliverable", "specs").out


def test_the_promise_is_the_spec_as_it_was_quoted(bizkit, kelp, good_film, studio, change):
    change(studio / "specs" / "small_film.toml", "width_px = 320", "width_px = 640")
    assert bizkit("deliverable", "check", good_film, "--job", kelp, "--deliverable", FILM).code == 0
    assert bizkit("deliverable", "check", good_film, "--spec", "small_film").code == 1


@pytest.mark.parametrize("cut", [20, 900, 6000])
def test_a_film_cut_short_is_told_and_crashes_nothing(bizkit, kelp, good_film, tmp_path, cut):
    film = tmp_path / "cut.mp4"
    film.write_bytes(good_film.read_bytes()[:cut])
    done = bizkit("deliverable", "check", film, "--spec", "small_film")
    assert done.code in (1, 2)
    assert done.err.count("\n") == (1 if done.code == 2 else 0)


def test_too_long_a_look_is_stopped(bizkit, kelp, good_film, monkeypatch):
    from bizkit.masters import look

    monkeypatch.setattr(look, "TIME_LIMIT_S", 0)
    done = bizkit("deliverable", "check", good_film, "--spec", "small_film")
    assert (done.code, done.err) == (1, "")
    assert "WRONG  unreadable" in done.out
    assert "took longer than 0 s and was stopped" in done.out


def test_without_the_extra_it_says_what_to_install(bizkit, kelp, good_film, tmp_path, monkeypatch):
    # A module of that name that cannot be imported stands before the real one, as where it is not installed.
    (tmp_path / "without" / "av").mkdir(parents=True)
    (tmp_path / "without" / "av" / "__init__.py").write_text(
        "raise ImportError('no av', name='av')", encoding="utf-8"
    )
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "without"))
    done = bizkit("deliverable", "check", good_film, "--spec", "small_film")
    assert done.code == 1
    assert "looking at files needs av: install bizkit with its extra bizkit[masters]" in done.err


@pytest.mark.skipif(os.name != "posix", reason="needs a terminal of its own")
def test_somebody_at_a_terminal_sees_how_far_it_is(kelp, good_film):
    outer, inner = pty.openpty()
    command = [sys.executable, "-c", "from bizkit.cli.main import run; run()", "deliverable", "check", str(good_film)]
    surroundings = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=inner, env=surroundings, check=False, timeout=60)
    os.close(inner)
    shown = b""
    while piece := os.read(outer, 65536) if not shown else b"":
        shown += piece
    os.close(outer)
    assert done.returncode == 0
    assert b"Looking" in shown
    assert b"%" in shown
    assert b"Looking" not in done.stdout


def position_in(bizkit, picture):
    done = bizkit("deliverable", "check", picture, "--spec", "web_stills", "--json")
    return next(one for one in done.data["files"][0]["points"] if one["name"].startswith("position"))


@pytest.mark.skipif(not shutil.which("exiftool"), reason="ExifTool writes the metadata")
@pytest.mark.parametrize(
    "written",
    [
        "-IPTC:Sub-location=Nest, Kittiwake Head",
        "-IPTC:City=Selkie Bay",
        "-XMP-iptcCore:Location=Nest, Kittiwake Head",
        "-XMP-photoshop:City=Selkie Bay",
        "-XMP-iptcExt:LocationShownSublocation=Nest, Kittiwake Head",
        "-XMP-iptcExt:LocationCreatedLocationName=Kittiwake Head",
        "-EXIF:GPSAreaInformation=Kittiwake Head",
        "-EXIF:GPSDestLatitude=60.1",
    ],
)
def test_a_place_in_words_gives_away_a_nest_as_well(bizkit, kelp, tmp_path, written):
    # Properties of the IPTC Photo Metadata Standard and of Exif, written by ExifTool.
    picture = still(tmp_path / f"{kelp}_001_v1.jpg")
    assert position_in(bizkit, picture)["ok"] is True
    subprocess.run(["exiftool", "-q", "-overwrite_original", written, picture], check=True)
    point = position_in(bizkit, picture)
    assert point["ok"] is False
    if written.startswith(("-IPTC", "-XMP")):
        assert point["got"] == f"in the file in words: {written.partition('=')[2]}"


@pytest.mark.skipif(not shutil.which("exiftool"), reason="ExifTool writes the metadata")
def test_a_country_gives_nothing_away(bizkit, kelp, tmp_path):
    picture = still(tmp_path / f"{kelp}_001_v1.jpg")
    country = ("-XMP-photoshop:Country=United Kingdom", "-IPTC:Country-PrimaryLocationName=United Kingdom")
    subprocess.run(["exiftool", "-q", "-overwrite_original", *country, picture], check=True)
    assert position_in(bizkit, picture)["ok"] is True


def test_a_sidecar_beside_a_photograph_is_read_for_what_must_not_be_in_it(bizkit, kelp, tmp_path):
    picture = still(tmp_path / f"{kelp}_001_v1.jpg")
    packet = (
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description xmlns:exif="http://ns.adobe.com/exif/1.0/" exif:GPSLatitude="60,6.0N"/></rdf:RDF>'
        "</x:xmpmeta>"
    )
    for name in (f"{picture.name}.xmp", f"{picture.stem}.xmp"):
        (tmp_path / name).write_text(packet, encoding="utf-8")
        done = bizkit("deliverable", "check", picture, "--spec", "web_stills", "--json")
        wrong = {one["name"]: one["got"] for one in done.data["files"][0]["points"] if one["ok"] is False}
        assert (done.code, wrong) == (1, {f"position in {name}": "in the file"})
        (tmp_path / name).unlink()
