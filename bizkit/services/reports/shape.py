"""The shape that every report has, and what becomes of it: a printed table, CSV, a page with a chart.

A column is a key of the rows and how its values are drawn (text, figure, number, percent, date); what it is called
comes from the wording. The chart is drawn by the page's own library (reportlab) as vectors in the studio's fonts and
colour: no second drawing library, no pictures in the PDF, and the same bytes for the same figures.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from bizkit.domain.money import decimal, round_half_away
from bizkit.services.studio.studio_folder import StudioFolder
from bizkit.services.studio.wording import Wording, wording

Report = dict[str, Any]
Row = Mapping[str, Any]


def report(
    name: str,
    on: date,
    currency: str,
    columns: Mapping[str, str],
    rows: Sequence[Row],
    *,
    totals: Row | None = None,
    figures: Sequence[tuple[str, str, str]] = (),
    bars: Sequence[tuple[str, str, str]] = (),
    bars_kind: str = "figure",
    notes: Sequence[str] = (),
    tax: bool = False,
    values: Mapping[str, str] | None = None,
    **more: Any,
) -> Report:
    """A report. columns: key -> kind (text, word, said, figure, money, percent, date, number).

    figures: (key of the wording, value, kind). bars: (label, length, value). notes: keys of the wording. values: what
    titles and notes may name.
    """
    return {
        "report": name,
        "on": on.isoformat(),
        "currency": currency,
        "columns": [{"key": key, "kind": kind} for key, kind in columns.items()],
        "rows": [dict(row) for row in rows],
        "totals": dict(totals) if totals else None,
        "figures": [{"key": key, "value": value, "kind": kind} for key, value, kind in figures],
        "chart": {"kind": bars_kind, "bars": [list(bar) for bar in bars]} if bars else None,
        "notes": list(notes),
        "tax": tax,
        "values": dict(values or {}),
        **more,
    }


def in_whole(amount: str) -> str:
    """An amount in whole units, rounded half away from zero, as bars show it.

    >>> in_whole("13528.86"), in_whole("-0.40")
    ('13529', '0')
    """
    return str(round_half_away(decimal(amount), 0) + 0)


def heading(words: Wording, key: str) -> str:
    """What a column is called."""
    path = f"reports.columns.{key}"
    return words.say(path) if words.has(path) else key.replace("_", " ")


def report_csv(folder: StudioFolder, data: Report) -> bytes:
    """The rows as CSV that a spreadsheet opens without running anything; headings are the keys."""
    from bizkit.exchange.table_csv import table_csv

    keys = [column["key"] for column in data["columns"]]
    return table_csv(keys, [[row.get(key, "") for key in keys] for row in data["rows"]])


def report_pdf(folder: StudioFolder, data: Report) -> bytes:
    """The report as a page in the studio's language, with its chart."""
    from bizkit.services.studio.filing import paper_pdf
    from bizkit.services.studio.logo import keep_logo

    studio = folder.studio
    words = wording(folder, studio.language, studio.locale)
    name, values = data["report"], _drawn(data["values"], words)
    subtitle = f"reports.{name}.subtitle"
    chart = data["chart"]
    document = {
        "kind": "report",
        "number": "",
        "language": studio.language,
        "locale": studio.locale,
        "paper_size": studio.paper_size,
        "studio": studio.data(date.fromisoformat(data["on"]), logo_sha256=keep_logo(folder)),
        "issued_on": data["on"],
        "title": words.say(f"reports.{name}.title", **values),
        "subtitle": words.say(subtitle, **values) if words.has(subtitle) else "",
        "currency": data["currency"],
        "figures": [
            {"label": heading(words, one["key"]), "value": one["value"], "kind": one["kind"]}
            for one in data["figures"]
        ],
        "chart": {
            "caption": words.say(f"reports.{name}.chart", **values),
            "kind": chart["kind"],
            "bars": [
                {"label": _label(words, label), "length": _length(length), "value": value}
                for label, length, value in chart["bars"]
            ],
        }
        if chart
        else None,
        "columns": [
            {
                "title": heading(words, one["key"]),
                "kind": "text" if one["kind"] in ("word", "said") else one["kind"],
                **({"width_mm": "15"} if one["key"] == "currency" else {}),
            }
            for one in data["columns"]
        ],
        "rows": [[_in_words(words, row, one) for one in data["columns"]] for row in data["rows"]],
        "totals": [_cell(data["totals"].get(one["key"], "")) for one in data["columns"]] if data["totals"] else [],
        "notes": [words.say(f"reports.notes.{one}", **values) for one in data["notes"]],
        "tax": data["tax"],
    }
    return paper_pdf(folder, document)


def _drawn(values: Mapping[str, str], words: Wording) -> dict[str, str]:
    return {name: words.day(value) if _is_day(value) else value for name, value in values.items()}


def _is_day(text: str) -> bool:
    return len(text) == 10 and text[4:8:3] == "--"


def _label(words: Wording, label: str) -> str:
    if _is_day(label):
        from bizkit.papers.locale import Drawn

        return Drawn(words.locale, words.language).short_date(label).rsplit(" ", 1)[0]
    path = f"reports.labels.{label.replace(' ', '_')}"
    return words.say(path) if words.has(path) else label


def _length(text: str) -> str:
    """The length of a bar: what is below zero has none."""
    return "0" if text.startswith("-") else text


def _in_words(words: Wording, row: Row, column: Row) -> str:
    """A cell of the page: a word of ours, and why money is expected, in the studio's language."""
    value = row.get(column["key"], "")
    if column["kind"] == "said":
        return "; ".join(
            words.say(f"reports.why.{one['key']}", **one["values"]) if one["key"] else one["text"]
            for one in row["said"]
        )
    return _label(words, str(value)) if column["kind"] == "word" and value else _cell(value)


def _cell(value: Any) -> str:
    return "" if value is None else str(value)


def write_report(
    folder: StudioFolder, data: Report, *, csv: Path | None = None, pdf: Path | None = None
) -> list[str]:
    """Write the files that were asked for; returns their names."""
    from bizkit.services.studio.out_file import write_out

    written = []
    for path, make, field in ((csv, report_csv, "--csv"), (pdf, report_pdf, "--pdf")):
        if path is not None:
            write_out(folder, path, make(folder, data), others=False, field=field)
            written.append(str(path))
    return written
