"""What in a mail is no note: greeting and farewell, signatures, the mail that it answers, lines drawn between notes.

Only what can be nothing else is taken for one; whatever is left out of the notes is shown to whoever takes them in.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence

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
#: The line under which mail programs put a signature (RFC 3676, 4.3); some leave its blank out.
_SIGNATURE = "-- "
_DRAWN = re.compile(r"[-–—_=*~#.]{2,}")
#: What stands over the mail that is answered, on a line or two.
_ANSWERED = re.compile(
    r"(?:on\b.{3,200}(?:(?-i:[A-ZÀ-Þ])\S*|[>)]) wrote|am\b.{3,200}\bschrieb (?-i:[A-ZÀ-Þ]).{0,80}"
    r"|(?-i:[A-ZÀ-Þ]).{2,80}<\S+@\S+> (?:wrote|schrieb))\s*:",
    re.IGNORECASE,
)
_FORWARDED = re.compile(
    r"-+ ?(?:original message|forwarded message|ursprüngliche nachricht|weitergeleitete nachricht) ?-+"
    r"|begin forwarded message:",
    re.IGNORECASE,
)


def not_notes(lines: Sequence[str], timed: Callable[[str], bool]) -> set[int]:
    """Numbers, from 0, of the lines that are no notes. timed: whether a line begins with a time.

    A line that begins with `>` is quoted. Below `On ... wrote:` everything is, where the next line is not marked so.

    >>> sorted(not_notes(["Hi Ailsa,", "", "0:12 brighter", "", "Thanks", "Una", "Sent from my phone"], bool))
    [0, 4, 5, 6]
    >>> sorted(not_notes(["0:12 brighter", "On Monday Ailsa Gannet wrote:", "> Here is v1"], bool))
    [1, 2]
    """
    found: set[int] = set()
    for number, raw in enumerate(lines):
        line = raw.strip()
        below = [each for each in range(number + 1, len(lines)) if lines[each].strip()]
        signed = raw == _SIGNATURE or (line == "--" and not any(timed(lines[each]) for each in below))
        if signed or _FORWARDED.fullmatch(line):
            return found | _polite(lines[:number]) | {number, *below}
        if line.startswith(">") or _DRAWN.fullmatch(line):
            found.add(number)
        over = next((to for to in (1, 2) if line and _ANSWERED.fullmatch(_joined(lines[number : number + to]))), 0)
        if over:
            found |= set(range(number, number + over))
            rest = [each for each in below if each >= number + over]
            if rest and not lines[rest[0]].strip().startswith(">"):
                return found | _polite(lines[:number]) | set(rest)
    return found | _polite(lines, found)


def _polite(lines: Sequence[str], quoted: Collection[int] = ()) -> set[int]:
    """Numbers of the lines of greeting and farewell, those quoted passed over."""
    found: set[int] = set()
    before = None
    for number, raw in enumerate(lines):
        line = " ".join(raw.split())
        if not line or number in quoted:
            continue
        greets = before is None and _GREETING.fullmatch(line)
        leaves = _signs_off(line) or _SENT_FROM.fullmatch(line)
        signs = before is not None and _signs_off(before) and _NAME.fullmatch(line)
        if greets or leaves or signs:
            found.add(number)
        before = line
    return found


def _joined(lines: Sequence[str]) -> str:
    return " ".join(" ".join(lines).split())


def _signs_off(line: str) -> bool:
    return bool(_THANKS.fullmatch(line) or _FAREWELL.fullmatch(line))
