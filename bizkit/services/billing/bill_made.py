"""What is said of an invoice, credit note or pro forma just issued."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypedDict

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import BillOnFile


class BillMade(TypedDict):
    """An invoice, credit note or pro forma as it was issued."""

    number: str
    job: str
    stage: str
    currency: str
    net: str
    tax: str
    gross: str
    due: str
    due_on: str
    tax_point: str
    file: str
    warnings: list[str]
    einvoice: str
    document: BillOnFile
