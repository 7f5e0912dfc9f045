"""Blocks that are drawn rather than set: pictures, QR codes, bar charts, tick boxes, lines to write on."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

from PIL import Image, UnidentifiedImageError
from reportlab.lib.colors import Color
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from bizkit.domain.errors import BadInput
from bizkit.papers.blocks import Block, line
from bizkit.papers.fonts import REGULAR, SEMIBOLD, Fonts
from bizkit.papers.look import INK, LINE, MUTED, Look

#: A logo or a signature needs no more.
_MOST_PIXELS = 50_000_000

#: What Pillow raises for files that are no images or are cut short, and for those that unfold to giants.
_UNREADABLE = (UnidentifiedImageError, OSError, SyntaxError, ValueError)
_GIANT = (Image.DecompressionBombError, Image.DecompressionBombWarning)


class Picture(Block):
    """An image no wider than its column and `most` high; never enlarged beyond 4 pixels a point."""

    def __init__(self, data: bytes, most_height: float, most_width: float, align: str, field: str) -> None:
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", Image.DecompressionBombWarning)
                opened = Image.open(BytesIO(data))
            with opened:
                if opened.width * opened.height > _MOST_PIXELS:
                    raise BadInput(wanted="an image of at most 50 megapixels", got=opened.size, field=field)
                opened.load()
                has_alpha = "A" in opened.getbands() or "transparency" in opened.info
                picture = opened.convert("RGBA" if has_alpha else "RGB")
        except _GIANT as error:
            raise BadInput(wanted="an image of at most 50 megapixels", got=error, field=field) from None
        except _UNREADABLE as error:
            raise BadInput(wanted="a PNG or JPEG image", got=error, field=field) from None
        self._image = ImageReader(picture)
        self._ratio = picture.width / picture.height
        self._most_height, self._most_width, self._align = most_height, most_width, align

    def _size(self, width: float) -> tuple[float, float]:
        widest = min(width, self._most_width)
        height = min(self._most_height, widest / self._ratio)
        return height * self._ratio, height

    def height(self, width: float) -> float:
        return self._size(width)[1]

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        wide, high = self._size(width)
        if self._align == "r":
            x += width - wide
        canvas.drawImage(self._image, x, y - high, wide, high, mask="auto")


class Code(Block):
    """A QR code (ISO/IEC 18004) of `data`, `size` points wide with its quiet zone. Level M, text in UTF-8."""

    def __init__(self, data: str, size: float) -> None:
        import segno

        code = segno.make(data, error="m", micro=False, boost_error=False, encoding="utf-8")
        self._rows = [bytes(row) for row in code.matrix]
        self._size = size

    def height(self, width: float) -> float:
        return min(self._size, width)

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        module = self.height(width) / (len(self._rows) + 8)
        canvas.setFillColor(Color(0, 0, 0))
        path = canvas.beginPath()
        for number, row in enumerate(self._rows):
            start = 0
            while start < len(row):
                end = start
                while end < len(row) and row[end]:
                    end += 1
                if end > start:
                    top = y - (number + 4) * module
                    path.rect(x + (start + 4) * module, top - module, (end - start) * module, module)
                start = end + 1
        canvas.drawPath(path, stroke=0, fill=1)


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: what it stands for, its length (0 or more; the scale is the chart's), its value as printed."""

    label: str
    length: float
    value: str
    strong: bool = False


class Bars(Block):
    """A small chart of upright bars, the value above and the label below each."""

    _TOP, _FOOT = 14.0, 13.0

    def __init__(self, bars: Sequence[Bar], look: Look, fonts: Fonts, height: float, most: float, axis: str) -> None:
        self._bars, self._look, self._fonts, self._axis = bars, look, fonts, axis
        self._height = height
        self._most = most or max((bar.length for bar in bars), default=0.0) or 1.0

    def height(self, width: float) -> float:
        return self._height + self._TOP + self._FOOT + (12 if self._axis else 0)

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        base = y - self._TOP - self._height
        step = min(width / max(len(self._bars), 1), 64.0)
        thick = step * 0.56
        for index, bar in enumerate(self._bars):
            left = x + index * step + (step - thick) / 2
            length = max(self._height * bar.length / self._most, 0.6)
            canvas.setFillColor(self._look.accent if bar.strong else _thin(self._look.accent, 0.42))
            canvas.rect(left, base, thick, length, stroke=0, fill=1)
            face = SEMIBOLD if bar.strong else REGULAR
            self._label(canvas, bar.value, left + thick / 2, base + length + 4, face, INK, step)
            self._label(canvas, bar.label, left + thick / 2, base - 10.5, face, MUTED, step)
        line(canvas, x, base, x + step * len(self._bars), LINE, 0.6)
        if self._axis:
            self._label(canvas, self._axis, x + step * len(self._bars) / 2, base - 22.5, REGULAR, MUTED, 1e6)

    def _label(self, canvas: Canvas, text: str, middle: float, y: float, face: str, fill: Color, room: float) -> None:
        runs = list(self._fonts.runs(text, face))
        size = 8.0
        wide = sum(stringWidth(piece, font, size * factor) for font, factor, piece in runs)
        size *= min(1.0, room / wide) if wide else 1.0
        left = middle - sum(stringWidth(piece, font, size * factor) for font, factor, piece in runs) / 2
        canvas.setFillColor(fill)
        for font, factor, piece in runs:
            canvas.setFont(font, size * factor)
            canvas.drawString(left, y, piece)
            left += stringWidth(piece, font, size * factor)


def _thin(color: Color, part: float) -> Color:
    """`color` thinned with white to `part` of its strength."""
    return Color(*(1 - part + part * value for value in (color.red, color.green, color.blue)))


class Tick(Block):
    """A box to tick, or a ticked one."""

    def __init__(self, ticked: bool, look: Look) -> None:
        self._ticked, self._look = ticked, look

    def height(self, width: float) -> float:
        return 12.0

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        canvas.setStrokeColor(self._look.tone("muted"))
        canvas.setLineWidth(0.8)
        canvas.rect(x, y - 11.4, 9, 9, stroke=1, fill=0)
        if self._ticked:
            canvas.setStrokeColor(self._look.accent_text)
            canvas.setLineWidth(1.6)
            path = canvas.beginPath()
            path.moveTo(x + 1.8, y - 6.9)
            path.lineTo(x + 3.9, y - 9.2)
            path.lineTo(x + 7.4, y - 4.2)
            canvas.drawPath(path, stroke=1, fill=0)


class WritingLine(Block):
    """Room to write by hand, with a line under it."""

    def __init__(self, room: float) -> None:
        self._room = room

    def height(self, width: float) -> float:
        return self._room

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        line(canvas, x, y - self._room, x + width, MUTED, 0.5)
