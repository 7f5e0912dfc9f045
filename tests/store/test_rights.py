"""The rights ledger: grants and what became of them never change; persons and lists may."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from sqlalchemy import text

from bizkit.domain.errors import RuleBroken
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.territory import Territory
from bizkit.store.book import Book
from bizkit.store.issued import issue
from bizkit.store.jobs import open_job
from bizkit.store.mentions import mentions, take_out
from bizkit.store.register import bills
from bizkit.store.rights import (
    add_change,
    add_licence,
    add_person,
    licences,
    persons,
    put_shown,
    set_person,
    shown_in,
    ungranted_jobs,
)
from bizkit.store.rights import each_licence as each
from bizkit.store.schema.rights import APPEND_ONLY
from bizkit.store.stamp import Stamp

STAMP = Stamp("Ailsa Gannet", date(2027, 6, 14), "2027-06-14T09:00:00+00:00")
YEAR = LicenceRequest(
    frozenset({"paid_social"}), Territory.read("UK and Ireland"), months=12, starts=date(2027, 7, 1)
)


def grant(number: str, work: str) -> dict[str, Any]:
    licence = Licence(number, "Skerrow", frozenset({work}), YEAR, date(2027, 6, 14))
    return {
        "number": number, "job": "kelp", "client": "skerrow", "granted_on": "2027-06-14", "data": licence.data()
    }  # fmt: skip


@pytest.fixture
def kelp(book: Book) -> Book:
    """A book with one job that promises a licence, and one that promises none."""
    row: dict[str, Any] = {
        "title": "Kelp", "client": "skerrow", "quote_revision": 1, "opened_on": "2027-02-08", "closed_on": "",
        "currency": "GBP", "net_minor": 100000,
    }  # fmt: skip
    with book.work() as work:
        open_job(work, {**row, "key": "kelp", "quote_number": "Q-1", "licence": YEAR.data()}, days=[], stages=[])
        open_job(work, {**row, "key": "plain", "quote_number": "Q-2", "licence": None}, days=[], stages=[])
    return book


def test_grants_and_their_changes_are_kept_for_ever(kelp: Book) -> None:
    with kelp.work() as work:
        assert [row.key for row in ungranted_jobs(work)] == ["kelp"]
        add_licence(work, STAMP, grant("LC-1", "kelp/film"))
        add_change(work, STAMP, "LC-1", "ended", "2027-12-31", "not paid")
    with kelp.read() as work:
        assert [row.key for row in ungranted_jobs(work)] == []
        (row,) = licences(work)
        assert Licence.from_data(row.data).request == YEAR
        assert [(one.change, one.on, one.why) for one in row.changes] == [("ended", "2027-12-31", "not paid")]
    assert set(APPEND_ONLY) == {"licence", "licence_change"}
    attacks = [
        attack for table in APPEND_ONLY for attack in (f"DELETE FROM {table}", f"UPDATE {table} SET job = 'x'")
    ]
    for attack in [one.replace("licence_change SET job", "licence_change SET why") for one in attacks]:
        with pytest.raises(RuleBroken, match="never changes"), kelp.work() as work:
            work.execute(text(attack))


def test_a_change_of_another_kind_is_refused_by_the_database(kelp: Book) -> None:
    with kelp.work() as work:
        add_licence(work, STAMP, grant("LC-1", "kelp/film"))
    with pytest.raises(RuleBroken), kelp.work() as work:
        add_change(work, STAMP, "LC-1", "forgotten", "2027-12-31", "")


def test_both_engines_find_grants_by_their_end_and_their_works(kelp: Book) -> None:
    with kelp.work() as work:
        add_licence(work, STAMP, grant("LC-1", "kelp/film"))
        add_licence(work, STAMP, grant("LC-2", "kelp/stills"))
    with kelp.read() as work:
        assert [row.number for row in each(work, ending=("2028-04-01", "2028-06-30"))] == ["LC-1", "LC-2"]
        assert list(each(work, ending=("2028-07-01", "2028-12-31"))) == []
        assert [row.number for row in each(work, works=["kelp/stills", "x"])] == ["LC-2"]
        assert list(each(work, works=[])) == []


def test_both_engines_say_of_a_bill_what_its_document_does(kelp: Book) -> None:
    documents = {
        "GL-1": {"currency": "GBP", "due": "120.00", "gross": "120.00", "stage": {"position": 1}},
        "GL-2": {"currency": "GBP", "due": "30.00", "gross": "30.00", "stage": {"position": 0}},
        "GL-3": {
            "currency": "GBP",
            "due": "0.00",
            "gross": "50.00",
            "stage": {"position": 0},
            "deposit": {"on": "x"},
        },
        "CN-1": {"currency": "GBP", "gross": "20.00", "credits": {"number": "GL-1"}, "stage": {"position": 0}},
    }
    with kelp.work() as work:
        for number, document in documents.items():
            kind = "credit_note" if number[0] == "C" else "invoice"
            issue(work, STAMP, kind=kind, series="GL", number=number, key="kelp", document=document)
    with kelp.read() as work:
        found = {
            bill.number: (bill.kind, bill.amount.text, bill.bills_quote, bill.credits) for bill in bills(work, "kelp")
        }
    assert found == {
        "GL-1": ("invoice", "120.00", True, ""),
        "GL-2": ("invoice", "30.00", False, ""),
        "GL-3": ("invoice", "0.00", True, ""),
        "CN-1": ("credit_note", "20.00", False, "GL-1"),
    }


def test_persons_and_what_a_work_shows_can_be_changed(kelp: Book) -> None:
    row = {"name": "Finn", "born_on": "2017-08-02", "contact": {}, "basis": "consent", "purpose": "x",
           "keep_until": "2033-01-01"}  # fmt: skip
    with kelp.work() as work:
        number = add_person(work, STAMP, row)
        set_person(work, number, born_on="", contact={"phone": "07700 900123"})
        put_shown(work, "kelp", "film", "who", ["person-1", "person-2"])
        put_shown(work, "kelp", "film", "who", ["person-1"])
    with kelp.read() as work:
        (person,) = persons(work)
        assert (person.born_on, person.contact) == ("", {"phone": "07700 900123"})
        assert shown_in(work, "kelp") == {("film", "who"): ["person-1"]}


def test_a_name_is_found_everywhere_and_taken_out_where_rows_may_change(kelp: Book) -> None:
    row = {"name": "Jürgen \"Jo\" Fett", "born_on": "", "contact": {"note": "ask JÜRGEN  \"JO\" FETT"},
           "basis": "consent", "purpose": "x", "keep_until": "2033-01-01"}  # fmt: skip
    with kelp.work() as work:
        add_person(work, STAMP, row)
        put_shown(work, "kelp", "film", "artwork", ['Portrait of Jürgen "Jo" Fettes'])
        add_licence(work, STAMP, grant("LC-1", "kelp/film"))
        add_change(work, STAMP, "LC-1", "ended", "2027-12-31", 'Jürgen "Jo" Fett asked')
        found = {(one.table, one.kept) for one in mentions(work, 'jürgen "jo" fett')}
        assert found == {("person", False), ("licence_change", True)}
        take_out(work, 'Jürgen "Jo" Fett', "erased person 1")
    with kelp.read() as work:
        (person,) = persons(work)
        assert (person.name, person.contact) == ("erased person 1", {"note": "ask erased person 1"})
        # A longer name is another name; what never changes still says it.
        assert shown_in(work, "kelp")["film", "artwork"] == ['Portrait of Jürgen "Jo" Fettes']
        assert [one.table for one in mentions(work, 'Jürgen "Jo" Fett')] == ["licence_change"]
