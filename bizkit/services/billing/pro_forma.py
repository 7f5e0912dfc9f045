"""Pro formas: what a stage will come to, for a client that pays in advance. They are no tax invoices."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.billing.lines import PRO_FORMA
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.services.billing.issuing import Asked
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import BillOnFile


def write_pro_forma(
    folder: StudioFolder, job: str, on: date, *, stage: int | None = None, asked: Asked = Asked()
) -> ProForma:
    """Write the pro forma of a stage, the first that is not invoiced unless one is named. Raises RuleBroken.

    Its own name is its payment reference, so that the money is known when it comes; then invoice it as a deposit.
    """
    from bizkit.services.billing.invoices import stage_invoice, stage_rows
    from bizkit.services.billing.issuing import begin, invoice_of, tax_to_come
    from bizkit.services.billing.letters import put_letter
    from bizkit.services.studio.papers_folder import refuse_unwritten
    from bizkit.store.events import record
    from bizkit.store.letters import count_letters

    stamp = folder.stamp(on)
    with folder.book.work() as work:
        billed = begin(folder, work, stamp, job, asked)
        refuse_unwritten(folder, work, kind=PRO_FORMA, about=billed.key)
        rows = stage_rows(folder, work, billed.key, on)
        if stage is not None and not 1 <= stage <= len(rows):
            raise BadInput(wanted=f"a stage from 1 to {len(rows)}", got=stage, field="--stage")
        waiting = [row for row in rows if not row["invoice"] and stage in (None, row["position"])]
        if not waiting:
            done = f"stage {stage} is" if stage else "every stage is"
            raise RuleBroken(f"{billed.key}: {done} invoiced already")
        lines, quoted, _ = stage_invoice(billed, waiting[0])
        name = f"PF-{billed.key}-{count_letters(work, PRO_FORMA, billed.key) + 1}"
        document = invoice_of(billed, lines, number="", kind=PRO_FORMA, quoted=quoted, reference=name)
        document["number"] = name
        document["stage"] = {"position": waiting[0]["position"], "title": waiting[0]["title"], "reason": ""}
        paper = put_letter(work, stamp, folder, document, about=billed.key, name=name)
        warnings = tax_to_come(billed)
        record(work, stamp, "wrote pro forma", billed.key, name=name, gross=document["gross"])
    paper.write()
    return {
        "number": name,
        "job": billed.key,
        "stage": waiting[0]["title"],
        "currency": billed.currency,
        "net": document["net"],
        "tax": document["tax"],
        "gross": document["gross"],
        "due_on": document["due_on"],
        "file": str(paper.path),
        "warnings": list(warnings),
        "document": document,
    }


class ProForma(TypedDict):
    """A pro forma invoice written."""

    number: str
    job: str
    stage: str
    currency: str
    net: str
    tax: str
    gross: str
    due_on: str
    file: str
    warnings: list[str]
    document: BillOnFile
