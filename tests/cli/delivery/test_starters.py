"""The worksheet that comes with each starter can be used as it stands."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(("starter", "job"), [("gbp-uk", "follow-the-kelp"), ("eur-de", "seegras-im-bodden")])
def test_shots_storage_and_steps_of_a_starter_fit_its_job(bizkit, tmp_path, monkeypatch, starter, job):
    bizkit("init", tmp_path / "new", "--starter", starter, "--practice")
    monkeypatch.chdir(tmp_path / "new")
    for verb in ("draft", "send", "accept"):
        assert bizkit("quote", verb, job, "--on", "2027-01-26").err == ""
    listed = bizkit("shots", job, "--json").data
    assert len(listed["shots"]) > 1
    assert len(listed["hints"]) >= 1
    assert bizkit("storage", job, "--json").data["drives"] >= 1
    plan = bizkit("schedule", "show", job, "--on", "2027-01-26", "--json").data
    assert plan["looks"] == []
    assert plan["steps"][0]["key"] == "shoot"
