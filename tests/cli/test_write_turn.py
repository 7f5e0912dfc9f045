"""Sending a quote reads, reckons and draws before it takes the write turn: others at the book do not wait for it."""

from __future__ import annotations

from datetime import date

import pytest

from bizkit.services.quoting import ready
from bizkit.services.quoting.quotes import draft_quote
from bizkit.services.studio.studio_folder import StudioFolder

JOB = "follow-the-kelp"


@pytest.fixture
def drafted(bizkit, studio):
    assert bizkit("quote", "draft", JOB, "--on", "2027-01-26").code == 0
    return StudioFolder(studio, who="Rowan Lark")


def test_another_may_write_while_a_quote_is_drawn(bizkit, drafted, monkeypatch):
    """Within the write turn this would wait for itself until it gives up."""
    drawn = []

    def draw(folder, document):
        with folder.book.work(keep=False):
            drawn.append(document["number"])
        return real(folder, document)

    real = ready.paper_pdf
    monkeypatch.setattr(ready, "paper_pdf", draw)
    monkeypatch.setattr("bizkit.services.studio.filing.paper_pdf", lambda *_: pytest.fail("drawn in the write turn"))
    done = bizkit("quote", "send", JOB, "--on", "2027-01-26", "--json")
    assert done.code == 0, done.err
    assert drawn == [done.data["number"]]
    assert bizkit("verify").code == 0


def test_a_draft_written_anew_meanwhile_is_what_is_sent(bizkit, drafted, studio, monkeypatch, change):
    real = ready.ready_to_send

    def read_then_overtaken(*arguments):
        found = real(*arguments)
        change(studio / "briefs" / f"{JOB}.toml", 'title = "', 'title = "New: ')
        draft_quote(drafted, studio / "briefs" / f"{JOB}.toml", date(2027, 1, 26))
        return found

    monkeypatch.setattr(ready, "ready_to_send", read_then_overtaken)
    done = bizkit("quote", "send", JOB, "--on", "2027-01-26", "--json")
    assert done.code == 0, done.err
    assert done.data["document"]["title"].startswith("New: ")
    assert bizkit("verify").code == 0
