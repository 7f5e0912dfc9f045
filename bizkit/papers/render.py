"""A frozen document in, PDF bytes out.

    render(document, own=..., asset=...) -> bytes

The shapes of the documents are in `bizkit.domain.documents`, what of one may be drawn says `outgoing` there; wording
and layout are in `templates/papers/<language>/<kind>.xml.j2`.
"""

from __future__ import annotations

import unicodedata
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from bizkit.domain.documents.outgoing import outgoing
from bizkit.domain.errors import BadInput
from bizkit.papers import fonts, page
from bizkit.papers.blocks import Text
from bizkit.papers.inline import Setter
from bizkit.papers.look import look
from bizkit.papers.markup import Builder
from bizkit.papers.template import LINE_END, fill

_DEFAULT_ACCENT = "#1f5f6b"


def render(
    document: Mapping[str, Any], *, own: Path | None = None, asset: Callable[[str], bytes] | None = None
) -> bytes:
    """The PDF of `document`, the same bytes for the same document, templates and images.

    own: the studio's papers folder; `<language>/<kind>.xml.j2` in it wins over the shipped one, `fonts/*.ttf` are
    asked for characters that the shipped fonts lack.
    asset: gives the bytes of an image (logo, drawn signature) by its SHA-256.

    Raises BadInput for a field that is missing or cannot be drawn, NotFound for an unknown kind, language or paper
    size, RuleBroken for a paper longer than `page.MOST_PAGES` pages.
    """
    document = outgoing(document)
    where = f"{document.get('kind', 'document')} {document.get('number', '')}".strip()
    size = page.size_of(str(document.get("paper_size", "A4")))
    studio = document.get("studio") or {}
    colours = look(str(studio.get("accent") or _DEFAULT_ACCENT))
    root = fill(document, own)
    setter = Setter(colours, fonts.load(own))
    try:
        story = Builder(setter, asset).stack(_body(root))
        furniture = _furniture(root, document, setter)
        return page.write(page.lay_out(story, size), size, furniture, colours)
    except fonts.Undrawable as error:
        raise _undrawable(error, document, where) from None


def check_letters(data: Mapping[str, Any], *, own: Path | None = None) -> None:
    """Refuse text that no paper can draw, before it is kept: every text of `data`, with `own` fonts as in `render`.

    Raises BadInput naming the field and the letter.
    """
    if all(text.isascii() for _, text in _texts(data)):
        return
    letters = fonts.load(own)
    try:
        for _, text in _texts(data):
            for _ in letters.runs(text.replace("\n", " "), fonts.REGULAR):
                pass
    except fonts.Undrawable as error:
        raise _undrawable(error, data, "") from None


def _body(root: ET.Element) -> ET.Element:
    body = ET.Element("stack")
    body.extend(child for child in root if child.tag not in ("running", "footer", "pages"))
    return body


def _furniture(root: ET.Element, document: Mapping[str, Any], setter: Setter) -> page.Furniture:
    def text(tag: str) -> Text | None:
        element = root.find(tag)
        return None if element is None else setter.element(element, "label")

    wording = root.findtext("pages") or "{page} / {pages}"

    def label(number: int, total: int) -> Text:
        plain = wording.replace("{page}", str(number)).replace("{pages}", str(total))
        return setter.plain(plain, "label", "r") or Text("", setter.style("label"))

    return page.Furniture(
        title=root.get("title", "").replace(LINE_END, " "),
        subject=root.get("subject", "").replace(LINE_END, " "),
        author=str((document.get("studio") or {}).get("name", "")),
        language=str(document.get("language", "")),
        issued_on=str(document.get("issued_on", "")),
        running=text("running"),
        footer=text("footer"),
        label=label,
    )


def _undrawable(error: fonts.Undrawable, document: Mapping[str, Any], where: str) -> BadInput:
    code = f"U+{ord(error.character):04X}"
    name = unicodedata.name(error.character, "unnamed")
    field = next((path for path, text in _texts(document) if error.character in text), "")
    return BadInput(
        wanted="letters that the papers can draw",
        got=f"{error.character} ({code} {name}), which {error.reason}",
        field=field or "wording or locale",
        where=where,
        hint=error.hint,
    )


def _texts(value: Any, path: str = "") -> Iterator[tuple[str, str]]:
    """Every text of the document with its dotted field name: ("client.address[1]", "12 Shore Road")."""
    if isinstance(value, str):
        yield path, fonts.readable(value)
    elif isinstance(value, Mapping):
        for key, item in value.items():
            yield from _texts(item, f"{path}.{key}" if path else str(key))
    elif isinstance(value, list | tuple):
        for number, item in enumerate(value, start=1):
            yield from _texts(item, f"{path}[{number}]")
