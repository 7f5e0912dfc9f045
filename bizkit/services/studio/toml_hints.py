"""What somebody may have meant by a line that TOML does not know, and how it is written."""

from __future__ import annotations

import re

from bizkit.domain.dates import day_meant
from bizkit.domain.typed_numbers import readings

#: Quotes that word processors write, of which TOML knows none.
_CURLY = re.compile("[\u2018\u2019\u201a\u201c\u201d\u201e\u00ab\u00bb]")


_LINE = "A line is KEY = VALUE, or begins with # where it is a remark"


def place_of(text: str, error: str) -> tuple[int, str]:
    """The number of the line that an error is about, and the line; the last one written where it says none."""
    lines = text.split("\n")
    found = re.search(r"at line (\d+)", error)
    number = int(found[1]) if found else next((n for n in range(len(lines), 0, -1) if lines[n - 1].strip()), 1)
    return number, lines[number - 1].strip() if number <= len(lines) else ""


def meant(text: str, error: str) -> str:
    """What to write instead, by the line and what is wrong with it.

    >>> meant("[post]\\nx = 1\\n[[post]]\\ny = 1", "Cannot overwrite a value (at line 3, column 7)")
    'post stands there twice: write [[post]] each time where several are meant, else leave one of them out'
    >>> meant("title = Follow the Kelp", "Invalid value (at line 1, column 9)")
    'Text stands in straight quotes: title = "Follow the Kelp"'
    """
    _, line = place_of(text, error)
    line = re.sub(r"\s+#.*", "", line)
    key, _, value = (part.strip() for part in line.partition("="))
    if re.match(r"Cannot (overwrite|declare|mutate)", error):
        name = line.strip("[] ") if line.startswith("[") else key
        rows = f"write [[{name}]] each time where several are meant, else " if line.startswith("[") else ""
        return f"{name} stands there twice: {rows}leave one of them out"
    number = re.fullmatch(r"([+-]?)0*([0-9]*)(?:[.]([0-9]*))?", value)
    said = day_meant(value) or (readings(value) if re.fullmatch(r"[+-]?[0-9][0-9.,]*", value) else "")
    if said:
        return said
    if number and value:
        return f"A number is written {_number(*number.groups())}" if _of_value(error) else _LINE
    if _CURLY.search(line):
        return f"Only straight quotes count: {_CURLY.sub(chr(34), line)}"
    if value.lower() in ("true", "false", "yes", "no"):
        return f"Write {key} = {'true' if value.lower() in ('true', 'yes') else 'false'}, in small letters, no quotes"
    if error.startswith("Unescaped '\\'"):
        return "A backslash is written twice: \\\\"
    if error.startswith("Unclosed") or error.startswith("Expected ']'"):
        return "A bracket that is opened there, or before, is not closed"
    if "Unterminated" in error or error.startswith("Illegal character"):
        return "A quote that is opened there, or before, is not closed"
    alone = re.fullmatch(r"\D{0,4}?([0-9]+(?:[.][0-9]+)?)\D{0,4}", value)
    if alone and '"' not in value and "'" not in value:
        return f"A number stands alone, without a currency or unit: {key} = {alone[1]}"
    if error.startswith("Invalid value") and key and value:
        return f'Text stands in straight quotes: {key} = "{value.strip(chr(34))}"'
    if error.startswith("Invalid value"):
        return f"Write what is to stand there: {key} = ..., or leave the line out"
    if error.startswith("Expected '='") or error.startswith("Invalid statement"):
        return _LINE
    if error.startswith("Expected newline"):
        return "One value ends there and something follows: text stands in one pair of quotes, a number alone"
    return ""


def _of_value(error: str) -> bool:
    return error.startswith(("Invalid value", "Expected newline"))


def _number(sign: str, whole: str, part: str | None) -> str:
    """A number with a digit on both sides of its point, and no zeros before it."""
    return f"{sign}{whole or 0}" + ("" if part is None else f".{part or 0}")
