"""Countries by ISO 3166-1 alpha-2 code, and the ones that share the VAT of the European Union.

Source: ISO 3166-1 as kept by the Debian iso-codes project and carried by pycountry 26.2.16, read 2026-11-25; 249
codes.
European Union: Council Directive 2006/112/EC article 5 and the accession treaties; the United Kingdom left the
VAT area at the end of 31 December 2020 (Withdrawal Agreement article 126).
"""

from datetime import date
from typing import Final

#: Every assigned code.
COUNTRIES: Final[frozenset[str]] = frozenset(
    """
    AD AE AF AG AI AL AM AO AQ AR AS AT AU AW AX AZ BA BB BD BE BF BG BH BI BJ BL BM BN BO BQ BR BS BT BV BW
    BY BZ CA CC CD CF CG CH CI CK CL CM CN CO CR CU CV CW CX CY CZ DE DJ DK DM DO DZ EC EE EG EH ER ES ET FI
    FJ FK FM FO FR GA GB GD GE GF GG GH GI GL GM GN GP GQ GR GS GT GU GW GY HK HM HN HR HT HU ID IE IL IM IN
    IO IQ IR IS IT JE JM JO JP KE KG KH KI KM KN KP KR KW KY KZ LA LB LC LI LK LR LS LT LU LV LY MA MC MD ME
    MF MG MH MK ML MM MN MO MP MQ MR MS MT MU MV MW MX MY MZ NA NC NE NF NG NI NL NO NP NR NU NZ OM PA PE PF
    PG PH PK PL PM PN PR PS PT PW PY QA RE RO RS RU RW SA SB SC SD SE SG SH SI SJ SK SL SM SN SO SR SS ST SV
    SX SY SZ TC TD TF TG TH TJ TK TL TM TN TO TR TT TV TW TZ UA UG UM US UY UZ VA VC VE VG VI VN VU WF WS YE
    YT ZA ZM ZW
    """.split()  # noqa: SIM905
)

#: Member states of the European Union since the end of the United Kingdom's transition.
EU: Final[frozenset[str]] = frozenset(
    "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK".split()  # noqa: SIM905
)

#: First day (inclusive) on which the United Kingdom was outside the VAT area of the Union.
UK_OUTSIDE_EU_FROM: Final[date] = date(2021, 1, 1)

#: VAT numbers of Greece begin with EL, not with the country's code (Directive 2006/112/EC article 215).
VAT_PREFIX: Final[dict[str, str]] = {"GR": "EL"}


def in_eu(country: str, on: date) -> bool:
    """Whether `country` is in the VAT area of the European Union on that day (days since 1 July 2013)."""
    return country in EU or (country == "GB" and on < UK_OUTSIDE_EU_FROM)


def vat_prefix(country: str) -> str:
    """The letters a VAT number of `country` begins with."""
    return VAT_PREFIX.get(country, country)
