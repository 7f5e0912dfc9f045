"""A medium of the studio's own that was sold stays sold, whatever its settings say of it later."""

from __future__ import annotations

import pytest

JOB = "follow-the-kelp"
OWN = """
[media.ferry_screens]
meaning = "Screens on the ferries"
label = "ferry screens"
under = "public_places"
"""


@pytest.fixture
def sold(bizkit, studio, change):
    """A job whose licence names a medium of the studio's own, and the settings without it."""
    settings = studio / "studio.toml"
    before = settings.read_text(encoding="utf-8")
    settings.write_text(before + OWN, encoding="utf-8")
    change(studio / "rate-card.toml", "paid_social = 0.6", "paid_social = 0.6\nferry_screens = 0.4")
    change(
        studio / "briefs" / f"{JOB}.toml", '["owned_channels", "paid_social"]', '["owned_channels", "ferry screens"]'
    )
    for command in ("draft", "send", "accept"):
        done = bizkit("quote", command, JOB, "--on", "2027-02-01")
        assert done.code == 0, done.err
    settings.write_text(before, encoding="utf-8")
    return settings


COMMANDS = (
    ("quote", "show", JOB), ("job", "show", JOB), ("job", "actual", JOB),
    ("status",), ("rights", "check", JOB), ("rights", "explain", JOB), ("calendar", "--out", "days.ics"),
    ("rights", "use", JOB, "--media", "ferry_screens", "--where", "GB", "--on", "2027-08-01"),
    ("day", "log", JOB, "2027-05-11", "--call", "06:00", "--wrap", "21:00", "--on", "2027-05-12"),
    ("invoice", "issue", JOB, "--on", "2027-02-02"), ("quote", "cancel", JOB, "--preview", "--on", "2027-03-01"),
    ("quote", "postpone", JOB, "--preview", "--to", "2027-06-14", "--on", "2027-03-01"),
)  # fmt: skip


def test_every_command_of_the_job_answers_as_before(bizkit, sold):
    after = {command: bizkit(*command) for command in COMMANDS if "day" not in command and "issue" not in command}
    assert {command: done.err for command, done in after.items() if done.code} == {}
    gone = sold.read_text(encoding="utf-8")
    sold.write_text(gone + OWN, encoding="utf-8")
    for command, done in after.items():
        again = bizkit(*command)
        if command[0] == "quote" or "actual" in command:  # others call the medium by its label again
            assert again.out == done.out, command
    sold.write_text(gone, encoding="utf-8")
    for command in COMMANDS:
        assert bizkit(*command).code == 0, command


def test_a_medium_that_comes_later_makes_no_quote_wider(bizkit, studio, change):
    """The branch that a quote names has the leaves that it had when the quote was sent."""
    change(studio / "briefs" / f"{JOB}.toml", '["owned_channels", "paid_social"]', '["online"]')
    for command in ("draft", "send"):
        assert bizkit("quote", command, JOB, "--on", "2027-02-01").code == 0
    settings = studio / "studio.toml"
    settings.write_text(settings.read_text(encoding="utf-8") + OWN.replace("public_places", "online"), "utf-8")
    assert bizkit("quote", "accept", JOB, "--on", "2027-02-02").code == 0
    asked = ("rights", "use", JOB, "--media", "ferry_screens", "--where", "GB", "--on", "2027-08-01", "--json")
    assert bizkit(*asked).data["allowed"] is False


def test_a_quote_from_before_media_were_kept_is_still_read(bizkit, sold, monkeypatch):
    from bizkit.services.job import basis

    real = basis._frozen_media
    monkeypatch.setattr(
        basis, "_frozen_media", lambda folder, document, *more: real(folder, {**document, "media": None}, *more)
    )
    for command in COMMANDS:
        done = bizkit(*command)
        assert done.code == 0, (command, done.err)
