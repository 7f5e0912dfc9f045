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

from dataclasses import dataclass
from typing import Annotated, Final

from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
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

    date: Annotated[str, Key("Heading of the column with the day of a movement.", example="Date")]
    amount: Annotated[str, Key("Heading of the amounts, money out below zero.", example="Amount")] = ""
    paid_in: Annotated[str, Key("Heading of money in, where in and out have a column each.")] = ""
    paid_out: Annotated[str, Key("Heading of money out, where in and out have a column each.")] = ""
    text: Annotated[str, Key("Heading of what the payment is for.", example="Details")] = ""
    name: Annotated[str, Key("Heading of who paid or was paid.", example="From")] = ""
    reference: Annotated[str, Key("Heading of the structured reference.")] = ""
    currency_column: Annotated[str, Key("Heading of the currency; without it the studio's.", name="currency")] = ""
    id: Annotated[str, Key("Heading of what the bank itself calls a movement.")] = ""
    date_format: Annotated[str, Key("How the bank writes days.", choices=tuple(DATE_FORMATS))] = "dd/mm/yyyy"
    decimal_comma: Annotated[bool, Key("Whether it writes 1.234,50.")] = False
    encoding: Annotated[str, Key("How the file's letters are coded.", choices=ENCODINGS)] = "auto"
    skip: Annotated[int, Key("Lines before the headings.", unit="lines", most=100)] = 0
    iban: Annotated[
        str,
        Key(
            "Whose account it is, where its camt.053 files are read as well.",
            rule=compact,
            example="GB29NWBK60161331926819",
        ),
    ] = ""

    def settled(self, at: Table) -> "StatementColumns":
        """Amounts stand in one column or in two."""
        if bool(self.amount) == bool(self.paid_in or self.paid_out):
            both = "both" if self.amount else "neither"
            at.problem("amount", "either amount, or paid_in and paid_out", both)
        return self
