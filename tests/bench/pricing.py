"""How fast briefs are priced, and that the time grows with the lines. Run: python tests/bench/pricing.py

Prints briefs of 40 lines priced a second, one brief of 40 lines in milliseconds, and how many times longer 4,000
lines take than 400 (10 is linear). Times are processor time, the best of several runs, reading of files left out.
"""

from __future__ import annotations

import time
import tomllib
from collections.abc import Callable
from decimal import Decimal
from typing import Any

from bizkit.domain.pricing.brief import Brief
from bizkit.domain.pricing.card import RateCard
from bizkit.domain.pricing.estimate import price
from bizkit.resources import templates

PLACES = ("Otter Sound", "Kittiwake Head", "Selkie Bay", "Gannet Stack")


def starter_card() -> RateCard:
    """The British starter card."""
    text = (templates() / "cards" / "gbp-uk.toml").read_text(encoding="utf-8")
    return RateCard.read(tomllib.loads(text, parse_float=Decimal), where="gbp-uk.toml")


def brief_of(lines: int) -> Brief:
    """A brief that prices to exactly `lines` lines: half of them crew, then four of kit, costs, post, one discount.

    The insurance and the discount that the card gives by days are among them.
    """
    kit = ["camera_body", "lens_set", "housing", "drone"]
    crew = lines // 2
    costs = (lines - crew - len(kit) - 3) // 2
    post = lines - crew - len(kit) - 3 - costs
    days: list[dict[str, Any]] = [
        {
            "kind": "water" if number % 2 else "dry",
            "place": PLACES[number % len(PLACES)],
            "hours": 10 + number % 3,
            "kit": kit if number < 5 else [],
            "crew": [{"person": f"Crew member {number}", "roles": ["director", "underwater_camera"]}],
        }
        for number in range(crew)
    ]
    tree = {
        "key": "bench",
        "client": "bench",
        "title": "Bench",
        "days": days,
        "costs": [{"kind": "boat", "title": f"Boat {number}", "quantity": 2} for number in range(costs)],
        "post": [{"work": "edit", "title": f"Film {number}", "days": Decimal("1.5")} for number in range(post)],
        "discount": {"percent": 5, "reason": "bench"},
    }
    return Brief.read(tree, where="bench")


def best_seconds(action: Callable[[], object], runs: int) -> float:
    """Shortest processor time of `action`."""
    times = []
    for _ in range(runs):
        start = time.process_time()
        action()
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    """Print the figures."""
    card = starter_card()
    seconds = {}
    for lines, runs in ((40, 300), (400, 30), (4000, 5)):
        brief = brief_of(lines)
        assert len(price(card, brief).lines) == lines
        seconds[lines] = best_seconds(lambda brief=brief: price(card, brief), runs)
        print(f"{lines:5} lines  {seconds[lines] * 1000:9.3f} ms")
    brief = brief_of(40)
    start = time.process_time()
    for _ in range(1000):
        price(card, brief)
    elapsed = time.process_time() - start
    print(f"1,000 briefs of 40 lines in {elapsed:.2f} s: {1000 / elapsed:,.0f} briefs/s")
    print(f"4,000 lines take {seconds[4000] / seconds[400]:.1f} x as long as 400 (10 is linear)")


if __name__ == "__main__":
    main()
