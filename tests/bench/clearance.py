"""How long clearance and the review of all grants take: `python tests/bench/clearance.py`.

The aims: a job with 200 holdings x 20 works, and 10,000 live grants, each under one second on two cores, and growth
near linear. Each size is measured as the least of several runs; the growth from the smallest to the largest is given
as a power of the size (1 is linear). The exit code is 1 when a second is passed at the sizes named, or a power of
1.5, which leaves room for sorting, caches and a busy machine.
"""

from __future__ import annotations

import gc
import math
import random
import sys
import time
from collections.abc import Callable
from datetime import date, timedelta

from bizkit.domain.rights.clearance import Need, clear
from bizkit.domain.rights.grants import conflicts, ending
from bizkit.domain.rights.holding import HOLDING_KINDS, Holding, Signer
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.media import MEDIA_TREE
from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.territory import Territory

NOW = date(2027, 7, 1)
LEAVES = sorted(MEDIA_TREE.leaves("all"))
PLACES = [
    Territory.read(phrase).codes
    for phrase in (
        "UK",
        "UK and Ireland",
        "Europe",
        "EU",
        "World",
        "World except Northern America",
        "Japan",
        "Africa",
    )
]


def holdings(count: int, works: list[str], chance: random.Random) -> list[Holding]:
    """Papers of different people and places: most allow enough, some narrow, some for some works only."""
    found = []
    for number in range(count):
        start = date(2027, 1, 1) + timedelta(days=chance.randrange(200))
        boxes = [
            Box(frozenset(chance.sample(LEAVES, 6)), chance.choice(PLACES), Term(start, OPEN_END)),
            Box(frozenset(LEAVES), PLACES[4], Term(start, start + timedelta(days=chance.randrange(200, 900)))),
        ]
        found.append(
            Holding(
                key=f"H-{number}",
                kind=list(HOLDING_KINDS)[number % len(HOLDING_KINDS)],
                subject=f"subject {number}",
                name=f"Subject {number}",
                scope=Scope(boxes),
                works=frozenset(chance.sample(works, len(works) // 2)) if number % 3 == 0 else frozenset(),
                status="signed",
                signed_on=start,
                signers=(Signer("Somebody"),),
                document="00" * 32,
            )
        )
    return found


def clearance_of(count: int, work_count: int) -> Callable[[], int]:
    """Clearance of a job: every work shows or uses every subject."""
    chance = random.Random(count)
    works = [f"work {number}" for number in range(work_count)]
    papers = holdings(count, works, chance)
    needs = [Need(paper.kind, paper.subject, paper.name, frozenset(works)) for paper in papers]
    wanted = Scope.box(LEAVES[:8], PLACES[2], Term(NOW, NOW + timedelta(days=729)))
    return lambda: len(clear(wanted, works, needs, papers).gaps)


def grants(count: int, *, works: int, exclusive: float) -> list[Licence]:
    """Grants to as many clients as there are works; each of one to three works; some sole or for a sector."""
    chance = random.Random(count)
    found = []
    for number in range(count):
        start = NOW - timedelta(days=chance.randrange(360))
        request = LicenceRequest(
            frozenset(chance.sample(LEAVES, 3)),
            Territory("", chance.choice(PLACES)),
            months=12,
            starts=start,
            exclusivity=chance.choice(["sole", "sector"]) if chance.random() < exclusive else "none",
            sector="tourism",
        )
        names = frozenset(f"work {chance.randrange(works)}" for _ in range(chance.randint(1, 3)))
        found.append(Licence(f"L-{number}", f"client {chance.randrange(works)}", names, request, start, "tourism"))
    return found


def review(licences: list[Licence]) -> Callable[[], int]:
    """Which end within 90 days, and which conflict."""
    return lambda: len(ending(licences, NOW, 90)) + len(conflicts(licences, NOW))


def least_ms(action: Callable[[], int], runs: int = 7) -> tuple[float, int]:
    """Least wall time of `action` in milliseconds, and its outcome; the data made for it left out of collections."""
    times, outcome = [], 0
    gc.collect()
    gc.freeze()
    for _ in range(runs):
        start = time.perf_counter()
        outcome = action()
        times.append((time.perf_counter() - start) * 1000)
    return min(times), outcome


def main() -> int:
    """Print one line a size and one a series; 1 when an aim is missed."""
    missed = False
    series: list[tuple[str, int, list[tuple[int, Callable[[], int]]]]] = [
        ("holdings x 20 works, clearance", 200, [(n, clearance_of(n, 20)) for n in (100, 200, 400, 800)]),
        ("live grants of many works, 5% exclusive", 10_000, [
            (n, review(grants(n, works=n // 10, exclusive=0.05))) for n in (2_500, 5_000, 10_000, 20_000)
        ]),
    ]  # fmt: skip
    for name, aimed_at, sizes in series:
        print(name)
        measured = []
        for count, action in sizes:
            took, outcome = least_ms(action)
            measured.append(took)
            print(f"  {count:>6}  {took:8.1f} ms  {outcome} found")
            missed |= count == aimed_at and took >= 1000
        power = math.log(measured[-1] / measured[0]) / math.log(sizes[-1][0] / sizes[0][0])
        print(f"  time grows with the size to the power of {power:.2f}")
        missed |= power > 1.5
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
