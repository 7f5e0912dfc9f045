"""Studios played through the real command line, what leaves them read down to the last byte, and their secrets."""

from __future__ import annotations

import contextlib
import email
import email.policy
import io
import json
import os
import re
import sqlite3
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from PIL import Image

from bizkit.cli.main import run
from bizkit.domain.documents.outgoing import outgoing

#: What stays: the book, the settings, what came in, the accountant's own.
STAYS = ("*.sqlite*", "*.toml", "briefs/*", "clients/*", "jobs/*", "incoming/*", "deliveries/*", "templates/**/*",
         "papers/scans/*", "outgoing/accountant.zip", "*.csv", "own/*")  # fmt: skip


def command(folder: Path, *arguments: object) -> str:
    """One command in a studio: what it printed. Fails the test when it is refused."""
    out, err, code = io.StringIO(), io.StringIO(), 0
    before, here = sys.argv, Path.cwd()
    os.environ["BIZKIT_WHO"] = "Ailsa Gannet"
    try:
        os.chdir(folder)
        sys.argv = ["bizkit", *map(str, arguments)]
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            try:
                run()
            except SystemExit as leaving:
                code = leaving.code if isinstance(leaving.code, int) else int(leaving.code is not None)
    finally:
        sys.argv = before
        os.chdir(here)
    assert code == 0, (arguments, err.getvalue())
    return out.getvalue()


def data_of(folder: Path, *arguments: object) -> Any:
    return json.loads(command(folder, *arguments, "--json"))


# ---------------------------------------------------------------------------------------------- what leaves


def leaves(folder: Path) -> list[Path]:
    """Files of a studio that are for somebody else."""
    everything = [path for path in sorted(folder.rglob("*")) if path.is_file()]
    stays = {path for pattern in STAYS for path in folder.glob(pattern)}
    return [path for path in everything if path not in stays]


def texts(name: str, data: bytes) -> Iterator[tuple[str, str]]:
    """Every text in a file, with where it is: the pages and streams of a PDF, parts of a mail, members of a zip."""
    if data.startswith(b"%PDF-"):
        yield from _pdf(name, data)
    elif name.endswith(".eml"):
        yield from _mail(name, email.message_from_bytes(data, policy=email.policy.default))
    elif data.startswith(b"PK\x03\x04"):
        with zipfile.ZipFile(io.BytesIO(data)) as bundle:
            for member in bundle.namelist():
                yield from texts(f"{name}!{member}", bundle.read(member))
    elif data.startswith(b"\x89PNG"):
        with Image.open(io.BytesIO(data)) as picture:
            yield name, " ".join(f"{key} {value}" for key, value in picture.info.items())
    elif name.endswith(".ics"):
        yield name, data.decode().replace("\r\n ", "").replace("\\,", ",").replace("\\;", ";").replace("\\n", " ")
    else:
        yield name, data.decode("utf-8", "replace")


def _pdf(name: str, data: bytes) -> Iterator[tuple[str, str]]:
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(data)
        file.flush()
        done = subprocess.run(["pdftotext", "-raw", file.name, "-"], capture_output=True, check=True)
    yield f"{name}: pages", done.stdout.decode()
    with pikepdf.open(io.BytesIO(data)) as book:
        yield f"{name}: properties", " ".join(str(value) for value in book.docinfo.values())
        for number, thing in enumerate(book.objects):
            if isinstance(thing, pikepdf.Stream):
                try:
                    content = bytes(thing.read_bytes())
                except pikepdf.PdfError:
                    content = bytes(thing.read_raw_bytes())
                yield f"{name}: stream {number}", content.decode("utf-8", "replace")
                yield f"{name}: stream {number}", content.decode("utf-16", "replace")
            elif isinstance(thing, pikepdf.Dictionary):
                yield f"{name}: object {number}", str({key: str(thing[key]) for key in thing.keys()})  # noqa: SIM118
        for attached, spec in book.attachments.items():
            yield from texts(f"{name}!{attached}", bytes(spec.get_file().read_bytes()))


def _mail(name: str, mail: email.message.EmailMessage) -> Iterator[tuple[str, str]]:
    yield f"{name}: heads", " ".join(str(value) for value in mail.values())
    for part in mail.walk():
        if part.is_multipart():
            continue
        content = part.get_content()
        where = f"{name}: {part.get_filename() or 'text'}"
        if isinstance(content, str):
            yield where, content
        else:
            yield from texts(where, bytes(content))


# ---------------------------------------------------------------------------------------------- what stays


@dataclass
class Secrets:
    """A studio's reckoning, found in its own records. sentences: every why; amounts: costs, margins, the floor."""

    sentences: set[str] = field(default_factory=set)
    amounts: set[Decimal] = field(default_factory=set)

    def found(self, where: str, text: str) -> list[str]:
        """Which of them are in a text, however it is wrapped and whatever signs it writes figures with.

        The inside of a PDF (where: its streams and objects) is full of places on the page, which are no amounts.
        """
        squeezed = _squeezed(text)
        hits = [sentence for sentence in sorted(self.sentences) if _squeezed(sentence) in squeezed]
        inside = ": stream" in where or ": object" in where
        figures = set() if inside else {_value(figure) for figure in _FIGURE.findall(text)}
        return hits + [f"{amount}" for amount in sorted(self.amounts & figures)]


#: A figure of two decimals, thousands grouped or not, as a locale writes it.
_FIGURE = re.compile(r"(?<![\d.,])\d{1,3}(?:[.,\u00a0\u202f]?\d{3})*[.,]\d{2}(?![\d])")


def _value(figure: str) -> Decimal:
    whole, part = figure[:-3], figure[-2:]
    return Decimal(f"{re.sub(r'[^0-9]', '', whole)}.{part}")


def _squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def secrets_of(folder: Path) -> Secrets:
    """Every sentence that says why, every cost, margin and floor that the studio's records hold.

    Amounts that a client is told as well (a price can be what something cost) are no secrets.
    """
    found, told = Secrets(), set()
    with contextlib.closing(sqlite3.connect(folder / "book.sqlite")) as book:
        documents = [json.loads(row[0]) for row in book.execute("select document from issued union all "
                                                               "select document from letter")]  # fmt: skip
        workings = [json.loads(row[0]) for row in book.execute("select working from charge")]
        spent = book.execute("select amount_minor from cost").fetchall()
    for document in documents:
        told |= set(_amounts(dict(outgoing(document))))
        for entry in document.get("reckoning", ()):
            _reckoning(found, entry)
        found.sentences.update(document.get("warnings", ()))
        found.sentences.update(str(one) for one in (document.get("reasons") or {}).values())
    for working in workings:
        _reckoning(found, working)
    found.amounts.update(Decimal(minor) / 100 for (minor,) in spent)
    for row in data_of(folder, "quote", "list", "--on", "2027-12-01"):
        shown = data_of(folder, "quote", "show", row["number"], "--revision", row["revision"], "--on", "2027-12-01")
        found.amounts.update(_amounts(shown["margin"] or {}))
    floor = data_of(folder, "floor")
    found.amounts.update(_amounts(floor))
    _reckoning(found, floor["working"])
    # A sentence shorter than this says nothing that could be told apart ("2 h").
    found.sentences = {one for one in found.sentences if len(_squeezed(one)) >= 12}
    found.amounts -= told
    return found


def _reckoning(found: Secrets, working: dict[str, Any]) -> None:
    for key in ("why", "text"):
        if key in working:
            found.sentences.add(working[key])
            # The clause in brackets is the heart of it: "(GBP 105.00 + 10 % markup)".
            found.sentences.update(re.findall(r"\([^()]*\d[^()]*%[^()]*\)", working[key]))
    if "amount" in working and working.get("rule", "").startswith(("costs.", "floor.")):
        found.amounts.update(_amounts(working.get("inputs", {})))
    for part in (
        *working.get("parts", ()),
        *([working["working"]] if isinstance(working.get("working"), dict) else ()),
    ):
        _reckoning(found, part)


def _amounts(value: Any) -> Iterator[Decimal]:
    """Amounts of money in data: text with two decimals."""
    if isinstance(value, dict):
        for one in value.values():
            yield from _amounts(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from _amounts(one)
    elif isinstance(value, str) and re.fullmatch(r"-?\d+\.\d\d", value):
        yield abs(Decimal(value))


@pytest.fixture(scope="session")
def outside():
    """The functions above, for the tests of this folder."""
    from types import SimpleNamespace

    return SimpleNamespace(leaves=leaves, texts=texts, secrets_of=secrets_of, command=command, data_of=data_of,
                           Secrets=Secrets)  # fmt: skip


# ---------------------------------------------------------------------------------------------- studios


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, and whatever of it can be sent, sent."""
    folder = tmp_path_factory.mktemp("demo") / "studio"
    command(folder.parent, "demo", folder)
    _send_everything(folder)
    return folder


@pytest.fixture(scope="session")
def british(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A British studio's whole job, from the starter's brief."""
    return _play(tmp_path_factory.mktemp("british") / "studio", "gbp-uk", "follow-the-kelp", "2027-05-12")


@pytest.fixture(scope="session")
def german(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A German studio's whole job, from the starter's brief."""
    return _play(tmp_path_factory.mktemp("german") / "studio", "eur-de", "seegras-im-bodden", "2027-06-15")


def _play(folder: Path, starter: str, job: str, water_day: str) -> Path:
    command(folder.parent, "init", folder, "--starter", starter)
    settings = folder / "studio.toml"
    late = '\n[late]\ninterest = "contract"\nrate = 8\n'
    settings.write_text("practice = true\n" + settings.read_text("utf-8") + late, "utf-8")
    client = next((folder / "clients").glob("*.toml"))
    wishes = 'buyer_reference = "04011000-12345-03"\npurchase_order = "PO-77"\n'
    client.write_text(wishes + client.read_text("utf-8"), "utf-8")
    on = ("--on", "2027-02-01")
    command(folder, "quote", "draft", job, *on)
    command(folder, "quote", "send", job, *on, "--reason", "the floor is for another year")
    command(folder, "quote", "accept", job, *on)
    command(folder, "invoice", "proforma", job, *on)
    command(folder, "invoice", "deposit", job, "600.00", "--received", "2027-02-02", "--on", "2027-02-03")
    command(folder, "invoice", "issue", job, "--on", "2027-02-04")
    paid = data_of(folder, "invoice", "list")[-1]["number"]
    command(folder, "invoice", "paid", paid, "100.00", "--on", "2027-04-20")
    command(folder, "payment", "receipt", "1", "--on", "2027-04-21")
    command(folder, "late", "remind", paid, "--step", "final", "--on", "2027-06-01")
    command(folder, "late", "charge", paid, "--on", "2027-06-01")
    command(folder, "day", "log", job, water_day, "--call", "05:30", "--wrap", "22:15", "--on", "2027-07-01")
    passed_on = ("--to-client", "--agreed", "the client, by phone")
    command(folder, "cost", "add", job, "--kind", "boat", "--amount", "417.13", *passed_on, "--on", "2027-07-01")
    command(folder, "cost", "add", job, "--kind", "accommodation", "--amount", "93.57", "--on", "2027-07-01")
    command(folder, "charge", "add", job, "--what", "Extra drive", "--amount", "77.10", "--reason",
            "agreed on the phone, though it cost us less", "--agreed", "Una, by mail",
            "--on", "2027-07-01")  # fmt: skip
    command(folder, "invoice", "issue", job, "--charges", "--on", "2027-07-02")
    command(folder, "cost", "add", job, "--kind", "boat", "--amount", "211.09", *passed_on, "--on", "2027-07-03")
    for row in data_of(folder, "deliverable", "list", job) if starter == "eur-de" else ():  # else it is no final one
        (folder / "cut.txt").write_text(row["key"], "utf-8")
        stand_in = ("--reason", "a stand-in", "--on", "2027-07-04")
        command(folder, "deliverable", "send", job, row["key"], folder / "cut.txt", *stand_in)
        command(folder, "deliverable", "approve", job, row["key"], "--by", "Una Flett", *stand_in)
    command(folder, "invoice", "issue", job, "--final", "--on", "2027-07-05")
    final = data_of(folder, "invoice", "list")[-1]["number"]
    command(
        folder, "invoice", "credit", final, "--line", "1=10.00", "--reason", "Wie besprochen", "--on", "2027-07-06"
    )
    command(folder, "statement", client.stem, "--from", "2027-01-01", "--on", "2027-07-31")
    command(folder, "rights", "grant", job, "--override", "the papers are signed on the day", "--on", "2027-07-19")
    (folder / "drive").mkdir()
    (folder / "drive" / "film.mov").write_bytes(b"a film")
    command(folder, "handover", "make", job, folder / "drive", "--reason", "a first look", "--on", "2027-07-20")
    _send_everything(folder)
    _draw_own(folder, job)
    return folder


FORMS = ("model_release", "performer_consent", "location_permission", "crew_assignment")
MORE_FORMS = ("property_release", "water_day_card", "drone_record", "crowd_notice", "cue_sheet")
REPORTS = ("debtors", "cash", "margin", "days", "income", "tax", "quarter", "mileage")


def _draw_own(folder: Path, job: str) -> None:
    """What the studio draws for itself: reports, the shot list, a child's forms."""
    own = folder / "own"
    own.mkdir(exist_ok=True)
    on = ("--on", "2027-08-01")
    period = ("--from", "2027-01-01", "--to", "2027-07-31")
    for name in REPORTS:
        command(
            folder, "report", name, *(period if name in ("income", "tax") else ()), "--pdf", own / f"{name}.pdf", *on
        )
    command(folder, "shots", job, "--out", own / "shots.pdf", *on)
    for kind in MORE_FORMS:
        command(folder, "papers", "form", kind, job, "--out", folder / "sent" / f"{job}-{kind}.pdf", *on)
    for kind in ("model_release", "performer_consent"):
        command(folder, "papers", "form", kind, job, "--under-18", "--out", own / f"child-{kind}.pdf", *on)


def _send_everything(folder: Path) -> None:
    """Each paper as a mail, each bill in each electronic form, calendars, licence files and forms."""
    out = folder / "sent"
    out.mkdir()
    with contextlib.closing(sqlite3.connect(folder / "book.sqlite")) as book:
        papers = book.execute("select distinct kind, number, key from issued").fetchall()
        letters = [row[0] for row in book.execute("select name from letter")]
    jobs = data_of(folder, "job", "list", "--on", "2027-08-01")
    on = ("--on", "2027-08-01")
    for kind, number, _ in papers:
        if kind in ("quote", "invoice", "credit_note"):
            command(folder, "send", number, *on, "--out", out / f"{number}.eml")
        if kind in ("invoice", "credit_note"):
            for form in ("cii", "ubl", "hybrid"):
                command(folder, "send", number, "--einvoice", form, *on, "--out", out / f"{number}-{form}.eml")
                command(folder, "invoice", "export", number, "--format", form)
    for name in letters:
        command(folder, "send", name, *on, "--out", out / f"{name}.eml")
    for job in jobs:
        command(folder, "calendar", job["key"], "--out", out / f"{job['key']}.ics", *on)
        for kind in FORMS:
            command(folder, "papers", "form", kind, job["key"], "--out", out / f"{job['key']}-{kind}.pdf", *on)
        film = out / f"{job['key']}.mov"
        film.write_bytes(b"a film")
        first = data_of(folder, "deliverable", "list", job["key"], *on)[0]["key"]
        command(folder, "rights", "sidecar", job["key"], first, film, *on)
    command(folder, "rights", "export", out / "rights", *on)
