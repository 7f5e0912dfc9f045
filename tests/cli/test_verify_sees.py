"""What `verify` sees when somebody goes behind the guards: records removed, a damaged file, guards dropped."""

from __future__ import annotations

import sqlite3

import pytest


def behind(studio, *statements: str) -> None:
    """Change the book as somebody with a database program would, every guard out of the way."""
    with sqlite3.connect(studio / "book.sqlite") as book:
        guards = book.execute("select name, sql from sqlite_master where type = 'trigger'").fetchall()
        for name, _ in guards:
            book.execute(f"drop trigger {name}")
        for statement in statements:
            book.execute(statement)
        for _, sql in guards:
            book.execute(sql)


@pytest.fixture
def bill(bizkit, job):
    return bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data["number"]


def test_the_last_invoice_removed_with_its_history_is_missed_by_its_paper_and_its_stage(bizkit, bill, job, studio):
    behind(
        studio,
        f"delete from issued where number = '{bill}'",
        f"delete from event where data like '%{bill}%'",
    )
    assert f"invoice {bill}: the register says it was issued, but it is not in the book" in bizkit("verify").out
    behind(studio, f"delete from register where number = '{bill}'")
    checked = bizkit("verify")
    assert (checked.code, f"{bill} revision 1: papers/{bill}.pdf was filed with it, but" in checked.out) == (1, True)
    behind(studio, f"delete from filed where name = '{bill}.pdf'")
    checked = bizkit("verify")
    assert f"{bill} revision 1: job {job} says it was issued, but it is not in the book" in checked.out
    assert f"papers/{bill}.pdf: the book does not know it" in checked.out
    # The number is not drawn again beside its paper.
    behind(studio, f"update stage set invoice = '' where invoice = '{bill}'")
    done = bizkit("invoice", "issue", job, "--on", "2027-02-09")
    assert (done.code, f"papers/{bill}.pdf lies there already" in done.err) == (1, True)


def test_a_licence_without_its_certificate_is_named(bizkit, bill, job, studio):
    done = bizkit("rights", "grant", job, "--override", "agreed", "--on", "2027-06-14")
    assert done.code == 0, done.err
    behind(
        studio, "delete from issued where kind = 'licence_certificate'", "delete from filed where name like 'LC-%'"
    )
    out = bizkit("verify").out
    assert "LC-2027-0001 revision 1: the history says it was issued, but it is not in the book" in out
    behind(studio, "delete from event where verb = 'granted'")
    assert "LC-2027-0001 revision 1: its licence is on record, but it is not in the book" in bizkit("verify").out


def test_dropped_guards_and_a_damaged_file_are_named(bizkit, bill, studio):
    book = studio / "book.sqlite"
    with sqlite3.connect(book) as raw:
        raw.execute("drop trigger payment_kept_delete")
    checked = bizkit("verify")
    assert (checked.code, "payment: what keeps its rows from being changed is gone" in checked.out) == (1, True)
    content = bytearray(book.read_bytes())
    for page in range(40, len(content) // 4096, 7):
        content[page * 4096 : page * 4096 + 4096] = b"\xff" * 4096
    book.write_bytes(content)
    checked = bizkit("verify")
    assert checked.code == 1
    assert "restore it from a copy" in checked.out + checked.err
