"""A brief copied to another season: it has a price, or the copy says what is to be written for one."""

from __future__ import annotations

import json
import re
import shutil

import pytest

BRIEFS = {"gbp-uk": "follow-the-kelp", "eur-de": "seegras-im-bodden"}


@pytest.mark.parametrize("starter", BRIEFS)
def test_a_copy_to_any_month_has_a_price_or_says_what_it_lacks(bizkit, tmp_path, monkeypatch, starter):
    """Chances are known for one month alone; what a sea is like in another nobody can tell from it."""
    studio = tmp_path / "made"
    assert bizkit("init", studio, "--starter", starter, "--practice").code == 0
    monkeypatch.chdir(studio)
    for month in range(1, 13):
        key = f"copy-{month}"
        first = f"2028-{month:02}-04"
        done = bizkit("brief", "copy", BRIEFS[starter], key, "--first", first, "--on", "2027-12-01", "--json")
        assert done.code == 0, done.err
        priced = bizkit("price", key, "--on", "2027-12-01")
        lacks = [look for look in done.data["looks"] if look.startswith("it has no price yet: ")]
        assert bool(lacks) is (priced.code != 0)
        if lacks:
            assert lacks[0].removeprefix("it has no price yet: ") in priced.err.replace("bizkit: ", "")
            (line,) = re.findall(r"Write what is missing into (chance = {.*})", lacks[0])
            file = studio / "briefs" / f"{key}.toml"
            text = file.read_text(encoding="utf-8")
            file.write_text(re.sub(r"chance = {.*}", line.replace("...", "0.4"), text), encoding="utf-8")
            assert bizkit("price", key, "--on", "2027-12-01").code == 0


def test_the_options_of_a_copy_are_priced_too(bizkit, studio):
    """A brief whose choice asks for what the card does not have says so at once."""
    brief = studio / "briefs" / "follow-the-kelp.toml"
    shutil.copy(brief, studio / "briefs" / "other.toml")
    file = studio / "briefs" / "other.toml"
    text = file.read_text(encoding="utf-8").replace('key = "follow-the-kelp"', 'key = "other"')
    file.write_text(text.replace('kit = ["land_set", "sound_kit"]', 'kit = ["land_set", "crane"]'), encoding="utf-8")
    done = bizkit("brief", "copy", "other", "again", "--json", "--on", "2027-02-01")
    (look,) = [one for one in done.data["looks"] if "no price yet" in one]
    assert "crane" in look
    assert json.loads(done.out)["key"] == "again"
