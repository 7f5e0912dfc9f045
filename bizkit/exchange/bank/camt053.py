"""A bank's statement as ISO 20022 camt.053 (BankToCustomerStatement), any version from 001.02 on.

Only what tells who paid how much for what is read: booked entries, their transaction details (one entry can bundle
several), names, remittance text and structured references. Entries that are pending or only announced are left out,
and said. Whether an entry is a reversal does not matter: its own credit or debit indicator says which way the money
went.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Final
from xml.parsers import expat

from bizkit.domain.billing.bank_statement import LeftOut, Statement, numbered, own_id
from bizkit.domain.billing.matching import BankEntry
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money, check_kept, total
from bizkit.domain.plain_text import carried

#: Largest statement read, in bytes.
MOST_BYTES: Final = 50_000_000
#: Tags inside tags; the deepest path of the message definition has fewer than 20.
MOST_DEPTH: Final = 100
_NAMESPACE: Final = re.compile(r"\{urn:iso:std:iso:20022:tech:xsd:camt\.053\.001\.\d\d\}Document")


#: Codes of EntryStatus other than BOOK -> what they say. ISO 20022 external code set ExternalEntryStatus1Code.
_NOT_BOOKED: Final = {"PDNG": "pending", "INFO": "for information only", "FUTR": "in the future"}


def read_camt053(data: bytes, *, where: str = "") -> Statement:
    """The booked movements in file order, and the entries left out.

    Raises BadInput for what is no camt.053, or lacks an amount or a date.
    """
    root = _parsed(data, where)
    if not _NAMESPACE.fullmatch(root.tag):
        raise BadInput(wanted="a camt.053 statement (ISO 20022)", got=root.tag.rpartition("}")[2], where=where)
    space = root.tag.partition("}")[0] + "}"
    movements: list[BankEntry] = []
    left_out: list[LeftOut] = []
    count = 0
    for statement in root.iter(f"{space}Stmt"):
        account = _text(statement, "Acct/Id/IBAN", space) or _text(statement, "Acct/Id/Othr/Id", space)
        for number, entry in enumerate(statement.findall(f"{space}Ntry"), start=1):
            count += 1
            place = f"{where} entry {number}".strip()
            status = _text(entry, "Sts/Cd", space) or _text(entry, "Sts/Prtry", space) or _text(entry, "Sts", space)
            why = _NOT_BOOKED.get(status.upper(), "")
            if why:
                said = [_text(entry, path, space) for path in ("BookgDt/Dt", "Amt", "CdtDbtInd", "AddtlNtryInf")]
                left_out.append(LeftOut(f"entry {count}", " ".join(part for part in said if part)[:140], why))
                continue
            movements += [
                replace(one, account=account, place=f"entry {count}") for one in _movements(entry, space, place)
            ]
    return Statement(numbered(movements), tuple(left_out))


def _parsed(data: bytes, where: str) -> ET.Element:
    if len(data) > MOST_BYTES:
        raise BadInput(wanted=f"a statement of up to {MOST_BYTES:,} bytes", got=f"{len(data):,} bytes", where=where)

    def refuse(*_: object) -> None:
        raise BadInput(wanted="XML without a document type", got="a DOCTYPE", where=where)

    depth = 0

    def deeper(*_: object) -> None:
        nonlocal depth
        depth += 1
        if depth > MOST_DEPTH:
            raise BadInput(wanted="a camt.053 statement (ISO 20022)", got="tags nested too deep", where=where)

    def back(_: object) -> None:
        nonlocal depth
        depth -= 1

    checker = expat.ParserCreate()
    checker.StartDoctypeDeclHandler = refuse
    checker.StartElementHandler, checker.EndElementHandler = deeper, back
    try:
        checker.Parse(data, True)
        return ET.fromstring(data)
    except (expat.ExpatError, ET.ParseError, LookupError, ValueError) as error:  # also of an encoding unknown here
        raise BadInput(wanted="well-formed XML", got=str(error), where=where) from None


def _text(node: ET.Element, path: str, space: str) -> str:
    found = node.find("/".join(space + step for step in path.split("/")))
    return carried(found.text or "").strip() if found is not None else ""


def _movements(entry: ET.Element, space: str, place: str) -> Iterator[BankEntry]:
    """One per transaction where the details have amounts, else the entry itself."""
    day = _day(entry, space, place)
    whole = _money(entry.find(f"{space}Amt"), place)
    whole = whole if _text(entry, "CdtDbtInd", space) == "CRDT" else -whole
    details = [node for group in entry.findall(f"{space}NtryDtls") for node in group.findall(f"{space}TxDtls")]
    parts = [(node, amount) for node in details if (amount := _own_amount(node, space, place, whole)) is not None]
    if len(parts) == len(details) > 1 and _add_up([amount for _, amount in parts], whole):
        movements = parts
    else:
        movements = [(details[0] if len(details) == 1 else entry, whole)]
    for node, amount in movements:
        who = "Dbtr" if amount.amount > 0 else "Cdtr"
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
        reference = next(
            (
                (ref.text or "").strip()
                for group in node.iter(f"{space}CdtrRefInf")
                for ref in group.findall(f"{space}Ref")
            ),
            "",
        )
        original = node.find(f"{space}AmtDtls/{space}InstdAmt/{space}Amt")
        sent = _money(original, place) if original is not None else None
        yield BankEntry(
            "",
            day,
            amount,
            name,
            " ".join(part for part in (*texts, information) if part),
            reference,
            sent if sent is not None and sent.currency != amount.currency else None,
            own_id=_id(entry, node, space),
        )


def _id(entry: ET.Element, node: ET.Element, space: str) -> str:
    """What the bank calls a movement: its own reference of the transaction, else of the entry.

    The reference of a bundling entry, which all its transactions share, says at least which bundle they came in. A
    bank that writes NONREF there may name the transaction under a reference of its own kind.
    """
    tries = [_text(node, "Refs/AcctSvcrRef", space), _text(entry, "AcctSvcrRef", space)]
    tries += [_text(node, "Refs/Prtry/Ref", space)]
    return next((one for one in tries if own_id(one)), next((one for one in tries if one), ""))


def _add_up(parts: list[Money], whole: Money) -> bool:
    return {part.currency for part in parts} == {whole.currency} and total(parts, whole.currency) == whole


def _own_amount(node: ET.Element, space: str, place: str, whole: Money) -> Money | None:
    """The amount of one transaction inside an entry: TxDtls/Amt, or AmtDtls/TxAmt in older versions.

    It goes the way it says, else that of the entry: above zero came in.
    """
    found = node.find(f"{space}Amt")
    if found is None:
        found = node.find(f"{space}AmtDtls/{space}TxAmt/{space}Amt")
    if found is None:
        return None
    amount = _money(found, place)
    way = _text(node, "CdtDbtInd", space)
    inward = way == "CRDT" if way else whole.amount > 0
    return amount if inward else -amount


def _money(node: ET.Element | None, place: str) -> Money:
    text = (node.text or "").strip() if node is not None else ""
    currency = node.get("Ccy", "") if node is not None else ""
    if not re.fullmatch(r"\d{1,18}(\.\d{1,5})?", text, flags=re.ASCII):
        raise BadInput(wanted="an amount", got=text, field="Amt", where=place)
    try:
        amount = Money(text, currency)
    except BadInput as error:
        raise BadInput(wanted=error.wanted, got=currency, field="Ccy", where=place) from None
    return check_kept(amount, field="Amt", where=place)


def _day(entry: ET.Element, space: str, place: str) -> date:
    for path in ("BookgDt/Dt", "BookgDt/DtTm", "ValDt/Dt", "ValDt/DtTm"):
        text = _text(entry, path, space)[:10]
        if text:
            try:
                return date.fromisoformat(text)
            except ValueError:
                raise BadInput(wanted="a date", got=text, field=path, where=place) from None
    raise BadInput(wanted="a booking date", got="none", field="BookgDt", where=place)
