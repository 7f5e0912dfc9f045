"""Whether captions are in a language asked for, whichever of its codes each side uses."""

from __future__ import annotations

from collections.abc import Collection

from bizkit.domain.tables.languages import TWO_LETTERS


def same_language(wanted: str, found: str) -> bool:
    """Whether `found` is the language `wanted`, or a variant of it (BCP 47: language, then script and region).

    Codes of two and of three letters (ISO 639-1, 639-2) are the same. A variant that is asked for must be found,
    unless `found` has no more than the language, as MP4 and QuickTime can say no more.

    >>> [same_language(*pair) for pair in (("en", "eng"), ("en", "en-GB"), ("ger", "de"), ("en", "de"))]
    [True, True, True, False]
    >>> same_language("pt-BR", "pt-PT"), same_language("pt-BR", "por")
    (False, True)
    """
    asked, *more = _parts(wanted)
    told, *variant = _parts(found)
    return asked == told and (not variant or set(more) <= set(variant))


def language_in_name(name: str) -> str:
    """The code before the ending of a caption file's name, or "" where there is none.

    >>> language_in_name("film_v1.en-GB.srt"), language_in_name("film_v1.srt")
    ('en-GB', '')
    """
    parts = name.rpartition("/")[2].split(".")
    return parts[-2] if len(parts) > 2 else ""


def lacking(wanted: Collection[str], found: Collection[str], *, unmarked: bool = False) -> list[str]:
    """The languages of `wanted` that none of `found` is. unmarked: captions that say no language meet a lone one."""
    if unmarked and len(wanted) == 1 and "" in found:
        return []
    return [code for code in wanted if not any(told and same_language(code, told) for told in found)]


def _parts(code: str) -> list[str]:
    first, *more = code.strip().lower().replace("_", "-").split("-")
    return [TWO_LETTERS.get(first, first), *more]
