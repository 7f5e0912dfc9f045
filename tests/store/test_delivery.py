"""The records of the delivery ledger: kept as they were written, on both engines."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from sqlalchemy import text

from bizkit.domain.errors import RuleBroken
from bizkit.store.book import Book
from bizkit.store.deliveries import add_deliverable, approve, deliverables
from bizkit.store.handovers import (
    add_archive,
    add_handover,
    archives,
    handovers,
    save_schedule,
    saved_schedule,
    set_archive,
)
from bizkit.store.jobs import open_job
from bizkit.store.reviews import (
    add_check,
    add_note_answer,
    add_notes,
    add_round_answer,
    checks,
    notes,
    round_answers,
)
from bizkit.store.stamp import Stamp

STAMP = Stamp("Ailsa Gannet", date(2027, 6, 1), "2027-06-01T09:00:00+00:00")
NOTE = {"job": "kelp", "deliverable": "film", "intake": 1, "version": 1, "until": "", "frame": 30, "who": "Una Flett"}


@pytest.fixture
def kelp(book: Book) -> Book:
    """A book with one job and one deliverable."""
    job: dict[str, Any] = {
        "key": "kelp", "title": "Kelp", "client": "skerrow", "quote_number": "Q-1", "quote_revision": 1,
        "opened_on": "2027-02-08", "closed_on": "", "currency": "GBP", "net_minor": 1, "licence": None,
    }  # fmt: skip
    film = {
        "job": "kelp", "key": "film", "position": 1, "title": "Film", "kind": "film", "quantity": 1, "spec": "",
        "rounds": 2, "due_days": None, "due_on": "", "approved_on": "", "data": {"cut_of": ""},
    }  # fmt: skip
    with book.work() as work:
        open_job(work, job, days=[], stages=[])
        add_deliverable(work, film)
        add_notes(work, [{**NOTE, "number": 1, "at": "00:00:01:05", "text": "Longer"}])
        add_note_answer(
            work, STAMP, {"job": "kelp", "deliverable": "film", "note": 1, "answer": "asked", "text": "How long?"}
        )
        add_note_answer(work, STAMP, {"job": "kelp", "deliverable": "film", "note": 1, "answer": "done", "text": ""})
        add_check(
            work,
            STAMP,
            {
                "sha256": "ab", "file": "film.mov", "job": "kelp", "deliverable": "film", "on": "2027-06-01",
                "wrong": 1, "points": [{"name": "length", "ok": False}], "facts": {"kind": "film"},
            },
        )  # fmt: skip
        add_round_answer(
            work,
            STAMP,
            {
                "job": "kelp", "deliverable": "film", "number": 3, "answer": "yes", "by": "Una Flett",
                "amount_minor": 18000, "currency": "GBP", "reason": "",
            },
        )  # fmt: skip
        add_handover(
            work,
            STAMP,
            {
                "number": "DN-1", "job": "kelp", "folder": "out", "how": "drive", "sent_to": "Una", "manifest": "x",
                "manifest_sha256": "y",
            },
        )  # fmt: skip
        save_schedule(work, STAMP, job="kelp", due="2027-06-11", steps=[{"key": "edit", "days": 3}], why="")
        save_schedule(work, STAMP, job="kelp", due="2027-06-14", steps=[{"key": "edit", "days": 4}], why="late")
    return book


def test_what_was_written_reads_back_the_newest_answer_and_plan_first(kelp: Book) -> None:
    with kelp.read() as work:
        (note,) = notes(work, "kelp")
        assert (note.text, note.answer.answer, note.answer.on) == ("Longer", "done", "2027-06-01")
        (check,) = checks(work, sha256="ab")
        assert (check.points, check.facts) == ([{"name": "length", "ok": False}], {"kind": "film"})
        assert checks(work, sha256="cd") == []
        assert [row.amount_minor for row in round_answers(work, "kelp")] == [18000]
        assert [row.on for row in handovers(work)] == ["2027-06-01"]
        saved = saved_schedule(work, "kelp")
        assert saved is not None
        assert (saved.due, saved.steps) == ("2027-06-14", [{"key": "edit", "days": 4}])
        assert saved_schedule(work, "other") is None


@pytest.mark.parametrize("table", ["file_check", "note", "note_answer", "round_answer", "handover", "schedule"])
def test_records_are_neither_changed_nor_removed(kelp: Book, table: str) -> None:
    for attack in (f"UPDATE {table} SET job = job", f"DELETE FROM {table}"):
        with pytest.raises(RuleBroken, match=f"{table} never changes"), kelp.work() as work:
            work.execute(text(attack))


def test_a_delivery_note_number_is_used_once(kelp: Book) -> None:
    row = {
        "number": "DN-1", "job": "kelp", "folder": "in", "how": "", "sent_to": "", "manifest": "",
        "manifest_sha256": "",
    }  # fmt: skip
    with pytest.raises(RuleBroken), kelp.work() as work:
        add_handover(work, STAMP, row)


def test_what_is_archived_can_be_kept_longer_and_go(kelp: Book) -> None:
    row = {
        "job": "kelp", "what": "Masters", "place": "Drive A", "since": "2027-06-14", "keep_until": "2029-06-13",
        "note": "", "gone_on": "", "gone_why": "",
    }  # fmt: skip
    with kelp.work() as work:
        first = add_archive(work, row)
        add_archive(work, {**row, "what": "Rushes", "keep_until": "2028-06-13"})
        set_archive(work, first, keep_until="2030-06-13")
    with kelp.read() as work:
        assert [(one.what, one.keep_until) for one in archives(work, "kelp")] == [
            ("Rushes", "2028-06-13"),
            ("Masters", "2030-06-13"),
        ]


def test_an_approval_names_the_final_version_and_keeps_the_rest(kelp: Book) -> None:
    with kelp.work() as work:
        approve(work, "kelp", "film", "2027-06-14", 2)
        (film,) = deliverables(work, "kelp")
    assert (film.approved_on, film.data) == ("2027-06-14", {"cut_of": "", "final": 2})
