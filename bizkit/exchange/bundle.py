"""An accountant's bundle: one zip with the documents of a period, the tables, and an index that adds up.

The same input gives the same bytes: entries in order of their names, one fixed date. The index lists every document
with its sums and the SHA-256 of its file, and ends with the totals per currency, so that a reader can check the zip
against the books and the books against the zip.
"""

from __future__ import annotations

import hashlib
import io
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from bizkit.domain.billing.records import Issued
from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.exchange.table_csv import table_csv

INDEX: Final = "index.csv"
_HEADINGS: Final = (
    "number", "kind", "issued on", "tax point", "client", "job", "currency", "net", "tax", "gross", "file", "sha256",
)  # fmt: skip
#: The earliest time a zip can carry; the real times are in the documents.
_TIME: Final = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Filed:
    """A document of the bundle: its record, and the bytes of its paper under a plain file name."""

    paper: Issued
    name: str
    data: bytes


def bundle(documents: Sequence[Filed], tables: Mapping[str, bytes], readme: str = "") -> bytes:
    """The zip. tables: file name -> CSV bytes (tax period, debtors, income, costs). readme: what is in it, in words.

    Credit notes count below zero in the index. Raises BadInput for a file name used twice, or one with a path in it.
    """
    files: dict[str, bytes] = {}

    def add(folder: str, name: str, data: bytes) -> str:
        if not name or name in (".", "..") or any(sign in name for sign in '/\\:*?"<>|') or not name.isprintable():
            raise BadInput(wanted="a plain file name", got=name, field="bundle")
        path = f"{folder}/{name}" if folder else name
        if path.casefold() in {known.casefold() for known in files}:
            raise BadInput(wanted="each file name once", got=name, field="bundle")
        files[path] = data
        return path

    rows: list[list[object]] = []
    totals: dict[str, tuple[Money, Money, Money]] = {}
    for filed in sorted(documents, key=lambda filed: (filed.paper.issued_on, filed.paper.number)):
        paper = filed.paper
        path = add("documents", filed.name, filed.data)
        net, tax, gross = paper.net * paper.sign, paper.tax * paper.sign, paper.gross * paper.sign
        zero = Money(0, paper.currency)
        sums = totals.get(paper.currency, (zero, zero, zero))
        totals[paper.currency] = (sums[0] + net, sums[1] + tax, sums[2] + gross)
        rows.append(
            [
                paper.number, paper.kind, paper.issued_on.isoformat(), paper.tax_point.isoformat(), paper.client,
                paper.job, paper.currency, net.text, tax.text, gross.text, path,
                hashlib.sha256(filed.data).hexdigest(),
            ]
        )  # fmt: skip
    for currency, (net, tax, gross) in sorted(totals.items()):
        rows.append(["total", "", "", "", "", "", currency, net.text, tax.text, gross.text, "", ""])
    for name, data in tables.items():
        add("tables", name, data)
    if readme:
        add("", "README.txt", readme.encode())
    add("", INDEX, table_csv(_HEADINGS, rows))
    return _zip(files)


def _zip(files: Mapping[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in sorted(files):
            entry = zipfile.ZipInfo(path, _TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, files[path])
    return out.getvalue()
