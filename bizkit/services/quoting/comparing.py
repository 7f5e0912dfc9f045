"""Two revisions of a quote side by side: what changed, by how much, and why."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, TypedDict

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.domain.money import Money
from bizkit.services.studio.studio_folder import StudioFolder

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from bizkit.domain.documents.base import Licence
    from bizkit.domain.documents.on_file import QuoteOnFile
    from bizkit.domain.documents.sales import Day, Deliverable, Option, Stage, Weather
    from bizkit.domain.pricing.compare import ChangeData


#: The parts of a comparison: two revisions, what each came to, and what changed.
Compared = TypedDict(
    "Compared",
    {
        "number": str,
        "from": int,
        "to": int,
        "to_is_draft": bool,
        "currency": str,
        "net_before": str,
        "net_after": str,
        "difference": str,
        "gross_before": str,
        "gross_after": str,
        "lines": "list[ChangeData]",
        "other": list[dict[str, str]],
    },
)


def compare_quotes(
    folder: StudioFolder, name: str, *, before: int | None = None, after: int | None = None
) -> Compared:
    """What changed from revision `before` to `after` of a quote; without them the last step: to the draft where there
    is one, else to the newest revision.

    Raises NotFound for a revision that was never sent, RuleBroken when there is nothing to compare with.
    """
    from bizkit.domain.documents.reckoning import explained
    from bizkit.domain.pricing.compare import compare_lines

    with folder.book.read() as work:
        revisions, offered = _revisions(work, name)
    known = sorted(revisions)
    to = after if after is not None else offered[-1]
    since = before if before is not None else max((one for one in offered if one < to), default=None)
    for one in (since, to):
        if one is not None and one not in revisions:
            raise NotFound("revision", one, [str(each) for each in known], field="--from or --to")
    if since is None or since == to:
        raise RuleBroken(f"{name} has one revision: there is nothing to compare it with")
    old, new = revisions[since], revisions[to]
    currency = new["currency"]
    if old["currency"] != currency:
        raise RuleBroken(f"revision {since} is in {old['currency']}, {to} in {currency}: they cannot be compared")
    difference = Money(new["net"], currency) - Money(old["net"], currency)
    return {
        "number": new.get("number") or old.get("number", ""),
        "from": since,
        "to": to,
        "to_is_draft": "number" not in new,
        "currency": currency,
        "net_before": old["net"],
        "net_after": new["net"],
        "difference": difference.text,
        "gross_before": old["gross"],
        "gross_after": new["gross"],
        "lines": [one.data() for one in compare_lines(explained(old), explained(new), currency)],
        "other": list(_other(old, new)),
    }


def _revisions(work: Connection, name: str) -> tuple[dict[int, QuoteOnFile], list[int]]:
    """Revision -> document, the draft as the next one; and those that stand, in order."""
    from bizkit.store.issued import of_kind
    from bizkit.store.offers import quote_named, stands
    from bizkit.store.quotes import answers, drafts

    if drafts(work, name) and quote_named(work, name) is None:
        raise RuleBroken(f"{name} is a draft that was never sent: there is nothing to compare it with")
    sent = of_kind(work, "quote")
    mine = [one for one in sent if name in (one.number, one.key)]
    known = {one.number for one in sent} | {one.key for one in sent}
    if not mine:
        raise NotFound("quote (number or key)", name, known)
    found = {one.revision: one.document for one in mine}
    said = answers(work, mine[0].number)
    offered = [one.revision for one in mine if stands(one.entry, said)]
    for draft in drafts(work, mine[0].key):
        offered.append(max(found) + 1)
        found[offered[-1]] = draft.document
    return found, offered


def _other(old: QuoteOnFile, new: QuoteOnFile) -> Iterator[dict[str, str]]:
    """Changes beside the priced lines: client, deliverables, days, licence, weather, stages, options, terms, tax."""
    yield from _client(old, new)
    if old["title"] != new["title"]:
        yield {"what": "title", "before": old["title"], "after": new["title"]}
    yield from _by_key("deliverable", old["deliverables"], new["deliverables"], "key", _deliverable)
    yield from _listed("day", [_day(one) for one in old["days"]], [_day(one) for one in new["days"]])
    yield from _listed("licence", _sentences(old["licence"]), _sentences(new["licence"]))
    yield from _listed("weather", _sentences(old["weather"]), _sentences(new["weather"]))
    yield from _listed("stage", [_stage(one) for one in old["stages"]], [_stage(one) for one in new["stages"]])
    yield from _by_key("option", old.get("options", []), new.get("options", []), "key", _option)
    yield from _listed("term", old["terms"], new["terms"])
    taxes = [[f"{one['name']} {one['rate']} % ({one['category']})" for one in each["taxes"]] for each in (old, new)]
    yield from _listed("tax", *taxes)
    if old["rate_card"]["sha256"] != new["rate_card"]["sha256"]:
        yield {
            "what": "rate card",
            "before": old["rate_card"]["name"],
            "after": f"{new['rate_card']['name']}, changed",
        }


#: What a quote says about its client, in words; the rest of its record by the keys of the client's file.
_CLIENT_WORDS = {"key": "client", "tax_number": "client's tax number", "email": "client's e-mail"}


def _client(old: QuoteOnFile, new: QuoteOnFile) -> Iterator[dict[str, str]]:
    """What changed about the client: another one, a move, another name, contact, tax number or terms."""
    before, after = ({**one.get("client_record", {}), **one["client"]} for one in (old, new))
    for name in after:
        if name in before and before[name] != after[name]:
            what = _CLIENT_WORDS.get(name, f"client's {name.replace('_', ' ')}")
            yield {"what": what, "before": _said(before[name]), "after": _said(after[name])}


def _said(value: Any) -> str:
    return ", ".join(value) if isinstance(value, list) else "" if value is None else str(value)


def _by_key(what: str, old: list[Any], new: list[Any], key: str, text: Any) -> Iterator[dict[str, str]]:
    before, after = ({one[key]: text(one) for one in each} for each in (old, new))
    for name in dict.fromkeys((*before, *after)):
        if before.get(name) != after.get(name):
            yield {"what": f"{what} {name}", "before": before.get(name, ""), "after": after.get(name, "")}


def _listed(what: str, old: list[str], new: list[str]) -> Iterator[dict[str, str]]:
    for one in old:
        if one not in new:
            yield {"what": what, "before": one, "after": ""}
    for one in new:
        if one not in old:
            yield {"what": what, "before": "", "after": one}


def _deliverable(one: Deliverable) -> str:
    due = one["due_on"] or one["due"] or "no date"
    return f"{one['quantity']} x {one['title']}, {one['spec'] or 'no spec'}, {one['rounds']} rounds, {due}"


def _day(one: Day) -> str:
    count = f"{one['count']} x " if one["count"] > 1 else ""
    return " ".join(part for part in (one["date"], f"{count}{one['kind']}", one["place"]) if part)


def _stage(one: Stage) -> str:
    return f"{one['title']}: {one['percent']} %, {one['when']}"


def _option(one: Option) -> str:
    return f"{one['title']}: {one['net']} net"


def _sentences(part: Licence | Weather | None) -> list[str]:
    return list(part["sentences"]) if part else []
