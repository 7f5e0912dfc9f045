"""How a bank writes its CSV statements: which column is what, and in what form.

[statement.harbour-bank]   # a name of the studio's choice, one table per account
date = "Date"              # the heading of each column; amount, or paid_in and paid_out
amount = "Amount"          # or paid_in and paid_out: money in and out in a column each
text = "Description"
name = "Counterparty"      # optional, as are reference, currency and id (the bank's own name of a movement)
date_format = "dd/mm/yyyy"
decimal_comma = false
encoding = "auto"
skip = 0                   # lines before the headings
iban = "GB29 NWBK 6016 1331 9268 19"  # whose account it is, where its camt.053 files are read as well
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bizkit.domain.fields import Fields
from bizkit.domain.registrations import compact

#: Name of a form of dates -> the pattern it has.
DATE_FORMATS: Final[dict[str, str]] = {
    "yyyy-mm-dd": r"(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})",
    "yyyy/mm/dd": r"(?P<y>\d{4})/(?P<m>\d{1,2})/(?P<d>\d{1,2})",
    "yyyymmdd": r"(?P<y>\d{4})(?P<m>\d{2})(?P<d>\d{2})",
    "dd/mm/yyyy": r"(?P<d>\d{1,2})/(?P<m>\d{1,2})/(?P<y>\d{4}|\d{2})",
    "dd.mm.yyyy": r"(?P<d>\d{1,2})\.(?P<m>\d{1,2})\.(?P<y>\d{4}|\d{2})",
    "dd-mm-yyyy": r"(?P<d>\d{1,2})-(?P<m>\d{1,2})-(?P<y>\d{4}|\d{2})",
    "mm/dd/yyyy": r"(?P<m>\d{1,2})/(?P<d>\d{1,2})/(?P<y>\d{4}|\d{2})",
    "dd mmm yyyy": r"(?P<d>\d{1,2})[ -](?P<b>[A-Za-z]{3})[ -](?P<y>\d{4}|\d{2})",
}
ENCODINGS: Final = ("auto", "utf-8", "utf-16", "cp1252", "iso-8859-1", "iso-8859-15", "cp1250", "cp437", "mac-roman")


@dataclass(frozen=True, slots=True)
class StatementColumns:
    """How a bank writes its file; see the top of the module. Empty column names are not there.

    date_format: one of `DATE_FORMATS`. encoding: one of `ENCODINGS`. skip: lines before the headings.
    iban: of the account, without spaces.
    """

    date: str
    amount: str = ""
    paid_in: str = ""
    paid_out: str = ""
    text: str = ""
    name: str = ""
    reference: str = ""
    currency_column: str = ""
    id: str = ""
    date_format: str = "dd/mm/yyyy"
    decimal_comma: bool = False
    encoding: str = "auto"
    skip: int = 0
    iban: str = ""

    @classmethod
    def read(cls, fields: Fields) -> StatementColumns:
        """From a `[statement.NAME]` table. Raises BadInput, also when neither or both ways of amounts are given."""
        columns = cls(
            date=fields.text("date"),
            amount=fields.text("amount", "", blank=True),
            paid_in=fields.text("paid_in", "", blank=True),
            paid_out=fields.text("paid_out", "", blank=True),
            text=fields.text("text", "", blank=True),
            name=fields.text("name", "", blank=True),
            reference=fields.text("reference", "", blank=True),
            currency_column=fields.text("currency", "", blank=True),
            id=fields.text("id", "", blank=True),
            date_format=fields.choice("date_format", tuple(DATE_FORMATS), "dd/mm/yyyy"),
            decimal_comma=fields.flag("decimal_comma", False),
            encoding=fields.choice("encoding", ENCODINGS, "auto"),
            skip=fields.whole("skip", 0, most=100),
            iban=compact(fields.text("iban", "", blank=True)),
        )
        fields.done()
        if bool(columns.amount) == bool(columns.paid_in or columns.paid_out):
            raise fields.wrong(
                "amount", "either amount, or paid_in and paid_out", "both" if columns.amount else "neither"
            )
        return columns
