"""What a revision of a quote changed, for the client's eyes: what is got, when, and what it comes to."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from bizkit.domain.pricing.compare import compare_lines

if TYPE_CHECKING:
    from bizkit.domain.documents.on_file import QuoteOnFile
    from bizkit.domain.documents.sales import Changed, ChangedRow

#: Parts of a quote that are said to be others, and not set side by side.
_IN_WORDS: Final = ("licence", "weather", "stages", "extras", "terms")


def changed_since(old: QuoteOnFile, new: QuoteOnFile) -> Changed | None:
    """What `new` changed of `old`, the revision that the client has; None where the two are in other currencies."""
    if old["currency"] != new["currency"]:
        return None
    rows = [*_deliverables(old, new), *_days(old, new), *_lines(old, new), *_in_words(old, new)]
    return {
        "revision": old["revision"],
        "issued_on": old["issued_on"],
        "gross_before": old["gross"],
        "net_before": old["net"],
        "rows": rows,
    }


def _deliverables(old: QuoteOnFile, new: QuoteOnFile) -> Iterator[ChangedRow]:
    before, after = ({one["key"]: one for one in each["deliverables"]} for each in (old, new))
    for key in dict.fromkeys((*before, *after)):
        was, now = before.get(key), after.get(key)
        if now is None:
            yield _row("deliverable", before[key]["title"], str(before[key]["quantity"]), "")
        elif was is None or was["quantity"] != now["quantity"]:
            yield _row("deliverable", now["title"], str(was["quantity"]) if was else "", str(now["quantity"]))
        elif any(was.get(part) != now.get(part) for part in ("title", "spec", "rounds", "due", "due_on", "due_days")):
            yield _row("deliverable", now["title"], "", "")


def _days(old: QuoteOnFile, new: QuoteOnFile) -> Iterator[ChangedRow]:
    """Days that are gone and days that came; those without a date by their number."""
    before, after = (
        [(day["kind"], day["date"], str(day["count"]), day["place"]) for day in each["days"]] for each in (old, new)
    )
    for kind, on, count, place in before:
        if (kind, on, count, place) not in after:
            yield _row("day", kind, on or count, "")
    for kind, on, count, place in after:
        if (kind, on, count, place) not in before:
            yield _row("day", kind, "", on or count)


def _lines(old: QuoteOnFile, new: QuoteOnFile) -> Iterator[ChangedRow]:
    def plain(lines: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
        return [{**line, "why": ""} for line in lines]

    for one in compare_lines(plain(old["lines"]), plain(new["lines"]), new["currency"]):
        if one.before != one.after:
            was = "" if one.kind == "added" else one.before.text
            yield _row("line", one.item, was, "" if one.kind == "removed" else one.after.text)


def _in_words(old: QuoteOnFile, new: QuoteOnFile) -> Iterator[ChangedRow]:
    for name in _IN_WORDS:
        if _said(old, name) != _said(new, name):
            yield _row(name, "", "", "")


def _said(quote: QuoteOnFile, name: str) -> Any:
    """A part of a quote as its reader knows it; the amounts of stages follow the price."""
    part = quote.get(name)
    if name == "stages":
        return [(one["title"], one["percent"], one["when"]) for one in quote["stages"]]
    return list(part["sentences"]) if name in ("licence", "weather") and isinstance(part, dict) else part


def _row(kind: str, item: str, before: str, after: str) -> ChangedRow:
    return {"kind": kind, "item": item, "before": before, "after": after}
