"""Whether an account, tax or reference number is a real one, by its check digits.

Only the form is checked, nobody is asked: a number that passes may still belong to no one.
Sources: ISO 13616 (IBAN), ISO 9362 (BIC), ISO 11649 (creditor reference), national rules as python-stdnum has them.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Final

from stdnum import bic, iban, iso11649
from stdnum.de import leitweg, stnr
from stdnum.exceptions import ValidationError
from stdnum.util import get_cc_module

from bizkit.domain.errors import BadInput
from bizkit.domain.inputs.reading import Table
from bizkit.domain.registrations import LETTERED, compact, tax_number


def check_iban(text: str, *, field: str = "iban", where: str = "") -> str:
    """The account number without spaces. Raises BadInput when its check digits or length are wrong.

    >>> check_iban("GB29 NWBK 6016 1331 9268 19")
    'GB29NWBK60161331926819'
    >>> check_iban("GB29NWBK60161331926818")
    Traceback (most recent call last):
    bizkit.domain.errors.BadInput: iban: wanted an IBAN whose check digits agree, got GB29NWBK60161331926818
    """
    try:
        return iban.validate(compact(text))
    except ValidationError:
        raise BadInput(wanted="an IBAN whose check digits agree", got=text, field=field, where=where) from None


def check_bic(text: str, *, field: str = "bic", where: str = "") -> str:
    """The bank's code in capitals. Raises BadInput when it is not of 8 or 11 characters in the form of ISO 9362."""
    try:
        return bic.validate(compact(text))
    except ValidationError:
        raise BadInput(wanted="a BIC of 8 or 11 characters", got=text, field=field, where=where) from None


def check_tax_number(country: str, text: str, *, field: str = "tax_number", where: str = "") -> str:
    """A VAT number with its country's letters. Raises BadInput when the country's own check fails.

    Countries outside the VAT areas of the European Union and the United Kingdom have numbers of many kinds: they
    are taken as they are.

    >>> check_tax_number("GB", "980 7806 84")
    'GB980780684'
    """
    number = tax_number(text, country)
    module = get_cc_module(country, "vat") if country in LETTERED else None
    if module is None:
        return number
    try:
        module.validate(number.removeprefix("XI"))
    except ValidationError:
        of_the_office = country == "DE" and stnr.is_valid(number.removeprefix("DE"))
        raise BadInput(
            wanted=f"a VAT number of {country} whose check digits agree",
            got=text,
            field=field,
            where=where,
            hint="A Steuernummer is written as local_number" if of_the_office else "",
        ) from None
    return number


def check_local_tax_number(country: str, text: str, *, field: str = "tax.local_number", where: str = "") -> str:
    """The tax office's own number as given. Raises BadInput where the country's form is known and it has another.

    >>> check_local_tax_number("DE", "29/815/08157")
    '29/815/08157'
    """
    if country == "DE" and not stnr.is_valid(text):
        raise BadInput(wanted="a Steuernummer such as 29/815/08157", got=text, field=field, where=where)
    return text


def check_creditor_reference(text: str, *, field: str = "reference", where: str = "") -> str:
    """A structured creditor reference without spaces. Raises BadInput when its check digits are wrong.

    >>> check_creditor_reference("RF18 5390 0754 7034")
    'RF18539007547034'
    """
    try:
        return iso11649.validate(compact(text))
    except ValidationError:
        raise BadInput(wanted="a creditor reference (RF...)", got=text, field=field, where=where) from None


def creditor_reference(number: str) -> str:
    """The structured creditor reference of a paper's number: its letters and digits with ISO 11649 check digits.

    Raises BadInput for a number of more than 21 letters and digits, or none.

    >>> creditor_reference("GL-2027-0001")
    'RF11GL20270001'
    """
    bare = "".join(sign for sign in number.upper() if sign.isascii() and sign.isalnum())
    if not 1 <= len(bare) <= 21:
        raise BadInput(wanted="1 to 21 letters and digits", got=number, field="reference")
    # ISO 7064 MOD 97-10 over the reference followed by RF00, letters counting from A = 10.
    digits = "".join(str(int(sign, 36)) for sign in bare + "RF00")
    return f"RF{98 - int(digits) % 97:02}{bare}"


def report_studio(at: Table) -> None:
    """Report wrong tax numbers, IBANs and BICs in the file of a studio; what is no text is reported by its reader."""
    country = _text(at, "country").upper()
    tax, bank = at.table("tax"), at.table("bank")
    _report(tax, "number", lambda text: check_tax_number(country, text))
    _report(tax, "local_number", lambda text: check_local_tax_number(country, text))
    _report(bank, "iban", check_iban)
    _report(bank, "bic", check_bic)
    for name in at.table("statement").tree:
        _report(at.table("statement", name), "iban", check_iban)


#: A Leitweg-ID as it is meant: two to twelve digits that begin with those of a German state (01 to 16) or the
#: Federation (99), perhaps a part of letters and digits, two check digits (its format specification, from memory).
_LEITWEG: Final = re.compile(r"(0[1-9]|1[0-6]|99)\d{0,10}([-\s\u2013/][A-Za-z0-9]{1,30})?[-\s\u2013/]\d{2}")


def meant_as_leitweg(country: str, text: str) -> bool:
    """Whether a German client's reference has the shape of a Leitweg-ID, right or not.

    >>> meant_as_leitweg("DE", "04011000 12345 04"), meant_as_leitweg("DE", "Projekt 7")
    (True, False)
    """
    return country == "DE" and bool(_LEITWEG.fullmatch(text.strip()))


def check_buyer_reference(country: str, text: str, *, field: str = "buyer_reference", where: str = "") -> str:
    """The client's reference as given. Raises BadInput for a Leitweg-ID whose check digits are wrong."""
    if meant_as_leitweg(country, text) and not leitweg.is_valid(text):
        raise BadInput(
            wanted="a Leitweg-ID whose check digits agree, its parts joined by hyphens, such as 04011000-12345-03",
            got=text,
            field=field,
            where=where,
            hint="Ask the office for it, its portal rejects another. A reference of another kind is purchase_order",
        )
    return text


def report_client(at: Table) -> None:
    """Report a wrong tax number or Leitweg-ID in the file of a client."""
    country = _text(at, "country").upper()
    _report(at, "tax_number", lambda text: check_tax_number(country, text))
    _report(at, "buyer_reference", lambda text: check_buyer_reference(country, text))


def _text(at: Table, key: str) -> str:
    value = at.tree.get(key, "")
    return value.strip() if isinstance(value, str) else ""


def _report(at: Table, key: str, check: Callable[[str], object]) -> None:
    text = _text(at, key)
    if text:
        try:
            check(text)
        except BadInput as error:
            at.problem(key, error.wanted, text, error.hint)
