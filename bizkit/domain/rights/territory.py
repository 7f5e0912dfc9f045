"""Territory: a set of ISO 3166-1 countries, named by a phrase that is spread out once and then frozen.

A phrase is a list of countries and regions, perhaps with exclusions: "United Kingdom and Ireland", "World except
Northern America", "EU, Norway and Switzerland". Regions are those of UN M49 as CLDR 48 holds them. A phrase that two
people may read differently is refused with both readings, never guessed.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any, Final

from bizkit.domain.errors import BadInput, BizkitError, NotFound
from bizkit.domain.tables.territories import CONTAINS, GROUPINGS, NAMES, REGION_NAMES
from bizkit.domain.tables.territory_phrases import AMBIGUOUS, OTHER_NAMES

_JOINING: Final = frozenset({",", "and", "plus", "including"})
_EXCEPT: Final = (
    ("except", "for"), ("except",), ("excluding",), ("excl",), ("without",), ("minus",), ("but", "not"),
    ("other", "than"), ("apart", "from"), ("not", "including"),
)  # fmt: skip


@cache
def countries(code: str) -> frozenset[str]:
    """The countries of one ISO 3166-1, UN M49 or grouping code. Raises NotFound.

    >>> sorted(countries("021"))
    ['BM', 'CA', 'GL', 'PM', 'US']
    """
    if code in NAMES:
        return frozenset({code})
    parts = CONTAINS.get(code) or GROUPINGS.get(code)
    if parts is None:
        raise NotFound("country or region code", code, [*NAMES, *REGION_NAMES], field="territory")
    return frozenset().union(*(countries(part) for part in parts.split()))


#: Every country.
WORLD: Final[frozenset[str]] = countries("001")


@dataclass(frozen=True, slots=True)
class Territory:
    """A set of countries with the phrase it was agreed by.

    phrase: the words of the agreement. codes: what they meant on the day they were read, ISO 3166-1 alpha-2.

    >>> sorted(Territory.read("UK & Ireland").codes)
    ['GB', 'IE']
    >>> Territory.read("Korea", where="brief.toml", field="licence.territory")
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: brief.toml: licence.territory: wanted a territory that can be read one way, \
got Korea. There are two: write "South Korea" or "North Korea"
    """

    phrase: str
    codes: frozenset[str]

    @classmethod
    def read(
        cls,
        include: str | Sequence[str],
        exclude: str | Sequence[str] = (),
        *,
        field: str = "territory",
        where: str = "",
    ) -> Territory:
        """From phrases or codes, less the `exclude` ones. Raises BadInput or NotFound, naming the piece at fault."""
        included = [include] if isinstance(include, str) else list(include)
        excluded = [exclude] if isinstance(exclude, str) else list(exclude)
        found: frozenset[str] = frozenset()
        for phrase in included:
            found |= _read_phrase(phrase, field, where)
        for phrase in excluded:
            found -= _read_phrase(phrase, field, where)
        words = _listed([" ".join(phrase.split()) for phrase in included] or ["nothing"])
        if excluded:
            words += " except " + _listed([" ".join(phrase.split()) for phrase in excluded])
        if not found:
            raise BadInput(wanted="a territory with at least one country", got=words, field=field, where=where)
        return cls(words if _says(words, found) else describe(found), found)

    @classmethod
    def of(cls, codes: Iterable[str]) -> Territory:
        """From countries alone, with the shortest phrase for them."""
        found = frozenset(codes)
        return cls(describe(found), found)

    def data(self) -> dict[str, Any]:
        """As JSON-ready data."""
        return {"phrase": self.phrase, "codes": sorted(self.codes)}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> Territory:
        """From `data()`: the codes as frozen, never spread out anew."""
        return _frozen(data["phrase"], tuple(data["codes"]))


def _says(words: str, codes: frozenset[str]) -> bool:
    """Whether a phrase put together from several is read as these countries: what follows "except" may be taken as
    left out, so that "World except USA" and "Germany" are not the same in one sentence."""
    try:
        return _read_phrase(words, "", "") == codes
    except BizkitError:
        return False


@lru_cache(maxsize=1024)
def _frozen(phrase: str, codes: tuple[str, ...]) -> Territory:
    """Thousands of grants share a few territories: one value for each."""
    return Territory(phrase, frozenset(codes))


@lru_cache(maxsize=4096)
def describe(codes: frozenset[str]) -> str:
    """The shortest phrase for a set of countries; the same set always gives the same phrase.

    >>> describe(WORLD - countries("021")), describe(frozenset({"IE", "GB"}))
    ('World except Northern America', 'Ireland and United Kingdom')
    """
    if not codes:
        return "nowhere"
    included, excluded = fewest_names(codes)
    text = _listed(_named(included))
    return f"{text} except {_listed(_named(excluded))}" if excluded else text


def fewest_names(codes: frozenset[str]) -> tuple[list[str], list[str]]:
    """The fewest countries and regions (ISO 3166-1, UN M49 or grouping codes) that name a set of countries.

    First what is in it, then what of that is not. A paper names them in its own language.

    >>> fewest_names(WORLD - countries("021"))
    (['001'], ['021'])
    """
    best = _shortest("001", codes)
    for grouping in ("EU", "EZ", "UN", "202", "419"):
        inside = countries(grouping)
        if inside <= codes:
            rest, without = _shortest("001", codes - inside)
            candidate = ([grouping, *rest], without)
            if not without and _length(candidate) < _length(best):
                best = candidate
        elif inside.isdisjoint(codes):
            more, less = _shortest("001", codes | inside)
            candidate = (more, [grouping, *less])
            if _length(candidate) < _length(best):
                best = candidate
    return best


def _length(names: tuple[list[str], list[str]]) -> int:
    return len(names[0]) + len(names[1])


def _named(codes: Iterable[str]) -> list[str]:
    """Names, regions before countries, each by alphabet."""
    return [
        REGION_NAMES.get(code) or NAMES[code]
        for code in sorted(codes, key=lambda code: (code in NAMES, REGION_NAMES.get(code) or NAMES[code]))
    ]


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def _shortest(region: str, codes: frozenset[str]) -> tuple[list[str], list[str]]:
    """The fewest names for the part of `codes` inside `region`: what to include, what to leave out again."""
    inside = countries(region)
    wanted = inside & codes
    if not wanted:
        return [], []
    if wanted == inside:
        return [region], []
    included: list[str] = []
    excluded: list[str] = []
    for part in CONTAINS[region].split():
        more, less = _shortest(part, codes)
        included += more
        excluded += less
    without = _whole_parts(region, inside - codes)
    if 1 + len(without) < len(included) + len(excluded):
        return [region], without
    return included, excluded


def _whole_parts(region: str, codes: frozenset[str]) -> list[str]:
    """The fewest regions and countries inside `region` that make up `codes` exactly."""
    inside = countries(region)
    if inside.isdisjoint(codes):
        return []
    if inside <= codes:
        return [region]
    return [name for part in CONTAINS[region].split() for name in _whole_parts(part, codes)]


# --- reading a phrase ---


def _words(phrase: str) -> list[tuple[str, str]]:
    """Each word as typed and as compared: no accents, no case, "&" and "+" as "and", stops between as ","."""
    spaced = re.sub(r"[&+]", " and ", phrase.replace(".", ""))
    found: list[tuple[str, str]] = []
    for typed in re.findall(r"[,;/]|[^\s,;/()'’‘\-–]+", spaced):
        folded = "".join(ch for ch in unicodedata.normalize("NFKD", typed) if not unicodedata.combining(ch))
        folded = folded.casefold()
        found.append((typed, "," if typed in ",;/" else {"saint": "st"}.get(folded, folded)))
    return found


def _key(name: str) -> tuple[str, ...]:
    return tuple(folded for _, folded in _words(name))


@cache
def _names() -> dict[tuple[str, ...], frozenset[str]]:
    """Every name that can be read, by its compared words."""
    known = {_key(name): countries(code) for code, name in NAMES.items()}
    known |= {_key(name): countries(code) for code, name in REGION_NAMES.items()}
    for name, codes in OTHER_NAMES.items():
        known[_key(name)] = frozenset().union(*(countries(code) for code in codes.split()))
    for name in AMBIGUOUS:
        known.pop(_key(name), None)
    return known


@cache
def _ambiguous() -> dict[tuple[str, ...], str]:
    return {_key(name): readings for name, readings in AMBIGUOUS.items()}


_LONGEST: Final = 8


def _read_phrase(phrase: str, field: str, where: str) -> frozenset[str]:
    """name (joining name)* [except name (joining name)*]"""
    words = _words(phrase)
    folded = [word for _, word in words]
    sides: list[set[str]] = [set()]
    place = 0
    while True:
        while folded[place : place + 1] in (["the"], ["all"], ["of"], ["whole"]) and _name_at(words, place) is None:
            place += 1
        found = _name_at(words, place)
        if found is None:
            raise _unread(words, place, phrase, field, where)
        length, named = found
        if isinstance(named, str):
            got = " ".join(typed for typed, _ in words[place : place + length])
            raise BadInput(
                wanted="a territory that can be read one way", got=got, field=field, where=where, hint=named
            )
        sides[-1] |= named
        place += length
        if place == len(words):
            break
        marker = next((m for m in _EXCEPT if tuple(folded[place + (folded[place] == ",") :][: len(m)]) == m), None)
        if marker and len(sides) == 1:
            place += len(marker) + (folded[place] == ",")
            sides.append(set())
        elif folded[place] in _JOINING and not (len(sides) == 2 and folded[place] in {"plus", "including"}):
            place += 2 if folded[place : place + 2] in ([",", "and"], [",", "plus"]) else 1
        elif folded[place] in _JOINING:
            wanted = "nothing added after what is left out"
            hint = "Write territory and except as two lists"
            raise BadInput(wanted=wanted, got=phrase, field=field, where=where, hint=hint)
        else:
            raise _unjoined(words, place, phrase, bool(marker), field, where)
    return frozenset(sides[0].difference(*sides[1:]))


def _name_at(words: Sequence[tuple[str, str]], place: int) -> tuple[int, frozenset[str] | str] | None:
    """The longest name at `place`: its length and its countries, or its readings where there are two."""
    folded = tuple(word for _, word in words[place : place + _LONGEST])
    for length in range(len(folded), 0, -1):
        if folded[:length] in _ambiguous():
            return length, _ambiguous()[folded[:length]]
        if folded[:length] in _names():
            return length, _names()[folded[:length]]
    if folded and (words[place][0] in NAMES or words[place][0] in REGION_NAMES):
        return 1, countries(words[place][0])  # in capitals only: "IT" is Italy, "it" is a word
    return None


def _unjoined(
    words: Sequence[tuple[str, str]], place: int, phrase: str, again: bool, field: str, where: str
) -> BadInput:
    """What is wrong with what stands behind a name: a second exception, a name not joined to it, or no name."""
    if again:
        hint = "Join what is left out with a comma or and, behind one except"
        return BadInput(wanted="one exception", got=phrase, field=field, where=where, hint=hint)
    if _name_at(words, place) is not None:
        wanted = "a comma or and between two places"
        return BadInput(wanted=wanted, got=phrase, field=field, where=where)
    return _unread(words, place, phrase, field, where)


def _unread(words: Sequence[tuple[str, str]], place: int, phrase: str, field: str, where: str) -> BadInput:
    piece = " ".join(_chunk(words, place))
    if not piece:
        return BadInput(wanted="a country or region", got=phrase or "nothing", field=field, where=where)
    if piece.upper() in NAMES and len(piece) == 2:
        hint = f"An ISO 3166-1 code is written in capitals: {piece.upper()} is {NAMES[piece.upper()]}"
        return NotFound("country or region", piece, (), field=field, where=where, hint=hint)
    known = [*NAMES.values(), *(name for name in REGION_NAMES.values() if name not in AMBIGUOUS), *OTHER_NAMES]
    error = NotFound("country or region", piece, known, field=field, where=where)
    if error.hint.startswith("Known"):
        hint = 'Write a country ("Ireland"), a region ("Northern Europe") or an ISO 3166-1 code ("IE")'
        return NotFound("country or region", piece, known, field=field, where=where, hint=hint)
    return error


def _chunk(words: Sequence[tuple[str, str]], place: int) -> Iterator[str]:
    """The words from `place` to the next joining word."""
    started = False
    for typed, folded in words[place:]:
        if folded in _JOINING or folded in {"except", "excluding", "without", "minus"}:
            if started:
                return
            continue
        started = True
        yield typed
