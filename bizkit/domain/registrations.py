"""What the world knows a business by: its bank account and how it stands towards value added tax.

Whether an IBAN or a tax number is a real one needs a library, so it is checked by `bizkit.exchange.identifiers`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Final

from bizkit.domain.fields import Fields
from bizkit.domain.tables.tax_rates import WITHOUT_TAX
from bizkit.domain.tables.vat_area import EU, vat_prefix

ACCOUNTING: Final = ("invoice", "cash")
#: Countries whose VAT numbers begin with letters (Directive 2006/112/EC article 215; United Kingdom by custom).
LETTERED: Final = EU | {"GB"}


@dataclass(frozen=True, slots=True)
class Bank:
    """Where money is paid to. `iban` and `bic` without spaces, in capitals; empty where there is none."""

    account_name: str = ""
    iban: str = ""
    bic: str = ""
    bank: str = ""

    @classmethod
    def read(cls, fields: Fields) -> Bank:
        """From the `[bank]` table."""
        bank = cls(
            account_name=fields.text("account_name", "", blank=True),
            iban=compact(fields.text("iban", "", blank=True)),
            bic=compact(fields.text("bic", "", blank=True)),
            bank=fields.text("bank", "", blank=True),
        )
        fields.done()
        return bank

    def data(self) -> dict[str, str]:
        """The document's `bank` member."""
        return {"account_name": self.account_name, "iban": self.iban, "bic": self.bic, "bank": self.bank}


@dataclass(frozen=True, slots=True)
class TaxStatus:
    """How the studio stands towards value added tax (or what its country calls it).

    registered: whether it charges the tax at all. registered_from: first day (inclusive) it did, None for always.
    number: of the tax itself, with the country's letters ("GB980780684"). local_number: what the tax office knows the
    business by where that is no such number, as the German Steuernummer. standard_rate, reduced_rate: percent, None
    to take the dated table's. accounting: tax falls due by "invoice" or, in a cash scheme, by payment ("cash").
    flat_rate: percent of a flat-rate scheme applied to gross turnover, None outside it.
    note, reverse_charge_note, outside_scope_note: own wording where no tax is charged because the studio is not
    registered, the client abroad accounts for it, or the supply is outside the tax's scope; empty for the usual ones.
    """

    registered: bool = False
    registered_from: date | None = None
    name: str = "VAT"
    number: str = ""
    local_number: str = ""
    standard_rate: Decimal | None = None
    reduced_rate: Decimal | None = None
    accounting: str = "invoice"
    flat_rate: Decimal | None = None
    note: str = ""
    reverse_charge_note: str = ""
    outside_scope_note: str = ""

    @classmethod
    def read(cls, fields: Fields, country: str) -> TaxStatus:
        """From the `[tax]` table. Raises BadInput when registered without a number of either kind."""
        status = cls(
            registered=fields.flag("registered", False),
            registered_from=fields.day("registered_from", None),
            name=fields.text("name", "VAT"),
            number=tax_number(fields.text("number", "", blank=True), country),
            local_number=fields.text("local_number", "", blank=True),
            standard_rate=_rate(fields, "standard_rate"),
            reduced_rate=_rate(fields, "reduced_rate"),
            accounting=fields.choice("accounting", ACCOUNTING, "invoice"),
            flat_rate=_rate(fields, "flat_rate"),
            note=fields.text("note", "", blank=True),
            reverse_charge_note=fields.text("reverse_charge_note", "", blank=True),
            outside_scope_note=fields.text("outside_scope_note", "", blank=True),
        )
        if status.registered and not (status.number or status.local_number):
            raise fields.wrong(
                "number", "the tax number of a registered studio", "nothing", "Or set registered = false"
            )
        fields.done()
        return status

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


def compact(text: str) -> str:
    """Without spaces, dots and hyphens, in capitals.

    >>> compact("gb29 nwbk 6016 1331 9268 19")
    'GB29NWBK60161331926819'
    """
    return re.sub(r"[\s.\-]", "", text).upper()


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


def _rate(fields: Fields, key: str) -> Decimal | None:
    return fields.number(key, most=100) if key in fields else None
