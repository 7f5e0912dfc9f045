"""The demo: an invented job played from brief to paid invoice with the same services every command uses.

Two-person Gannet & Lark Films, an invented archipelago, an invented campaign. Every name, number and figure is made
up. What it leaves behind is a real studio folder: a book, briefs, papers and PDFs to look at.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import islice
from pathlib import Path
from typing import Any

from bizkit.domain.errors import RuleBroken
from bizkit.services.billing.invoices import issue_invoice
from bizkit.services.billing.payments import record_payment
from bizkit.services.delivery.deliverables import approve_deliverable
from bizkit.services.delivery.notes import take_notes
from bizkit.services.delivery.sending import send_version
from bizkit.services.demo.playing_billing import hand_in, pay_by_bank, remind_of
from bizkit.services.demo.playing_delivery import (
    answer,
    bill_round,
    carry,
    check_again,
    give_away,
    look,
    paid_round,
    plan_ahead,
)
from bizkit.services.demo.playing_planning import add_up, as_it_was, compare, next_quote, weigh
from bizkit.services.demo.playing_rights import find_and_close_gap, make_ready, prove_licence
from bizkit.services.demo.standins import stand_in
from bizkit.services.demo.step import Step
from bizkit.services.job.jobs import the_job
from bizkit.services.overview.jobs import show_job
from bizkit.services.overview.status import studio_status
from bizkit.services.overview.verifying import verify_book
from bizkit.services.quoting.pricing import price_brief
from bizkit.services.quoting.quotes import accept_quote, draft_quote, send_quote
from bizkit.services.rights.filing import add_holding_paper
from bizkit.services.rights.forms import Wanted, form_of, number
from bizkit.services.rights.holdings import PERMISSION, RELEASE
from bizkit.services.rights.signed_paper import Allowed, Signed
from bizkit.services.studio.filing import paper_pdf
from bizkit.services.studio.starting import init_studio
from bizkit.services.studio.studio_folder import StudioFolder

JOB = "follow-the-kelp"
UNA = "Una Flett"


def play(path: Path, *, book_url: str = "") -> Iterator[Step]:
    """Play the whole job into a new studio folder at `path`, yielding each step once it is done.

    book_url: where the book is made; in the folder without one.
    """
    on = date(2027, 1, 25)
    made = init_studio(path, book_url=book_url, practice=True)
    yield Step(on, f"bizkit init {path} --practice", f"a studio folder for {made['studio']}")
    folder = StudioFolder(path.resolve(), who="Ailsa Gannet")
    yield from _quote(folder)
    yield from _shoot(folder)
    yield from _deliver(folder)
    yield from _close(folder)


def _quote(folder: StudioFolder) -> Iterator[Step]:
    brief = folder.path / "briefs" / f"{JOB}.toml"
    on = date(2027, 1, 26)
    priced = price_brief(folder, brief, on).document
    lines = len(priced["lines"])
    yield Step(
        on, f"bizkit price briefs/{JOB}.toml", f"{lines} lines, {_sum(priced, 'net')} before tax, each with its why"
    )
    yield from weigh(folder, on)

    draft_quote(folder, brief, on)
    sent = send_quote(folder, JOB, on, to=UNA)
    weighed = sent["margin"]
    margin = weighed["margin"] if weighed else None
    percent = margin["percent"] if margin else ""
    yield Step(
        on,
        f"bizkit quote send {JOB}",
        f"{sent['number']} for {_sum(sent, 'gross')}, valid until {sent['valid_until']}; "
        f"for the studio alone: {percent} % margin",
    )

    on = date(2027, 2, 3)
    text = brief.read_text(encoding="utf-8")
    brief.write_text(
        text.replace("quantity = 24", "quantity = 30").replace("percent = 5\n", "percent = 7.5\n"), "utf-8"
    )
    draft_quote(folder, brief, on)
    sent = send_quote(folder, JOB, on, to=UNA)
    yield Step(
        on,
        f"bizkit quote send {JOB}",
        f"more stills were asked for: revision {sent['revision']}, {_sum(sent, 'gross')}",
    )
    yield compare(folder, on)

    on = date(2027, 2, 8)
    accept_quote(folder, JOB, on, by=UNA)
    yield Step(on, f"bizkit quote accept {JOB} --by '{UNA}'", f"{UNA} said yes; the job {JOB} is open")
    yield _invoice(folder, on)


def _shoot(folder: StudioFolder) -> Iterator[Step]:
    on = date(2027, 3, 8)
    yield _pay(folder, "GL-2027-0001", on)
    yield from plan_ahead(folder)

    on = date(2027, 5, 1)
    for place, holder in (
        ("Kelp trail, Otter Sound", "Skerrow Marine Reserve"),
        ("Seabird cliff, Kittiwake Head", "Kittiwake Head Trust"),
        ("Shore sauna, Selkie Bay", "Selkie Bay Sauna"),
    ):
        yield _file(folder, on, PERMISSION, place, by=holder)
    yield from make_ready(folder)
    on = date(2027, 5, 12)
    yield _file(folder, on, RELEASE, "Morag Sinclair")
    yield _file(folder, on, RELEASE, "Finn Sinclair", guardian="Morag Sinclair", born=date(2017, 8, 2))
    on = date(2027, 5, 13)
    yield _file(folder, on, RELEASE, "Eilidh Rendall")
    yield carry(folder, on)
    missing = show_job(folder, JOB, on)["missing"]
    yield Step(on, f"bizkit job show {JOB}", "papers missing: " + ("; ".join(missing) or "none"))
    yield from as_it_was(folder, date(2027, 5, 14))


def _deliver(folder: StudioFolder) -> Iterator[Step]:
    yield _send(folder, date(2027, 5, 28), "campaign-film", "rough cut with guide music", frames=12)
    on = date(2027, 6, 1)
    take_notes(
        folder, JOB, "campaign-film", "Hold the wide of the cliff a breath longer.\nWarmer grade in the sauna.", on
    )
    yield Step(on, f"bizkit deliverable notes {JOB} campaign-film --file notes.txt", "round 1 of 2: two notes")
    yield answer(folder, date(2027, 6, 3))
    yield _send(folder, date(2027, 6, 3), "campaign-film", "notes of round 1 answered", frames=14)
    yield _send(folder, date(2027, 6, 3), "stills", "thirty stills, captions embedded", frames=1, count=30)
    yield from look(folder, date(2027, 6, 3))
    rights = find_and_close_gap(folder)
    yield from islice(rights, 3)
    for key in ("campaign-film", "stills"):
        yield _approve(folder, date(2027, 6, 7), key)
    yield from rights
    yield _send(folder, date(2027, 6, 9), "cut-downs", "three cut-downs, subtitles burnt in", frames=8, count=3)
    yield _send(folder, date(2027, 6, 9), "sauna-loop", "seamless loop", frames=10)
    status = studio_status(folder, date(2027, 6, 10))
    yield Step(
        date(2027, 6, 10),
        "bizkit status",
        f"{len(status['owed'])} invoices open, {len(status['due'])} deliverables with the client, "
        f"{len(status['missing'])} papers missing",
    )
    on = date(2027, 6, 11)
    take_notes(folder, JOB, "sauna-loop", "Slower steam.", on, who=UNA)
    yield from paid_round(folder, _send(folder, on, "sauna-loop", "slower steam", frames=11))
    on = date(2027, 6, 14)
    yield _send(folder, on, "sauna-loop", "the gull comes later", frames=9)
    for key in ("cut-downs", "sauna-loop"):
        yield _approve(folder, on, key)


def _close(folder: StudioFolder) -> Iterator[Step]:
    yield _invoice(folder, date(2027, 6, 14))
    yield bill_round(folder, date(2027, 6, 14))
    yield from give_away(folder, date(2027, 6, 15))
    yield _pay(folder, "GL-2027-0002", date(2027, 7, 5), "1000.00")
    yield from remind_of(folder, date(2027, 7, 17), "GL-2027-0002")
    on = date(2027, 7, 20)
    yield from pay_by_bank(folder, on, ["GL-2027-0002", "GL-2027-0003"])
    yield check_again(folder, on)
    yield from prove_licence(folder, on)
    try:
        issue_invoice(folder, JOB, on)
    except RuleBroken as refused:
        yield Step(on, f"bizkit invoice issue {JOB}", f"refused: {refused}")
    yield add_up(folder, on)
    yield from hand_in(folder, on, "GL-2027-0002")
    yield from next_quote(folder, on)
    checked = verify_book(folder)
    wrong = "; ".join(checked["faults"]) or "nothing is wrong"
    yield Step(
        on,
        "bizkit verify",
        f"{checked['documents']} issued documents and {checked['papers']} papers checked: {wrong}",
    )


def _invoice(folder: StudioFolder, on: date) -> Step:
    made = issue_invoice(folder, JOB, on)
    return Step(
        on,
        f"bizkit invoice issue {JOB}",
        f"{made['number']}, {made['stage']}: {_sum(made, 'gross')} by {made['due_on']}",
    )


def _pay(folder: StudioFolder, number: str, on: date, amount: str | None = None) -> Step:
    done = record_payment(folder, number, on, amount=amount, reference=f"{number} Skerrow Islands Tourism")
    command = f"bizkit invoice paid {number}" + (f" {amount}" if amount else "")
    left = f"{done['currency']} {done['balance']} left" if amount else "paid in full"
    return Step(on, command, f"{done['currency']} {done['received']} came in, {left}")


def _file(
    folder: StudioFolder,
    on: date,
    kind: str,
    subject: str,
    *,
    by: str = "",
    guardian: str = "",
    born: date | None = None,
) -> Step:
    """Write the form, have it "signed", and file it by its number as a scan would be."""
    paper = "model_release" if kind == RELEASE else "location_permission"
    with folder.book.work() as work:
        form = form_of(folder, work, the_job(work, JOB), Wanted(paper, on, subject=subject, guardian=guardian))
        number(folder, work, folder.draft_stamp(on), form)
    document = form.document
    signature = {"name": guardian or by or subject, "on": on.isoformat(), "at": "", "place": ""}
    document["signatures"] = {"guardian" if guardian else "person" if kind == RELEASE else "holder": signature}
    if kind == PERMISSION:
        document["holder"]["name"] = by
    scan = folder.path / "incoming" / f"{subject.split(',')[0].replace(' ', '-').lower()}.pdf"
    scan.parent.mkdir(exist_ok=True)
    scan.write_bytes(paper_pdf(folder, document))
    done = add_holding_paper(
        folder,
        kind,
        JOB,
        subject,
        on,
        signed=Signed(on=on, scan=scan, by=by, guardian=guardian, born=born, allows=Allowed(form=document["number"])),
    )
    word = "release" if kind == RELEASE else "permission"
    flag = "--who" if kind == RELEASE else "--place"
    more = f" --guardian '{guardian}'" if guardian else f" --by '{by}'" if by else ""
    by_whom = f", signed by {guardian}" if guardian else f", signed by {by}" if by else ""
    return Step(
        on,
        f"bizkit {word} add {JOB} --form {document['number']} {flag} '{subject}' --signed {on}{more} "
        f"--scan {scan.name}",
        f"filed{by_whom} as {done['paper'][:12]}…",
    )


def _send(folder: StudioFolder, on: date, key: str, note: str, *, frames: int, count: int = 1) -> Step:
    """Send one stand-in, or a folder with `count` of them."""
    kind = ".gif" if frames > 1 else ".png"
    number = 1 + sum(1 for _ in (folder.path / "deliveries").glob(f"{key}-v*"))
    file = folder.path / "deliveries" / (f"{key}-v{number}" if count > 1 else f"{key}-v{number}{kind}")
    for each in range(1, count + 1):
        path, line = (file / f"{key}-{each:02}{kind}", f"{note}: {each}") if count > 1 else (file, note)
        stand_in(path, f"Follow the Kelp: {key}", line, frames=frames)
    row = send_version(folder, JOB, key, file, on, to=UNA, note=note)
    late = f", {row['days_late']} days late" if row["days_late"] else f", due {row['due']}"
    return Step(on, f"bizkit deliverable send {JOB} {key} deliveries/{file.name}", f"v{row['version']} sent{late}")


def _approve(folder: StudioFolder, on: date, key: str) -> Step:
    row = approve_deliverable(folder, JOB, key, on, by=UNA)
    return Step(on, f"bizkit deliverable approve {JOB} {key}", f"v{row['version']} approved by {UNA}")


def _sum(data: Mapping[str, Any], member: str) -> str:
    return f"{data['currency']} {data[member]}"


def leftovers(path: Path) -> list[str]:
    """The PDFs a play left behind, in order of name."""
    return sorted(file.relative_to(path).as_posix() for file in (path / "papers").glob("*.pdf"))
