"""Nothing of the studio's own reckoning leaves: costs, mark-ups, margins, the floor, why a line costs what it does.

What to look for comes from the studio's own records, not from a list of words, and it is looked for in every byte for
somebody else: pages, streams, properties and attachments of PDFs, electronic invoices, mails and what hangs on them,
calendars, licence files, sidecars, the client's folder.
"""

from __future__ import annotations

import io
import zipfile
from decimal import Decimal
from email.message import EmailMessage
from pathlib import Path

import pikepdf
import pytest
from reportlab.pdfgen.canvas import Canvas

STUDIOS = ("demo", "british", "german")


@pytest.fixture(params=STUDIOS)
def played(request) -> Path:
    return request.getfixturevalue(request.param)


def leaks(outside, folder: Path) -> list[str]:
    secrets = outside.secrets_of(folder)
    return [
        f"{where}: {hit}"
        for path in outside.leaves(folder)
        for where, text in outside.texts(path.relative_to(folder).as_posix(), path.read_bytes())
        for hit in secrets.found(where, text)
    ]


def test_nothing_of_the_reckoning_is_in_anything_that_leaves(outside, played):
    assert leaks(outside, played) == []


def test_what_is_looked_for_is_there_to_be_found(outside, played):
    # Else the search would find nothing because it looks for nothing.
    secrets, files = outside.secrets_of(played), outside.leaves(played)
    assert len(secrets.sentences) > 40
    assert len(secrets.amounts) > 10
    assert any("% markup)" in one for one in secrets.sentences)
    endings = {path.suffix for path in files}
    assert endings >= {".pdf", ".xml", ".eml", ".ics"}
    read = [where for path in files for where, _ in outside.texts(path.name, path.read_bytes())]
    assert sum("factur-x.xml" in where for where in read) >= 2
    assert sum(".eml: " in where for where in read) > 20


def test_costs_and_mark_ups_of_a_job_are_among_what_is_looked_for(outside, british):
    secrets = outside.secrets_of(british)
    # spent: 417.13 and 93.57, by hand; a cost of the card, 105.00 a room night; the floor's day rate
    assert {Decimal("417.13"), Decimal("93.57"), Decimal("105.00")} <= secrets.amounts
    assert "agreed on the phone, though it cost us less" in secrets.sentences


SENTENCE = "10 x GBP 115.50 (GBP 105.00 + 10 % markup) = GBP 1155.00"
CLAUSE, COST = "(GBP 105.00 + 10 % markup)", Decimal("417.13")


@pytest.fixture
def planted(outside):
    return outside.Secrets({SENTENCE, CLAUSE}, {COST})


def a_page(text: str, *, where: str = "page") -> bytes:
    out = io.BytesIO()
    canvas = Canvas(out, pageCompression=1)
    if where == "page":
        for line, words in enumerate((text[:30], text[30:])):
            canvas.drawString(72, 720 - 14 * line, words)
    if where == "title":
        canvas.setTitle(text)
    canvas.showPage()
    canvas.save()
    if where not in ("attached", "xmp"):
        return out.getvalue()
    with pikepdf.open(out) as book:
        if where == "attached":
            book.attachments["notes.txt"] = text.encode()
        else:
            with book.open_metadata() as meta:
                meta["dc:description"] = text
        again = io.BytesIO()
        book.save(again)
    return again.getvalue()


def a_mail(data: bytes, name: str, text: str = "Hello") -> bytes:
    mail = EmailMessage()
    mail["Subject"] = "Your invoice"
    mail.set_content(text)
    mail.add_attachment(data, maintype="application", subtype="octet-stream", filename=name)
    return mail.as_bytes()


def a_zip(data: bytes, name: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as bundle:
        bundle.writestr(name, data)
    return out.getvalue()


@pytest.mark.parametrize(
    ("name", "make"),
    [
        ("quote.pdf", a_page),
        ("quote.pdf", lambda text: a_page(text, where="title")),
        ("quote.pdf", lambda text: a_page(text, where="attached")),
        ("quote.pdf", lambda text: a_page(text, where="xmp")),
        ("bill.xml", lambda text: f"<ram:Description>{text}</ram:Description>".encode()),
        ("bill.eml", lambda text: a_mail(b"<x/>", "bill.xml", text)),
        ("bill.eml", lambda text: a_mail(a_page(text), "bill.pdf")),
        ("bill.eml", lambda text: a_mail(a_page(text, where="attached"), "bill.pdf")),
        ("bundle.zip", lambda text: a_zip(a_page(text), "papers/bill.pdf")),
        ("job.ics", lambda text: f"DESCRIPTION:{text[:20]}\r\n {text[20:]}\r\n".encode()),
        ("lines.csv", lambda text: f"1;{text};2\r\n".encode()),
        ("film.gif.xmp", lambda text: f"<dc:rights>{text}</dc:rights>".encode()),
    ],
)
def test_a_reason_that_is_planted_is_found(outside, planted, name, make):
    def hits(text: str) -> set[str]:
        data = make(text)
        return {hit for where, found in outside.texts(name, data) for hit in planted.found(where, found)}

    assert {SENTENCE, CLAUSE} <= hits(SENTENCE)
    assert hits("10 nights at the harbour, for the two of us") == set()


@pytest.mark.parametrize("figure", ["417.13", "£417.13", "417,13\u00a0€", "EUR 417,13"])
def test_a_cost_that_is_planted_is_found_however_it_is_written(outside, planted, figure):
    for name, data in (("a.pdf", a_page(f"It was {figure}")), ("a.xml", f"<a>{figure}</a>".encode())):
        found = [hit for where, text in outside.texts(name, data) for hit in planted.found(where, text)]
        assert found == ["417.13"], name
    big = outside.Secrets(set(), {Decimal("14948.10")})
    for written in ("14948.10", "14,948.10", "14.948,10", "14\u202f948,10"):
        assert big.found("mail", f"left: {written} in all") == ["14948.10"]
    assert big.found("mail", "914948.10 and 14948.101") == []


def test_a_hole_in_the_wall_would_be_seen(outside, british, tmp_path, monkeypatch):
    """With the wall taken down, a template of the studio's own lets the reasons out: and the search finds them."""
    import json
    import sqlite3

    from bizkit.papers import render as drawing

    (tmp_path / "en").mkdir()
    (tmp_path / "en" / "quote.xml.j2").write_text(
        "<paper>{% for one in reckoning %}<para>{{ one.why }}</para>{% endfor %}</paper>", "utf-8"
    )
    with sqlite3.connect(british / "book.sqlite") as book:
        (text,) = book.execute("select document from issued where kind = 'quote'").fetchone()
    monkeypatch.setattr(drawing, "outgoing", lambda document: document)
    pdf = drawing.render(json.loads(text), own=tmp_path)
    secrets = outside.secrets_of(british)
    found = {hit for where, said in outside.texts("quote.pdf", pdf) for hit in secrets.found(where, said)}
    assert len(found) > 20
    assert any("markup" in hit for hit in found)
