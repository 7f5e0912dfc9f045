"""What the world knows a business by: its bank account and how it stands towards value added tax.

Whether an IBAN or a tax number is a real one needs a library, so it is checked by `bizkit.exchange.identifiers`.
"""

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Annotated, Final, NotRequired, TypedDict

from bizkit.domain.documents.base import Bank as BankOnPaper
from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.keys import Key
from bizkit.domain.inputs.reading import Table
from bizkit.domain.tables.tax_rates import WITHOUT_TAX
from bizkit.domain.tables.vat_area import EU, vat_prefix

ACCOUNTING: Final = ("invoice", "cash")
#: What the fee of a cancelled job is to the tax: pay, or damages.
TAXED, UNTAXED = "taxed", "untaxed"
FEE_TAX: Final = (TAXED, UNTAXED)
#: Countries whose VAT numbers begin with letters (Directive 2006/112/EC article 215; United Kingdom by custom).
LETTERED: Final = EU | {"GB"}


def compact(text: str) -> str:
    """Without spaces, dots and hyphens, in capitals.

    >>> compact("gb29 nwbk 6016 1331 9268 19")
    'GB29NWBK60161331926819'
    """
    return re.sub(r"[\s.\-]", "", text).upper()


def spaced(text: str) -> str:
    """An IBAN or creditor reference in groups of four.

    >>> spaced("GB29NWBK60161331926819")
    'GB29 NWBK 6016 1331 9268 19'
    """
    plain = "".join(text.split())
    return " ".join(plain[i : i + 4] for i in range(0, len(plain), 4))


def sort_code(digits: str) -> str:
    """A sort code as it is printed on cards and statements.

    >>> sort_code("601613")
    '60-16-13'
    """
    return "-".join(digits[at : at + 2] for at in range(0, len(digits), 2))


def _sort_code(given: str) -> str:
    return _digits(given, 6, "a sort code of 6 digits, such as 60-16-13")


def _account_number(given: str) -> str:
    shorter = compact(given).isdigit() and len(compact(given)) < 8
    hint = "A shorter one is filled with zeros in front" if shorter else ""
    return _digits(given, 8, "an account number of 8 digits, such as 31926819", hint)


def _digits(given: str, count: int, wanted: str, hint: str = "") -> str:
    digits = compact(given)
    if not (digits.isascii() and digits.isdigit() and len(digits) == count):
        raise BadInput(wanted=wanted, got=given, hint=hint)
    return digits


@dataclass(frozen=True, slots=True)
class Bank:
    """Where money is paid to. `iban` and `bic` without spaces, in capitals; empty where there is none.

    sort_code (6 digits), account_number (8 digits): what payers in the United Kingdom type; both or neither. Their
    check digits need the banks' own tables, so only the lengths are held.
    """

    account_name: Annotated[str, Key("Whose account it is.")] = ""
    iban: Annotated[str, Key("The account.", rule=compact, example="GB29 NWBK 6016 1331 9268 19")] = ""
    bic: Annotated[str, Key("The bank's code (ISO 9362).", rule=compact, example="NWBKGB2L")] = ""
    bank: Annotated[str, Key("What the bank is called.")] = ""
    sort_code: Annotated[
        str, Key("United Kingdom: what clients at home pay by.", rule=_sort_code, example="60-16-13")
    ] = ""
    account_number: Annotated[
        str, Key("United Kingdom: the number that goes with the sort code.", rule=_account_number, example="31926819")
    ] = ""

    def settled(self, at: Table) -> "Bank":
        """Sort code and account number come together."""
        for name, other in (("sort_code", "account_number"), ("account_number", "sort_code")):
            if getattr(self, other) and not getattr(self, name) and not at.says(name):
                at.problem(name, f"the {name.replace('_', ' ')} that goes with {other}", "nothing")
        return self

    @property
    def has_account(self) -> bool:
        """Whether there is an account that a machine can pay to."""
        return bool(self.iban or self.account_number)

    @property
    def names_two(self) -> bool:
        """Whether sort code and account number are others than those inside a British IBAN, which ends in both."""
        digits = self.sort_code + self.account_number
        return bool(digits and self.iban.startswith("GB") and self.iban[8:] != digits)

    def data(self) -> BankOnPaper:
        """The document's `bank` member."""
        return {**self.numbers(), "account_name": self.account_name, "bank": self.bank}

    def numbers(self) -> "PayTo":
        """The numbers that somebody pays to, for a document; sort code and account number where there are some."""
        found: PayTo = {"iban": self.iban, "bic": self.bic}
        if self.account_number:
            found["sort_code"], found["account_number"] = self.sort_code, self.account_number
        return found


@dataclass(frozen=True, slots=True)
class TaxStatus:
    """How the studio stands towards value added tax (or what its country calls it).

    registered: whether it charges the tax at all. registered_from: first day (inclusive) it did, None for always.
    number: of the tax itself, with the country's letters ("GB980780684"). local_number: what the tax office knows the
    business by where that is no such number, as the German Steuernummer. standard_rate, reduced_rate: percent, None
    to take the dated table's. accounting: tax falls due by "invoice" or, in a cash scheme, by payment ("cash").
    flat_rate: percent of a flat-rate scheme applied to gross turnover, None outside it.
    cancelling_fee: see `services/billing/fee_tax`.
    note, reverse_charge_note, outside_scope_note: own wording where no tax is charged because the studio is not
    registered, the client abroad accounts for it, or the supply is outside the tax's scope; empty for the usual ones.
    """

    registered: Annotated[bool, Key("Whether you charge value added tax.")] = False
    registered_from: Annotated[date | None, Key("First day of the registration; without it, always.")] = None
    name: Annotated[str, Key("What your country calls the tax.", example="VAT")] = "VAT"
    number: Annotated[str, Key("Your number of this tax.", rule=compact, example="GB980780684")] = ""
    local_number: Annotated[str, Key("What the tax office knows you by, as the Steuernummer.")] = ""
    standard_rate: Annotated[
        Decimal | None,
        Key("The usual rate; without it that of the dated table of your country.", "percent", most=100),
    ] = None
    reduced_rate: Annotated[Decimal | None, Key("The reduced rate; without it the table's.", "percent", most=100)] = (
        None
    )
    accounting: Annotated[
        str, Key("Whether tax falls due by invoice, or by payment in a cash scheme.", choices=ACCOUNTING)
    ] = "invoice"
    flat_rate: Annotated[
        Decimal | None, Key("The rate of a flat-rate scheme, of turnover with tax.", "percent", most=100)
    ] = None
    cancelling_fee: Annotated[
        str,
        Key(
            "Whether a cancelled job's fee bears the tax; if unsaid, only Germany's is free, before any work.",
            choices=FEE_TAX,
        ),
    ] = ""
    note: Annotated[str, Key("Your own words where no tax is charged as you are not registered.")] = ""
    reverse_charge_note: Annotated[str, Key("Your own words where the client abroad accounts for the tax.")] = ""
    outside_scope_note: Annotated[str, Key("Your own words where a supply is outside the tax.")] = ""

    def settled(self, at: Table) -> "TaxStatus":
        """Who is registered has a number of either kind."""
        if self.registered and not (self.number or self.local_number):
            at.problem("number", "the tax number of a registered studio", "nothing", "Or set registered = false")
        return self

    def registered_on(self, day: date) -> bool:
        """Whether the studio charges tax on that day."""
        return self.registered and (self.registered_from is None or day >= self.registered_from)

    def number_on(self, day: date, country: str) -> str:
        """The tax number as a paper of that day shows it: none before the registration it comes with.

        A studio that is not registered at all shows its number where such numbers are given without (a small business
        of the European Union), not in the United Kingdom.
        """
        if self.registered_on(day) or (not self.registered and country not in _REGISTERED_ONLY):
            return self.number
        return ""


#: Where a VAT number belongs to a registered business alone: who is not registered may not show one (VAT Act 1994
#: Schedule 11 paragraph 2 and section 67, from memory). Elsewhere one is also given to who charges no tax.
_REGISTERED_ONLY: Final = ("GB", "IM")


def tax_number(text: str, country: str) -> str:
    """A tax number without spaces, with the country's letters where the country writes them before VAT numbers.

    Only the shape is put right; whether the number is a real one is another question. Numbers of countries outside
    the VAT areas of the European Union and the United Kingdom stay as they are.

    >>> tax_number("980 7806 84", "GB")
    'GB980780684'
    """
    number = compact(text)
    prefix = vat_prefix(country)
    if not number or country not in LETTERED or number.startswith((prefix, "XI")):
        return number
    return prefix + number


def is_vat_number(number: str, country: str) -> bool:
    """Whether a tax number is one of value added tax, which begins with the letters of its country (EN 16931
    BR-CO-09), and not a number of another kind or of a country without that tax.

    >>> is_vat_number("GB980780684", "GB"), is_vat_number("12-3456789", "US")
    (True, False)
    """
    return country not in WITHOUT_TAX and number.startswith((country, vat_prefix(country), "XI"))


class PayTo(TypedDict):
    """The numbers of an account. sort_code, account_number: of the United Kingdom."""

    iban: str
    bic: str
    sort_code: NotRequired[str]
    account_number: NotRequired[str]
