"""What a quote says of charges to come is what is charged."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.payment_terms import CONTRACT, NONE, STATUTORY, LateTerms
from bizkit.domain.pricing.cancellation import CancellationScale, NoticeStep
from bizkit.domain.pricing.extras import notice


@st.composite
def steps(draw):
    """Steps from the longest notice to none, the percentage never falling."""
    days = sorted(draw(st.sets(st.integers(1, 30), max_size=5)))
    shares = sorted(draw(st.lists(st.integers(0, 100), min_size=len(days) + 1, max_size=len(days) + 1)))
    return tuple(
        NoticeStep(day, Decimal(share)) for day, share in zip([*reversed(days), 0], shares, strict=True)
    )  # fmt: skip


@given(steps(), steps())
def test_each_day_of_notice_is_in_one_row_with_what_it_costs(cancel, postpone):
    scale = CancellationScale("working", True, "first_day", cancel, postpone)
    rows = notice(scale, shoots=True, post=False)["rows"]
    for days in range(45):
        (row,) = [one for one in rows if one["least"] <= days and (one["most"] is None or days <= one["most"])]
        assert Decimal(row["cancelled"]) == scale.percent("cancel", days)
        assert Decimal(row["postponed"]) == scale.percent("postpone", days)
    assert rows[0]["most"] is None
    assert rows[-1]["least"] == 0


def test_terms_of_lateness_are_read_back_as_they_were_said():
    today = LateTerms(interest=STATUTORY, compensation=True)
    said = {
        "interest": CONTRACT, "law": "", "rate": "9.5", "points": "", "rounding": "day", "compensation": False,
        "sums": [], "suspends_licence": True,
    }  # fmt: skip
    assert today.agreed(said) == LateTerms(CONTRACT, Decimal("9.5"), "day", False, True)
    assert today.agreed(None) == LateTerms(NONE, compensation=False)
