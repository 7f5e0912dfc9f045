"""Names of people and things as they are compared."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import lru_cache


def same_name(name: str) -> str:
    """A name as compared: one space between words, no capitals, one way of writing an accent.

    However it was typed - capitals, spaces, an accent as one sign or two, an invisible sign in it - it is one name
    (Unicode Standard, section 3.13: caseless matching by NFKC).

    >>> same_name(" Eilidh  RENDALL")
    'eilidh rendall'
    >>> same_name("Zoe\\u0308 Mu\\u0308ller") == same_name("ZO\\u00cb\\u00a0M\\u00dcLLER")
    True
    """
    plain = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())
    return " ".join(shown(plain).split())


def as_key(name: str) -> str:
    """A name in lower-case letters, digits and hyphens, as keys and the files called by them are written.

    >>> as_key("Skerrow Islands Tourism")
    'skerrow-islands-tourism'
    """
    return re.sub(r"[^a-z0-9]+", "-", near_letters(name)).strip("-")


def shown(text: str) -> str:
    """A text without the signs in it that are not seen: joiners, fillers, marks of direction, variants.

    >>> shown("Eilidh\u200b Ren\u00addall") == "Eilidh Rendall"
    True
    """
    return "".join(sign for sign in text if unicodedata.category(sign) != "Cf" and not _UNSEEN.match(sign))


def near_name(name: str) -> str:
    """A name without what two people write differently though they mean one: accents, hyphens, apostrophes.

    Two names that are alike here need not be one person's, so somebody is asked.

    >>> near_name("Zo\u00eb O'Brien-M\u00fcller") == near_name("zoe obrien muller")
    True
    """
    return "".join(sign for sign in near_letters(name) if sign.isalnum())


def near_letters(name: str) -> str:
    """A name in letters that every keyboard has, as far as there are such."""
    letters = unicodedata.normalize("NFKD", same_name(name)).translate(_PLAIN)
    return "".join(sign for sign in letters if not unicodedata.combining(sign))


#: How much of two words is the same where one is most likely a slip of the other.
_NEARLY = 0.85


def nearly_same(one: str, other: str) -> bool:
    """Whether two names are not the same and yet so near that one may be a slip of the other.

    >>> nearly_same("Rowan Larc", "Rowan Lark"), nearly_same("Turism", "tourism"), nearly_same("Tourism", "tourism")
    (True, True, False)
    >>> nearly_same("Una Flett", "Eilidh Rendall")
    False
    """
    first, second = same_name(one), same_name(other)
    if not first or not second or first == second:
        return False
    return near_name(one) == near_name(other) or SequenceMatcher(None, first, second).ratio() >= _NEARLY


def alphabets(name: str) -> list[str]:
    """The alphabets that the letters of a name are of, of those whose letters look alike.

    A name in two of them looks like another's and is none (Unicode Technical Standard 39, section 5).

    >>> alphabets("Finn"), alphabets("\u0424\u0438\u043d\u043d"), alphabets("F\u0456nn")
    (['Latin'], ['Cyrillic'], ['Cyrillic', 'Latin'])
    """
    found = {unicodedata.name(sign, "").partition(" ")[0].title() for sign in name if sign.isalpha()}
    return sorted(found & {"Latin", "Cyrillic", "Greek", "Armenian", "Cherokee"})


#: Signs of other kinds than format characters that are not seen: Default_Ignorable_Code_Point (Unicode Character
#: Database, DerivedCoreProperties.txt, from memory).
_UNSEEN = re.compile(
    "[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u2065\u3164\ufe00-\ufe0f\uffa0\ufff0-\ufff8\U000e0000-\U000e0fff]"
)
#: Letters that have no accent to take off, and how they are written without them.
_PLAIN = str.maketrans({"ø": "o", "đ": "d", "ð": "d", "ł": "l", "æ": "ae", "œ": "oe", "þ": "th", "ħ": "h", "ı": "i"})


@dataclass(frozen=True, slots=True)
class Spelling:
    """A name as it is looked for in a text: any capitals and spaces, an accent as one sign or two, whole words.

    others: other people's names; where one of them contains this name, it is theirs and is passed over.
    """

    name: str
    others: tuple[str, ...] = ()

    def stands_in(self, text: str) -> bool:
        """Whether the text holds the name.

        >>> Spelling("Zoe\\u0308 Ash").stands_in("asked by ZO\\u00cb  ASH today")
        True
        >>> Spelling("Ann Lee").stands_in("Joann Lees")
        False
        """
        return any(match.lastgroup == "own" for match in self._matches(text))

    def taken_out(self, text: str, put: str) -> str:
        """The text with `put` in place of the name; unchanged where it does not hold it.

        >>> Spelling("Finn Ash", ("Finn Ash (the younger)",)).taken_out("finn ash and Finn Ash (the younger)", "X")
        'X and Finn Ash (the younger)'
        """
        if not self.stands_in(text):
            return text
        plain = unicodedata.normalize("NFC", text)
        return self._pattern.sub(lambda match: put if match.lastgroup == "own" else match.group(), plain)

    @property
    def _pattern(self) -> re.Pattern[str]:
        return _pattern_of(self.name, self.others)

    def _matches(self, text: str) -> Iterator[re.Match[str]]:
        return self._pattern.finditer(unicodedata.normalize("NFC", text))


@lru_cache(maxsize=64)
def _pattern_of(name: str, others: tuple[str, ...]) -> re.Pattern[str]:
    longer = [one for one in others if len(one) > len(name) and Spelling(name).stands_in(one)]
    theirs = [_words(one) for one in sorted(longer, key=len, reverse=True)]
    return re.compile("|".join([*theirs, f"(?P<own>{_words(name)})"]), re.IGNORECASE)


def _words(name: str) -> str:
    """The words of a name as plain text or as JSON writes them, between other letters."""
    words = unicodedata.normalize("NFC", name).split()
    plain = r"\s+".join(re.escape(word) for word in words)
    written = r"\s+".join(re.escape(json.dumps(word, ensure_ascii=False)[1:-1]) for word in words)
    around = rf"(?<!\w)(?:{plain}|{written})"
    return around + (r"(?!\w)" if words and words[-1][-1].isalnum() else "")
