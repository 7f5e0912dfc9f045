"""Text that papers, mails, calendars and databases carry: no control characters, and on one line where it is a line.

Refused where it is typed, so that nothing is stored which no paper can show: control characters (Unicode category Cc:
PostgreSQL holds no U+0000, XML 1.0 section 2.2 none of them but tab and line ends), line and paragraph separators,
lone surrogates (no UTF-8, RFC 3629 section 3), and the code points that Unicode keeps for no character, such as
U+FFFE (The Unicode Standard, section 23.7). The three sources from memory.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from bizkit.domain.errors import BadInput

#: Keys of settings files whose text may run over several lines: it is printed as a paragraph.
LONG_TEXTS: Final = frozenset(
    {"about", "conditions", "if_it_fails_words", "meaning", "note", "outside_scope_note", "reverse_charge_note",
     "summary", "terms", "text"}
)  # fmt: skip

_ENDS: Final = "\n\r\t\v\f\x85\u2028\u2029"


def check_text(text: str, *, field: str = "", where: str = "", lines: bool = False) -> str:
    """`text` as it came. lines: line ends and tabs are taken too. Raises BadInput naming the character.

    >>> check_text("Follow the Kelp", field="title")
    'Follow the Kelp'
    >>> check_text("Follow\\nthe Kelp", field="title", where="brief.toml")
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: brief.toml: title: wanted text on one line, got Follow the Kelp. It holds U+000A
    """
    for sign in text:
        if sign.isprintable() or (lines and sign in "\n\t") or not _uncarried(sign):
            continue
        wanted = "text on one line" if sign in _ENDS and not lines else "text without control characters"
        raise BadInput(wanted=wanted, got=text, field=field, where=where, hint=f"It holds U+{ord(sign):04X}")
    return text


def carried(text: str) -> str:
    """`text` with a space for each character that nothing carries: for what others write, such as a bank's statement.

    >>> carried("SKERROW\\x00TOURISM")
    'SKERROW TOURISM'
    """
    return "".join(" " if not sign.isprintable() and _uncarried(sign) else sign for sign in text)


def check_tree(tree: Mapping[str, Any], *, where: str, lines: bool = False) -> None:
    """Check every name and every text of a settings file. lines: of all texts, not only of `LONG_TEXTS`.

    Raises BadInput naming the field.
    """
    for path, key, text in _texts(tree, "", ""):
        check_text(text.strip(), field=path, where=where, lines=lines or key in LONG_TEXTS)


def _texts(value: Any, path: str, key: str) -> Iterator[tuple[str, str, str]]:
    """Each text of a tree with its dotted path and the last name in it; the names themselves under their table's."""
    if isinstance(value, str):
        yield path, key, value
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            yield path or "a name", "", name
            yield from _texts(inner, f"{path}.{name}" if path else name, name)
    elif isinstance(value, list):
        for number, inner in enumerate(value, start=1):
            yield from _texts(inner, f"{path}[{number}]" if isinstance(inner, Mapping) else path, key)


def _uncarried(sign: str) -> bool:
    code = ord(sign)
    return (
        unicodedata.category(sign) in ("Cc", "Cs", "Zl", "Zp") or code & 0xFFFE == 0xFFFE or 0xFDD0 <= code <= 0xFDEF
    )


def many(number: object, thing: str, things: str = "") -> str:
    """A number of things in words for people. things: the plural, where it is not made by an s.

    >>> many(1, "file"), many(3, "file"), many(2, "entry", "entries")
    ('1 file', '3 files', '2 entries')
    """
    return f"{number} {thing if str(number) in ('1', '-1') else things or f'{thing}s'}"


def some(names: Sequence[str], most: int = 6) -> str:
    """Names one after the other; of more than `most` the first, and how many more there are.

    >>> some(["a", "b", "c"]), some(["a", "b", "c", "d"], 3)
    ('a, b, c', 'a, b and 2 more')
    """
    if len(names) <= most:
        return ", ".join(names)
    return f"{', '.join(names[: most - 1])} and {len(names) - most + 1} more"
