"""Territory phrases, against the counts and lists of UN M49 and Unicode CLDR."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.rights.territory import WORLD, Territory, countries, describe
from bizkit.domain.tables.territories import CONTAINS, GROUPINGS, NAMES, REGION_NAMES
from bizkit.domain.tables.territory_phrases import AMBIGUOUS, OTHER_NAMES

# ISO 3166-1 as kept by the Debian iso-codes project and carried by pycountry 26.2.16: a list of another origin than
# CLDR's tree.
ISO_3166 = """
AD AE AF AG AI AL AM AO AQ AR AS AT AU AW AX AZ BA BB BD BE BF BG BH BI BJ BL BM BN BO BQ BR BS BT BV BW
BY BZ CA CC CD CF CG CH CI CK CL CM CN CO CR CU CV CW CX CY CZ DE DJ DK DM DO DZ EC EE EG EH ER ES ET FI
FJ FK FM FO FR GA GB GD GE GF GG GH GI GL GM GN GP GQ GR GS GT GU GW GY HK HM HN HR HT HU ID IE IL IM IN
IO IQ IR IS IT JE JM JO JP KE KG KH KI KM KN KP KR KW KY KZ LA LB LC LI LK LR LS LT LU LV LY MA MC MD ME
MF MG MH MK ML MM MN MO MP MQ MR MS MT MU MV MW MX MY MZ NA NC NE NF NG NI NL NO NP NR NU NZ OM PA PE PF
PG PH PK PL PM PN PR PS PT PW PY QA RE RO RS RU RW SA SB SC SD SE SG SH SI SJ SK SL SM SN SO SR SS ST SV
SX SY SZ TC TD TF TG TH TJ TK TL TM TN TO TR TT TV TW TZ UA UG UM US UY UZ VA VC VE VG VI VN VU WF WS YE
YT ZA ZM ZW
""".split()  # noqa: SIM905
# Members of the European Union by the accession treaties, as read for the tax tables.
EU = "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK".split()  # noqa: SIM905


def codes(*phrases: str, without: tuple[str, ...] = ()) -> set[str]:
    return set(Territory.read(phrases, without).codes)


# Source of the counts: Unicode CLDR 48 supplemental territoryContainment, leaves of ISO 3166-1; UN M49.


def test_the_world_is_every_code_of_iso_3166():
    assert len(codes("World")) == 249
    assert codes("World") == set(ISO_3166)


def test_europe_has_51_countries_with_the_islands_and_russia_but_without_turkey():
    europe = codes("Europe")
    assert len(europe) == 51
    assert europe >= {"GB", "RU", "IM", "JE", "GG", "GI"}
    assert "TR" not in europe
    assert europe == codes("150")


def test_the_european_union_has_27_members_without_the_united_kingdom():
    union = codes("EU")
    assert len(union) == 27
    assert "GB" not in union
    assert union == codes("European Union") == set(EU)


def test_northern_america_is_five_countries():
    assert codes("Northern America") == codes("021") == {"BM", "CA", "GL", "PM", "US"}


def test_the_world_without_northern_america_is_244_countries():
    assert len(codes("World except Northern America")) == 244
    assert codes("World", without=("021",)) == codes("World except Northern America")


def test_the_world_without_north_america_by_m49_code_003_is_208_countries():
    assert len(codes("World", without=("003",))) == 208


def test_uk_and_ireland_is_two_countries():
    assert codes("UK and Ireland") == codes("United Kingdom and Ireland") == codes("GB, IE") == {"GB", "IE"}


# UN M49 (memory): Oceania 29, Americas 57, Africa 60, Asia 50 countries and areas with a country code of their own,
# Taiwan, which M49 leaves out, being the 51st of CLDR's Asia; Antarctica stands outside the regions.
@pytest.mark.parametrize(
    ("region", "count"), [("Oceania", 29), ("Americas", 57), ("Africa", 60), ("Asia", 51), ("Antarctica", 1)]
)
def test_the_regions_have_the_countries_of_un_m49(region, count):
    assert len(codes(region)) == count


def test_every_country_lies_in_exactly_one_place_of_the_tree():
    leaves = [part for parts in CONTAINS.values() for part in parts.split() if part not in CONTAINS]
    assert sorted(leaves) == sorted(NAMES)


def test_the_euro_area_has_21_countries_since_bulgaria_joined():
    # Council of the European Union, 8 July 2025, for 1 January 2026 (press reports): Bulgaria is the 21st.
    assert len(codes("Eurozone")) == 21
    assert {"BG", "HR"} <= codes("Eurozone") < codes("EU")


def test_groupings_cut_across_the_tree():
    assert codes("EEA") == codes("EU") | {"IS", "LI", "NO"}
    assert len(codes("United Nations")) == 193  # member states of the United Nations
    assert codes("Latin America and the Caribbean") == codes("Americas", without=("021",))
    assert codes("Sub-Saharan Africa") == codes("Africa", without=("Northern Africa",))
    assert set(GROUPINGS) == {"003", "202", "419", "EU", "EZ", "UN"}


# --- reading phrases ---


@pytest.mark.parametrize(
    ("phrase", "wanted"),
    [
        ("UK & Ireland", {"GB", "IE"}),
        ("uk + ireland", {"GB", "IE"}),
        ("U.K., Ireland, and the Netherlands", {"GB", "IE", "NL"}),
        ("Ireland; Norway / Sweden", {"IE", "NO", "SE"}),
        ("Bosnia and Herzegovina and Trinidad & Tobago", {"BA", "TT"}),
        ("Cote d'Ivoire and Türkiye", {"CI", "TR"}),
        ("Turkiye", {"TR"}),
        ("Saint Lucia, St. Helena", {"LC", "SH"}),
        ("Guinea-Bissau", {"GW"}),
        ("Guinea", {"GN"}),
        ("Democratic Republic of the Congo", {"CD"}),
        ("Benelux excluding Belgium", {"NL", "LU"}),
        ("Benelux, except for Belgium and the Netherlands", {"LU"}),
        ("Benelux but not BE", {"NL", "LU"}),
        ("IT", {"IT"}),
        ("Isle of Man", {"IM"}),
        ("Channel Islands", {"GG", "JE"}),
    ],
)
def test_a_phrase_is_read(phrase, wanted):
    assert codes(phrase) == wanted


@pytest.mark.parametrize("name", sorted(NAMES))
def test_every_country_can_be_written_by_name_and_by_code(name):
    assert codes(NAMES[name]) == codes(name) == {name}


@pytest.mark.parametrize("code", sorted(set(REGION_NAMES) - {"003"}))
def test_every_region_but_north_america_can_be_written_by_name(code):
    assert codes(REGION_NAMES[code]) == countries(code) == codes(code)


@pytest.mark.parametrize("name", sorted(OTHER_NAMES))
def test_every_further_name_can_be_written(name):
    assert codes(name)


@pytest.mark.parametrize("name", sorted(AMBIGUOUS))
def test_a_name_with_two_readings_is_refused_with_what_to_write(name):
    with pytest.raises(
        BadInput, match=r"wanted a territory that can be read one way.*[Ww]rite|country code"
    ) as error:
        Territory.read(f"Japan and {name}")
    assert error.value.got == name


def test_north_america_names_both_readings():
    with pytest.raises(BadInput) as error:
        Territory.read("North America", field="licence.territory", where="brief.toml")
    assert str(error.value) == (
        "brief.toml: licence.territory: wanted a territory that can be read one way, got North America. It may mean "
        'Bermuda, Canada, Greenland, Saint Pierre and Miquelon and the United States (write "Northern America"), or '
        'these with Mexico, Central America and the Caribbean (write "Northern America, Central America and '
        'Caribbean")'
    )


def test_both_readings_of_north_america_can_be_written():
    assert codes("Northern America") == countries("021")
    assert codes("Northern America, Central America and Caribbean") == countries("003")


@pytest.mark.parametrize(
    ("phrase", "says"),
    [
        ("UK and Irland", "wanted a known country or region, got Irland. Did you mean Ireland?"),
        ("Qwxz", 'got Qwxz. Write a country ("Ireland"), a region'),
        ("it", "got it. An ISO 3166-1 code is written in capitals: IT is Italy"),
        ("UK of", "got of"),
        ("UK,", "wanted a country or region, got UK,"),
        ("except UK", "wanted a known country or region"),
        ("", "wanted a country or region, got nothing"),
        (
            "World except Europe plus UK",
            "wanted nothing added after what is left out, got World except Europe plus UK",
        ),
        ("Ireland except Ireland", "wanted a territory with at least one country, got Ireland except Ireland"),
        ("XK", "wanted a known country or region, got XK"),
    ],
)
def test_a_phrase_that_cannot_be_read_is_refused_in_one_line(phrase, says):
    with pytest.raises(BadInput) as error:
        Territory.read(phrase)
    assert says in str(error.value)
    assert "\n" not in str(error.value)


def test_an_unknown_code_is_refused():
    with pytest.raises(NotFound, match="got ZZ"):
        countries("ZZ")


def test_the_expansion_is_frozen_with_the_phrase():
    signed = Territory("European Union", frozenset({"BE", "FR"}))  # as if signed when it had two members
    assert Territory.from_data(signed.data()) == signed
    assert signed.data() == {"phrase": "European Union", "codes": ["BE", "FR"]}


def test_a_list_is_kept_as_words():
    assert Territory.read(["United  Kingdom", "IE"], ["Jersey"]).phrase == "United Kingdom and IE except Jersey"


# --- describing ---


@pytest.mark.parametrize(
    ("phrase", "said"),
    [
        ("GB, IE", "Ireland and United Kingdom"),
        ("World except 021", "World except Northern America"),
        ("World except EU", "World except European Union"),
        ("EU and UK", "European Union and United Kingdom"),
        ("Europe except Russia, Belarus", "Europe except Belarus and Russia"),
        ("Africa, Japan and Antarctica", "Africa, Antarctica and Japan"),
    ],
)
def test_countries_are_described_in_the_fewest_names(phrase, said):
    assert describe(Territory.read(phrase).codes) == said


def test_no_country_is_nowhere():
    assert describe(frozenset()) == "nowhere"


regions = st.sampled_from(list(REGION_NAMES))
some_countries = st.frozensets(st.sampled_from(sorted(NAMES)), max_size=12)


@given(st.lists(regions, max_size=3), st.lists(regions, max_size=2), some_countries, some_countries)
def test_a_description_reads_back_as_the_same_countries(included, excluded, more, less):
    found = frozenset().union(more, *(countries(code) for code in included))
    found -= frozenset().union(less, *(countries(code) for code in excluded))
    if found:
        assert Territory.read(describe(found)).codes == found
        assert Territory.of(found).codes == found


def test_the_whole_world_is_known():
    assert countries("001") == WORLD
