"""Block markup, the language of the paper templates, turned into blocks.

paper       the root, with title and subject for the properties of the file; holds blocks and
  running   text at the head of every page but the first
  footer    text at the foot of every page
  pages     the wording of the page number, with {page} and {pages}

blocks      attribute above="mm" sets the gap above any of them; sticks="yes" keeps one on the page of the next
  para      text; style = body lead small note kicker title section heading label figure...; align = l r c
  list      item...; with numbers="yes" they are numbered
  facts     fact label="..."...; an empty fact is a line to write on; label-width="mm"
  figures   figure label="..." note="..." strong="yes": the numbers to see first
  table     columns="* 24r 30r": each column's width in mm or * (a share), then l, r or c; tight="yes": low rows;
            head, row, group, sum (kind="total" for the last) and their cells c
  section   title="..."; the title stands beside its blocks, or above them with wide="yes"; keep="yes"
  columns   widths="2 1" of column...; stack: blocks one under the other
  panel     blocks on a tinted ground; tone = plain or accent (a bar in the accent colour) or caution
  keep      blocks that stay on one page
  sign      box label="..." value="..." image="sha256" width="share": where people sign
  tick      text beside a box to tick; on="yes" ticks it
  bars      bar label="..." length="0.9" value="90%" strong="yes"...; most="1" height="mm" axis="..."
  image     asset="sha256" height="mm" width="mm" align="l or r"
  qr        data="..." size="mm"
  space     mm="..."; rule; page-break (outside other blocks only)

inline      b i small muted accent br
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reportlab.lib.colors import Color

from bizkit.domain.errors import BadInput, NotFound
from bizkit.papers.blocks import Block, Columns, Keep, PageBreak, Panel, Rule, Space, Stack, Table, Text, shares
from bizkit.papers.drawings import Bar, Bars, Code, Picture, Tick, WritingLine
from bizkit.papers.inline import Setter, squeezed
from bizkit.papers.look import LINE, MM, MUTED
from bizkit.papers.template import LINE_END

_CAUTION = Color(0xB4 / 255, 0x53 / 255, 0x09 / 255)
_CAUTION_WASH = Color(0xFD / 255, 0xF6 / 255, 0xEC / 255)

#: Room to write or sign in, in points.
_WRITE, _SIGN = 15.0, 34.0

#: The space over and under the text of a table's row, usually and in a tight table, in points.
_ROW, _TIGHT = 3.9, 1.5

#: The gap above a paragraph, by its style; 2 points for the others.
_ABOVE = {"body": 4.0, "small": 3.0, "note": 4.0, "lead": 8.0, "heading": 9.0}

#: Gives the bytes of a stored file by its SHA-256.
Asset = Callable[[str], bytes]


class Builder:
    """Turns elements into blocks with one setter of text and one source of images."""

    def __init__(self, setter: Setter, asset: Asset | None) -> None:
        self._set, self._asset = setter, asset
        self._makers: dict[str, Callable[[ET.Element], Block]] = {
            "para": self._para,
            "list": self._list,
            "facts": self._facts,
            "figures": self._figures,
            "table": self._table,
            "section": self._section,
            "columns": self._columns,
            "stack": self.stack,
            "panel": self._panel,
            "keep": lambda element: Keep(self._blocks(element)),
            "sign": self._sign,
            "tick": self._tick,
            "bars": self._bars,
            "image": self._image,
            "qr": lambda element: Code(element.get("data", "").replace(LINE_END, "\n"), _mm(element, "size", 28)),
            "space": lambda element: Space(_mm(element, "mm", 4)),
            "rule": lambda element: Rule(LINE),
            "page-break": lambda element: PageBreak(),
        }

    def stack(self, element: ET.Element) -> Stack:
        """The blocks inside `element`. Raises NotFound for an unknown block, Undrawable for an unknown letter."""
        return Stack(self._blocks(element))

    def _blocks(self, element: ET.Element) -> list[Block]:
        if squeezed(element.text or "").strip():
            raise BadInput(
                wanted="text inside a para", got=element.text, where="block markup", field=str(element.tag)
            )
        blocks: list[Block] = []
        for child in element:
            if child.tag not in self._makers:
                raise NotFound("block", child.tag, self._makers, where="block markup")
            block = self._makers[str(child.tag)](child)
            block.above = _mm(child, "above", block.above / MM)
            block.sticks = block.sticks or child.get("sticks") == "yes"
            blocks.append(block)
        return blocks

    # Text

    def _para(self, element: ET.Element) -> Block:
        style = element.get("style", "body")
        block = _or_space(self._set.element(element, style, element.get("align", "l")))
        block.above = _ABOVE.get(style, 2.0)
        block.sticks = style in ("heading", "kicker", "title", "poster", "section", "label")
        return block

    def _list(self, element: ET.Element) -> Block:
        rows: list[Block] = []
        numbered = element.get("numbers") == "yes"
        style = element.get("style", "body")
        for number, item in enumerate(element, start=1):
            mark = _or_space(self._set.plain(f"{number}." if numbered else "\N{EN DASH}", style, tone="accent"))
            text = _or_space(self._set.element(item, style))
            row = Columns([mark, text], shares([0, 1], [15 if numbered else 11, None], 0), 0)
            row.above = 3.2
            rows.append(row)
        return _placed(Stack(rows), 4)

    def _facts(self, element: ET.Element) -> Block:
        wide = _mm(element, "label-width", 30)
        rows: list[Block] = []
        for fact in element:
            value = self._set.element(fact, "cell")
            label = _or_space(self._set.plain(fact.get("label"), "cell", tone="muted"))
            row = Columns([label, value or WritingLine(_WRITE)], shares([0, 1], [wide, None], 8), 8)
            rows.append(_placed(row, 3.4 if value else 5))
        return _placed(Stack(rows), 4)

    def _figures(self, element: ET.Element) -> Block:
        cells: list[Block] = []
        for figure in element:
            strong = figure.get("strong") == "yes"
            label = _or_space(self._set.plain(figure.get("label"), "label"))
            value = _or_space(self._set.element(figure, "figure_strong" if strong else "figure"))
            note = _or_space(self._set.plain(figure.get("note"), "label"))
            cells.append(Stack([label, _placed(value, 2.5 if strong else 4.5), _placed(note, 2)]))
        columns = Columns(cells, shares(_weights(element), [None] * len(cells), 14), 14, whole=True)
        return _placed(Panel(Stack([columns]), self._set.look.wash, self._set.look.accent, 13), 16)

    # Tables

    def _table(self, element: ET.Element) -> Block:
        grid = _grid(element.get("columns", "*"))
        head: Block | None = None
        space = _TIGHT if element.get("tight") == "yes" else _ROW
        rows: list[Block] = []
        last = len(element) - 1
        for number, row in enumerate(element):
            match row.tag:
                case "head":
                    head = self._row(row, "head", grid, (0, 4))
                case "row":
                    pad = (space if number else 0.0, space if number < last else 0.0)
                    rows.append(self._row(row, row.get("style", "cell"), grid, pad))
                case "group":
                    rows.append(self._row(row, "group", grid, (9, 3)))
                    rows[-1].sticks = True
                case "sum":
                    rows.append(self._sum(row, grid))
                case _:
                    raise NotFound("kind of row", row.tag, ["head", "row", "group", "sum"], where="block markup")
        for before, after in pairwise(rows):
            # Sums never stand alone on a page: the row before goes with them.
            before.sticks = before.sticks or isinstance(after, _Sum)
        return _placed(Table(head, Stack(rows)), 6)

    def _row(self, row: ET.Element, style: str, grid: _Grid, pad: tuple[float, float]) -> Block:
        if len(row) > len(grid.aligns):
            wanted = f"at most {len(grid.aligns)} cells"
            raise BadInput(wanted=wanted, got=len(row), where="block markup", field=str(row.tag))
        cells = [
            _or_space(self._set.element(cell, style, align)) for cell, align in zip(row, grid.aligns, strict=False)
        ]
        cells += [Space(0)] * (len(grid.aligns) - len(cells))
        return Columns(
            cells, shares(grid.weights, grid.fixed, 10), 10, whole=True, pad=pad, under=LINE if pad[1] else None
        )

    def _sum(self, row: ET.Element, grid: _Grid) -> Block:
        total = row.get("kind") == "total"
        style = "total" if total else "cell"
        amount = _or_space(self._set.element(row, style, "r"))
        label = _or_space(self._set.plain(row.get("label"), style, "r"))
        last = max(grid.fixed[-1] or 80.0, amount.widest_word() if isinstance(amount, Text) else 0.0)
        pad = (7.0, 7.0) if total else (3.6, 3.6)
        return _Sum([label, amount], shares([1, 0], [None, last], 10), 10, whole=True, pad=pad)

    # Arrangement

    def _section(self, element: ET.Element) -> Block:
        title = _or_space(self._set.plain(element.get("title"), "section"))
        inner = self.stack(element)
        if element.get("wide") == "yes":
            title.sticks = True
            cells: list[Block] = [Stack([title, *inner.children])]
            block: Block = Columns(cells, shares([1], [None], 0), 0, pad=(9, 0), over=LINE)
        else:
            block = Columns([title, inner], shares([0, 1], [34 * MM, None], 14), 14, pad=(9, 0), over=LINE)
        return _placed(Keep([block]) if element.get("keep") == "yes" else block, 17)

    def _columns(self, element: ET.Element) -> Block:
        cells = [self.stack(column) for column in element]
        widths = shares(_weights(element), [None] * len(cells), 18)
        return _placed(Columns(cells, widths, 18, whole=element.get("keep") == "yes"), 6)

    def _panel(self, element: ET.Element) -> Block:
        tone = element.get("tone", "plain")
        grounds: dict[str, tuple[Color, Color | None]] = {
            "plain": (self._set.look.wash, None),
            "accent": (self._set.look.wash, self._set.look.accent),
            "caution": (_CAUTION_WASH, _CAUTION),
        }
        if tone not in grounds:
            raise NotFound("tone of a panel", tone, grounds, where="block markup")
        return _placed(Panel(self.stack(element), *grounds[tone], 11), 9)

    # What is drawn

    def _sign(self, element: ET.Element) -> Block:
        cells: list[Block] = []
        for box in element:
            value = self._set.plain(box.get("value"), "body")
            if box.get("image"):
                over: list[Block] = [self._picture(box.get("image", ""), _SIGN, 1e6, "l"), Rule(MUTED)]
            elif value:
                over = [Space(_SIGN - 15), value, Space(1.4), Rule(MUTED)]
            else:
                over = [WritingLine(_SIGN)]
            label = _or_space(self._set.plain(box.get("label"), "label"))
            cells.append(Stack([*over, _placed(label, 3)]))
        return _placed(Columns(cells, shares(_weights(element), [None] * len(cells), 16), 16, whole=True), 6)

    def _tick(self, element: ET.Element) -> Block:
        text = _or_space(self._set.element(element, "body"))
        box = Tick(element.get("on") == "yes", self._set.look)
        return _placed(Columns([box, text], shares([0, 1], [16, None], 0), 0), 5)

    def _bars(self, element: ET.Element) -> Block:
        bars = [
            Bar(_line(bar, "label"), _number(bar, "length", 0), _line(bar, "value"), bar.get("strong") == "yes")
            for bar in element
        ]
        height, most = _mm(element, "height", 18), _number(element, "most", 0)
        return _placed(Bars(bars, self._set.look, self._set.fonts, height, most, _line(element, "axis")), 8)

    def _image(self, element: ET.Element) -> Block:
        height, width = _mm(element, "height", 20), _mm(element, "width", 200)
        return self._picture(element.get("asset", ""), height, width, element.get("align", "l"))

    def _picture(self, sha256: str, most_height: float, most_width: float, align: str) -> Block:
        if not sha256:
            return Space(0)
        if self._asset is None:
            raise BadInput(wanted="a source of images", got="none", field="asset", hint=f"The paper shows {sha256}")
        return Picture(self._asset(sha256), most_height, most_width, align, f"image {sha256[:12]}")


class _Sum(Columns):
    """A row of sums."""


@dataclass(frozen=True, slots=True)
class _Grid:
    """The columns of a table: alignment, fixed width in points or none, share of what is left."""

    aligns: Sequence[str]
    fixed: Sequence[float | None]
    weights: Sequence[float]


def _grid(text: str) -> _Grid:
    """From "* 2*r 24r": a star takes a share, a number is a width in mm."""
    parts = [re.fullmatch(r"(\d+(?:\.\d+)?)?(\*)?([lrc])?", part) for part in text.split()]
    if not parts or any(part is None or not (part[1] or part[2]) for part in parts):
        raise BadInput(wanted="columns such as '* 24r 30r'", got=text, where="block markup", field="table")
    found = [part.groups() for part in parts if part]
    return _Grid(
        aligns=[align or "l" for _, _, align in found],
        fixed=[None if star else float(number) * MM for number, star, _ in found],
        weights=[float(number or 1) if star else 0.0 for number, star, _ in found],
    )


def _weights(element: ET.Element) -> list[float]:
    """The shares of the columns: `widths` of the element, or `width` of each child."""
    if "widths" not in element.attrib:
        return [_number(child, "width", 1) for child in element]
    try:
        weights = [float(part) for part in element.get("widths", "").split()]
    except ValueError:
        weights = []
    if len(weights) != len(element):
        raise BadInput(
            wanted=f"{len(element)} widths", got=element.get("widths"), where="block markup", field=str(element.tag)
        )
    return weights


def _number(element: ET.Element, name: str, default: float) -> float:
    """A number attribute of zero or more."""
    try:
        number = float(element.get(name, default))
    except ValueError:
        number = -1
    if not 0 <= number < 1e9:
        raise BadInput(wanted="a number of zero or more", got=element.get(name), where="block markup", field=name)
    return number


def _mm(element: ET.Element, name: str, default: float) -> float:
    """A length attribute in millimetres, in points."""
    return _number(element, name, default) * MM


def _line(element: ET.Element, name: str) -> str:
    """A text attribute on one line."""
    return element.get(name, "").replace(LINE_END, " ")


def _or_space(text: Text | None) -> Block:
    return text or Space(0)


def _placed(block: Block, above: float) -> Block:
    """`block` with the gap above it set."""
    block.above = above
    return block
