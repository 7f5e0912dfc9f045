"""Blocks: what a page is stacked from. A block knows its height at a width, splits where a page ends, and draws.

`split` returns (what fits, what is left). With `force`, given only on an empty page, something always fits, so that
laying out a paper always ends.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final, Protocol

from reportlab.lib.colors import Color
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Paragraph

#: Rounding slack when heights are compared.
_SLACK = 0.01

#: A panel lower than this is not split; a table is not begun in less room than this unless all of it fits.
_LOW, _BEGINNING = 220.0, 96.0

Split = tuple["Block | None", "Block | None"]


class Block:
    """A piece of a page. `above` is the gap wanted above it, dropped at the top of a page; `sticks` keeps it with
    the block that follows."""

    above: float = 0.0
    sticks: bool = False

    def height(self, width: float) -> float:
        """Height at `width`, without the gap above."""
        raise NotImplementedError

    def split(self, width: float, room: float, force: bool = False) -> Split:
        """What fits into `room` and what is left. A plain block is whole or moves on."""
        if force or self.height(width) <= room + _SLACK:
            return self, None
        return None, self

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        """Draw with the top left corner at (x, y)."""
        raise NotImplementedError


class Space(Block):
    """An empty height."""

    def __init__(self, height: float) -> None:
        self._height = height

    def height(self, width: float) -> float:
        return self._height

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        return None


class PageBreak(Space):
    """What follows starts on a new page. Heeded at the outermost stack."""

    def __init__(self) -> None:
        super().__init__(0)


class Rule(Block):
    """A horizontal line."""

    def __init__(self, color: Color, weight: float = 0.5) -> None:
        self._color, self._weight = color, weight

    def height(self, width: float) -> float:
        return self._weight

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        line(canvas, x, y, x + width, self._color, self._weight)


#: The space between a figure and its sign, a section sign and its number, or the day of a date and its month, which
#: no line breaks at.
_AFTER: Final = re.compile(r"(?<=\d) (?=[%€£$])|(?<=§) (?=\d)|(?:(?<=\d)|(?<=\d\.)) (?=[^\W\d_]+\.? \d{4}\b)")


class Text(Block):
    """A paragraph in reportlab's inline markup, already escaped."""

    def __init__(self, markup: str | Paragraph, style: ParagraphStyle) -> None:
        self._paragraph = markup if isinstance(markup, Paragraph) else Paragraph(_AFTER.sub("\u00a0", markup), style)
        self._style = style
        self._heights: dict[float, float] = {}

    def height(self, width: float) -> float:
        if width not in self._heights:
            self._heights[width] = self._paragraph.wrap(width, 1e6)[1]
        return self._heights[width]

    def widest_word(self) -> float:
        """The width that the widest word needs."""
        return self._paragraph.minWidth() if self._paragraph.frags else 0.0

    def split(self, width: float, room: float, force: bool = False) -> Split:
        if self.height(width) <= room + _SLACK:
            return self, None
        self._paragraph.wrap(width, 1e6)
        parts = [part for part in self._paragraph.split(width, room) if isinstance(part, Paragraph)]
        if len(parts) == 2:
            head, tail = (Text(part, self._style) for part in parts)
            head.above = self.above
            return head, tail
        return (self, None) if force else (None, self)

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        height = self._paragraph.wrap(width, 1e6)[1]
        self._paragraph.drawOn(canvas, x, y - height)


class Stack(Block):
    """Blocks one under the other."""

    def __init__(self, children: Sequence[Block]) -> None:
        self.children = list(children)
        self._heights: dict[float, float] = {}

    def height(self, width: float) -> float:
        if width not in self._heights:
            self._heights[width] = sum(
                child.height(width) + (child.above if index else 0) for index, child in enumerate(self.children)
            )
        return self._heights[width]

    def split(self, width: float, room: float, force: bool = False) -> Split:
        taken: list[Block] = []
        left = room
        # Only as many children are measured as fit, so that a long stack costs no more a page than a short one.
        for index, child in enumerate(self.children):
            if isinstance(child, PageBreak):
                return self._halves(taken, self.children[index + 1 :])
            gap = child.above if taken else 0.0
            height = child.height(width)
            if gap + height <= left + _SLACK:
                taken.append(child)
                left -= gap + height
                continue
            head, tail = child.split(width, left - gap)
            if head is None:
                kept = len(taken) - _stuck(taken)
                if kept or not force:
                    return self._halves(taken[:kept], self.children[kept:])
                head, tail = child.split(width, left - gap, True)
            rest = self.children[index + 1 :]
            return self._halves([*taken, head] if head else taken, [tail, *rest] if tail else rest)
        return self, None

    def _halves(self, taken: list[Block], rest: list[Block]) -> Split:
        head, tail = (Stack(part) if part else None for part in (taken, rest))
        if head:
            head.above, head.sticks = self.above, self.sticks
        return head, tail

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        for index, child in enumerate(self.children):
            y -= child.above if index else 0
            child.draw(canvas, x, y, width)
            y -= child.height(width)


def stacked(block: Block) -> Stack:
    """`block` as a stack, itself where it is one: what is left of a long one does not sink deeper with every page."""
    return block if type(block) is Stack else Stack([block])


def _stuck(taken: Sequence[Block]) -> int:
    """How many blocks at the end of `taken` must go on with the next one."""
    count = 0
    while count < len(taken) and taken[-1 - count].sticks:
        count += 1
    return count


class Keep(Stack):
    """A stack that moves to the next page rather than split, while it can."""

    def split(self, width: float, room: float, force: bool = False) -> Split:
        if self.height(width) <= room + _SLACK:
            return self, None
        return super().split(width, room, True) if force else (None, self)


class Panel(Block):
    """A stack on a tinted ground, with a bar at its left if `bar` is given. A low one moves on rather than split."""

    def __init__(self, inner: Stack, ground: Color | None, bar: Color | None, padding: float) -> None:
        self._inner, self._ground, self._bar, self._padding = inner, ground, bar, padding

    def height(self, width: float) -> float:
        return self._inner.height(width - 2 * self._padding) + 2 * self._padding

    def split(self, width: float, room: float, force: bool = False) -> Split:
        height = self.height(width)
        if height <= room + _SLACK:
            return self, None
        if height < _LOW and not force:
            return None, self
        head, tail = self._inner.split(width - 2 * self._padding, room - 2 * self._padding, force)
        return self._like(head), self._like(tail)

    def _like(self, part: Block | None) -> Panel | None:
        if part is None:
            return None
        panel = Panel(stacked(part), self._ground, self._bar, self._padding)
        panel.above = self.above
        return panel

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        height = self.height(width)
        if self._ground:
            canvas.setFillColor(self._ground)
            canvas.rect(x, y - height, width, height, stroke=0, fill=1)
        if self._bar:
            canvas.setFillColor(self._bar)
            canvas.rect(x, y - height, 2.4, height, stroke=0, fill=1)
        self._inner.draw(canvas, x + self._padding, y - self._padding, width - 2 * self._padding)


class Widths(Protocol):
    """Gives each column its width from the width of all."""

    def __call__(self, width: float) -> Sequence[float]: ...


def shares(weights: Sequence[float], fixed: Sequence[float | None], gap: float) -> Widths:
    """Columns of a `fixed` width, the others sharing what is left by `weights`, with `gap` between."""

    def widths(width: float) -> Sequence[float]:
        left = width - sum(part or 0.0 for part in fixed) - gap * (len(fixed) - 1)
        whole = sum(weight for weight, part in zip(weights, fixed, strict=True) if part is None) or 1.0
        return [left * weight / whole if part is None else part for weight, part in zip(weights, fixed, strict=True)]

    return widths


class Columns(Block):
    """Blocks side by side, each split at the same height. A `whole` one moves on rather than split."""

    def __init__(
        self,
        cells: Sequence[Block],
        widths: Widths,
        gap: float,
        *,
        whole: bool = False,
        pad: tuple[float, float] = (0.0, 0.0),
        over: Color | None = None,
        under: Color | None = None,
    ) -> None:
        self._cells, self._widths, self._gap = list(cells), widths, gap
        self._whole, self._pad, self._over, self._under = whole, pad, over, under
        self._heights: dict[float, float] = {}

    def height(self, width: float) -> float:
        if width not in self._heights:
            tallest = max(
                (cell.height(part) for cell, part in zip(self._cells, self._widths(width), strict=True)), default=0.0
            )
            self._heights[width] = tallest + sum(self._pad)
        return self._heights[width]

    def split(self, width: float, room: float, force: bool = False) -> Split:
        if self.height(width) <= room + _SLACK:
            return self, None
        if self._whole and not force:
            return None, self
        heads: list[Block] = []
        tails: list[Block] = []
        for cell, part in zip(self._cells, self._widths(width), strict=True):
            head, tail = cell.split(part, room - sum(self._pad), force)
            if head is None:
                return None, self
            heads.append(head)
            tails.append(tail or Space(0))
        if all(isinstance(tail, Space) for tail in tails):
            return self, None
        first = self._like(heads, self._over, None)
        first.above = self.above
        return first, self._like(tails, None, self._under)

    def _like(self, cells: Sequence[Block], over: Color | None, under: Color | None) -> Columns:
        return Columns(cells, self._widths, self._gap, whole=self._whole, pad=self._pad, over=over, under=under)

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        if self._over:
            line(canvas, x, y, x + width, self._over, 0.5)
        if self._under:
            bottom = y - self.height(width)
            line(canvas, x, bottom, x + width, self._under, 0.5)
        for cell, part in zip(self._cells, self._widths(width), strict=True):
            cell.draw(canvas, x, y - self._pad[0], part)
            x += part + self._gap


class Table(Block):
    """Rows under a heading that is repeated on every page."""

    def __init__(self, head: Block | None, body: Stack) -> None:
        self._head, self._body = head, body

    def height(self, width: float) -> float:
        return self._top(width) + self._body.height(width)

    def _top(self, width: float) -> float:
        return self._head.height(width) if self._head else 0.0

    def split(self, width: float, room: float, force: bool = False) -> Split:
        if self.height(width) <= room + _SLACK:
            return self, None
        if room < _BEGINNING and not force:
            return None, self
        head, tail = self._body.split(width, room - self._top(width), force)
        if head is None:
            return None, self
        first = Table(self._head, stacked(head))
        first.above = self.above
        return first, Table(self._head, stacked(tail)) if tail else None

    def draw(self, canvas: Canvas, x: float, y: float, width: float) -> None:
        if self._head:
            self._head.draw(canvas, x, y, width)
        self._body.draw(canvas, x, y - self._top(width), width)


def line(canvas: Canvas, x: float, y: float, to: float, color: Color, weight: float) -> None:
    """A horizontal line from (x, y) to (to, y)."""
    canvas.setStrokeColor(color)
    canvas.setLineWidth(weight)
    canvas.line(x, y, to, y)
