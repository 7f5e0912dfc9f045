"""Conditions of a paper: what the studio must do stays inside, what binds the client is passed on and says so."""

from __future__ import annotations

import csv
import json
import sqlite3
from pathlib import Path

import pypdf
import pytest

JOB = "follow-the-kelp"
OURS = "Eilidh sees the cut first; call her on 01632 960111"
THEIRS = "Not beside advertising for alcohol"
WHERE = ["--media", "online", "--where", "World"]
TERMS = [*WHERE, "--without-end"]


def text_of(path):
    """The words of a paper, without the dashes of its lists."""
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(path).pages)
    return " ".join(text.replace("–", " ").split())


@pytest.fixture
def agreed(clear, hold):
    """A release with one condition of each kind."""
    return hold("talent_release", "Finn Sinclair", *TERMS, "--condition", OURS, "--client-condition", THEIRS)


@pytest.fixture
def drive(bizkit, agreed, tmp_path):
    folder = tmp_path / "drive"
    folder.mkdir()
    film = folder / "sauna-loop.mov"
    film.write_bytes(b"a film" * 100)
    assert bizkit("deliverable", "send", JOB, "sauna-loop", film, "--on", "2027-06-02").code == 0
    assert bizkit("deliverable", "approve", JOB, "sauna-loop", "--on", "2027-06-03").code == 0
    return folder


def test_the_certificate_tells_the_client_only_what_binds_them(bizkit, agreed):
    done = bizkit("rights", "grant", JOB, "--on", "2027-06-14")
    assert done.code == 0, done.err
    assert f"Not on the certificate: for you to keep, paper {agreed['id']}: {OURS}" in done.out
    text = text_of("papers/LC-2027-0001-r1.pdf")
    assert f"You keep to this too The people and places in the work agreed to it on these terms: {THEIRS}" in text
    assert "Not allowed" not in text
    assert "960111" not in text
    with sqlite3.connect("book.sqlite") as book:
        (frozen,) = book.execute("SELECT document FROM issued WHERE kind = 'licence_certificate'").fetchone()
    assert OURS not in frozen
    assert "960111" not in frozen
    # For the studio itself both are there.
    warnings = bizkit("rights", "check", JOB, "--on", "2027-06-15", "--json").data["warnings"]
    assert f"talent release: Finn Sinclair has a condition to keep: {OURS}" in warnings
    assert f"talent release: Finn Sinclair has a condition that the client keeps to as well: {THEIRS}" in warnings


def test_a_german_certificate_says_it_in_german(bizkit, agreed, change, studio):
    from bizkit.papers.render import render
    from bizkit.services.studio.filing import asset_reader
    from bizkit.services.studio.studio_folder import StudioFolder
    from bizkit.store.issued import by_number

    assert bizkit("rights", "grant", JOB, "--on", "2027-06-14").code == 0
    folder = StudioFolder(studio)
    with folder.book.read() as work:
        document = by_number(work, "LC-2027-0001").document
    path = studio / "german.pdf"
    german = {**document, "language": "de", "locale": "de_DE"}
    path.write_bytes(render(german, own=None, asset=asset_reader(folder)))
    said = "Daran halten auch Sie sich Mitwirkende und Orte haben unter diesen Bedingungen zugestimmt: "
    assert said + THEIRS in text_of(path)


def test_the_delivery_note_names_nobody_and_passes_on_what_binds(bizkit, agreed, hold, drive):
    hold("talent_release", "Isla Marwick", *WHERE, "--until", "2029-12-31", "--condition", "Name her in the credits")
    done = bizkit("handover", "make", JOB, drive, "--on", "2027-06-04")
    assert done.code == 0, done.err
    (note,) = drive.glob("DN-*.pdf")
    text = text_of(note)
    assert f"Please keep to this {THEIRS}" in text
    for inside in ("Eilidh sees", "960111", "Name her", "Isla Marwick", "Finn Sinclair"):
        assert inside not in text, inside


@pytest.mark.parametrize(
    "condition", ["Ask Eilidh first: 01632 960111", "Ask eilidh@selkie.example first", "ring +44 7700 900123"]
)
def test_contact_data_is_never_taken_for_the_client(bizkit, clear, scan, signature, condition):
    for words in (
        ["release", "add", JOB, "--who", "Finn", "--signed", "2027-05-14", "--scan", scan, *TERMS],
        ["permission", "add", JOB, "--place", "Pier", "--signed", "2027-05-14", "--scan", scan, *TERMS],
        ["holding", "add", JOB, "--kind", "artwork", "--about", "Mural", "--signed", "2027-05-14", "--scan", scan,
         *TERMS],
        ["release", "sign", JOB, "--who", "Finn", "--signature", signature],
        ["holding", "sign", JOB, "--kind", "property_release", "--about", "Yawl", "--signature", signature],
    ):  # fmt: skip
        done = bizkit(*words, "--client-condition", condition, "--on", "2027-05-20")
        assert done.code == 2, words
        (line,) = done.err.splitlines()
        assert "--client-condition: wanted a condition for the client without a telephone number" in line
        assert "stays inside: --condition" in line
        assert bizkit(*words, "--condition", condition, "--on", "2027-05-20").code == 0, words


def test_conditions_of_an_older_book_stay_inside_and_old_certificates_print_as_they_were(bizkit, agreed, studio):
    """An older paper has one list, of which nobody knows whom it binds; an older certificate prints what it froze."""
    import json

    with sqlite3.connect(studio / "book.sqlite") as book:
        (data,) = book.execute("SELECT data FROM holding WHERE id = ?", (agreed["id"],)).fetchone()
        old = json.loads(data)
        old["conditions"] += old.pop("client_conditions")
        book.execute("UPDATE holding SET data = ? WHERE id = ?", (json.dumps(old), agreed["id"]))
    done = bizkit("rights", "grant", JOB, "--on", "2027-06-14")
    assert f"for you to keep, paper {agreed['id']}: {THEIRS}" in done.out
    assert THEIRS not in text_of("papers/LC-2027-0001-r1.pdf")
    with sqlite3.connect(studio / "book.sqlite") as book:
        (frozen,) = book.execute("SELECT document FROM issued WHERE kind = 'licence_certificate'").fetchone()
    document = json.loads(frozen)
    document.pop("client_conditions")
    document["restrictions"] = ["No dogs on the beach"]
    from bizkit.papers.render import render
    from bizkit.services.studio.filing import asset_reader
    from bizkit.services.studio.studio_folder import StudioFolder

    path = studio / "old.pdf"
    path.write_bytes(render(document, own=None, asset=asset_reader(StudioFolder(studio))))
    assert "Not allowed No dogs on the beach" in text_of(path)


def test_a_certificate_without_conditions_is_not_issued_anew_for_it(bizkit, clear, studio):
    """An older one has an empty list of restrictions where today's has an empty list of conditions."""
    import json

    from bizkit.services.rights.certificates import _same

    assert bizkit("rights", "grant", JOB, "--on", "2027-06-14").code == 0
    with sqlite3.connect(studio / "book.sqlite") as book:
        (frozen,) = book.execute("SELECT document FROM issued WHERE kind = 'licence_certificate'").fetchone()
    now = json.loads(frozen)
    old = {**now, "restrictions": []}
    del old["client_conditions"]
    assert _same(old, now)
    assert not _same({**old, "restrictions": ["x"]}, now)


def test_the_form_shows_who_signs_what_the_client_keeps_to(bizkit, clear, signature, studio):
    done = bizkit(
        "release", "sign", JOB, "--who", "Isla Marwick", "--signature", signature, "--condition", OURS,
        "--client-condition", THEIRS, "--on", "2027-05-13", "--json",
    )  # fmt: skip
    assert done.code == 0, done.err
    text = text_of(studio / done.data["file"])
    assert f"Agreed besides {OURS} " in text
    assert f"{THEIRS} (the client keeps to this too)" in text
    assert (done.data["conditions"], done.data["client_conditions"]) == ([OURS], [THEIRS])


def test_the_table_of_papers_keeps_them_apart(bizkit, agreed, tmp_path):
    bizkit("rights", "export", tmp_path / "out", "--on", "2027-06-01")
    rows = list(csv.DictReader((tmp_path / "out" / "holdings.csv").read_text(encoding="utf-8-sig").splitlines()))
    (row,) = [one for one in rows if one["about"] == "Finn Sinclair"]
    assert (row["conditions"], row["client_conditions"]) == (OURS, THEIRS)


def test_what_the_client_keeps_to_is_said_wherever_it_may_do_something(bizkit, live, hold, tmp_path):
    from PIL import Image

    condition = "No bathers in the background"
    hold("talent_release", "Finn Sinclair", "--media", "online", "--where", "World", "--client-condition", condition)
    bizkit("rights", "link", JOB, "stills", "--who", "Finn Sinclair", "--on", "2027-05-20")
    ask = ("--media", "paid_social", "--where", "GB", "--on", "2027-08-01")
    assert bizkit("rights", "use", JOB, *ask, "--json").data["conditions"] == [condition]
    assert f"The client keeps to this: {condition}" in bizkit("rights", "use", JOB, *ask).out
    assert f"The client keeps to this: {condition}" in bizkit("rights", "explain", JOB, "--on", "2027-08-01").out
    assert bizkit("rights", "export", tmp_path / "out", "--on", "2027-08-01").code == 0
    policy = json.loads((tmp_path / "out" / "LC-2027-0001.jsonld").read_text(encoding="utf-8"))
    assert f"You keep to this too: {condition}." in policy["description"]
    still = tmp_path / "kelp-01.jpg"
    Image.new("RGB", (64, 48), (10, 90, 90)).save(still)
    done = bizkit("rights", "sidecar", JOB, "stills", still, "--on", "2027-08-01", "--json")
    assert f"You keep to this too: {condition}." in Path(done.data["files"][0]).read_text(encoding="utf-8")


def test_a_yes_whose_paper_was_withdrawn_says_so(bizkit, live, hold):
    paper = hold("talent_release", "Finn Sinclair", "--media", "online", "--where", "World")
    ask = ("rights", "use", JOB, "--media", "paid_social", "--where", "GB")
    assert bizkit(*ask, "--on", "2027-08-01").out.startswith("Yes, because LC-2027-0001")
    assert bizkit(*ask, "--on", "2027-08-01", "--json").data["held"] is True
    bizkit("holding", "withdraw", JOB, paper["id"], "--reason", "asked", "--on", "2027-09-01")
    after = bizkit(*ask, "--on", "2027-09-02")
    assert after.out.startswith("Yes by the licence, but not all it needs is held: LC-2027-0001 allows")
    assert "Look: not held: talent release: Finn Sinclair (nothing held: withdrawn on 2027-09-01)" in after.out
    assert bizkit(*ask, "--on", "2027-09-02", "--json").data["held"] is False
