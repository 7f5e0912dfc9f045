"""Names of people and things as they are compared."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
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
    shown = "".join(sign for sign in plain if unicodedata.category(sign) != "Cf")
    return " ".join(shown.split())


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
