"""Licence fees: amounts worked out by hand from an invented card, and the laws a fee must keep for any card.

That factors multiply, that clips have a minimum and that renewals cost less are common practice; no published scale
is followed. Every amount below was worked out on paper from the card beside it.
"""

import itertools
import tomllib
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, NotFound, RuleBroken
from bizkit.domain.inputs.reading import read_made
from bizkit.domain.pricing.line import Line
from bizkit.domain.pricing.usage_cover import MediaEntry, NotCovered, TerritoryEntry, cheapest_cover
from bizkit.domain.pricing.usage_factor import usage_factor
from bizkit.domain.pricing.usage_fee import extension_lines, renewal_lines, usage_lines
from bizkit.domain.pricing.usage_rates import UsageRates, UsageTable
from bizkit.domain.rights.licence import Licence
from bizkit.domain.rights.licence_request import LicenceRequest
from bizkit.domain.rights.scope import Box, Scope
from bizkit.domain.rights.term import OPEN_END, Term
from bizkit.domain.rights.use import may

# Invented figures.
CARD = """
minimum = 150
[base]
film = 600
stills = 45
archive_second = 25
archive_clip_minimum = 250
[media]
owned_channels = 1.0
paid_social = 0.8
online = 2
all = 5
[territory]
"United Kingdom and Ireland" = 1
Europe = 1.6
World = 2.5
each_country = 0.5
[term]
3 = 0.5
6 = 0.7
12 = 1
24 = 1.6
open_end = 4
[exclusivity]
sector = 1.5
sole = 2.5
[buy_out]
factor = 12
[renewal]
percent = 75
minimum = 100
"""


@dataclass(frozen=True)
class Promised:
    key: str
    title: str
    kind: str
    quantity: int


FILM = Promised("film", "Follow the Kelp", "film", 1)
STILLS = Promised("stills", "Stills", "stills", 24)


def card(text: str = CARD) -> UsageRates:
    return read_made(
        UsageTable,
        UsageRates.of,
        tomllib.loads(text, parse_float=Decimal),
        where="card.toml",
        path="usage",
        currency="GBP",
    )


def licence(
    text: str = "months = 12", media: str = "owned_channels, paid_social", where: str = "UK, Ireland"
) -> LicenceRequest:
    head = f"media = {[one.strip() for one in media.split(',')]}\nterritory = '{where}'\nstarts = 2027-07-01\n"
    return LicenceRequest.read(tomllib.loads(head + text, parse_float=Decimal), where="brief.toml", path="licence")


def amounts(lines: list[Line]) -> list[str]:
    return [line.amount.text for line in lines]


def fee(request: LicenceRequest, *works: Promised, text: str = CARD) -> str:
    (line,) = usage_lines(card(text), request, works or (FILM,))
    assert line.section == "licence"
    return line.amount.text


# --- worked by hand ---


def test_base_times_media_times_territory_times_term_times_exclusivity():
    film, stills = usage_lines(card(), licence(), [FILM, STILLS])
    assert film.amount.text == "1080.00"  # 600 x (1 + 0.8) x 1 x 1 x 1
    assert film.why == (
        "1 film x base GBP 600.00 x media 1.8 (own channels 1 + paid social 0.8) x territory 1 (United Kingdom and "
        "Ireland) x term 1 (12 months) x exclusivity 1 (none)"
    )
    assert (stills.quantity, stills.unit, stills.rate.text) == (Decimal(24), "still", "81.00")
    assert stills.amount.text == "1944.00"  # 24 x 45 x 1.8
    assert film.data()["working"]["inputs"]["term"] == "1 (12 months)"


@pytest.mark.parametrize(
    ("text", "amount"),
    [
        ("months = 3", "540.00"),  # x 0.5
        ("months = 1", "540.00"),  # below the shortest length its factor is the least
        ("months = 9", "918.00"),  # half way from 0.7 to 1: 0.85
        ("months = 24", "1728.00"),  # x 1.6
        ("months = 36", "2376.00"),  # beyond, at the last slope of 0.05 a month: 2.2
        ("months = 84", "4320.00"),  # 1.6 + 60 x 0.05 = 4.6, never above the 4 of no end
        ("open_end = true", "4320.00"),
        ("until = 2028-06-30", "1080.00"),  # 12 months, written as a day
        ("months = 12\nexclusivity = 'sole'", "2700.00"),  # x 2.5
        ("months = 12\nexclusivity = 'sector'\nsector = 'tourism'", "1620.00"),  # x 1.5
    ],
)
def test_term_and_exclusivity(text, amount):
    assert fee(licence(text)) == amount


@pytest.mark.parametrize(
    ("where", "amount"),
    [
        ("UK", "300.00"),  # one country singly, 0.5
        ("UK, Ireland", "600.00"),
        ("France, Germany", "600.00"),  # two singly, 2 x 0.5
        ("France, Germany, Spain, Italy", "960.00"),  # 1.6 for Europe costs less than 4 x 0.5
        ("UK, Ireland, Japan", "900.00"),  # 1 + 0.5
        ("Europe, Japan", "1260.00"),  # 1.6 + 0.5
        ("World", "1500.00"),
        ("World except Europe", "1500.00"),  # the world is the cheapest that has it
    ],
)
def test_territory_is_bought_the_cheapest_way(where, amount):
    assert fee(licence(media="owned_channels", where=where)) == amount


@pytest.mark.parametrize(
    ("media", "amount"),
    [
        ("owned_channels", "600.00"),
        ("paid_online", "1200.00"),  # only in the branch
        ("online", "1200.00"),
        ("owned_channels, cinema", "3000.00"),  # all media is the only entry with cinema, and has the rest
    ],
)
def test_media_are_bought_the_cheapest_way(media, amount):
    assert fee(licence(media=media)) == amount


def test_a_buy_out_has_a_price_of_its_own():
    bought = LicenceRequest.read({"buy_out": True}, where="brief.toml", path="licence")
    assert fee(bought) == "7200.00"  # 600 x 12
    sole = LicenceRequest.read({"buy_out": True, "exclusivity": "sole"}, where="brief.toml", path="licence")
    assert fee(sole) == "18000.00"  # x 2.5, as the card's buy-out is not exclusive


def test_no_licence_costs_more_than_the_buy_out():
    wide = licence("open_end = true", media="all", where="World")  # 5 x 2.5 x 4 = 50
    assert fee(wide) == "7200.00"
    assert "buy-out 12, as it costs less than media 5" in usage_lines(card(), wide, [FILM])[0].why


def test_archive_clips_go_by_the_second_with_a_minimum_for_each():
    asked = licence("months = 12\nclips = [{title='gannet', seconds=4}, {title='whale', seconds=12.5}]")
    _, gannet, whale = usage_lines(card(), asked, [FILM])
    assert (gannet.item, gannet.quantity, gannet.unit) == ("Licence: archive clip gannet, 4 s", 1, "clip")
    assert gannet.amount.text == "450.00"  # 250 x 1.8, as 4 x 25 is below 250
    assert (whale.quantity, whale.unit, whale.rate.text) == (Decimal("12.5"), "second", "45.00")
    assert whale.amount.text == "562.50"  # 12.5 x 25 x 1.8


def test_only_the_works_asked_for_are_priced():
    asked = licence("months = 12\nworks = ['stills']")
    assert [line.item for line in usage_lines(card(), asked, [FILM, STILLS])] == ["Licence: Stills"]
    with pytest.raises(NotFound, match=r"licence.works: wanted a known deliverable, got still. Did you mean stills"):
        usage_lines(card(), licence("months = 12\nworks = ['still']"), [FILM, STILLS])


def test_a_small_licence_is_lifted_to_the_minimum():
    lines = usage_lines(card(), licence(), [Promised("one", "One still", "stills", 1)])
    assert amounts(lines) == ["81.00", "69.00"]
    assert lines[1].item == "Minimum licence fee"
    assert lines[1].why == "GBP 150.00 at least, less GBP 81.00"


def test_each_line_is_rounded_once_half_away_from_zero():
    odd = CARD.replace("film = 600", "film = 1.15").replace("minimum = 150", "")
    assert fee(licence("months = 3", media="owned_channels"), text=odd) == "0.58"  # 1.15 x 0.5 = 0.575
    odd = CARD.replace("stills = 45", "stills = 45.55")
    seven = Promised("seven", "Seven", "stills", 7)
    assert fee(licence("months = 9"), seven, text=odd) == "487.84"  # 7 x 45.55 x 1.8 x 0.85 = 487.8405


def test_a_factor_that_does_not_end_is_exact_until_the_line_is_rounded():
    thirds = CARD.replace("24 = 1.6", "15 = 1.1")
    (line,) = usage_lines(card(thirds), licence("months = 13", media="owned_channels"), [FILM])
    assert line.amount.text == "620.00"  # 600 x (1 + 0.1/3) = 620 exactly
    (line,) = usage_lines(card(thirds), licence("months = 14", media="paid_social"), [FILM])
    assert (line.rate.text, line.amount.text) == ("512.00", "512.00")  # 600 x 0.8 x (1 + 0.2/3)


# --- extensions and renewals ---


def held(request: LicenceRequest) -> Scope:
    term = request.term()
    assert term is not None
    return request.scope(term)


def extend(base: LicenceRequest, wanted: LicenceRequest | Scope, text: str = CARD, **more: str) -> list[Line]:
    scope = wanted if isinstance(wanted, Scope) else held(wanted)
    return extension_lines(card(text), held(base), scope, base, [FILM], **more)


@pytest.mark.parametrize(
    ("wanted", "amount"),
    [
        (licence("months = 24"), "648.00"),  # 600 x 1.8 x (1.6 - 1)
        (licence(where="Europe"), "648.00"),  # 600 x 1.8 x (1.6 - 1)
        (licence(media="online"), "120.00"),  # 600 x (2 - 1.8)
        (licence("months = 1"), None),  # held already
    ],
)
def test_an_extension_costs_the_wider_licence_less_the_one_held(wanted, amount):
    assert amounts(extend(licence(), wanted)) == ([amount] if amount else [])


def test_an_extension_of_part_of_the_term_costs_its_layer_for_that_part():
    # Own channels in the UK and Ireland for 24 months, with France (singly) for the second twelve:
    # 600 x (1 x 1.6 + 0.5 x 1) = 1260, less 600 x 1.6 = 960.
    wanted = Scope.box({"owned_channels"}, {"FR"}, Term(date(2028, 7, 1), date(2029, 6, 30)))
    (line,) = extend(licence("months = 24", media="owned_channels"), wanted)
    assert line.amount.text == "300.00"
    assert line.item == "Extension. Licence: Follow the Kelp"
    assert line.why == "GBP 1260.00 for the wider use less GBP 960.00 for the use held, both by today's rate card"
    assert len(line.data()["working"]["parts"]) == 2


def test_a_use_that_is_refused_comes_with_the_price_of_the_extension():
    asked = licence(media="owned_channels")
    granted = Licence("L-1", "Skerrow Islands Tourism", frozenset({"film"}), asked, date(2027, 6, 1))
    answer = may([granted], "film", "paid_social", "GB", date(2028, 1, 1))
    assert not answer.allowed
    # 600 x 0.8 for paid social x 0.5 for the UK singly, in the last six months only: x 0.7
    (line,) = extension_lines(card(), granted.scope, answer.extension, asked, [FILM])
    assert line.amount.text == "168.00"


def test_an_extension_to_sole_and_never_down():
    (line,) = extend(licence(), Scope(), exclusivity="sole")
    assert line.amount.text == "1620.00"  # 600 x 1.8 x (2.5 - 1)
    with pytest.raises(RuleBroken, match="does not lower the exclusivity"):
        extend(licence("months = 12\nexclusivity = 'sole'"), Scope(), exclusivity="none")


def test_a_small_extension_is_lifted_to_the_card_s_minimum():
    assert amounts(
        extend(licence(where="UK", media="owned_channels"), licence("months = 13", "owned_channels", "UK"))
    ) == [
        "15.00",
        "85.00",
    ]  # 600 x 0.5 x 0.05, lifted to 100


def test_a_minimum_paid_already_is_taken_off():
    one = Promised("one", "One still", "stills", 1)
    small, wide = licence(media="owned_channels"), licence(media="all")  # 45, lifted to 150; 225
    lines = extension_lines(card(), held(small), held(wide), small, [one])
    assert amounts(lines) == ["180.00", "-105.00", "25.00"]  # 225 - 150 = 75, lifted to 100
    assert lines[1].item == "Extension. Minimum licence fee"


def test_a_renewal_costs_the_card_s_percentage_of_the_new_term():
    (line,) = renewal_lines(card(), licence(), [FILM])
    assert line.amount.text == "810.00"  # 1080 x 75 %
    assert line.why.endswith("x 75 % for a renewal")
    tiny = renewal_lines(card(), licence(), [Promised("one", "One still", "stills", 1)])
    assert amounts(tiny) == ["60.75", "39.25"]  # lifted to 100


# --- what a card does not sell ---


@pytest.mark.parametrize(
    ("remove", "request_", "says"),
    [
        ("all = 5", licence(media="cinema"), "licence.media: wanted media that the rate card prices, got cinema"),
        ("each_country = 0.5\n", None, ""),
        ("open_end = 4", licence("open_end = true"), "licence.months: wanted a term with an end, got no end"),
        ("sole = 2.5", licence("months=1\nexclusivity='sole'"), "exclusivity that the card sells (none, sector)"),
        ("film = 600", licence(), "usage.base.film: wanted a base fee for film on the rate card, got none"),
        ("archive_second = 25\narchive_clip_minimum = 250", licence("months=1\nclips=[{title='a',seconds=1}]"),
         "usage.base.archive_second: wanted a fee for a second of archive on the rate card, got none"),
        ("[buy_out]\nfactor = 12", LicenceRequest.read({"buy_out": True}, where="brief.toml"),
         "usage.buy_out: wanted a buy-out on the rate card, got none"),
    ],
)  # fmt: skip
def test_what_the_card_does_not_sell_is_named(remove, request_, says):
    assert remove in CARD
    if request_ is None:
        text = CARD.replace(remove, "").replace("World = 2.5\n", "")
        request_, says = (
            licence(where="Japan"),
            "licence.territory: wanted a territory that the rate card prices, got Japan",
        )
    else:
        text = CARD.replace(remove, "")
    with pytest.raises(BadInput) as error:
        usage_lines(card(text), request_, [FILM])
    assert says in str(error.value)
    assert "\n" not in str(error.value)


def test_a_last_day_without_a_first_one_has_no_price():
    asked = LicenceRequest.read(
        {"media": "online", "territory": "UK", "until": date(2027, 12, 31)}, where="brief.toml", path="licence"
    )
    with pytest.raises(BadInput, match=r"licence.starts: wanted a first day to price up to until"):
        usage_lines(card(), asked, [FILM])


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("24 = 1.6", "24 = 2.1", "usage.term.24: wanted 1.6 or less, as a longer term never costs more by the month"),
        ("24 = 1.6", "24 = 0.9", "usage.term.24: wanted 1 or more, as a longer term never costs less, got 0.9"),
        ("open_end = 4", "open_end = 1.5", "usage.term.open_end: wanted 1.6 or more"),
        ("24 = 1.6", "two = 1.6", "usage.term.two: wanted a number of months or open_end, got two"),
        ("24 = 1.6", "24 = 0", "usage.term.24: wanted a factor above zero, got 0"),
        ("24 = 1.6", "024 = 1.6\n24 = 1.6", "usage.term.24: wanted each length once, got twice"),
        ("sole = 2.5", "sole = 1.2", "usage.exclusivity.sole: wanted 1.5 or more, as more"),
        ("paid_social = 0.8", "paid_socal = 0.8", "usage.media: wanted a known medium, got paid_socal"),
        ("Europe = 1.6", "Europa = 1.6", "usage.territory: wanted a known country or region, got Europa"),
        ("Europe = 1.6", "Europe = -1", "usage.territory.Europe: wanted a number of 0 or more, got -1"),
        ("Europe = 1.6", '"North America" = 1.6', "wanted a territory that can be read one way, got North America"),
        ("percent = 75", "percent = 175", "usage.renewal.percent: wanted a number 0..100, got 175"),
        ("factor = 12", "factr = 12", "usage.buy_out.factor: wanted a factor above zero, got nothing. The file says"),
        ("minimum = 150", "minimun = 150", "usage: wanted a known key, got minimun. Did you mean minimum?"),
        ("film = 600", "films = 600", "usage.base: wanted a known key, got films. Did you mean film?"),
        ("3 = 0.5\n6 = 0.7\n12 = 1\n24 = 1.6", "", "usage.term: wanted a factor for one length in months or more"),
    ],
)  # fmt: skip
def test_a_wrong_card_is_refused_a_line_a_problem(old, new, says):
    assert old in CARD
    with pytest.raises(BadInput) as error:
        card(CARD.replace(old, new, 1))
    assert says in str(error.value)
    assert all(line.startswith("card.toml: usage") for line in str(error.value).split("\n"))


def test_more_territories_than_anybody_can_read_are_refused():
    many = "\n".join(
        f"{code} = 1" for code in ["AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR"]
    )
    with pytest.raises(BadInput, match=r"usage.territory: wanted 12 territories at most, got 14"):
        card(CARD.replace("Europe = 1.6\nWorld = 2.5", many))


# --- the laws, for any card ---

MEDIA = ("owned_channels", "paid_social", "paid_online", "cinema")
PLACES = ("GB", "IE", "FR", "US", "JP")
factors = st.integers(1, 40).map(lambda tenths: Fraction(tenths, 10))


@st.composite
def media_entries(draw: st.DrawFn) -> tuple[MediaEntry, ...]:
    sets = [*draw(st.lists(st.frozensets(st.sampled_from(MEDIA), min_size=1), max_size=2)), frozenset(MEDIA)]
    return tuple(MediaEntry(f"m{place}", one, draw(factors)) for place, one in enumerate(sets))


@st.composite
def territory_entries(draw: st.DrawFn) -> tuple[TerritoryEntry, ...]:
    sets = [*draw(st.lists(st.frozensets(st.sampled_from(PLACES), min_size=1), max_size=2)), frozenset(PLACES)]
    return tuple(TerritoryEntry(f"t{place}", one, draw(factors)) for place, one in enumerate(sets))


@st.composite
def cards(draw: st.DrawFn) -> UsageRates:
    """Any card that reads: a ladder whose steps rise ever less."""
    slopes = sorted(draw(st.lists(st.integers(0, 30), min_size=3, max_size=3)), reverse=True)
    ladder, months, factor = [], 0, Fraction(0)
    for slope in slopes:
        months += draw(st.integers(1, 12))
        factor += Fraction(max(slope, 0 if ladder else 1) * (months - (ladder[-1][0] if ladder else 0)), 100)
        ladder.append((months, factor))
    plain = card()
    values = {name: getattr(plain, name) for name in UsageRates.__slots__}
    values |= {
        "media": draw(media_entries()),
        "territories": draw(territory_entries()),
        "each_country": draw(st.none() | factors),
        "term": tuple(ladder),
        "open_end": ladder[-1][1] + draw(factors),
        "buy_out": draw(st.none() | st.integers(1, 60).map(Fraction)),
    }
    return UsageRates(**values)


@st.composite
def some_scopes(draw: st.DrawFn) -> Scope:
    boxes = []
    for _ in range(draw(st.integers(0, 3))):
        start = date(2027, 1, 1) + timedelta(days=draw(st.integers(0, 700)))
        end = start + timedelta(days=draw(st.integers(0, 900)))
        boxes.append(
            Box(
                draw(st.frozensets(st.sampled_from(MEDIA), min_size=1)),
                draw(st.frozensets(st.sampled_from(PLACES), min_size=1)),
                Term(start, OPEN_END if draw(st.integers(0, 9)) == 0 else end),
            )
        )
    return Scope(boxes)


@settings(max_examples=80)
@given(cards(), some_scopes(), some_scopes(), st.sampled_from(["none", "sector", "sole"]))
def test_a_wider_licence_never_costs_less_and_two_together_never_more_than_apart(rates, one, other, exclusivity):
    mine, theirs = usage_factor(rates, one, exclusivity).value, usage_factor(rates, other, exclusivity).value
    both = usage_factor(rates, one.union(other), exclusivity).value
    assert both >= max(mine, theirs)
    assert both <= mine + theirs


@settings(max_examples=60)
@given(cards(), some_scopes())
def test_more_exclusivity_never_costs_less(rates, scope):
    found = [usage_factor(rates, scope, exclusivity).value for exclusivity in ("none", "sector", "sole")]
    assert found == sorted(found)


@settings(max_examples=60)
@given(some_scopes(), some_scopes())
def test_what_is_paid_for_a_licence_and_its_extension_is_what_the_wider_one_costs(one, other):
    rates = card(CARD.replace("percent = 75\nminimum = 100", "percent = 75"))
    request = licence()
    both = one.union(other)
    works = [FILM, STILLS]

    def paid(lines: list[Line]) -> Decimal:
        return sum((line.amount.amount for line in lines), Decimal(0))

    nothing = Scope()
    first = paid(extension_lines(rates, nothing, one, request, works))
    assert first + paid(extension_lines(rates, one, other, request, works)) == paid(
        extension_lines(rates, nothing, both, request, works)
    )


@settings(max_examples=60)
@given(
    media_entries(), territory_entries(), st.none() | factors,
    st.lists(st.tuples(st.sampled_from(MEDIA), st.sampled_from(PLACES[:3])), min_size=1, max_size=5, unique=True),
)  # fmt: skip
def test_the_cover_is_as_cheap_as_the_best_of_all_possible_purchases(media, territories, each, cells):
    wish = tuple(
        (frozenset({medium}), frozenset(place for one, place in cells if one == medium))
        for medium in dict.fromkeys(medium for medium, _ in cells)
    )
    places = [(one.countries, one.factor) for one in territories]
    places += [(frozenset({place}), each) for place in PLACES[:3] if each is not None]
    purchases = [
        (entry.factor * factor, frozenset((m, p) for m, p in cells if m in entry.media and p in where))
        for entry in media
        for where, factor in places
    ]
    purchases = [(cost, reach) for cost, reach in purchases if reach]
    # Cheapest cost of reaching exactly each set of cells, by adding one purchase after another.
    cheapest: dict[frozenset[tuple[str, str]], Fraction] = {frozenset(): Fraction(0)}
    for cost, reach in purchases:
        for reached, spent in list(cheapest.items()):
            more = reached | reach
            cheapest[more] = min(cheapest.get(more, spent + cost), spent + cost)
    cover = cheapest_cover(wish, media, territories, each)
    assert cover.factor == cheapest[frozenset(cells)]


def test_one_box_is_the_plain_product_whatever_day_it_begins():
    rates = card()
    for start, (where, place) in itertools.product(
        (date(2027, 1, 31), date(2028, 2, 29), date(2027, 7, 15)), (("GB IE", 1), ("FR DE ES IT", Fraction(8, 5)))
    ):
        for months, term in ((3, Fraction(1, 2)), (9, Fraction(17, 20)), (24, Fraction(8, 5))):
            scope = Scope.box({"paid_social"}, where.split(), Term.months_from(start, months))
            assert usage_factor(rates, scope, "sole").value == Fraction(4, 5) * place * term * Fraction(5, 2)


def test_what_nobody_sells_is_not_covered():
    with pytest.raises(NotCovered):
        cheapest_cover(((frozenset({"cinema"}), frozenset({"JP"})),), [], [], Fraction(1))
