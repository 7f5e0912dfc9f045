"""The QR code that a banking app turns into a credit transfer in euro.

Source: European Payments Council, "Quick Response Code: Guidelines to Enable Data Capture for the Initiation of a
SEPA Credit Transfer" (EPC069-12), version 002: twelve lines, at most 331 bytes, error correction level M, at most
version 13 of the symbol; the bank's code may be left out for accounts inside the European Economic Area only.
"""

from __future__ import annotations

import io
from typing import Final

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money
from bizkit.domain.tables.vat_area import EU
from bizkit.exchange.identifiers import check_bic, check_creditor_reference, check_iban

_MOST: Final = Money("999999999.99", "EUR")
_MOST_BYTES: Final = 331
_EEA: Final = EU | {"IS", "LI", "NO"}


def transfer_code(
    *, name: str, iban: str, amount: Money, bic: str = "", reference: str = "", text: str = "", purpose: str = ""
) -> str:
    """The lines of the code. reference: a structured creditor reference (RF...); text: free; at most one of the two.

    Raises RuleBroken for money that is not euro, BadInput for an amount below one cent or over 999,999,999.99, a
    wrong account or reference, no bank code where one is needed, or text that is too long.

    >>> print(transfer_code(name="Gannet & Lark Films", iban="GB29NWBK60161331926819", bic="NWBKGB2L",
    ...       amount=Money("10.5", "EUR"), reference="RF18539007547034"))
    BCD
    002
    1
    SCT
    NWBKGB2L
    Gannet & Lark Films
    GB29NWBK60161331926819
    EUR10.50
    <BLANKLINE>
    RF18539007547034
    """
    if amount.currency != "EUR":
        raise RuleBroken(f"the payment code carries euro only, this is {amount}: print the bank details")
    if amount != amount.rounded() or not Money("0.01", "EUR") <= amount <= _MOST:
        raise BadInput(wanted="EUR 0.01 to 999999999.99 in whole cents", got=amount, field="amount")
    if reference and text:
        raise BadInput(wanted="a reference or a text", got="both", field="reference")
    account = check_iban(iban)
    if not bic and account[:2] not in _EEA:
        raise BadInput(wanted=f"the BIC of the bank, for an account in {account[:2]}", got="nothing", field="bic")
    lines = [
        "BCD",
        "002",
        "1",
        "SCT",
        check_bic(bic) if bic else "",
        _one_line(name, 70, "name", wanted="the account's name"),
        account,
        f"EUR{amount.text}",
        _one_line(purpose, 4, "purpose"),
        check_creditor_reference(reference) if reference else "",
        _one_line(text, 140, "text"),
    ]
    while lines[-1] == "":
        lines.pop()
    code = "\n".join(lines)
    if len(code.encode()) > _MOST_BYTES:
        raise BadInput(wanted=f"at most {_MOST_BYTES} bytes in all", got=f"{len(code.encode())}", field="text")
    return code


def _one_line(value: str, most: int, field: str, wanted: str = "") -> str:
    text = " ".join(value.split())
    if wanted and not text:
        raise BadInput(wanted=wanted, got="nothing", field=field)
    if len(text) > most:
        raise BadInput(wanted=f"at most {most} characters", got=text, field=field)
    return text


def qr_png(text: str, *, pixels_per_module: int = 8, quiet_modules: int = 4) -> bytes:
    """A QR code (ISO/IEC 18004) of `text`, error correction level M, as PNG. Needs segno."""
    import segno

    out = io.BytesIO()
    # boost_error off: the guidelines ask for level M, no other.
    code = segno.make_qr(text, error="m", boost_error=False, encoding="utf-8")
    code.save(out, kind="png", scale=pixels_per_module, border=quiet_modules)
    return out.getvalue()


def qr_modules(text: str) -> list[list[bool]]:
    """The same code as rows of dark (True) and light modules, without the quiet zone, to draw as vectors."""
    import segno

    code = segno.make_qr(text, error="m", boost_error=False, encoding="utf-8")
    return [[bool(module) for module in row] for row in code.matrix]
