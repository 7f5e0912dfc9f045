"""Electronic invoices: an issued invoice or credit note as XML, or as a PDF with the XML inside it."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, TypedDict

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.services.studio.licence_words import in_readers_language
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.store.issued import IssuedBill

#: Format -> ending of its file.
FORMATS: Final = {"cii": ".cii.xml", "ubl": ".ubl.xml", "hybrid": ".hybrid.pdf"}


def export_invoice(folder: StudioFolder, number: str, format_: str, out: Path | None = None) -> Exported:
    """Write an issued invoice or credit note in another form. out: the file, else beside the issued PDF.

    Raises RuleBroken where the libraries of the extra are missing, for what the norm cannot carry, or when the record
    or its PDF is not what was issued.
    """
    from bizkit.services.studio.leaving import issued_paper
    from bizkit.services.studio.out_file import write_out
    from bizkit.services.studio.paper_names import pdf_name

    check_format(format_)
    with folder.book.read() as work:
        found = issued_bill(work, number)
        content = electronic(folder, found, format_, issued_paper(folder, work, found))
    name = f"{Path(pdf_name(found.document)).stem}{FORMATS[format_]}"
    path = out or folder.papers / name
    write_out(folder, path, content)
    return {
        "number": found.number,
        "format": format_,
        "file": str(path),
        "bytes": len(content),
        **claims_of(found, format_),
    }


def check_format(format_: str) -> None:
    """Refuse a form that bizkit does not write. Raises NotFound."""
    if format_ not in FORMATS:
        raise NotFound("format", format_, FORMATS, field="--format")


def issued_bill(work: Any, number: str) -> IssuedBill:
    """The invoice or credit note of that number. Raises NotFound."""
    from bizkit.store.issued import by_number, of_kind

    found = by_number(work, number)
    if found is None or found.kind not in ("invoice", "credit_note"):
        known = [one.number for one in of_kind(work, "invoice", "credit_note")]
        raise NotFound("invoice or credit note", number, known, hint="" if known else "None was issued yet")
    return found


def electronic(folder: StudioFolder, issued: IssuedBill, format_: str, pdf: bytes) -> bytes:
    """The bytes of an issued invoice or credit note in one of `FORMATS`; the same bytes each time.

    pdf: its paper as filed, which the hybrid form carries the XML in.
    """
    document = in_readers_language(folder, issued.document)
    if format_ == "cii":
        from bizkit.exchange.einvoice.cii import cii

        return cii(document)
    if format_ == "ubl":
        from bizkit.exchange.einvoice.ubl import ubl

        return ubl(document)
    try:
        from bizkit.exchange.einvoice.hybrid import hybrid_pdf
    except ModuleNotFoundError as error:
        raise RuleBroken(
            f"a PDF with XML inside needs {error.name}: install it with pip install 'bizkit[einvoice]'"
        ) from None
    made_at = datetime.fromisoformat(issued.document["issued_on"]).replace(tzinfo=UTC)
    return hybrid_pdf(pdf, document, made_at=made_at)


def claims_of(issued: IssuedBill, format_: str) -> Claims:
    """What an electronic invoice claims to be (BT-24), and what it lacks to be what its client's country or network
    asks for: an XRechnung for a German public body, else as UBL one of Peppol BIS Billing 3."""
    from bizkit.exchange.einvoice.claim import EN_16931, claim

    if format_ == "hybrid":
        return {"claims": EN_16931, "peppol_gaps": [], "xrechnung_gaps": []}
    claimed = claim(issued.document, format_)
    return {
        "claims": claimed.specification,
        "peppol_gaps": list(claimed.peppol_gaps),
        "xrechnung_gaps": list(claimed.xrechnung_gaps),
    }


class Claims(TypedDict):
    """What an electronic invoice claims to be, and what it lacks for more."""

    claims: str
    peppol_gaps: list[str]
    xrechnung_gaps: list[str]


class Exported(Claims):
    """An electronic invoice written."""

    number: str
    format: str
    file: str
    bytes: int
