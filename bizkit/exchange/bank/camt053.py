"""A bank's statement as ISO 20022 camt.053 (BankToCustomerStatement), any version from 001.02 on.

Only what tells who paid how much for what is read: booked entries, their transaction details (one entry can bundle
several), names, remittance text and structured references. Pending entries are left out. Whether an entry is a
reversal does not matter: its own credit or debit indicator says which way the money went.
"""

from __future__ import annotations

import hashlib
import re
import xml.etree.ElementTree as ET
from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import Final
from xml.parsers import expat

from bizkit.domain.billing.matching import BankEntry
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money

#: Largest statement read, in bytes.
MOST_BYTES: Final = 50_000_000
_NAMESPACE: Final = re.compile(r"\{urn:iso:std:iso:20022:tech:xsd:camt\.053\.001\.\d\d\}Document")


def read_camt053(data: bytes, *, where: str = "") -> list[BankEntry]:
    """The booked movements in file order. Raises BadInput for what is no camt.053, or lacks an amount or a date."""
    root = _parsed(data, where)
    if not _NAMESPACE.fullmatch(root.tag):
        raise BadInput(wanted="a camt.053 statement (ISO 20022)", got=root.tag.rpartition("}")[2], where=where)
    space = root.tag.partition("}")[0] + "}"
    entries: list[BankEntry] = []
    seen: Counter[str] = Counter()
    for statement in root.iter(f"{space}Stmt"):
        account = _text(statement, "Acct/Id/IBAN", space) or _text(statement, "Acct/Id/Othr/Id", space)
        for number, entry in enumerate(statement.findall(f"{space}Ntry"), start=1):
            place = f"{where} entry {number}".strip()
            status = _text(entry, "Sts/Cd", space) or _text(entry, "Sts", space)
            if status not in ("", "BOOK"):
                continue
            entries.extend(_movements(entry, space, account, place, seen))
    return entries


def _parsed(data: bytes, where: str) -> ET.Element:
    if len(data) > MOST_BYTES:
        raise BadInput(wanted=f"a statement of up to {MOST_BYTES:,} bytes", got=f"{len(data):,} bytes", where=where)

    def refuse(*_: object) -> None:
        raise BadInput(wanted="XML without a document type", got="a DOCTYPE", where=where)

    checker = expat.ParserCreate()
    checker.StartDoctypeDeclHandler = refuse
    try:
        checker.Parse(data, True)
        return ET.fromstring(data)
    except (expat.ExpatError, ET.ParseError) as error:
        raise BadInput(wanted="well-formed XML", got=str(error), where=where) from None


def _text(node: ET.Element, path: str, space: str) -> str:
    found = node.find("/".join(space + step for step in path.split("/")))
    return (found.text or "").strip() if found is not None else ""


def _movements(entry: ET.Element, space: str, account: str, place: str, seen: Counter[str]) -> Iterator[BankEntry]:
    """One per transaction where the details have amounts, else the entry itself."""
    day = _day(entry, space, place)
    whole = _money(entry.find(f"{space}Amt"), place)
    credit = _text(entry, "CdtDbtInd", space) == "CRDT"
    bank_id = _text(entry, "AcctSvcrRef", space)
    details = [node for group in entry.findall(f"{space}NtryDtls") for node in group.findall(f"{space}TxDtls")]
    parts = [(node, _own_amount(node, space, place)) for node in details]
    own = [amount for _, amount in parts if amount is not None]
    same_money = all(amount.currency == whole.currency for amount in own)
    if len(own) == len(parts) > 1 and same_money and sum(amount.amount for amount in own) == whole.amount:
        movements = [(node, amount) for node, amount in parts if amount is not None]
    else:
        movements = [(details[0] if len(details) == 1 else entry, whole)]
    for number, (node, amount) in enumerate(movements, start=1):
        inward = (_text(node, "CdtDbtInd", space) or ("CRDT" if credit else "DBIT")) == "CRDT"
        signed = amount if inward else -amount
        who = "Dbtr" if inward else "Cdtr"
        name = (
            _text(node, f"RltdPties/{who}/Nm", space)
            or _text(node, f"RltdPties/{who}/Pty/Nm", space)
            or _text(node, f"RltdPties/Ultmt{who}/Nm", space)
            or _text(node, f"RltdPties/Ultmt{who}/Pty/Nm", space)
        )
        texts = [(line.text or "").strip() for line in node.iter(f"{space}Ustrd")]
        end_to_end = _text(node, "Refs/EndToEndId", space)
        if end_to_end and end_to_end != "NOTPROVIDED":
            texts.append(end_to_end)
        information = _text(entry, "AddtlNtryInf", space)
        text = " ".join(part for part in (*texts, information) if part)
        reference = next(
            (
                (ref.text or "").strip()
                for group in node.iter(f"{space}CdtrRefInf")
                for ref in group.findall(f"{space}Ref")
            ),
            "",
        )
        transaction = _text(node, "Refs/AcctSvcrRef", space) if node is not entry else ""
        key = transaction or (f"{bank_id}/{number}" if bank_id else "")
        if not key:
            facts = "\x1f".join((account, day.isoformat(), signed.text, signed.currency, name, text, reference))
            seen[facts] += 1
            key = hashlib.sha256(f"{facts}\x1f{seen[facts]}".encode()).hexdigest()[:32]
        original = node.find(f"{space}AmtDtls/{space}InstdAmt/{space}Amt")
        sent = _money(original, place) if original is not None else None
        yield BankEntry(
            f"camt:{account}:{key}",
            day,
            signed,
            name,
            text,
            reference,
            sent if sent is not None and sent.currency != signed.currency else None,
        )


def _own_amount(node: ET.Element, space: str, place: str) -> Money | None:
    """The amount of one transaction inside an entry: TxDtls/Amt, or AmtDtls/TxAmt in older versions."""
    found = node.find(f"{space}Amt")
    if found is None:
        found = node.find(f"{space}AmtDtls/{space}TxAmt/{space}Amt")
    return None if found is None else _money(found, place)


def _money(node: ET.Element | None, place: str) -> Money:
    text = (node.text or "").strip() if node is not None else ""
    currency = node.get("Ccy", "") if node is not None else ""
    if not re.fullmatch(r"\d{1,18}(\.\d{1,5})?", text, flags=re.ASCII):
        raise BadInput(wanted="an amount", got=text, field="Amt", where=place)
    try:
        amount = Money(text, currency)
    except BadInput as error:
        raise BadInput(wanted=error.wanted, got=currency, field="Ccy", where=place) from None
    if amount != amount.rounded():
        raise BadInput(wanted=f"whole minor units of {currency}", got=text, field="Amt", where=place)
    return amount.rounded()


def _day(entry: ET.Element, space: str, place: str) -> date:
    for path in ("BookgDt/Dt", "BookgDt/DtTm", "ValDt/Dt", "ValDt/DtTm"):
        text = _text(entry, path, space)[:10]
        if text:
            try:
                return date.fromisoformat(text)
            except ValueError:
                raise BadInput(wanted="a date", got=text, field=path, where=place) from None
    raise BadInput(wanted="a booking date", got="none", field="BookgDt", where=place)
