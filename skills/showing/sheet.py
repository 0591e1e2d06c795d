"""An athlete's progress on paper: what the template `skills/progress/sheet.typ` is given, all of it plain text."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import date
from html import unescape
from typing import Final

from gymtrack.lib.charts import Chart
from gymtrack.lib.pdf import Value
from gymtrack.lib.qr import qr_svg
from skills.core.figures import Figure
from skills.core.sources import Source

# The looks of the charts of gymtrack/lib/charts.py on white paper; css/charts.css has those of pages.
CHART_STYLE: Final = (
    'text{font-family:"Noto Sans";font-size:17px;fill:#1b1b1b}.tick-y{text-anchor:end}'
    ".tick-x,.axis-x{text-anchor:middle}.axis-x,.axis-y{fill:#555}.grid{stroke:#d9d9d9}"
    ".line,.target,.estimate{fill:none;stroke:#1f5f5b;stroke-width:2.5}.target{stroke:#8a4b00;stroke-dasharray:10 5}"
    ".estimate{stroke-dasharray:2 5;stroke-linecap:round}.band{fill:#1f5f5b;opacity:.16}.dot,.bar{fill:#1f5f5b}"
    ".dot-open,.bar-other{fill:#fff;stroke:#1f5f5b;stroke-width:2}"
)
_DESCRIBED: Final = re.compile(r"<desc[^>]*>([^<]*)</desc>")


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the sheet under a heading: lines, then items, figures, a chart, a table, and quiet notes.

    `wide` is the column of the table, from 0 on, that takes what room there is.
    """

    title: str
    lines: Sequence[str] = ()
    items: Sequence[str] = ()
    figures: Sequence[Figure] = ()
    chart: Chart | None = None
    columns: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()
    wide: int = 0
    notes: Sequence[str] = ()

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing under its heading."""
        return not (self.lines or self.items or self.figures or self.chart or self.rows or self.notes)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole sheet. `day` is the gym's, and the document's date; `address` is that of the live page."""

    title: str
    gym: str
    day: date
    address: str
    parts: Sequence[Part]
    warnings: Sequence[str] = ()
    paper: str = "a4"


@dataclass(slots=True)
class _Cited:
    """The sources of the sheet by number, in the order in which figures name them."""

    sources: list[Source] = field(default_factory=list)

    def numbers(self, figure: Figure) -> list[Value]:
        for source in figure.cited:
            if source not in self.sources:
                self.sources.append(source)
        return [self.sources.index(source) + 1 for source in figure.cited]


def sheet_values(sheet: Sheet) -> dict[str, Value]:
    """Return what the template is given; equal sheets give equal values."""
    cited = _Cited()
    parts: list[Value] = [_part(part, cited) for part in sheet.parts if not part.is_empty]
    return {
        "title": sheet.title,
        "gym": sheet.gym,
        "day": [sheet.day.year, sheet.day.month, sheet.day.day],
        "on": f"{sheet.day.day} {sheet.day:%B %Y}",
        "paper": sheet.paper,
        "address": sheet.address,
        "qr": qr_svg(sheet.address),
        "warnings": list(sheet.warnings),
        "parts": parts,
        "sources": [f"{source.cited}: {source.taken} ({source.standing})." for source in cited.sources],
    }


def figures_in(panel: object) -> Iterator[Figure]:
    """Yield the figures that a panel holds, wherever they stand in it, in the order of its fields."""
    if isinstance(panel, Figure):
        yield panel
    elif is_dataclass(panel):
        for each in fields(panel):
            yield from figures_in(getattr(panel, each.name))
    elif isinstance(panel, (list, tuple)):
        for one in panel:
            yield from figures_in(one)


def _part(part: Part, cited: _Cited) -> Value:
    return {
        "title": part.title,
        "lines": list(part.lines),
        "items": list(part.items),
        "figures": [_figure(figure, cited) for figure in part.figures],
        "chart": _chart(part.chart) if part.chart else None,
        "columns": list(part.columns),
        "rows": [list(row) for row in part.rows],
        "wide": part.wide,
        "notes": list(part.notes),
    }


def _figure(figure: Figure, cited: _Cited) -> Value:
    return {
        "label": figure.label,
        "value": figure.value,
        "kind": "" if figure.kind == "count" else figure.kind,
        "interval": figure.interval,
        "caution": figure.caution,
        "sources": cited.numbers(figure),
    }


def _chart(chart: Chart) -> Value:
    """Return the picture with its looks inside of it, and what it shows in words."""
    named = str(chart.svg).replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    told = unescape(_DESCRIBED.findall(named)[0])
    return {"svg": named.replace(">", f"><style>{CHART_STYLE}</style>", 1), "told": f"{chart.title}. {told}"}


def table_rows(rows: Iterable[Sequence[str]], most: int) -> list[list[str]]:
    """Return the first rows of a table, as many as a sheet has room for."""
    return [list(row) for _, row in zip(range(most), rows, strict=False)]
