"""From a document to block markup: the paper's template, found and filled.

A template is `<language>/<kind>.xml.j2`, in Jinja2's language, and yields the block markup of `markup.py`. The
studio's own folder is asked first, then the shipped one. Every value is escaped: a name is data, whatever it holds.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any

from jinja2 import ChainableUndefined, FileSystemLoader, TemplateError, TemplateNotFound, UndefinedError, pass_context
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment
from markupsafe import Markup

from bizkit import resources
from bizkit.domain.documents import required_keys
from bizkit.domain.documents.outgoing import Outgoing
from bizkit.domain.errors import BadInput, NotFound
from bizkit.domain.money import Money, decimal, percent
from bizkit.domain.registrations import is_vat_number, sort_code, spaced
from bizkit.domain.rights.territory import fewest_names
from bizkit.papers.fonts import readable
from bizkit.papers.locale import Drawn

#: Stands for a line end inside a value, because line ends of the template itself mean nothing.
LINE_END = "\N{LINE SEPARATOR}"

#: Name under which a template's filters find the locale of the document.
_DRAWN = "_drawn"


class Missing(ChainableUndefined):
    """A field that the document lacks: false and empty in a condition, an error when printed."""

    def __str__(self) -> str:
        raise UndefinedError(self._undefined_message)

    def __html__(self) -> str:
        raise UndefinedError(self._undefined_message)


def fill(document: Outgoing, own: Path | None) -> ET.Element:
    """The block markup of what may leave of a document. Raises BadInput, NotFound for an unknown kind or language."""
    shipped = resources.templates() / "papers"
    kind, language = str(document.get("kind", "")), str(document.get("language", ""))
    folders = [folder for folder in (own, shipped) if folder is not None]
    name = _find(kind, language, folders, own)
    where = f"{kind} {document.get('number', '')}".strip()
    for key in required_keys(kind):
        if key not in document:
            raise BadInput(wanted="a field that the paper prints", got="nothing", field=key, where=where)
    drawn = Drawn(str(document.get("locale", "")), language)
    environment = _environment(tuple(folders))
    try:
        text = environment.get_template(name).render({**_clean(document), _DRAWN: drawn})
    except UndefinedError as error:
        raise BadInput(wanted="a field that the paper prints", got=error, where=where) from None
    except TemplateNotFound as error:
        raise BadInput(wanted="a template", got=error.name, where=name) from None
    except TemplateError as error:
        raise BadInput(wanted="a template in Jinja2's language", got=error, where=name) from None
    except (TypeError, AttributeError, KeyError, ZeroDivisionError) as error:
        raise BadInput(wanted="a document in the shape of its kind", got=error, where=where) from error
    except (OverflowError, ValueError, LookupError, RecursionError, MemoryError) as error:
        raise BadInput(
            wanted="a template that can be filled", got=error or type(error).__name__, where=name
        ) from error
    try:
        return ET.fromstring(text)
    except ET.ParseError as error:
        raise BadInput(wanted="block markup (XML)", got=error, where=name) from None


def fill_text(
    text: str, wanted: str, values: Mapping[str, Any], *, language: str, locale: str, own: Path | None
) -> str | None:
    """A template given as text, filled; None where the template file that it needs, `wanted`, is nowhere."""
    folders = tuple(folder for folder in (own, resources.templates() / "papers") if folder is not None)
    if not any((folder / wanted).is_file() for folder in folders):
        return None
    environment = _environment(folders)
    try:
        return environment.from_string(text).render({**_clean(values), _DRAWN: Drawn(locale, language)})
    except (UndefinedError, TypeError, KeyError) as error:
        raise BadInput(wanted="a field that the paper prints", got=error, where=wanted) from None
    except TemplateError as error:
        raise BadInput(wanted="a template in Jinja2's language", got=error, where=wanted) from None


def _find(kind: str, language: str, folders: Sequence[Path], own: Path | None) -> str:
    """The template's name below one of `folders`."""
    name = f"{language}/{kind}.xml.j2"
    if own and (own / f"{kind}.xml.j2").is_file():
        raise BadInput(
            wanted=f"the studio's own template in the folder of its language, {name}",
            got=f"{kind}.xml.j2",
            where=str(own),
            hint="Move it there",
        )
    plain = re.fullmatch(r"[a-z][a-z_]*", kind) and re.fullmatch(r"[A-Za-z][A-Za-z_-]*", language)
    if plain and any((folder / name).is_file() for folder in folders):
        return name
    languages = {path.name for folder in folders for path in folder.glob("*") if any(path.glob("*.xml.j2"))}
    if language not in languages:
        raise NotFound("language of papers", language, languages, field="language")
    kinds = {
        path.name.removesuffix(".xml.j2") for folder in folders for path in (folder / language).glob("[a-z]*.xml.j2")
    }
    raise NotFound("kind of paper", kind, kinds, field="kind")


@lru_cache(maxsize=8)
def _environment(folders: tuple[Path, ...]) -> ImmutableSandboxedEnvironment:
    """Compiled templates are kept for the process; a template file that changes is read again."""
    environment = ImmutableSandboxedEnvironment(
        loader=FileSystemLoader([str(folder) for folder in folders]),
        autoescape=True,
        undefined=Missing,
        finalize=_printed,
    )
    environment.filters.update(
        money=_money,
        figure=_figure,
        rate=_rate,
        number=_by_locale(lambda drawn, value: drawn.number(value)),
        percent=_by_locale(lambda drawn, value: drawn.percent(value)),
        share=_by_locale(lambda drawn, value: drawn.share(value)),
        date=_by_locale(lambda drawn, value: drawn.date(value)),
        weekday=_by_locale(lambda drawn, value: drawn.weekday(value)),
        short_date=_by_locale(lambda drawn, value: drawn.short_date(value)),
        country=_by_locale(lambda drawn, value: drawn.country(value)),
        fewest_names=lambda codes: fewest_names(frozenset(codes)),
        plural=_by_locale(lambda drawn, value: drawn.plural(value)),
        drawn=_by_kind,
        by=by,
        add=add,
        with_tax=_with_tax,
        spaced=spaced,
        sort_code=sort_code,
        named=named,
    )
    environment.tests.update(
        a_date=lambda value: bool(re.fullmatch(r"\d{4}-\d\d-\d\d", str(value))),
        nil=lambda amount: decimal(amount) == 0,
        vat_registered=lambda who: is_vat_number(str(who["tax_number"]), str(who["country"])),
        negative=lambda amount: decimal(amount) < 0,
    )
    return environment


def _by_locale(draw: Callable[[Drawn, str], str]) -> Callable[[Context, Any], str]:
    """A filter that draws with the locale and language of the document at hand."""

    @pass_context
    def drawing(context: Context, value: Any) -> str:
        return draw(context[_DRAWN], str(value))

    return drawing


@pass_context
def _money(context: Context, amount: str, currency: str = "") -> str:
    drawn: Drawn = context[_DRAWN]
    return drawn.money(amount, currency or context["currency"])


@pass_context
def _with_tax(context: Context, amount: str, rate: str) -> str:
    """The amount with so much percent of tax on it, rounded once; as it is for a rate of nothing."""
    if not decimal(rate):
        return amount
    net = Money(amount, context["currency"])
    return (net + percent(net, decimal(rate))).text


@pass_context
def _figure(context: Context, amount: str, currency: str = "") -> str:
    drawn: Drawn = context[_DRAWN]
    return drawn.figure(amount, currency or context["currency"])


@pass_context
def _rate(context: Context, amount: str) -> str:
    drawn: Drawn = context[_DRAWN]
    return drawn.rate(amount, context["currency"])


@pass_context
def _by_kind(context: Context, value: Any, kind: str) -> str:
    """A value of a report's column: text, or drawn as "money", "figure", "number", "percent" or "date"."""
    if value == "" or kind == "text":
        return str(value)
    drawn: Drawn = context[_DRAWN]
    draw: dict[str, Callable[[str], str]] = {
        "money": lambda text: drawn.money(text, context["currency"]),
        "figure": lambda text: drawn.figure(text, context["currency"]),
        "number": drawn.number,
        "percent": drawn.percent,
        "date": drawn.short_date,
    }
    if kind not in draw:
        raise NotFound("kind of column", kind, [*draw, "text"], field="kind")
    return draw[kind](str(value))


def _printed(value: Any) -> Any:
    """What `{{ value }}` prints before it is escaped."""
    if isinstance(value, Markup | Missing):
        return value
    return "" if value is None else str(value).replace("\n", LINE_END)


def _clean(value: Any) -> Any:
    """The document with every text made readable (see `fonts.readable`)."""
    if isinstance(value, str):
        return readable(value)
    if isinstance(value, Mapping):
        return {key: _clean(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_clean(item) for item in value]
    return value


def by(rows: Iterable[Mapping[str, Any]], key: str) -> list[tuple[Any, list[Mapping[str, Any]]]]:
    """`rows` gathered by their `key`, groups in the order they first come.

    >>> by([{"a": 1}, {"a": 2}, {"a": 1}], "a")
    [(1, [{'a': 1}, {'a': 1}]), (2, [{'a': 2}])]
    """
    groups: dict[Any, list[Mapping[str, Any]]] = {}
    for row in rows:
        groups.setdefault(row.get(key, ""), []).append(row)
    return list(groups.items())


def add(rows: Iterable[Mapping[str, Any]], key: str) -> str:
    """The exact sum of the amounts under `key`, as text.

    >>> add([{"amount": "0.10"}, {"amount": "0.20"}], "amount")
    '0.30'
    """
    return f"{sum((decimal(row[key]) for row in rows), Decimal(0)):f}"


def named(key: str, names: Mapping[str, Any]) -> Any:
    """The wording for `key` in `names`; a key without wording is printed in plain words.

    >>> named("paid_social", {}), named("kit", {"kit": "Equipment"})
    ('paid social', 'Equipment')
    """
    return names.get(key, str(key).replace("_", " "))
