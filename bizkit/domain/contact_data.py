"""Telephone numbers and addresses of electronic mail in a text: what must not be passed on with it.

The name of a page or an account stays: who asks for a credit asks for it by that.
"""

from __future__ import annotations

import re
from typing import Final

_MAIL: Final = re.compile(r"[^\s@<>()\[\],;:]+(?:@|\s@\s|\s?(?:\(at\)|\[at\])\s?)[\w-]+(?:\.[\w-]+)+", re.IGNORECASE)
#: Dates, times and years are no telephone numbers.
_DATE: Final = re.compile(
    r"\b\d{4}-\d{2}-\d{2}\b|\b\d{1,2}[./]\s?\d{1,2}[./]\s?\d{2,4}\b|\b\d{1,2}:\d{2}\b|\b(?:19|20)\d{2}\b"
)
_PHONE: Final = re.compile(r"(?:\+|\b00|\(|\b)\d(?:[\s()/.\u00a0\u2009\u202f\u2010-\u2013-]*\d){5,14}\b")
#: What is counted by the thousand, in English and German: a number before it is none of a telephone.
_COUNTED: Final = (
    "impressions|views|plays|streams|downloads|clicks|copies|prints|posters|postcards|flyers|units|people|viewers|"
    "visitors|listeners|readers|followers|subscribers|guests|passengers|members|households|pounds|euros?|dollars|"
    "Aufrufe|Abrufe|Abspielungen|Einblendungen|Klicks|Exemplare|Drucke|Plakate|Postkarten|Personen|Menschen|"
    "Zuschauer|Besucher|Hörer|Leser|Abonnenten|Gäste|Fahrgäste|Mitglieder|Haushalte|Pfund"
)
_COUNT: Final = re.compile(
    rf"(?<![+\d(.,])\b[1-9](?:\d{{5,8}}|\d{{0,2}}(?:([,.\u00a0\u202f ])\d{{3}})(?:\1\d{{3}})*)\s+(?:{_COUNTED})\b",
    re.IGNORECASE,
)


def contact_data(text: str) -> list[str]:
    """What in a text reads like a telephone number (of six digits or more) or an address of electronic mail.

    >>> contact_data("Eilidh sees the cut first; call her on 01632 960111 or eilidh@selkie.example")
    ['eilidh@selkie.example', '01632 960111']
    >>> contact_data("Not before 2027-07-01, 10:30; not after 31.12.2028, for 2 seasons of 24 months")
    []
    >>> contact_data("Tag @selkie.bay and www.selkie.example; up to 500000 impressions")
    []
    """
    found = [match.group() for match in _MAIL.finditer(text)]
    rest = _COUNT.sub(" , ", _DATE.sub(" , ", _MAIL.sub(" , ", text)))
    return found + [match.group().strip() for match in _PHONE.finditer(rest)]
