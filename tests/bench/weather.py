"""How long an exact weather answer takes. Run it by itself: python tests/bench/weather.py

The goal is a 60-day window under 20 ms. Prints the median of 20 runs per shape of shoot, and what a plan costs from
the brief's table to the priced line.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

from bizkit.domain.money import Money
from bizkit.domain.pricing.weather_chance import DayOdds, outlook
from bizkit.domain.pricing.weather_days import WeatherRequest
from bizkit.domain.pricing.weather_plan import weather_plan

SHAPES = [(3, 0, False), (5, 3, False), (10, 10, False), (5, 3, True), (20, 20, False)]


def median_ms(action: Callable[[], object], runs: int = 20) -> float:
    """Median wall time of `action` in milliseconds."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        action()
        times.append((time.perf_counter() - start) * 1000)
    return statistics.median(times)


def main() -> None:
    """Print one line per shape."""
    persistent = DayOdds(Fraction("0.8123"), Fraction("0.3127"), Fraction("0.77"))
    independent = DayOdds.independent(Fraction("0.6123"), Fraction("0.77"))
    print("60 days, exact          independent   two-state")
    for water, dry, in_a_row in SHAPES:
        name = f"{water} water, {dry} dry{', in a row' if in_a_row else ''}"
        times = []
        for day in (independent, persistent):
            first = day.long_run or Fraction(0)
            odds = [day] * 60

            def answer(
                odds: list[DayOdds] = odds,
                first: Fraction = first,
                water: int = water,
                dry: int = dry,
                in_a_row: bool = in_a_row,
            ) -> object:
                view = outlook(odds, first, water, dry, in_a_row=in_a_row)
                return view.days_for(Fraction(9, 10)), view.chance(60), view.idle_days(60), view.lost_days(60)

            times.append(median_ms(answer))
        print(f"{name:<22} {times[0]:>9.2f} ms {times[1]:>8.2f} ms")

    tree = {"days": 60, "chance": Decimal("0.55"), "memory": Decimal("0.4"), "dry_chance": Decimal("0.8")}

    def plan() -> object:
        request = WeatherRequest.read(tree, where="bench", path="weather")
        return weather_plan(request, water_days=5, dry_days=3, hold_day_cost=Money("1250", "GBP"))

    print(f"whole plan, 5 + 3 in 60 days: {median_ms(plan):.2f} ms")


if __name__ == "__main__":
    main()
