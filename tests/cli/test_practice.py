"""A practice studio: dates after today are taken without a reason, and it says what it is."""

from __future__ import annotations

WORDS = "A practice studio (studio.toml): dates after today are taken without a reason. Not for real business."


def test_a_new_studio_is_for_real_business_unless_said_otherwise(bizkit, tmp_path, monkeypatch):
    for name, options, practice in (("real", (), False), ("trying", ("--practice",), True)):
        bizkit("init", tmp_path / name, *options)
        monkeypatch.chdir(tmp_path / name)
        assert bizkit("status", "--json").data["practice"] is practice
        assert (WORDS in bizkit("status").out.splitlines()) is practice


def test_practice_is_true_or_false(bizkit, studio, change):
    change(studio / "studio.toml", "practice = true", 'practice = "yes"')
    done = bizkit("status")
    assert (done.code, done.out) == (2, "")
    assert "studio.toml: practice: wanted true or false, got yes" in done.err


def test_the_demo_is_played_in_a_practice_studio(tmp_path):
    from bizkit.services.demo.playing import play
    from bizkit.services.studio.studio_folder import StudioFolder

    first = next(play(tmp_path / "studio"))
    assert first.command.endswith(" --practice")
    assert StudioFolder(tmp_path / "studio").studio.practice
