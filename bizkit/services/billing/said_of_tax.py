"""What an invoice says of the time of its tax, and what a final one says of the invoices it takes off."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from bizkit.domain.billing.tax_point import CASH_SAID_FROM, taxed_when_paid
from bizkit.domain.money import Money, total
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import Wording

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.billing.invoice import Totals
    from bizkit.domain.documents.on_file import BillOnFile
    from bizkit.domain.documents.sales import Credited
    from bizkit.services.billing.deposits import Left


def when_taxed(folder: StudioFolder, document: BillOnFile, *, received: bool, words: Wording) -> dict[str, Any]:
    """Members of an invoice whose tax waits for the money: `taxed_when`, and the words the law asks for.

    received: the money came before the invoice.
    """
    status, country = folder.studio.tax, folder.studio.country
    charged = any(tax["category"] in ("S", "AE", "O") for tax in document["taxes"])
    waits = taxed_when_paid(country, status.accounting, work_done=document.get("work_done"), received=received)
    if not waits or not charged or not status.registered_on(date.fromisoformat(document["issued_on"])):
        return {}
    said: dict[str, Any] = {"taxed_when": "paid"}
    bears_tax = any(tax["category"] == "S" for tax in document["taxes"])
    if status.accounting == "cash" and bears_tax and document["issued_on"] >= CASH_SAID_FROM.isoformat():
        said["notes"] = [*document["notes"], words.say("lines.taxed_by_payment")]
    return said


def preceding(papers: Sequence[BillOnFile]) -> list[Credited]:
    """The invoices and credit notes that a later invoice takes off or puts back (EN 16931 BG-3)."""
    return [{"number": one["number"], "issued_on": one["issued_on"]} for one in papers]


def told_of_advances(words: Wording, said: Mapping[str, Any], currency: str, tax_name: str) -> list[str]:
    """`advances` as sentences, which paper and electronic invoice both carry."""

    def money(of: Mapping[str, str], *names: str) -> dict[str, str]:
        return {name: words.money(of[name], currency) for name in names}

    sentences = [words.say("lines.whole_price", name=tax_name, **money(said, "net", "tax", "gross"))]
    for one in said["invoices"]:
        more = {"number": one["number"], "date": words.day(one["issued_on"]), "name": tax_name}
        notes = [
            words.say("lines.advance_note", number=note["number"], date=words.day(note["issued_on"]))
            for note in one["credit_notes"]
        ]
        if notes:
            more["notes"] = ", ".join(notes)
        which = "lines.advance_corrected" if notes else "lines.advance"
        sentences.append(words.say(which, **more, **money(one, "net", "tax", "gross", "paid")))
        if Decimal(one["left"]) > 0:
            sentences.append(words.say("lines.advance_left", number=one["number"], **money(one, "left")))
    return sentences


def advances(
    work: Connection,
    job: str,
    sums: Totals,
    earlier: Sequence[BillOnFile],
    papers: Sequence[BillOnFile],
    parts: Mapping[str, Sequence[Left]],
) -> dict[str, Any] | None:
    """What a final invoice says of the invoices before: the whole price with its tax, what each of them billed with
    its tax once its credit notes are taken off, and what was paid on it (UStG § 14 Abs. 5 Satz 2); None where there
    was none.

    sums: of the final invoice. earlier: those it takes off. papers: with all their credit notes, as a price
    that was lowered is so in the whole, and what is to be billed again is billed by another. parts: what is taken off
    of an invoice that is not taken off whole, as it billed again what was credited of another.
    """
    from bizkit.services.billing.balances import balances

    currency = sums.net.currency
    now = balances(work, job)
    rows: list[dict[str, Any]] = []
    for one in earlier:
        number, notes = one["number"], []
        of_it = {"net": Money(0, currency), "tax": Money(0, currency)}
        for part in parts.get(number, ()):
            of_it = {"net": of_it["net"] + part.net, "tax": of_it["tax"] + part.tax}
        if number not in parts:
            notes = [note for note in papers if "credits" in note and note["credits"]["number"] == number]
            of_it = _sums(one)
            for note in notes:
                of_it = {name: of_it[name] - amount for name, amount in _sums(note).items()}
        of_it["gross"] = of_it["net"] + of_it["tax"]
        if not of_it["gross"]:
            continue
        paid, left = now[number].paid + Money(one["prepaid"], currency), now[number].left
        if number in parts:  # what came is for the whole of that invoice
            paid = min(paid, of_it["gross"])
            left = of_it["gross"] - paid
        rows.append(
            {
                "number": number,
                "issued_on": one["issued_on"],
                "credit_notes": preceding(notes),
                **{name: amount.rounded().text for name, amount in of_it.items()},
                "paid": paid.rounded().text,
                "left": left.rounded().text,
            }
        )
    if not rows:
        return None
    whole = {
        name: (now_billed + total((Money(row[name], currency) for row in rows), currency)).text
        for name, now_billed in (("net", sums.net), ("tax", sums.tax), ("gross", sums.gross))
    }
    return {"invoices": rows, **whole}


def _sums(bill: BillOnFile) -> dict[str, Money]:
    texts = {"net": bill["net"], "tax": bill["tax"]}
    return {name: Money(text, bill["currency"]) for name, text in texts.items()}
