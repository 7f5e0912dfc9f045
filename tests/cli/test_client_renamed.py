"""A client's file that is renamed or gone: what uses it, what to do, and that accepted work goes on as it was."""

from __future__ import annotations

import pytest

JOB = "follow-the-kelp"
KEY = "skerrow-islands-tourism"


@pytest.mark.parametrize("also", ["renamed", "gone"])
@pytest.mark.parametrize(
    "words", [("price", JOB), ("job", "client", JOB), ("brief", "copy", JOB, "again", "--client", KEY)]
)
def test_a_client_file_that_jobs_go_by_is_asked_for_by_its_name(bizkit, job, studio, words, also):
    file = studio / "clients" / f"{KEY}.toml"
    file.rename(studio / "clients" / "skerrow.toml") if also == "renamed" else file.unlink()
    refused = bizkit(*words, "--on", "2027-03-01")
    assert (refused.code, refused.err.count("\n")) == (2, 1)
    assert f"{KEY} is the client of 1 job ({JOB}), which keeps the details as accepted" in refused.err
    assert f"call the file clients/{KEY}.toml again" in refused.err


def test_accepted_work_goes_on_without_it(bizkit, job, studio):
    (studio / "clients" / f"{KEY}.toml").unlink()
    for words in (("invoice", "issue", JOB), ("job", "show", JOB), ("status",)):
        assert bizkit(*words, "--on", "2027-03-01").code == 0


def test_of_a_client_nobody_knows_nothing_is_said(bizkit, job):
    refused = bizkit("brief", "copy", JOB, "again", "--client", "nobody")
    assert "is the client of" not in refused.err
