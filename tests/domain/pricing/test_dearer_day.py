"""Who bears what of a day that moved to a dearer date."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.pricing.dearer_day import borne

PRICES = st.integers(0, 300).map(Decimal)
MOVES = st.lists(st.tuples(PRICES, st.booleans()), min_size=1, max_size=8)


@given(PRICES, st.lists(PRICES, min_size=1, max_size=8))
def test_where_all_moves_are_the_clients_only_where_the_day_ended_counts(agreed, prices):
    assert borne(agreed, [(price, True) for price in prices]) == max(prices[-1] - agreed, 0)


@given(PRICES, st.lists(PRICES, min_size=1, max_size=8))
def test_the_studios_own_moves_cost_the_client_nothing(agreed, prices):
    assert borne(agreed, [(price, False) for price in prices]) == 0


@given(PRICES, MOVES)
def test_the_client_never_bears_more_than_the_day_is_dearer_and_never_less_than_nothing(agreed, moves):
    assert 0 <= borne(agreed, moves) <= max(moves[-1][0] - agreed, 0)


@given(PRICES, MOVES, PRICES)
def test_a_step_of_the_client_costs_at_most_what_that_step_is_dearer(agreed, moves, price):
    before, here = borne(agreed, moves), max(moves[-1][0], agreed)
    assert borne(agreed, [*moves, (price, True)]) - before <= max(max(price, agreed) - here, 0)


@given(PRICES, MOVES, PRICES)
def test_a_step_of_the_studio_never_costs_the_client_more(agreed, moves, price):
    assert borne(agreed, [*moves, (price, False)]) <= borne(agreed, moves)
