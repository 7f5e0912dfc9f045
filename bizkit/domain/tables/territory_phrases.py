"""Further names for countries and regions, and names that two people read differently.

Source: common usage in English; the European Economic Area by its Agreement (the EU with Iceland, Liechtenstein and
Norway), the Nordic countries by the Helsinki Treaty of 1962 (with the Faroe Islands, Greenland and Aland), both from
memory. Whoever needs another reading writes the countries.
"""

from typing import Final

#: name -> ISO 3166-1, UN M49 or grouping codes
OTHER_NAMES: Final[dict[str, str]] = {
    "Worldwide": "001",
    "Whole world": "001",
    "Everywhere": "001",
    "All countries": "001",
    "Global": "001",
    "UK": "GB",
    "USA": "US",
    "United States of America": "US",
    "UAE": "AE",
    "Republic of Ireland": "IE",
    "Eire": "IE",
    "Holland": "NL",
    "The Netherlands": "NL",
    "Czech Republic": "CZ",
    "Turkey": "TR",
    "Ivory Coast": "CI",
    "Cape Verde": "CV",
    "Swaziland": "SZ",
    "Burma": "MM",
    "Myanmar": "MM",
    "East Timor": "TL",
    "Macedonia": "MK",
    "Russian Federation": "RU",
    "South Korea": "KR",
    "North Korea": "KP",
    "Hong Kong": "HK",
    "Macao": "MO",
    "Macau": "MO",
    "Palestine": "PS",
    "Vatican": "VA",
    "Holy See": "VA",
    "Viet Nam": "VN",
    "Democratic Republic of the Congo": "CD",
    "Republic of the Congo": "CG",
    "Congo Kinshasa": "CD",
    "Congo Brazzaville": "CG",
    "Falklands": "FK",
    "Faroes": "FO",
    "Aland": "AX",
    "Bosnia": "BA",
    "US Virgin Islands": "VI",
    "EU": "EU",
    "EEA": "EU IS LI NO",
    "European Economic Area": "EU IS LI NO",
    "Euro area": "EZ",
    "Nordic countries": "DK FI IS NO SE FO GL AX",
    "Nordics": "DK FI IS NO SE FO GL AX",
    "Benelux": "BE NL LU",
    "Baltic states": "EE LV LT",
    "DACH": "DE AT CH",
    "Channel Islands": "GG JE",
    "Iberia": "ES PT",
    "The Americas": "019",
    "Latin America and the Caribbean": "419",
    "Australia and New Zealand": "AU NZ",
    "South East Asia": "035",
    "South-eastern Asia": "035",
    "East Asia": "030",
    "South Asia": "034",
    "West Africa": "011",
    "East Africa": "014",
    "North Africa": "015",
}

#: name -> its readings, as a sentence that says what to write for each
AMBIGUOUS: Final[dict[str, str]] = {
    "North America": (
        "It may mean Bermuda, Canada, Greenland, Saint Pierre and Miquelon and the United States "
        '(write "Northern America"), or these with Mexico, Central America and the Caribbean '
        '(write "Northern America, Central America and Caribbean")'
    ),
    "America": 'It may mean the United States (write "United States") or the whole continent (write "Americas")',
    "Great Britain": (
        'It may mean the United Kingdom (write "United Kingdom") or the island without Northern Ireland, '
        "which has no country code"
    ),
    "Britain": (
        'It may mean the United Kingdom (write "United Kingdom") or the island without Northern Ireland, '
        "which has no country code"
    ),
    "England": 'It is a part of the United Kingdom, which country codes cannot divide: write "United Kingdom"',
    "Scotland": 'It is a part of the United Kingdom, which country codes cannot divide: write "United Kingdom"',
    "Wales": 'It is a part of the United Kingdom, which country codes cannot divide: write "United Kingdom"',
    "Northern Ireland": 'It is a part of the United Kingdom, which country codes cannot divide: write "UK"',
    "British Isles": (
        'It may mean the United Kingdom and Ireland (write that), or these with "Isle of Man, Guernsey and Jersey" '
        "(write all five)"
    ),
    "Scandinavia": (
        "It may mean Denmark, Norway and Sweden (write these), or the five countries with Finland and Iceland "
        '(write "Nordic countries" to add the Faroes, Greenland and Åland too)'
    ),
    "Middle East": (
        'It may mean "Western Asia", which has no Egypt or Iran, or that with these: write "Western Asia" or '
        '"Western Asia, Egypt and Iran"'
    ),
    "MENA": 'Write "Western Asia and Northern Africa", or the countries',
    "Congo": 'There are two: write "Republic of the Congo" or "Democratic Republic of the Congo"',
    "Korea": 'There are two: write "South Korea" or "North Korea"',
    "Virgin Islands": 'There are two: write "British Virgin Islands" or "US Virgin Islands"',
    "Central Europe": "No list of it is agreed: write the countries",
    "Balkans": "No list of it is agreed: write the countries",
    "Asia Pacific": 'No list of it is agreed: write "Asia and Oceania", or the countries',
    "APAC": 'No list of it is agreed: write "Asia and Oceania", or the countries',
    "EMEA": 'Write "Europe, Western Asia and Africa", or the countries',
}
