"""Names of people and things as they are compared."""

from __future__ import annotations

import unicodedata


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
