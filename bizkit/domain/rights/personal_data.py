"""Personal data: on what lawful basis it is kept, for what, until when, and what must stay when somebody asks.

Behind it: UK GDPR Article 6(1) (lawful bases), Article 5(1)(e) (no longer than needed), Article 17 (erasure, and in
paragraph 3 what goes before it). Six years: Limitation Act 1980 s.5 for claims on a contract, and the usual time for
tax records (VAT Act 1994 Sch. 11 para. 6(3)); both from memory. Always check your local rules.
"""

from __future__ import annotations

from datetime import date
from typing import Final

from dateutil.relativedelta import relativedelta

#: UK GDPR Article 6(1)(a) to (f).
BASES: Final = (
    "consent",
    "contract",
    "legal obligation",
    "vital interests",
    "public task",
    "legitimate interests",
)

#: Years after the last day of a paper, or after a bill, for which it is kept.
YEARS_KEPT: Final = 6

#: Kinds of holding that are about a person: kind -> (lawful basis, purpose) where nothing else is said.
PERSON_KINDS: Final[dict[str, tuple[str, str]]] = {
    "talent_release": ("consent", "to show that pictures and sound of them may be used"),
    "performer_consent": ("consent", "to show that their performance may be used"),
    "crew_assignment": ("contract", "to show that the rights in their work passed on"),
}

#: For a parent or guardian who signs.
GUARDIAN: Final = ("legitimate interests", "to show who agreed for the child")

#: For somebody known who signs for a place or a thing.
SIGNER: Final = ("legitimate interests", "to show who gave leave")

CLAIMS: Final = "legal claims, UK GDPR Article 17(3)(e)"
TAX: Final = "tax records, UK GDPR Article 17(3)(b)"


#: The day, in the book, of what is kept as long as a licence without an end runs.
AS_LONG_AS_IT_RUNS: Final = date.max.isoformat()


def keep_until(last_day: date | None, signed_on: date) -> date:
    """The day by which what is kept about a person is erased or looked at anew.

    last_day: of what their paper allows, None when it has no end: then the years count from the signature, and on
    that day somebody decides whether the pictures are still used.
    """
    end = date.max - relativedelta(years=YEARS_KEPT)
    return min(last_day or signed_on, end) + relativedelta(years=YEARS_KEPT)
