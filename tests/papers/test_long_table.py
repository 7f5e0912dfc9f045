"""A table or panel as long as a paper may be: what is left of it does not sink deeper with every page."""

from __future__ import annotations

import io
from collections.abc import Callable

import pypdf
import pytest
from reportlab.lib.styles import ParagraphStyle

from bizkit.papers import fonts, page
from bizkit.papers.blocks import Block, Panel, Space, Stack, Table, Text
from bizkit.papers.look import look


def rows(count: int) -> Stack:
    return Stack([Space(300) for _ in range(count)])


@pytest.mark.parametrize(
    "made",
    [
        lambda body: Table(None, body),
        lambda body: Panel(body, None, None, 4),
        lambda body: Stack([Panel(Stack([Table(Space(10), body)]), None, None, 4)]),
    ],
    ids=["table", "panel", "table in a panel"],
)
def test_as_many_pages_as_a_paper_may_have_are_drawn(made: Callable[[Stack], Block]) -> None:
    fonts.load(None)
    size = page.size_of("A4")
    pages = page.lay_out(Stack([made(rows(980))]), size)
    assert len(pages) == 490  # two rows of 300 points to a page: A4 is 842 points high
    style = ParagraphStyle("plain", fontName=fonts.REGULAR, fontSize=9)
    furniture = page.Furniture(
        "Long", "", "Gannet & Lark Films", "en", "2027-06-08", None, None, lambda at, of: Text(f"{at} / {of}", style)
    )
    drawn = page.write(pages, size, furniture, look("#1f5f6b"))
    assert len(pypdf.PdfReader(io.BytesIO(drawn)).pages) == 490
