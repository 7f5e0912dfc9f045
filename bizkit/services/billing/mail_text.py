"""The subject and words of the mail that goes with a paper, in its reader's language."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from bizkit.domain.documents.outgoing import outgoing
from bizkit.domain.registrations import sort_code, spaced
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import Wording, wording

Document = Mapping[str, Any]


def mail_text(folder: StudioFolder, document: Document) -> tuple[str, str]:
    """Subject and text of the mail that carries a paper: `mail.KIND` of the wording."""
    document = outgoing(document)
    words = wording(folder, document["language"], document["locale"])
    name = _name(document, words)
    values = _values(document, words)
    contact = str(document["client"].get("contact", ""))
    greeting = words.say("mail.greeting", contact=contact) if contact else words.say("mail.greeting_unnamed")
    people = document["studio"]["people"]
    closing = words.say(
        "mail.closing", person=people[0] if people else document["studio"]["name"], studio=document["studio"]["name"]
    )
    paid = document["kind"] == "invoice" and not Decimal(document["due"])
    body = words.say(f"mail.{name}.{'text_paid' if paid else 'text'}", **values)
    subject = words.say(f"mail.{name}.subject", **values)
    whereto = "" if paid or document["kind"] == "credit_note" else _whereto(document, words)
    return subject, f"{greeting}\n\n{body}\n\n{whereto}{closing}\n"


def _whereto(document: Document, words: Wording) -> str:
    """The account to pay to, as a paragraph; empty where the paper names none."""
    payment = document.get("payment", {})
    parts = [payment.get("account_name", "")]
    if payment.get("account_number"):
        code, number = sort_code(payment["sort_code"]), payment["account_number"]
        parts.append(words.say("mail.sort_code", sort_code=code, account_number=number))
    if payment.get("iban"):
        parts.append(f"IBAN {spaced(payment['iban'])}")
        parts += [f"BIC {payment['bic']}"] if payment["bic"] else []
    if len(parts) == 1:
        return ""
    return words.say("mail.pay_to", account=", ".join(part for part in parts if part)) + "\n\n"


def _name(document: Document, words: Wording) -> str:
    kind = str(document["kind"])
    if kind != "reminder":
        return kind
    own = f"reminder_{document['step']}"
    name = own if words.has(f"mail.{own}.text") else "reminder_firm"
    return "reminder_bare" if name == "reminder_firm" and not document["interest"] else name


def _values(document: Document, words: Wording) -> dict[str, str]:
    """Everything a text may name, drawn for its reader."""
    currency = document.get("currency", "")
    values = {
        "number": str(document.get("number", "")),
        "title": str(document.get("title", "")),
        "studio": str(document["studio"]["name"]),
        "client": str(document["client"]["name"]),
    }
    for name in ("due", "gross", "total", "amount", "closing"):
        if isinstance(document.get(name), str) and document[name]:
            values[name] = words.money(document[name], currency)
    for name in ("due_on", "pay_by", "valid_until", "issued_on"):
        if isinstance(document.get(name), str):
            values[name] = words.day(document[name])
    if "payment" in document:
        values["reference"] = document["payment"]["reference"]
    if "credits" in document and document["kind"] == "credit_note":
        values["corrects"] = document["credits"]["number"]
    if document["kind"] == "reminder":
        values["invoices"] = ", ".join(one["number"] for one in document["invoices"])
        values["due_on"] = ", ".join(dict.fromkeys(words.day(one["due_on"]) for one in document["invoices"]))
    return values
