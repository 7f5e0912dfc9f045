"""Inline markup (b i small muted accent br) as reportlab's: the font of every run chosen, every text escaped."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass, replace
from xml.sax.saxutils import escape

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle

from bizkit.domain.errors import NotFound
from bizkit.papers.blocks import Text
from bizkit.papers.fonts import ITALIC, REGULAR, SEMIBOLD, Fonts
from bizkit.papers.look import Look, style_names
from bizkit.papers.template import LINE_END

_BREAK = "<br/>"


@dataclass(frozen=True, slots=True)
class _Voice:
    """How a run is set: face, size in points, colour where it is not the style's."""

    face: str
    size: float
    tone: Color | None = None


class Setter:
    """Sets text in one look with one set of fonts."""

    def __init__(self, look: Look, fonts: Fonts) -> None:
        self.look, self.fonts = look, fonts

    def style(self, name: str, align: str = "l") -> ParagraphStyle:
        """The text style `name`. Raises NotFound."""
        if name not in style_names():
            raise NotFound("text style", name, style_names(), where="block markup")
        return self.look.style(name, align)

    def element(self, element: ET.Element, style: str, align: str = "l") -> Text | None:
        """The inline content of `element`; none when it is blank. Raises Undrawable, NotFound for an unknown mark."""
        chosen = self.style(style, align)
        return _text(list(self._runs(element, _voice(chosen))), chosen)

    def plain(self, text: str | None, style: str, align: str = "l", *, tone: str = "") -> Text | None:
        """Plain text; none when it is blank. Raises Undrawable."""
        chosen = self.style(style, align)
        voice = _voice(chosen)
        if tone:
            voice = replace(voice, tone=self.look.tone(tone))
        return _text(list(self._pieces(text, voice)), chosen)

    def _runs(self, element: ET.Element, voice: _Voice) -> Iterator[str]:
        yield from self._pieces(element.text, voice)
        for child in element:
            if child.tag == "br":
                yield _BREAK
            else:
                yield from self._runs(child, self._voiced(str(child.tag), voice))
            yield from self._pieces(child.tail, voice)

    def _voiced(self, mark: str, voice: _Voice) -> _Voice:
        match mark:
            case "b":
                return replace(voice, face=SEMIBOLD)
            case "i":
                return replace(voice, face=ITALIC if voice.face == REGULAR else voice.face)
            case "small":
                return replace(voice, size=voice.size * 0.86, tone=self.look.tone("muted"))
            case "muted" | "accent":
                return replace(voice, tone=self.look.tone(mark))
        raise NotFound("inline mark", mark, ["b", "i", "small", "muted", "accent", "br"], where="block markup")

    def _pieces(self, text: str | None, voice: _Voice) -> Iterator[str]:
        colour = f' color="{_hex(voice.tone)}"' if voice.tone else ""
        for number, part in enumerate(squeezed(text or "").split(LINE_END)):
            if number:
                yield _BREAK
            for font, factor, run in self.fonts.runs(part, voice.face):
                yield f'<font name="{font}" size="{voice.size * factor:.2f}"{colour}>{escape(run)}</font>'


def squeezed(text: str) -> str:
    """Blanks and line ends of the template count as one blank."""
    return re.sub(r"[ \t\r\n]+", " ", text)


def _voice(style: ParagraphStyle) -> _Voice:
    return _Voice(style.fontName, style.fontSize)


def _text(pieces: list[str], style: ParagraphStyle) -> Text | None:
    """The pieces as one paragraph: no blanks at its ends, around line ends, or twice in a row."""
    markup = "".join(pieces)
    if not re.sub(r"<[^>]*>", "", markup).strip(" "):
        return None
    markup = re.sub(r" +(?=</font>(?:<font[^>]*> *</font>)*<br/>)|(?<=<br/>) +", "", markup)
    markup = re.sub(r"(<br/>(?:<font[^>]*>)) +", r"\1", markup)
    markup = re.sub(r" (</font>(?:<font[^>]*></font>)*<font[^>]*>) +", r" \1", markup)
    markup = re.sub(r"^(?:<br/>|<font[^>]*> *</font>)+", "", markup)
    markup = re.sub(r"(?:<br/>|<font[^>]*> *</font>)+$", "", markup)
    markup = re.sub(r"^(<font[^>]*>) +", r"\1", markup)
    return Text(markup, style)


def _hex(color: Color) -> str:
    return "#" + "".join(f"{round(part * 255):02x}" for part in (color.red, color.green, color.blue))
