"""What a quote says of charges to come: drawn whole in both languages, whatever of it a card has."""

from __future__ import annotations

import random
from itertools import pairwise

import pytest

from bizkit.domain.documents.extras import Extras


def some_extras(seed: int) -> Extras:
    """Extras as a card might have them: parts missing, one band or four, notice of one row or six."""
    draw = random.Random(seed)

    def maybe(value):
        return value if draw.random() < 0.7 else None

    edges = sorted(draw.sample(range(1, 12), draw.randint(0, 3)))
    bands = [
        {"from_hours": str(a), "until_hours": "" if b is None else str(b), "factor": f"{1.5 + a / 4}"}
        for a, b in pairwise([0, *edges, None])
    ]
    rates = [
        {"who": who, "hours": draw.choice(["10", "8"]), "per_hour": [f"{70 + n}.{n}5" for n, _ in enumerate(bands)]}
        for who in ("Director", "Camera and Drone pilot", "Underwater camera, stills and a long title of many words")
    ]
    steps = sorted(draw.sample(range(1, 40), draw.randint(0, 5)), reverse=True)
    rows = [
        {"least": least, "most": None if longer is None else longer - 1, "cancelled": str(n * 15), "postponed": "0"}
        for n, (longer, least) in enumerate(zip([None, *steps], [*steps, 0], strict=True))
    ]
    return {
        "overtime": maybe({"step_minutes": draw.choice([15, 20, 30, 60]), "bands": bands, "rates": rates}),
        "longer_days": maybe(
            {
                "half_day_hours": draw.choice(["", "5"]),
                "short_travel_hours": draw.choice(["", "4.5"]),
                "by_hour": draw.choice([[], [{"who": "Sound", "hour": "39.00"}]]),
            }
        ),
        "shorter_day": maybe({"call": "14:00", "hours": "8"}),
        "night": maybe({"starts": "22:00", "ends": "06:00", "percent": "50"}),
        "rest": maybe({"hours": "11", "bands": bands}),
        "dear_days": maybe(
            {"saturday": draw.choice(["", "25"]), "sunday": "50", "holiday": draw.choice(["", "100"])}
        ),
        "notice": maybe(
            {
                "counting": draw.choice(["working", "calendar"]),
                "counts_notice_day": draw.choice([True, False]),
                "counts_to": draw.choice(["first_day", "each_day"]),
                "rows": rows,
            }
        ),
        "hold_days": maybe(
            {
                "rate": "617.50",
                "agreed": draw.choice([0, 1, 3]),
                "most": "1852.50",
                "charge": draw.choice(["used", "booked", "expected"]),
            }
        ),
        "late": maybe(
            {
                "interest": draw.choice(["statutory", "contract", "none"]),
                "law": draw.choice(["bank_of_england", "european_central_bank"]),
                "rate": "9.5",
                "points": "8",
                "rounding": "end",
                "compensation": draw.choice([True, False]),
                "sums": draw.choice([["40.00"], ["40.00", "100.00"]]),
                "suspends_licence": draw.choice([True, False]),
            }
        ),
        "paying": {
            "days": draw.choice([0, 1, 30]),
            "counted_in": draw.choice(["days", "working_days", "days_after_month_end"]),
        },
    }


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("seed", range(12))
def test_whatever_is_agreed_is_drawn(sample, paper, language, seed):
    extras = some_extras(seed)
    document = {**sample("quote"), "extras": extras, "language": language}
    document["locale"] = {"en": "en_GB", "de": "de_DE"}[language]
    text = paper(document).text
    point = "." if language == "en" else ","
    wanted = []
    if extras["overtime"]:
        wanted += [price.replace(".", point) for rate in extras["overtime"]["rates"] for price in rate["per_hour"]]
        wanted += [rate["who"] for rate in extras["overtime"]["rates"]]
    for row in extras["notice"]["rows"] if extras["notice"] else ():
        wanted.append(f"{row['cancelled']}{'' if language == 'en' else ' '}%")
    if extras["night"]:
        wanted.append("22:00")
    if extras["longer_days"] and extras["longer_days"]["by_hour"]:
        wanted.append(f"39{point}00")
    late = extras["late"]
    if late and late["interest"] == "contract":
        wanted.append(f"9{point}5")
    if late and late["compensation"]:
        wanted += [one.replace(".", point) for one in late["sums"]]
    assert [one for one in wanted if one not in text.replace("\N{NO-BREAK SPACE}", " ")] == []
    for untold in ("None", "True", "False", "{{", "[]", " ,", " .", ".."):
        assert untold not in text, untold


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_quote_of_earlier_days_is_drawn_as_it_was(sample, paper, language):
    """Its document says nothing of charges to come, and neither does the paper: it was not agreed."""
    text = paper({**sample("quote"), "language": language}).text
    for said in ("What may come on top", "Was dazukommen kann", " plus VAT", "zzgl.", "in reply", "mit einem Wort"):
        assert said not in text
