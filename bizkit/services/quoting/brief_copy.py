"""A brief copied for another job: a key of its own, other title, client and dates, all else as it was."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict

from bizkit.domain.errors import BadInput, BizkitError
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.toml_edit import Path as Place
from bizkit.services.studio.toml_edit import rewritten, texts_and_dates
from bizkit.services.studio.toml_file import TomlFile, parse_toml

if TYPE_CHECKING:
    from bizkit.domain.pricing.brief import Brief

#: Dates that say when something was known and do not move with the shoot: an exchange rate keeps its day.
_STAY = ("asked_on", "exchange")


def copy_brief(
    folder: StudioFolder,
    brief: Path,
    key: str,
    on: date,
    *,
    title: str = "",
    client: str = "",
    first: date | None = None,
    out: Path | None = None,
) -> BriefCopied:
    """Write a copy of a brief under a new key to briefs/KEY.toml, or to `out`. Comments are kept.

    brief: a file, its name in briefs/, or the key or number of a quote, whose newest brief as sent is copied then.
    first: the new date of the first day; every other date keeps its distance from it. The day on which the client
    asked becomes `on`. Raises NotFound, BadInput for a key that is taken or a file that is there already.
    """
    from bizkit.services.studio.filing import write_whole
    from bizkit.services.studio.out_file import refuse_kept

    old, source = _source(folder, brief)
    if client:
        folder.client(client, named_in="--client")
    _refuse_taken(folder, key)
    target = out or folder.path / "briefs" / f"{key}.toml"
    if out is not None and not out.exists():
        refuse_kept(folder, out)
    if target.exists():
        raise BadInput(wanted="a new file", got="one that is there already", where=str(target), field="--out")
    new: dict[Place, str | date] = {("key",): key}
    new |= {(name,): said for name, said in (("title", title), ("client", client)) if said}
    dates = _dates(old, source, first)
    last = old.first_shoot_date
    if old.asked_on and (first is not None or last is None or on <= last):
        new["asked_on",] = on
    text = rewritten(source.text, {**new, **dates}, source.name)
    copied = folder.brief_of(parse_toml(text, target.name, "a brief"))
    write_whole(target, text.encode())
    looks = []
    if first is None and any(day.date for day in old.days):
        looks.append(f"its days are still those of {source.name}: change them, or copy with --first")
    looks += _does_not_price(folder, target, on)
    if old.exchange:
        looks.append(f"its exchange rate is still that of {old.exchange.on}")
    return {
        "from": source.name,
        "file": str(target),
        "key": copied.key,
        "title": copied.title,
        "client": copied.client,
        "days": [each.isoformat() for day in copied.days for each in day.dates()],
        "moved": len(dates),
        "looks": looks,
    }


def _source(folder: StudioFolder, brief: Path) -> tuple[Brief, TomlFile]:
    """The brief of a file, else of a quote by its key or number."""
    from bizkit.services.job.basis import read_basis
    from bizkit.store.basis import basis_of
    from bizkit.store.offers import quote_named

    if not folder.has_brief(brief):
        with folder.book.read() as work:
            quote = quote_named(work, str(brief))
            basis = basis_of(work, quote.number, quote.revision) if quote else None
        if quote and basis:
            _, read, file = read_basis(folder, basis.brief, basis.brief_file, basis.card, quote.document)
            return read, file
    return folder.brief(brief)


def _does_not_price(folder: StudioFolder, copy: Path, on: date) -> list[str]:
    """What is to be written before a copy has a price, as where its days have come to a month nobody wrote of."""
    from bizkit.services.quoting.pricing import price_brief

    try:
        price_brief(folder, copy, on)
    except BizkitError as error:
        return [f"it has no price yet: {error}"]
    return []


def _refuse_taken(folder: StudioFolder, key: str) -> None:
    from bizkit.store.offers import quote_named
    from bizkit.store.quotes import drafts

    with folder.book.read() as work:
        quote = quote_named(work, key)
        if quote or drafts(work, key):
            taken = f"the key of {quote.number}" if quote else "the key of a draft"
            raise BadInput(wanted="a key that no quote has", got=f"{key}, {taken}", field="KEY")


def _dates(old: Brief, source: TomlFile, first: date | None) -> dict[Place, str | date]:
    """Where a date moves to, by its place. Raises BadInput where the brief has no date to count from."""
    if first is None:
        return {}
    dated = [day.date for day in old.days if day.date]
    if not dated:
        raise BadInput(wanted="a brief with a dated day", got="none", field="--first", where=old.where)
    step: timedelta = first - min(dated)
    moved: dict[Place, str | date] = {}
    for place, value in texts_and_dates(source.tree):
        if place[0] in _STAY:
            continue
        if isinstance(value, date):
            moved[place] = value + step
        elif on := _written(value):
            moved[place] = (on + step).isoformat()
    return moved


def _written(text: str) -> date | None:
    """A date that is written as text, such as the day of a billing stage."""
    try:
        return date.fromisoformat(text) if len(text) == 10 and text[4:8:3] == "--" else None
    except ValueError:
        return None


#: A brief copied: from which file or quote, where to, and on which days it shoots now.
BriefCopied = TypedDict(
    "BriefCopied",
    {
        "from": str, "file": str, "key": str, "title": str, "client": str, "days": list[str], "moved": int,
        "looks": list[str],
    },
)  # fmt: skip
