"""The demo's studio after it was played, and every command that concerns accepted work, run one after the other."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

KELP, KELP_QUOTE = "follow-the-kelp", "Q-2027-0001"
NEXT, NEXT_QUOTE = "gannet-week", "Q-2027-0002"
CLIENT = "skerrow-islands-tourism"

#: What one run of the commands printed: (command, exit code, output, error).
Replay = list[tuple[str, int, str, str]]

#: What the machine's own clock says, and where the studio happens to lie.
_MOMENT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\+00:00|Z)")
#: The end of the chain of documents holds those moments too.
_HEAD = re.compile(r'"head": "[0-9a-f]{64}"')


def script(kelp: str, next_: str, *, quote: str) -> Iterator[tuple[str, ...]]:
    """Every command about accepted work with arguments, in an order in which each of them can be done.

    kelp, next_: the demo's two jobs, by key or by number. quote: the second one for commands about quotes. The second
    job is worked, billed, paid late and delivered; a further piece of it is cancelled at last.
    """
    on = ("--on", "2027-07-21")
    # what is there
    for command in (
        ("status",), ("quote", "list"), ("job", "list"), ("kit", "bookings"), 
        ("deliverable", "list"), ("rights", "list"), ("late", "list"), ("invoice", "list", "--credits"),
        ("person", "list"), ("report", "debtors"), ("report", "cash"), ("report", "days"), ("report", "quarter"),
        ("holding", "list", kelp), ("release", "list", kelp), ("permission", "list", kelp),
        ("job", "show", kelp), ("rights", "explain", kelp), ("rights", "check", kelp), ("shots", kelp),
        ("deliverable", "list", kelp), ("deliverable", "show", kelp, "sauna-loop"), ("invoice", "list", kelp),
        ("schedule", "show", kelp), ("rights", "list", kelp), ("quote", "show", quote),
        ("rights", "use", kelp, "--media", "paid_social", "--where", "IE"),
        ("rights", "certificate", kelp), ("invoice", "show", "GL-2027-0002"),
    ):  # fmt: skip
        yield (*command, *on)
    for command in (
        ("papers", "list", kelp), ("quote", "compare", quote),
        ("job", "money", kelp), ("job", "actual", kelp), ("day", "list", kelp),
        ("cost", "list", kelp), ("charge", "list", kelp), ("archive", "list", kelp), ("handover", "list", kelp),
        ("storage", kelp), ("payment", "list"), ("payment", "list", "--client", CLIENT), ("bank", "list", "--all"),
        ("overhead", "list"), ("mileage", "list"), ("evidence", "list"), ("handover", "verify", "handover"),
        ("deliverable", "verify", "deliveries/campaign-film-v2.gif"),
        ("report", "income", "--from", "2027-01-01", "--to", "2027-12-31"),
        ("report", "tax", "--from", "2027-04-01", "--to", "2027-06-30"),
        ("report", "margin", "--from", "2027-01-01", "--to", "2027-12-31"),
        ("report", "mileage", "--from", "2027-04-06", "--to", "2028-04-05"),
        ("invoice", "export", "GL-2027-0002", "--format", "ubl", "--out", "outgoing/again.xml"),
    ):  # fmt: skip
        yield command
    yield "rights", "ending", "--within", "90d", "--on", "2028-04-05"
    yield "calendar", kelp, "--out", "kelp.ics", *on
    yield "calendar", "--out", "all.ics", *on
    yield "papers", "form", "model_release", next_, "--about", "Morag Sinclair", "--out", "forms/form.pdf"
    yield "release", "form", next_, "--who", "Morag Sinclair", "--out", "forms/release.pdf"
    yield "permission", "form", next_, "--place", "Gannet Stack", "--out", "forms/place.pdf"

    # the second job: papers, plans, money in advance
    yield "invoice", "proforma", next_, *on
    yield "send", "PF-gannet-week-1", *on
    yield "invoice", "deposit", next_, "500.00", "--received", "2027-07-20", *on
    yield "invoice", "issue", next_, *on
    yield "send", quote, *on
    yield "send", "GL-2027-0004", *on
    yield "schedule", "save", next_, "--due", "2027-09-30", *on
    yield "schedule", "move", next_, "edit", "2027-09-01", "--save", *on
    yield "evidence", "add", CLIENT, "--what", "Entry in a register", *on
    yield "permission", "add", next_, "--place", "Gannet Stack", "--by", "Kittiwake Head Trust", "--signed", \
        "2027-07-20", "--scan", "incoming/seabird-cliff.pdf", "--media", "all", "--where", "World", "--without-end", \
        *on  # fmt: skip
    yield "release", "add", next_, "--who", "Morag Sinclair", "--signed", "2027-07-20", "--scan", \
        "incoming/eilidh-rendall.pdf", "--media", "all", "--where", "World", "--without-end", *on  # fmt: skip
    yield "release", "sign", next_, "--who", "Eilidh Rendall", "--signature", "signature.png", *on
    yield "holding", "add", next_, "--kind", "pilot_id", "--about", "Rowan Lark", "--number", "GBR-RP-EXAMPLE", \
        "--from", "2027-02-01", "--until", "2031-02-01", *on  # fmt: skip
    yield "holding", "sign", next_, "--kind", "crew_assignment", "--about", "Rowan Lark", "--signature", \
        "signature.png", *on  # fmt: skip
    yield "person", "set", "Eilidh Rendall", "--basis", "consent", "--purpose", "the release", *on
    yield "person", "export", "Eilidh Rendall", "--to", "outgoing/eilidh.json", *on
    yield "rights", "link", next_, "ferry-film", "bird-stills", "--who", "none", "--music", "none", *on

    # the days, what they cost, and what the client pays on top
    yield "day", "move", next_, "2027-08-03", "--to", "2027-08-05", "--why", "studio", *on
    yield "quote", "postpone", quote, "--to", "2027-08-10", "--on", "2027-08-02"
    yield "day", "log", next_, "2027-08-10", "--call", "08:00", "--wrap", "21:00", "--on", "2027-08-11"
    yield (
        "cost", "add", next_, "--kind", "boat", "--amount", "560.00", "--to-client", "--agreed", "Una Flett",
        "--on", "2027-08-11",
    )  # fmt: skip
    yield "overhead", "tax", "2", "90.00", "--on", "2027-08-11"
    yield "mileage", "add", "42", "--from", "Port Skerrow", "--to", "Gannet Stack", "--purpose", "shoot", \
        "--job", next_, "--on", "2027-08-11"  # fmt: skip
    yield "overhead", "add", "Rope", "24.00", "--on", "2027-08-11"
    yield "overhead", "receipt", "1", "incoming/boat-receipt.png", "--on", "2027-08-11"
    yield "cost", "receipt", "2", "incoming/boat-receipt.png", "--on", "2027-08-11"
    yield (
        "charge", "add", next_, "--what", "A poster", "--amount", "60.00", "--reason", "asked for", "--agreed",
        "Una, by mail", *on,
    )  # fmt: skip
    yield "charge", "list", next_
    yield "cost", "reverse", "1", "--reason", "typed twice", "--on", "2027-08-11"
    yield "charge", "waive", "5", "--reason", "a gift", "--on", "2027-08-11"
    yield "invoice", "issue", next_, "--charges", "--on", "2027-08-12"

    # delivery
    yield "deliverable", "send", next_, "ferry-film", "films/ferry-v1.gif", "--on", "2027-08-16"
    yield "deliverable", "send", next_, "bird-stills", "birds", "--on", "2027-08-16"
    for number, day in ((1, "17"), (2, "19"), (3, "23")):
        on_day = ("--on", f"2027-08-{day}")
        yield "deliverable", "notes", next_, "ferry-film", "--text", f"A longer wait, {number}", *on_day
        yield "deliverable", "answer", next_, "ferry-film", *on_day
        yield "deliverable", "send", next_, "ferry-film", f"films/ferry-v{number + 1}.gif", *on_day
    yield "deliverable", "agree", next_, "ferry-film", "--by", "Una Flett", "--on", "2027-08-23"
    yield "deliverable", "check", "birds/bird-01.png", "--job", next_, "--deliverable", "bird-stills", "--spec", \
        "web_stills", "--on", "2027-08-24"  # fmt: skip
    yield "deliverable", "approve", next_, "ferry-film", "--on", "2027-08-24"
    yield "deliverable", "reopen", next_, "ferry-film", "--reason", "the other film", "--on", "2027-08-24"
    yield "deliverable", "approve", next_, "ferry-film", "--on", "2027-08-24"
    yield "deliverable", "approve", next_, "bird-stills", "--on", "2027-08-24"
    yield "rights", "grant", next_, "--override", "the papers are on their way", "--on", "2027-08-24"
    yield "rights", "sidecar", next_, "bird-stills", "birds/bird-01.png", "--replace"
    yield "handover", "make", next_, "drive", "--reason", "the papers are on their way", "--on", "2027-08-25"
    yield "archive", "add", next_, "--what", "Masters", "--place", "drive B", "--months", "12", "--on", "2027-08-25"
    yield "archive", "remove", "2", "--reason", "moved", "--on", "2027-08-26"
    yield "rights", "export", "exports", "--on", "2027-08-26"

    # money: late, paid in parts, credited, by the bank
    yield "invoice", "issue", next_, "--final", "--on", "2027-08-26"
    yield "late", "remind", "GL-2027-0005", "--on", "2027-10-12"
    yield "send", "reminder-GL-2027-0005-friendly", "--on", "2027-10-12"
    yield "late", "list", "--on", "2027-10-12"
    yield "late", "pause", "GL-2027-0005", "--until", "2027-10-20", "--reason", "a promise", "--on", "2027-10-12"
    yield "late", "charge", "GL-2027-0005", "--on", "2027-10-12"
    yield "invoice", "credit", "GL-2027-0006", "--amount", "10.00", "--reason", "a gift", "--lower-price", \
        "--on", "2027-10-12"  # fmt: skip
    yield "invoice", "paid", "GL-2027-0005", "--on", "2027-10-13"
    yield "payment", "add", "50.00", "--client", CLIENT, "--invoice", "GL-2027-0006", "--on", "2027-10-13"
    yield "payment", "refund", "GL-2027-0006", "10.00", "--owed-again", "--on", "2027-10-14"
    yield "payment", "receipt", "5", "--on", "2027-10-14"
    yield "payment", "add", "10.00", "--invoice", "GL-2027-0005", "--accept-over", "--on", "2027-10-14"
    yield "payment", "transfer", "GL-2027-0005", "GL-2027-0006", "--on", "2027-10-14"
    yield "statement", CLIENT, "--on", "2027-10-14"
    yield "send", f"statement-{CLIENT}-2027-10-14", "--on", "2027-10-14"
    yield "bank", "import", "october.csv", "--bank", "harbour", "--on", "2027-10-14"
    yield "bank", "book", "4", "--invoice", "GL-2027-0007", "--accept-over", "--on", "2027-10-14"
    yield "bank", "reopen", "4", "--reason", "looked again", "--on", "2027-10-14"
    yield "bank", "aside", "4", "--reason", "no client's", "--on", "2027-10-14"
    yield "report", "bundle", "--from", "2027-01-01", "--to", "2027-12-31", "--out", "year.zip"

    # the end of it
    yield "holding", "withdraw", next_, "14", "--reason", "asked", "--on", "2027-10-15"
    yield "holding", "drop", next_, "16", "--reason", "by mistake", "--on", "2027-10-15"
    yield "holding", "correct", next_, "14", "--media", "online", "--reason", "read again", "--on", "2027-10-15"
    yield "rights", "end", next_, "--reason", "agreed", "--on", "2027-10-15"
    yield "person", "erase", "Eilidh Rendall", "--reason", "asked", "--yes", "--on", "2027-10-15"
    yield "papers", "rebuild"
    yield "job", "show", next_, "--on", "2027-10-15"
    yield "job", "money", next_
    yield "status", "--on", "2027-10-15"
    yield "quote", "reopen", quote, "--reason", "a slip", "--on", "2027-10-15"  # refused: much has left
    yield "quote", "cancel", quote, "--preview", "--on", "2027-10-15"
    yield "quote", "cancel", quote, "--reason", "no money", "--on", "2027-10-15"
    yield "invoice", "settle", next_, "--on", "2027-10-15"
    yield ("verify",)


@pytest.fixture(scope="session")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, played once; copied, never worked in."""
    from PIL import Image, ImageDraw

    from bizkit.services.demo.playing import play
    from bizkit.services.demo.standins import stand_in

    folder = tmp_path_factory.mktemp("played") / "studio"
    list(play(folder))
    (folder / "october.csv").write_text(
        "Date,From,Details,Amount\n14/10/2027,SKERROW ISLANDS TOURISM,GL 2027 0007,12.00\n", encoding="utf-8"
    )
    for number in range(1, 5):
        stand_in(folder / "films" / f"ferry-v{number}.gif", "Gannet week", f"version {number}", frames=7 + number)
    for number in range(1, 13):
        stand_in(folder / "birds" / f"bird-{number:02}.png", "Gannet week", f"still {number}", frames=1)
    shutil.copytree(folder / "birds", folder / "drive" / "birds")
    shutil.copy2(folder / "films" / "ferry-v4.gif", folder / "drive")
    image = Image.new("RGB", (400, 120), "white")
    ImageDraw.Draw(image).line([(20, 90), (120, 20), (220, 100), (380, 30)], fill="black", width=6)
    image.save(folder / "signature.png")
    return folder


@pytest.fixture
def replay(bizkit, played: Path, tmp_path: Path, monkeypatch) -> Callable[..., Replay]:
    """Runs every command about accepted work in a copy of the played studio, which `damage` may change first."""

    def run(damage: Callable[[Path], None] = lambda folder: None, *, names=(KELP, NEXT), quote=NEXT) -> Replay:
        folder = tmp_path / "studio"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(played, folder)
        monkeypatch.chdir(folder)
        damage(folder)
        lines: Replay = []
        for command in script(*names, quote=quote):
            done = bizkit(*command, "--json")
            lines.append((" ".join(command), done.code, _plain(done.out, folder), _plain(done.err, folder)))
        return lines

    return run


def _plain(text: str, folder: Path) -> str:
    """What was printed, without moments and places."""
    text = _HEAD.sub('"head": ""', text)
    text = _MOMENT.sub("NOW", text.replace(str(folder), "STUDIO"))
    try:
        return json.dumps(json.loads(text), indent=1, sort_keys=True)
    except ValueError:
        return text
