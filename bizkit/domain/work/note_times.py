"""Times as people write them into mails: where one stands in a line, and what is no time of the film at all.

0:45  @0:45  TC 00:01:23:12  1m23s  83s  1'23"  0:23-31  From 0:23 to 0:31  0:45ish  (1:12)  The gull at 1:23
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

_COLONS = r"\d{1,2}[:;]\d{2}(?:[:;]\d{2}(?:[:;]\d{2,3})?)?(?:[.,]\d{1,3})?(?!\d|[:;]\d)"
_LETTERS = r"(?:\d{1,2}\s?h\s?)?\d{1,3}\s?m(?:in)?\.?\s?\d{1,2}\s?s(?:ecs?)?\b"
_SECONDS = r"\d{1,4}(?:[.,]\d{1,3})?\s?s(?:ecs?)?\b"
_PRIMES = r"\d{1,3}['’′]\s?\d{2}(?:[\"”″]|''|’’)"
_SURE = rf"(?:{_COLONS}|{_LETTERS}|{_PRIMES})"
_TIME = rf"(?:{_COLONS}|{_LETTERS}|{_PRIMES}|{_SECONDS})"
_BEFORE = r"(?:at|@|from|between|around|about|near|approx\.?|circa|ca\.?|tc|t/c|timecode|~)"
_JOIN = r"\s*(?:-+>?|–|—|→|to|until|till|and)\s*"
_ROUGHLY = r"(?:-?ish\b|\s(?:or so|approx\b\.?))?"
#: Behind a time: it is one of the day and not of the film.
_OF_DAY = re.compile(
    r"\s*(?:[ap]\.?m\b\.?|noon\b|midnight\b|o['’]?clock\b|hrs?\b|uhr\b|gmt\b|bst\b|utc\b|cest?\b"
    r"|(?:on |this |next )?(?:mon|tues|wednes|thurs|fri|satur|sun)day\b|(?:today|tomorrow|tonight)\b)",
    re.ASCII | re.IGNORECASE,
)
#: Behind plain seconds or a shape: it is the length or the shape of something ("60s version", "10s of black").
_OF_A_CUT = re.compile(
    r"\s*(?:(?:version|cut|cut-?down|edit|film|spot|teaser|loop|crop|aspect|ratio|format)s?"
    r"|of|too|long|longer|short|shorter|more|less|earlier|later|fade|pause)\b",
    re.IGNORECASE,
)
#: Shapes of pictures that look like times.
_SHAPES = ("9:16", "1:85", "1:91", "2:35", "2:39")
_BULLET = r"(?:(?:[-*•]|\d{1,3}[.)])\s+)?"
_LEADING = re.compile(
    rf"{_BULLET}(?:{_BEFORE}\s*:?\s*){{0,3}}[\[(]?(?P<from>{_TIME}){_ROUGHLY}"
    rf"(?:{_JOIN}(?P<to>{_TIME}){_ROUGHLY}|-(?P<short>\d{{2}})(?![\d:;.,]))?"
    r"(?P<rest>.*)",
    re.ASCII | re.IGNORECASE | re.DOTALL,
)
_PUNCTUATION = re.compile(r"[\])]?\s*[-–—:,.|]*\s*", re.ASCII)
_INSIDE = re.compile(
    rf"(?:^|[\s(\[,])(?:{_BEFORE}\s*(?P<a>{_SURE})|(?:at|@)\s?(?P<b>{_SECONDS}))(?:{_ROUGHLY}{_JOIN}(?P<to>{_TIME}))?"
    rf"|[\[(]\s*(?P<c>{_SURE})(?:{_JOIN}(?P<to2>{_TIME}))?"
    rf"|(?:^|\s)(?P<d>{_SURE})(?:{_JOIN}(?P<to3>{_SURE}))?\s*[.!?)\]]*$",
    re.ASCII | re.IGNORECASE,
)
_IN_SECONDS = re.compile(
    r"(?:(?:(?P<h>\d{1,2})\s?h\s?)?(?P<m>\d{1,3})\s?(?:m(?:in)?\.?\s?|['’′]\s?))?"
    r"(?P<s>\d{1,4}(?:[.,]\d{1,3})?)\s?(?:s(?:ecs?)?|[\"”″]|''|’’)",
    re.ASCII | re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class TimedLine:
    """A line with a time of the film in it. starts, ends: as written; ends is empty without a range.

    text: what is said; of a line that begins with its time what comes after it, else the whole line. Plain seconds
    ("83s") stay in it, as they may be a length.
    """

    starts: str
    ends: str
    text: str


def leading_time(line: str) -> TimedLine | None:
    """The time a line begins with, behind a bullet or a word such as "at" or "from"; None without one.

    >>> leading_time("0:23-31 trim")
    TimedLine(starts='0:23', ends='0:31', text='trim')
    >>> leading_time("1:23pm call"), leading_time("60s version: other music")
    (None, None)
    """
    found = _LEADING.fullmatch(line)
    if found is None:
        return None
    rest = found["rest"]
    last = found["to"] or found["from"]
    lone = not found["to"] and not found["short"]
    if _OF_DAY.match(rest) or (lone and _OF_A_CUT.match(rest) and _is_short(found["from"])):
        return None
    if rest[:1].isalnum() and last[-1:].isalnum():
        return None  # "0:45pt": part of a word
    ends = found["to"] or (f"{found['from'][:-2]}{found['short']}" if found["short"] else "")
    said = _PUNCTUATION.sub("", rest, count=1) if _PUNCTUATION.match(rest) else rest
    if re.fullmatch(_SECONDS, found["from"], re.ASCII | re.IGNORECASE) and said:
        said = re.sub(rf"^{_BULLET}", "", line)
    return TimedLine(found["from"], ends, said)


def _is_short(time: str) -> bool:
    """Whether a time may as well be a length or a shape: plain seconds, or two numbers as in 9:16."""
    return time in _SHAPES or re.fullmatch(_SECONDS, time, re.ASCII | re.IGNORECASE) is not None


def time_inside(line: str) -> TimedLine | None:
    """The first time of the film that a line has elsewhere: behind "at" or its like, in brackets, or at its end.

    >>> time_inside("The gull at 1:23")
    TimedLine(starts='1:23', ends='', text='The gull at 1:23')
    """
    for found in _INSIDE.finditer(line):
        rest = line[found.end() :]
        starts = found["a"] or found["b"] or found["c"] or found["d"]
        ends = found["to"] or found["to2"] or found["to3"] or ""
        shape = not ends and _is_short(starts) and _OF_A_CUT.match(rest)
        if not (_OF_DAY.match(rest) or shape or rest[:1].isalnum()):
            return TimedLine(starts, ends, line)
    return None


def speaks_of_a_time(line: str) -> bool:
    """Whether anything in a line looks like a time, of the film or of the day."""
    return re.search(rf"(?<![\d:;]){_SURE}", line, re.ASCII | re.IGNORECASE) is not None


def in_seconds(time: str) -> Fraction | None:
    """Seconds of a time in letters or primes ("1m23s", "83s", 1'23"); None for another form.

    >>> in_seconds("1m23s"), in_seconds("83s"), in_seconds("1:23")
    (Fraction(83, 1), Fraction(83, 1), None)
    """
    found = _IN_SECONDS.fullmatch(time.strip())
    if found is None:
        return None
    hours, minutes = int(found["h"] or 0), int(found["m"] or 0)
    seconds = Fraction(found["s"].replace(",", "."))
    if found["m"] and seconds >= 60:
        return None
    return (hours * 60 + minutes) * 60 + seconds
