"""The look: colours from one accent, text styles, spaces. Lengths in points."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle

from bizkit.domain.errors import BadInput
from bizkit.papers.fonts import ITALIC, REGULAR, SEMIBOLD

MM = 72 / 25.4

INK = Color(0x1B / 255, 0x23 / 255, 0x27 / 255)
MUTED = Color(0x5A / 255, 0x66 / 255, 0x6C / 255)
LINE = Color(0xD3 / 255, 0xD9 / 255, 0xDC / 255)
WHITE = Color(1, 1, 1)

#: name -> (face, size, leading, colour); the colour is "ink", "muted" or "accent".
_STYLES = {
    "body": (REGULAR, 9.6, 13.6, "ink"),
    "lead": (REGULAR, 12, 17, "ink"),
    "small": (REGULAR, 8, 11, "muted"),
    "note": (ITALIC, 8.6, 12, "muted"),
    "kicker": (SEMIBOLD, 10, 13, "accent"),
    "poster": (SEMIBOLD, 46, 50, "ink"),
    "title": (SEMIBOLD, 27, 31, "ink"),
    "section": (SEMIBOLD, 10.6, 13.6, "accent"),
    "heading": (SEMIBOLD, 9.6, 13.6, "ink"),
    "label": (REGULAR, 8, 10.5, "muted"),
    "figure": (SEMIBOLD, 13.5, 17, "ink"),
    "figure_strong": (SEMIBOLD, 17.5, 20, "accent"),
    "head": (REGULAR, 8, 10.5, "muted"),
    "cell": (REGULAR, 9.4, 12.8, "ink"),
    "group": (SEMIBOLD, 9.4, 12.8, "ink"),
    "total": (SEMIBOLD, 12, 15, "accent"),
    "wordmark": (SEMIBOLD, 14, 17, "ink"),
}

_ALIGN: dict[str, Literal[0, 1, 2]] = {"l": 0, "c": 1, "r": 2}


@dataclass(frozen=True, slots=True)
class Look:
    """The colours of one paper. `accent` is the studio's own; `accent_text` is as dark as reading needs."""

    accent: Color
    accent_text: Color
    wash: Color

    def style(self, name: str, align: str = "l") -> ParagraphStyle:
        """The text style `name`, aligned "l", "r" or "c"."""
        face, size, leading, tone = _STYLES[name]
        return ParagraphStyle(
            f"{name}-{align}",
            fontName=face,
            fontSize=size,
            leading=leading,
            textColor=self.tone(tone),
            alignment=_ALIGN[align],
            allowWidows=0,
            allowOrphans=0,
            splitLongWords=1,
        )

    def tone(self, name: str) -> Color:
        """The colour called "ink", "muted" or "accent"."""
        return {"ink": INK, "muted": MUTED, "accent": self.accent_text}[name]


def style_names() -> list[str]:
    """Every text style a template may name."""
    return sorted(_STYLES)


def look(accent: str) -> Look:
    """Colours for a studio's `accent`, written `#rrggbb`. Raises BadInput for anything else.

    Text in the accent colour is darkened until its contrast with white is at least 4.5 : 1
    (WCAG 2.2, success criterion 1.4.3).
    """
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", accent):
        raise BadInput(wanted="a colour such as #0b6e6e", got=accent, field="studio.accent")
    red, green, blue = (int(accent[i : i + 2], 16) / 255 for i in (1, 3, 5))
    text = (red, green, blue)
    while contrast_with_white(*text) < 4.5:
        text = (text[0] * 0.95, text[1] * 0.95, text[2] * 0.95)
    return Look(Color(red, green, blue), Color(*text), Color(*(0.94 + 0.06 * part for part in text)))


def contrast_with_white(red: float, green: float, blue: float) -> float:
    """Contrast ratio of a colour (parts 0..1) with white, by the formula of WCAG 2.2."""

    def linear(part: float) -> float:
        return part / 12.92 if part <= 0.04045 else float(((part + 0.055) / 1.055) ** 2.4)

    luminance = 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)
    return 1.05 / (luminance + 0.05)
