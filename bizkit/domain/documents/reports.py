"""Reports on the business itself."""

from __future__ import annotations

from typing import NotRequired, TypedDict

from bizkit.domain.documents.base import Issued


class ReportColumn(TypedDict):
    """A column. kind: text money figure number percent date; text stands at the left. width_mm: else a share."""

    title: str
    kind: NotRequired[str]
    align: NotRequired[str]
    width_mm: NotRequired[str]


class ReportFigure(TypedDict):
    """A number to see first; kind as for a column."""

    label: str
    value: str
    kind: NotRequired[str]
    note: NotRequired[str]


class ReportBar(TypedDict):
    """A bar; length is what it measures, zero or more."""

    label: str
    length: str
    value: str
    strong: NotRequired[bool]


class ReportChart(TypedDict):
    """Upright bars; kind: how their values are drawn; height in mm."""

    caption: NotRequired[str]
    kind: NotRequired[str]
    height: NotRequired[int]
    bars: list[ReportBar]


class Report(Issued):
    """A table with a chart, about the business itself. tax: print that it is no tax advice."""

    title: str
    currency: str
    subtitle: NotRequired[str]
    figures: NotRequired[list[ReportFigure]]
    chart: NotRequired[ReportChart | None]
    columns: list[ReportColumn]
    rows: list[list[str]]
    totals: NotRequired[list[str]]
    notes: NotRequired[list[str]]
    tax: NotRequired[bool]
