"""A German studio on the command line: other clients, another [tax] table, a job opened, delivered, billed."""

from __future__ import annotations

import pypdf
import pytest

JOB = "seegras-im-bodden"
CLIENT = "nationalpark-hagebutt"

#: Invented clients; the VAT numbers are published examples.
CLIENTS = {
    "AT": 'country = "AT"\ntax_number = "ATU13585627"\n',
    "AT without number": 'country = "AT"\nbusiness_evidence = "Auszug des Firmenbuchs"\n',
    "CH": 'country = "CH"\nbusiness_evidence = "Auszug des Handelsregisters"\n',
    "person": 'country = "DE"\nbusiness = false\n',
    "office": 'country = "DE"\nbuyer_reference = "04011000-12345-03"\neinvoice = "ubl"\n',
    "firm": 'country = "DE"\ntax_number = "DE136695976"\n',
}
HEAD = """name = "Seefilm am Boddenrand"
contact = "Frauke Hansen"
address = ["Seepromenade 1"]
city = "Hagebutt"
postcode = "00000"
email = "buero@seefilm.example"
"""


def text_of(path):
    """The words of a paper on one line."""
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def german(bizkit, tmp_path, monkeypatch):
    """The folder of a fresh German practice studio, and the current folder inside it."""
    bizkit("init", tmp_path / "studio", "--starter", "eur-de", "--practice")
    monkeypatch.chdir(tmp_path / "studio")
    return tmp_path / "studio"


@pytest.fixture
def taxed(german):
    """Put another [tax] table into the studio."""

    def write(lines):
        path = german / "studio.toml"
        text = path.read_text("utf-8")
        start, end = text.index("[tax]"), text.index("[bank]")
        path.write_text(f"{text[:start]}[tax]\n{lines}\n\n{text[end:]}", "utf-8")

    return write


@pytest.fixture
def client(german):
    """Make the client of the sample brief another one of `CLIENTS`."""

    def write(which, more=""):
        (german / "clients" / f"{CLIENT}.toml").write_text(HEAD + CLIENTS[which] + more, "utf-8")

    return write


@pytest.fixture
def opened(bizkit, german):
    """Quote the sample brief and open its job: `opened()` gives its key."""

    def go(on="2027-05-04"):
        for command in ("draft", "send", "accept"):
            done = bizkit("quote", command, JOB, "--on", on)
            assert done.code == 0, done.err
        return JOB

    return go


@pytest.fixture
def delivered(bizkit, german):
    """Send and approve every deliverable of the job on a day."""

    def go(on="2027-07-15"):
        for row in bizkit("deliverable", "list", JOB, "--json").data:
            (german / f"{row['key']}.txt").write_text(row["key"], "utf-8")
            name = f"{row['key']}.txt"
            sent = bizkit("deliverable", "send", JOB, row["key"], name, "--reason", "a stand-in", "--on", on)
            assert sent.code == 0, sent.err
            by = ("--by", "Frauke Hansen", "--reason", "a stand-in", "--on", on)
            assert bizkit("deliverable", "approve", JOB, row["key"], *by).code == 0

    return go


@pytest.fixture
def issue(bizkit):
    """Issue an invoice of the job, which must go well."""

    def go(*options, on):
        done = bizkit("invoice", "issue", JOB, *options, "--on", on, "--json")
        assert done.code == 0, done.err
        return done.data

    return go


@pytest.fixture
def tax(bizkit):
    """The tax report of a period."""

    def report(first, last):
        done = bizkit("report", "tax", "--from", first, "--to", last, "--on", "2028-12-31", "--json")
        assert done.code == 0, done.err
        return done.data

    return report
