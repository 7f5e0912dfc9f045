"""How long the rights of a full book take: `python tests/bench/rights_book.py`.

As `clearance.py`, but through the services and a SQLite book on disk: a job with 200 papers x 20 deliverables
checked, and 10,000 granted licences, each of a job paid in full, asked which end within 90 days and which exclude
one another. The price of each renewal is not asked for; it takes one or two milliseconds more.
The aims: each under one second of processor time. Exit code 1 when one is missed.
"""

from __future__ import annotations

import random
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import insert

from bizkit.domain.rights.grants import conflicts
from bizkit.domain.rights.holding import HOLDING_KINDS, Holding, Signer
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.media import MEDIA_TREE
from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import Territory
from bizkit.services.rights.clearance import check_rights
from bizkit.services.rights.licences import all_that_may_conflict
from bizkit.services.rights.renewals import licences_ending
from bizkit.services.studio.starting import init_studio
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.store.canonical import canonical
from bizkit.store.register import Entry, enter, entry_of
from bizkit.store.schema import deliverable, holding, issued, job, payment, stage
from bizkit.store.schema.rights import licence

NOW = date(2027, 7, 1)
LEAVES = sorted(MEDIA_TREE.leaves("all"))
PLACES = [Territory.read(phrase) for phrase in ("UK", "UK and Ireland", "Europe", "World", "Japan")]


def request_of(chance: random.Random, exclusive: float) -> LicenceRequest:
    """A licence of 12 months that began within the last one and waits for its payment."""
    return LicenceRequest(
        frozenset(chance.sample(LEAVES, 3)),
        chance.choice(PLACES),
        months=12,
        starts=NOW - timedelta(days=chance.randrange(360)),
        on_full_payment=True,
        exclusivity="sole" if chance.random() < exclusive else "none",
    )


def job_row(key: str, client: str, asked: LicenceRequest) -> dict[str, Any]:
    """A job opened last summer."""
    return {
        "key": key, "title": key, "client": client, "quote_number": f"Q-{key}", "quote_revision": 1,
        "opened_on": "2026-06-01", "closed_on": "", "currency": "GBP", "net_minor": 100_000,
        "licence": canonical(asked.data(client)),
    }  # fmt: skip


def a_full_job(folder: StudioFolder, papers: int, works: int) -> None:
    """One job with `works` deliverables, all of which show the subjects of all `papers`."""
    chance = random.Random(papers)
    asked = LicenceRequest(frozenset(LEAVES[:8]), PLACES[2], months=24, starts=NOW)
    rows = []
    for number in range(papers):
        start = date(2027, 1, 1) + timedelta(days=chance.randrange(150))
        end = start + timedelta(days=chance.randrange(200, 900))
        boxes = [
            Box(frozenset(chance.sample(LEAVES, 6)), chance.choice(PLACES).codes, Term(start, OPEN_END)),
            Box(frozenset(LEAVES), PLACES[3].codes, Term(start, end)),
        ]
        kind = list(HOLDING_KINDS)[number % len(HOLDING_KINDS)]
        paper = Holding(
            "", kind, f"subject {number}", f"Subject {number}", Scope(boxes), status="signed", signed_on=start,
            signers=(Signer("Somebody"),), document="00" * 32,
        )  # fmt: skip
        rows.append(
            {"job": "full", "kind": kind, "subject": paper.subject, "status": "signed", "signed_on": str(start),
             "expires_on": "", "paper": paper.document, "data": canonical(paper.data())}
        )  # fmt: skip
    with folder.book.work() as work:
        work.execute(insert(job).values(job_row("full", "skerrow-islands-tourism", asked)))
        work.execute(insert(holding), rows)
        work.execute(
            insert(deliverable),
            [
                {"job": "full", "key": f"work-{n}", "position": n, "title": f"Work {n}", "kind": "film",
                 "quantity": 1, "spec": "", "rounds": 1, "due_days": None, "due_on": "", "approved_on": "",
                 "data": "{}"}
                for n in range(works)
            ],
        )  # fmt: skip


def many_licences(folder: StudioFolder, count: int) -> None:
    """`count` jobs, each invoiced, paid and granted; works shared by about ten clients, one grant in 100 sole."""
    chance = random.Random(count)
    tables: dict[Any, list[dict[str, Any]]] = {table: [] for table in (job, stage, issued, payment, licence)}
    entries: list[Entry] = []
    padding = {"lines": [{"item": "Line", "why": "because " * 20} for _ in range(20)]}  # as long as a usual invoice
    for n in range(count):
        key, asked = f"job-{n}", request_of(chance, 0.01)
        client = f"client-{chance.randrange(count // 10)}"
        works = frozenset(f"archive/work-{chance.randrange(count // 10)}" for _ in range(chance.randint(1, 3)))
        document = {"currency": "GBP", "due": "1200.00", "gross": "1200.00", "stage": {"position": 1}, **padding}
        grant = Licence(f"LC-{n}", client, works, asked, asked.starts or NOW).data()
        grant["request"].pop("sentences")
        tables[job].append(job_row(key, client, asked))
        tables[stage].append({"job": key, "position": 1, "title": "All", "percent": "100", "due_when": "acceptance",
                              "net_minor": 100_000, "invoice": f"GL-{n}"})  # fmt: skip
        tables[issued].append(
            {"position": n + 1, "kind": "invoice", "series": "GL", "number": f"GL-{n}", "revision": 1, "key": key,
             "issued_on": "2026-06-01", "recorded_at": "", "recorded_by": "", "document": canonical(document),
             "sha256": "", "previous": ""}
        )  # fmt: skip
        said = {**document, "number": f"GL-{n}", "revision": 1, "issued_on": "2026-06-01"}
        entries.append(entry_of(said, kind="invoice", position=n + 1, key=key))
        tables[payment].append(
            {"invoice": f"GL-{n}", "on": "2026-06-20", "amount_minor": 120_000, "currency": "GBP", "fee_minor": 0,
             "received_currency": "", "reference": "", "recorded_at": "", "recorded_by": ""}
        )  # fmt: skip
        tables[licence].append(
            {"number": f"LC-{n}", "job": key, "client": client, "granted_on": str(asked.starts),
             "data": canonical(grant), "recorded_at": "", "recorded_by": ""}
        )  # fmt: skip
    with folder.book.work() as work:
        for table, rows in tables.items():
            work.execute(insert(table), rows)
        for entry in entries:
            enter(work, entry)


def found_conflicts(folder: StudioFolder) -> int:
    """Which licences exclude one another."""
    with folder.book.read() as work:
        return len(conflicts(all_that_may_conflict(folder, work, NOW), NOW))


def least_ms(action: Callable[[], int], runs: int = 3) -> tuple[float, int]:
    """Least processor time of `action` in milliseconds, and its outcome."""
    times, outcome = [], 0
    for _ in range(runs):
        start = time.process_time()
        outcome = action()
        times.append((time.process_time() - start) * 1000)
    return min(times), outcome


def fresh(place: Path, name: str) -> StudioFolder:
    """A new studio with an empty book."""
    init_studio(place / name, practice=True)
    return StudioFolder((place / name).resolve(), who="bench")


def main() -> int:
    """Print one line a question and size; 1 when an aim is missed."""
    place = Path(tempfile.mkdtemp())
    missed = False

    def measure(name: str, size: int, aimed_at: int, action: Callable[[], int]) -> None:
        nonlocal missed
        took, found = least_ms(action)
        print(f"  {size:>6}  {took:8.1f} ms  {found} {name}")
        missed |= size == aimed_at and took >= 1000

    try:
        print("papers of a job x 20 deliverables, bizkit rights check")
        for size in (100, 200, 400):
            folder = fresh(place, f"full-{size}")
            a_full_job(folder, size, 20)
            measure("gaps", size, 200, lambda folder=folder: len(check_rights(folder, "full", NOW)["gaps"]))
        print("licences in the book, bizkit rights ending and bizkit rights list")
        for size in (2_500, 5_000, 10_000):
            folder = fresh(place, f"many-{size}")
            many_licences(folder, size)
            measure("end", size, 10_000, lambda folder=folder: len(licences_ending(folder, NOW, 90)))
            measure("conflicts", size, 10_000, lambda folder=folder: found_conflicts(folder))
    finally:
        shutil.rmtree(place, ignore_errors=True)
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
