"""Pages: stacks blocks into sheets of paper and writes the PDF, the same bytes for the same blocks."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO

from reportlab.pdfgen.canvas import Canvas

from bizkit.domain.errors import NotFound, RuleBroken
from bizkit.papers.blocks import Block, Stack, Text, line
from bizkit.papers.fonts import REGULAR
from bizkit.papers.look import LINE, MM, Look

#: Width and height in points: ISO 216 A4 (210 x 297 mm), ANSI Letter (8.5 x 11 in).
SIZES = {"A4": (210 * MM, 297 * MM), "Letter": (612.0, 792.0)}

#: More than this is a mistake, not a paper.
MOST_PAGES = 500


@dataclass(frozen=True, slots=True)
class Furniture:
    """What stands on every page, and what the file says about itself.

    running: at the head of every page but the first. footer: at the foot, on the left.
    label: the page number as text, from the page's number and how many there are.
    """

    title: str
    subject: str
    author: str
    language: str
    issued_on: str
    running: Text | None
    footer: Text | None
    label: Callable[[int, int], Text]


def size_of(name: str) -> tuple[float, float]:
    """Width and height in points of a paper size. Raises NotFound."""
    if name not in SIZES:
        raise NotFound("paper size", name, SIZES, field="paper_size")
    return SIZES[name]


def lay_out(story: Stack, size: tuple[float, float]) -> list[Block]:
    """`story` cut into pages. Raises RuleBroken when it is longer than `MOST_PAGES`."""
    sheet = _Sheet(*size)
    pages: list[Block] = []
    rest: Block | None = story
    while rest is not None:
        if len(pages) == MOST_PAGES:
            raise RuleBroken(f"a paper has at most {MOST_PAGES} pages: shorten its texts or split it")
        first, rest = rest.split(sheet.width, sheet.room(len(pages) == 0), True)
        if first is not None:
            pages.append(first)
    return pages


def write(pages: list[Block], size: tuple[float, float], furniture: Furniture, look: Look) -> bytes:
    """The PDF. Every font in it is embedded, colours are RGB."""
    sheet = _Sheet(*size)
    target = BytesIO()
    canvas = Canvas(
        target,
        pagesize=size,
        invariant=1,
        initialFontName=REGULAR,  # type: ignore[arg-type]  # the stubs say float; else Helvetica is put in, unembedded
        pageCompression=1,
        lang=furniture.language,
    )
    canvas.setTitle(furniture.title)
    canvas.setAuthor(furniture.author)
    canvas.setSubject(furniture.subject)
    canvas.setCreator("bizkit")
    canvas.setProducer("bizkit")
    # The file says it was made on the day of the paper, whenever it is drawn.
    made = re.sub(r"[^0-9]", "", furniture.issued_on)[:8] or "20000101"
    canvas.setDateFormatter(lambda *clock: f"D:{made}000000Z")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    for number, page in enumerate(pages, start=1):
        canvas.setFillColor(look.accent)
        canvas.rect(sheet.left, sheet.tall - 2.6 * MM, 15 * MM, 2.6 * MM, stroke=0, fill=1)
        if number > 1 and furniture.running:
            furniture.running.draw(canvas, sheet.left, sheet.tall - 11 * MM, sheet.width)
        page.draw(canvas, sheet.left, sheet.top(number == 1), sheet.width)
        line(canvas, sheet.left, 15.5 * MM, sheet.left + sheet.width, LINE, 0.5)
        if furniture.footer:
            furniture.footer.draw(canvas, sheet.left, 13.2 * MM, sheet.width - 34 * MM)
        furniture.label(number, len(pages)).draw(canvas, sheet.left + sheet.width - 32 * MM, 13.2 * MM, 32 * MM)
        canvas.showPage()
    canvas.save()
    return target.getvalue()


class _Sheet:
    """Margins: the text column is 166 mm of A4; the first page starts higher, because it carries the letterhead."""

    def __init__(self, wide: float, tall: float) -> None:
        self.left = 22 * MM
        self.width = wide - 44 * MM
        self.tall = tall
        self._foot = 21 * MM

    def top(self, first: bool) -> float:
        """Where the text starts."""
        return self.tall - (17 if first else 22) * MM

    def room(self, first: bool) -> float:
        """The height for text."""
        return self.top(first) - self._foot
