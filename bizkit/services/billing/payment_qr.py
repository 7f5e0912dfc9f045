"""The QR code of an invoice that a banking app turns into a transfer."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.domain.money import Money


def payment_code(document: Mapping[str, Any]) -> str:
    """The text of the QR code that a banking app turns into a transfer; empty where there is no such code.

    The code of the European Payments Council carries euro only, and a BIC outside the European Economic Area.
    """
    from bizkit.exchange.identifiers import creditor_reference
    from bizkit.exchange.payment_code import transfer_code

    due, payment = Money(document["due"], document["currency"]), document["payment"]
    if due.currency != "EUR" or due.amount <= 0 or not payment["iban"]:
        return ""
    try:
        reference = creditor_reference(payment["reference"])
    except BadInput:
        reference = ""
    try:
        return transfer_code(
            name=payment["account_name"],
            iban=payment["iban"],
            bic=payment["bic"],
            amount=due,
            reference=reference,
            text="" if reference else payment["reference"],
        )
    except (BadInput, RuleBroken):
        return ""
