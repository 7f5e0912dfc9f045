"""What in a mail is politeness and no note: its greeting, its farewell, what a telephone puts under it.

Only what can be nothing else is taken for one; whatever is left out of the notes is shown to whoever takes them in.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

#: A name, or a word that stands for some people; names begin with a capital.
_WHO = r"(?:(?-i:[A-ZÀ-Þ])[\w'’.-]*|all|both|team|everyone|everybody|there|folks|again|and|und|&)"
_GREETING = re.compile(
    r"(?:hi|hiya|hello|hey|dear|(?:good )?(?:morning|afternoon|evening)|hallo|liebe[rs]?|guten (?:morgen|tag)|moin)"
    rf"(?:[,\s]+{_WHO}){{0,5}}\s*[,!:]?",
    re.IGNORECASE,
)
_THANKS = re.compile(
    r"(?:(?:many |so many )?thanks(?: again| a lot| so much)?|thank you(?: again| so much)?|thx|cheers"
    rf"|vielen dank|danke(?: schön)?)(?:[,\s]+{_WHO}){{0,3}}\s*[,!.]*",
    re.IGNORECASE,
)
_FAREWELL = re.compile(
    r"(?:(?:with )?(?:kind|best|warm|many) (?:regards|wishes)|regards|all the best|best|yours(?: sincerely| truly)?"
    r"|sincerely|speak soon|talk soon|love|x{2,3}|(?:mit )?(?:vielen?|lieben?|besten?|freundlichen?) gr[uü](?:ß|ss)"
    r"e?n?"
    rf"|lg|mfg)(?:\s*,\s*{_WHO}(?: {_WHO}){{0,2}})?\s*[,!.]*",
    re.IGNORECASE,
)
_SENT_FROM = re.compile(r"(?:sent|gesendet)(?: with .{1,40})? (?:from|von|via) \S.{0,60}", re.IGNORECASE)
_NAME = re.compile(r"[A-ZÀ-Þ][\w'’-]*(?: [A-ZÀ-Þ][\w'’.-]*){0,2}")
#: The line under which mail programs put a signature (RFC 3676, 4.3).
_SIGNATURE = "-- "


def polite_lines(lines: Sequence[str]) -> set[int]:
    """Numbers, from 0, of the lines that are no notes.

    >>> polite_lines(["Hi Ailsa,", "", "0:12 brighter", "", "Thanks", "Una", "Sent from my phone"])
    {0, 4, 5, 6}
    """
    found: set[int] = set()
    before = None
    for number, raw in enumerate(lines):
        line = " ".join(raw.split())
        if raw == _SIGNATURE:
            return found | {each for each in range(number, len(lines)) if lines[each].strip()}
        if not line:
            continue
        greets = before is None and _GREETING.fullmatch(line)
        leaves = _signs_off(line) or _SENT_FROM.fullmatch(line)
        signs = before is not None and _signs_off(before) and _NAME.fullmatch(line)
        if greets or leaves or signs:
            found.add(number)
        before = line
    return found


def _signs_off(line: str) -> bool:
    return bool(_THANKS.fullmatch(line) or _FAREWELL.fullmatch(line))
