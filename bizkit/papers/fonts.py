"""Which font draws which character: the main face first, then the fallbacks, then the studio's own fonts.

Nothing is ever drawn as an empty box: a character is drawn by a font that has it, or refused.
"""

from __future__ import annotations

import hashlib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFontFace

from bizkit.domain.errors import BadInput
from bizkit.papers.embedding import EmbeddedFont

#: The faces of the main family, by the name that text styles use.
REGULAR, ITALIC, SEMIBOLD = "SourceSans3-Regular", "SourceSans3-Italic", "SourceSans3-SemiBold"

#: Asked in this order for what the main face lacks, with the size that looks right beside it.
FALLBACKS = (("DejaVuSans-part", 0.93), ("NotoEmoji-part", 0.82))

#: Scripts whose letters join, stack or change order: drawing them letter by letter would be wrong.
_SHAPED = (
    (0x0900, 0x0DFF),  # Devanagari to Sinhala
    (0x0E00, 0x0FFF),  # Thai, Lao, Tibetan
    (0x1000, 0x109F),  # Myanmar
    (0x1780, 0x18AF),  # Khmer, Mongolian
    (0x1900, 0x1AAF),  # Limbu to Tai Tham
    (0x1B00, 0x1C4F),  # Balinese to Lepcha
    (0xA800, 0xABFF),  # Syloti Nagri to Meetei Mayek
    (0x11000, 0x11FFF),  # Brahmi and its family
)


#: The faces registered so far, by name. Registering is for the whole process in reportlab.
_faces: dict[str, TTFontFace] = {}


class Undrawable(Exception):
    """`character` cannot be drawn; `reason` says why and `hint` what to do. Turned into a BadInput with the field."""

    def __init__(self, character: str, reason: str, hint: str) -> None:
        self.character = character
        self.reason = reason
        self.hint = hint
        super().__init__(f"{character!r}: {reason}")


@dataclass(frozen=True, slots=True)
class Fonts:
    """The fallback fonts in the order they are asked: (registered name, size factor)."""

    fallbacks: tuple[tuple[str, float], ...]

    def runs(self, text: str, face: str) -> Iterable[tuple[str, float, str]]:
        """`text` cut into pieces of one font each: (font, size factor, piece). Raises Undrawable."""
        piece, current = "", (face, 1.0)
        for character in text:
            font = self._font_for(character, face)
            if font != current and piece:
                yield (*current, piece)
                piece = ""
            current = font
            piece += character
        if piece:
            yield (*current, piece)

    def _font_for(self, character: str, face: str) -> tuple[str, float]:
        code = ord(character)
        if has(face, code):
            return face, 1.0
        if unicodedata.bidirectional(character) in ("R", "AL", "AN"):
            raise Undrawable(character, "is written from right to left", "Write it in Latin letters")
        if any(first <= code <= last for first, last in _SHAPED):
            raise Undrawable(character, "is of a script whose letters join or stack", "Write it in Latin letters")
        for name, factor in self.fallbacks:
            if has(name, code):
                return name, factor
        raise Undrawable(
            character,
            "is in no font at hand",
            "Write it in Latin letters, or put a .ttf font that has it into fonts/ beside the studio's own templates",
        )


def escaped(text: str, own: Path | None) -> str:
    r"""`text` with what no font at hand can draw, and what has no shape, as escapes: a name whose exact letters stand
    elsewhere. own: as of `load`.

    >>> print(escaped("Küste \u05d7.mov", None))
    Küste \u05d7.mov
    """
    fonts = load(own)

    def drawn(character: str) -> str:
        try:
            shown = bool(list(fonts.runs(character, REGULAR))) and readable(character) == character != "\n"
        except Undrawable:
            shown = False
        return character if shown else character.encode("unicode_escape").decode()

    return "".join(drawn(character) for character in unicodedata.normalize("NFC", text))


def has(font: str, code: int) -> bool:
    """Whether the registered `font` has a glyph for the code point."""
    return code in _faces[font].charToGlyph


def load(own: Path | None) -> Fonts:
    """Register the shipped fonts and the studio's own (`own`/fonts/*.ttf). Raises BadInput for a broken font file."""
    shipped = Path(__file__).parent / "fonts"
    for name in (REGULAR, ITALIC, SEMIBOLD, *(name for name, _ in FALLBACKS)):
        _register(name, shipped / f"{name}.ttf")
    extra = sorted(path for path in (own / "fonts").glob("*.ttf") if path.is_file()) if own else []
    return Fonts((*FALLBACKS, *((_register_own(path), 1.0) for path in extra)))


def _register_own(path: Path) -> str:
    name = f"own-{hashlib.sha256(path.read_bytes()).hexdigest()[:16]}"
    try:
        # Another cut of a shipped font has its name: the suffix keeps the two apart in the file.
        _register(name, path, f"-{name}")
    except (TTFError, OSError) as error:
        raise BadInput(wanted="a TrueType font", got=error, where=str(path)) from None
    return name


def _register(name: str, path: Path, suffix: str = "") -> None:
    if name not in _faces:
        font = EmbeddedFont(name, str(path))
        font.face.subfontNameX += suffix.encode()
        pdfmetrics.registerFont(font)
        _faces[name] = font.face


def readable(text: str) -> str:
    """`text` without what has no shape of its own: control and direction marks, joiners, emoji variants.

    Line ends of every kind become one newline; letters and their accents become one character where Unicode has it.

    >>> readable("a\\r\\nb\\x00 e\\u0301 \\u202eevil")
    'a\\nb  é evil'
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\u2028", "\n").replace("\u2029", "\n")
    text = unicodedata.normalize("NFC", text)
    return "".join(_readable(character) for character in text)


def _readable(character: str) -> str:
    if character in "\n":
        return character
    category = unicodedata.category(character)
    if category == "Cc":
        return " "
    if category == "Cs":
        return "\N{REPLACEMENT CHARACTER}"
    if category == "Cf" or "\ufe00" <= character <= "\ufe0f" or "\U0001f3fb" <= character <= "\U0001f3ff":
        return ""
    if character == "\u202f":
        return "\xa0"
    return character
