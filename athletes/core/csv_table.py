"""Tables in CSV files (RFC 4180), with everything that is wrong named by line and column.

The first line names the columns, in any order; one line a row follows. Commas or semicolons part the cells,
as the first line shows. The text is UTF-8, with or without a byte order mark; lines end in CRLF or LF. Lines
without anything in them are skipped.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from itertools import islice
from typing import Any

from athletes.core import roster
from athletes.core.roster import shown

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_UNDECODED = re.compile("[\udc80-\udcff]")  # what errors="surrogateescape" makes of bytes that are no UTF-8
_NUMBER = re.compile(r"\d{1,6}(?:[.,]\d{1,6})?", re.ASCII)


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong, and where: the line of the file and the column's name ('' for the line as a whole)."""

    line: int
    column: str
    sentence: str

    def __str__(self) -> str:
        place = f"line {self.line}, column {self.column}" if self.column else f"line {self.line}"
        return f"{place}: {self.sentence}"


@dataclass(frozen=True, slots=True)
class Record:
    """A row as it stands in the file: the line where it begins, its cells, or why it cannot be parted."""

    line: int
    cells: list[str] = field(default_factory=list)
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Columns:
    """The columns that a file may have, and those that it must have."""

    known: Sequence[str]
    required: Sequence[str]


@dataclass(frozen=True, slots=True)
class Table:
    """The columns' names, the rows, and what is wrong with the file as such (then there are no rows)."""

    names: tuple[str, ...] = ()
    rows: tuple[Record, ...] = ()
    problems: tuple[Problem, ...] = ()


def read_table(content: bytes, columns: Columns, *, most_bytes: int, most_rows: int | None = None) -> Table:
    """Read a file's bytes; rows are given only where every required column is there, and there are not too many."""
    if problem := _unreadable(content, most_bytes):
        return Table(problems=(Problem(1, "", problem),))
    text = content.decode("utf-8-sig", errors="surrogateescape")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text, columns), strict=True)
    header, *rows = list(islice(_records(reader), most_rows and most_rows + 2)) or [Record(1)]
    names = tuple(_name(cell) for cell in header.cells)
    problems = tuple(_header_problems(header, names, columns))
    if most_rows and len(rows) > most_rows:
        words = f"The file has more than {most_rows:,} rows. Part it, with the first line in each part."
        problems += (Problem(rows[-1].line, "", words),)
        rows = []
    complete = set(columns.required) <= set(names)
    return Table(names, tuple(rows) if complete else (), problems)


def _unreadable(content: bytes, most_bytes: int) -> str:
    if len(content) > most_bytes:
        return f"The file has {len(content):,} bytes; {most_bytes:,} is the most."
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "The file is UTF-16 text. Save it as CSV in UTF-8."
    if not content.removeprefix(codecs.BOM_UTF8).strip():
        return "The file is empty."
    return ""


def _delimiter(text: str, columns: Columns) -> str:
    """Return the character that makes more known columns of the first line."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;", key=lambda delimiter: sum(_name(cell) in columns.known for cell in first.split(delimiter)))


def _name(cell: str) -> str:
    return roster.printable(cell.strip(' "').casefold())


def _records(reader: Any) -> Iterator[Record]:  # noqa: ANN401 (the csv module does not name its reader's type)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield Record(line, problem=_unparted(str(error)))
        else:
            if any(cell.strip() for cell in cells):
                yield Record(line, cells)


def _unparted(reason: str) -> str:
    if "end of data" in reason:
        return "A quotation mark opens here and is never closed."
    if "field limit" in reason:
        return "A cell is too long to be read."
    return "The quotation marks do not match: one opens a cell, one ends it, and one inside it is doubled."


def _header_problems(header: Record, names: tuple[str, ...], columns: Columns) -> Iterator[Problem]:
    if header.problem:
        yield Problem(header.line, "", header.problem)
    for place, name in enumerate(names, start=1):
        if name not in columns.known:
            words = f"The column {shown(name)} is not known; the columns are {', '.join(columns.known)}."
            yield Problem(header.line, name or str(place), words if name else f"Column {place} has no name.")
        elif name in names[: place - 1]:
            yield Problem(header.line, name, "The column stands there twice.")
    for name in columns.required:
        if name not in names:
            words = f"The first line must name the columns, and “{name}” is not among them."
            yield Problem(header.line, name, words)


class Row:
    """One row on its way to a value; gathers its problems."""

    def __init__(self, record: Record, names: Sequence[str]) -> None:
        self.line = record.line
        self.problems: list[Problem] = []
        self.cells = dict(zip(names, record.cells, strict=False))
        if record.problem:
            self.refuse("", record.problem)
        elif len(record.cells) != len(names):
            self.refuse("", f"There are {len(record.cells)} cells here, and the first line has {len(names)}.")
        self.unparted = bool(self.problems)

    def refuse(self, column: str, sentence: str) -> None:
        """Note a problem with this row."""
        self.problems.append(Problem(self.line, column, sentence))

    def cell(self, column: str) -> str:
        """Return a cell without the spaces around it, '' where it cannot be read as text."""
        cell = self.cells.get(column, "").strip()
        if "\0" in cell:
            self.refuse(column, "There is a NUL byte in the cell, which no text has.")
        elif not cell.isascii() and _UNDECODED.search(cell):
            self.refuse(column, "The cell is not UTF-8 text. Save the file as CSV in UTF-8.")
        else:
            return cell
        return ""

    def number(self, column: str, what: str, example: str) -> Decimal | None:
        """Return a cell as a number, with a point or a comma; None for an empty or a bad one."""
        cell = self.cell(column)
        if not cell:
            return None
        if not _NUMBER.fullmatch(cell):
            self.refuse(column, f"{shown(cell)} is no {what}; write it like {example}.")
            return None
        return Decimal(cell.replace(",", "."))

    def day(self, column: str) -> date | None:
        """Return a cell as a day, written like 2011-05-30; None for an empty or a bad one."""
        cell = self.cell(column)
        day = _date(cell)
        if cell and day is None:
            self.refuse(column, f"{shown(cell)} is no date; write it like 2011-05-30.")
        return day


def _date(cell: str) -> date | None:
    if not _DATE.fullmatch(cell):
        return None
    try:
        return date.fromisoformat(cell)
    except ValueError:
        return None
