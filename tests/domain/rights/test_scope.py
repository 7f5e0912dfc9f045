"""The scope algebra: by literal values, against a cell-by-cell oracle, and against PostgreSQL's datemultirange."""

import itertools
import random
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import create_engine, text

from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.term import OPEN_END, Term

MEDIA = ("broadcast", "owned_channels", "paid_social")
COUNTRIES = ("DE", "FR", "GB", "IE")
FIRST = date(2027, 2, 25)
DAYS = [FIRST + timedelta(days=n) for n in range(9)]

YEAR = Term(date(2026, 7, 1), date(2027, 6, 30))


def box(media: str, countries: str, start: date, end: date = OPEN_END) -> Box:
    return Box(frozenset(media.split()), frozenset(countries.split()), Term(start, end))


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    first, last = sorted(draw(st.tuples(st.sampled_from(DAYS), st.sampled_from(DAYS))))
    return Box(
        draw(st.frozensets(st.sampled_from(MEDIA), min_size=1)),
        draw(st.frozensets(st.sampled_from(COUNTRIES), min_size=1)),
        Term(first, OPEN_END if draw(st.integers(0, 5)) == 0 else last),
    )


some_boxes = st.lists(boxes(), max_size=5)
scopes = some_boxes.map(Scope)

#: The days that the oracle looks at: all that a box begins or ends on, and one far in every open end.
LOOKED_AT = [FIRST - timedelta(days=1), *DAYS, DAYS[-1] + timedelta(days=1), date(2400, 1, 1)]


def cells(some: list[Box]) -> set[tuple[str, str, date]]:
    """Every medium, country and day that is allowed, found one by one."""
    return {
        (medium, country, day)
        for one in some
        for medium in one.media
        for country in one.countries
        for day in LOOKED_AT
        if one.term.start <= day <= one.term.end
    }


@given(some_boxes, some_boxes)
def test_the_algebra_agrees_with_an_oracle_that_looks_at_every_cell(one, other):
    mine, theirs = Scope(one), Scope(other)
    assert cells(list(mine.boxes)) == cells(one)
    assert cells(list(mine.union(theirs).boxes)) == cells(one) | cells(other)
    assert cells(list(mine.intersect(theirs).boxes)) == cells(one) & cells(other)
    assert cells(list(mine.minus(theirs).boxes)) == cells(one) - cells(other)
    assert mine.covers(theirs) == (cells(one) >= cells(other))
    assert mine.meets(theirs) == bool(cells(one) & cells(other))
    assert bool(mine) == bool(cells(one))


@given(scopes, scopes)
def test_what_is_left_after_taking_away_shares_nothing_with_what_was_taken(one, other):
    assert not one.minus(other).intersect(other)
    assert not one.minus(other).meets(other)


@given(scopes, scopes)
def test_a_union_covers_both(one, other):
    both = one.union(other)
    assert both.covers(one)
    assert both.covers(other)
    assert both.minus(one).union(one) == both


@given(some_boxes, st.randoms(use_true_random=False))
def test_the_same_scope_has_one_normal_form_and_one_text(some, chance):
    crumbs = [
        Box(frozenset({medium}), frozenset({country}), piece)
        for one in some
        for medium in one.media
        for country in one.countries
        for piece in split(one.term, chance)
    ]
    chance.shuffle(crumbs)
    whole, again = Scope(some), Scope(crumbs + chance.sample(crumbs, len(crumbs) // 2))
    assert whole == again
    assert whole.boxes == again.boxes
    assert whole.text() == again.text()
    assert whole.data() == again.data()
    assert hash(whole) == hash(again)


def split(term: Term, chance: random.Random) -> list[Term]:
    cut = term.start + timedelta(days=chance.randrange(4))
    return [Term(term.start, cut), Term(cut + timedelta(days=1), term.end)] if cut < term.end else [term]


@given(scopes)
def test_boxes_of_the_normal_form_do_not_overlap(one):
    for mine, theirs in itertools.combinations(one.boxes, 2):
        assert mine.meet(theirs) is None


@given(scopes)
def test_data_reads_back(one):
    assert Scope.from_data(one.data()) == one


def test_nothing_is_an_empty_scope():
    nothing = Scope([box("", "GB", FIRST), box("broadcast", "", FIRST)])
    assert not nothing
    assert nothing.text() == "nothing"
    assert (nothing.start, nothing.end, nothing.media, nothing.countries) == (None, None, frozenset(), frozenset())
    assert Scope().covers(nothing)


def test_adjoining_terms_join_and_a_missing_day_shows():
    june, july = Term(date(2026, 1, 1), date(2026, 6, 30)), Term(date(2026, 7, 1), date(2026, 12, 31))
    joined = Scope([Box(frozenset({"cinema"}), frozenset({"GB"}), term) for term in (july, june)])
    assert [one.term.text for one in joined.boxes] == ["2026-01-01..2026-12-31"]
    short = Term(date(2026, 1, 1), date(2026, 6, 29))
    apart = Scope([Box(frozenset({"cinema"}), frozenset({"GB"}), term) for term in (short, july)])
    assert joined.minus(apart).text() == "cinema / United Kingdom / 2026-06-30..2026-06-30"


def test_a_scope_reads_one_clause_a_box():
    some = Scope([box("paid_social", "GB IE", YEAR.start, YEAR.end), box("broadcast", "IE", YEAR.start)])
    assert some.text() == (
        "paid social / Ireland and United Kingdom / 2026-07-01..2027-06-30; broadcast / Ireland / 2026-07-01.."
    )
    assert (some.start, some.end) == (YEAR.start, OPEN_END)
    assert some.media == {"broadcast", "paid_social"}
    assert some.countries == {"GB", "IE"}


def test_one_use_is_allowed_or_not():
    some = Scope.box({"broadcast"}, {"IE"}, YEAR)
    assert some.allows("broadcast", "IE", date(2027, 6, 30))
    assert not some.allows("broadcast", "IE", date(2027, 7, 1))
    assert not some.allows("broadcast", "GB", date(2027, 6, 30))
    assert not some.allows("cinema", "IE", date(2027, 6, 30))


def test_a_scope_can_be_cut_at_a_day():
    some = Scope([box("broadcast", "IE", YEAR.start), box("cinema", "IE", date(2030, 1, 1))])
    assert some.ending_by(YEAR.end) == Scope.box({"broadcast"}, {"IE"}, YEAR)


def test_no_day_is_counted_one_by_one():
    # Eight thousand years less a day in the middle, in every country: instant if whole boxes are cut.
    ever = Scope.box(MEDIA, COUNTRIES, Term(date(1, 1, 1)))
    left = ever.minus(Scope.box(MEDIA, COUNTRIES, Term(date(2026, 7, 1), date(2026, 7, 1))))
    assert [one.term.text for one in left.boxes] == ["0001-01-01..2026-06-30", "2026-07-02.."]


# --- PostgreSQL ---


def multirange(some: list[Box], medium: str, country: str) -> str:
    """The days of one cell as PostgreSQL writes them, half-open; open ends without a bound."""
    ranges = [
        f"[{one.term.start},{'' if one.term.open else one.term.end + timedelta(days=1)})"
        for one in some
        if medium in one.media and country in one.countries
    ]
    return "{" + ",".join(ranges) + "}"


def random_boxes(chance: random.Random) -> list[Box]:
    found = []
    for _ in range(chance.randrange(6)):
        start = date(2026, 1, 1) + timedelta(days=chance.randrange(800))
        found.append(
            Box(
                frozenset(chance.sample(MEDIA, chance.randint(1, 3))),
                frozenset(chance.sample(COUNTRIES, chance.randint(1, 4))),
                Term(start, start + timedelta(days=chance.randrange(500)) if chance.random() < 0.8 else OPEN_END),
            )
        )
    return found


def test_the_algebra_agrees_with_datemultirange_of_postgresql(postgresql_url):
    chance = random.Random(20260701)
    rows = []
    for _ in range(150):
        one, other = random_boxes(chance), random_boxes(chance)
        mine, theirs = Scope(one), Scope(other)
        ours = [list(result.boxes) for result in (mine.minus(theirs), mine.intersect(theirs), mine.union(theirs))]
        for medium, country in itertools.product(MEDIA, COUNTRIES):
            rows.append([multirange(some, medium, country) for some in (one, other, *ours)])
    query = text(
        """
        select count(*) as cells,
               count(*) filter (where isempty(a - b)) as covered,
               count(*) filter (where a - b <> c) as less_wrong,
               count(*) filter (where a * b <> d) as both_wrong,
               count(*) filter (where a + b <> e) as either_wrong
        from (select a::datemultirange, b::datemultirange, c::datemultirange, d::datemultirange, e::datemultirange
              from unnest(cast(:a as text[]), cast(:b as text[]), cast(:c as text[]), cast(:d as text[]),
                          cast(:e as text[])) as given(a, b, c, d, e)) as ranges
        """
    )
    columns = dict(zip("abcde", map(list, zip(*rows, strict=True)), strict=True))
    engine = create_engine(postgresql_url)
    with engine.connect() as connection:
        found = connection.execute(query, columns).one()
    engine.dispose()
    assert found.cells == 150 * 12
    assert 100 < found.covered < found.cells - 300  # the sample is worth something
    assert (found.less_wrong, found.both_wrong, found.either_wrong) == (0, 0, 0)


@pytest.mark.parametrize("wrong", ["minus", "union"])
def test_postgresql_would_see_a_scope_that_is_a_day_off(postgresql_url, wrong):
    one, other = [box("cinema", "GB", FIRST, DAYS[4])], [box("cinema", "GB", DAYS[5], DAYS[8])]
    off = [box("cinema", "GB", FIRST, DAYS[3])] if wrong == "minus" else [box("cinema", "GB", FIRST, DAYS[7])]
    operator = "-" if wrong == "minus" else "+"
    engine = create_engine(postgresql_url)
    with engine.connect() as connection:
        same = connection.execute(
            text(
                f"select a {operator} b = c from (select cast(:a as datemultirange) as a, "
                "cast(:b as datemultirange) as b, cast(:c as datemultirange) as c) as ranges"
            ),
            dict(zip("abc", (multirange(some, "cinema", "GB") for some in (one, other, off)), strict=True)),
        ).scalar_one()
    engine.dispose()
    assert same is False
