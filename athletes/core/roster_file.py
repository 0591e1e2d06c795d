"""Reading a roster from a CSV file (RFC 4180), and naming everything that is wrong with it at once.

The first line names the columns, in any order; one line a person follows. Commas or semicolons part the
cells, as the first line shows. The text is UTF-8, with or without a byte order mark; lines end in CRLF or LF.

name         required
birth_date   year-month-day, like 2011-05-30; without one the person counts as a minor
stature_m    metres, like 1.72 or "1,72"
mass_kg      kilograms, like 68.5
email        an address to write to; it gives no log-in
notes        anything, over several lines where the cell is quoted

Lines without anything in them are skipped.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from athletes.core import roster
from athletes.core.roster import PersonKey, RosterEntry, shown

COLUMNS = ("name", "birth_date", "stature_m", "mass_kg", "email", "notes")
MOST_BYTES = 10 * 1024 * 1024
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
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
class RosterFile:
    """What a file says: the good entries, what is wrong with the other rows, and with the file as such."""

    entries: tuple[RosterEntry, ...] = ()
    row_problems: tuple[Problem, ...] = ()
    file_problems: tuple[Problem, ...] = ()

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Everything that is wrong, in the order of the lines."""
        return self.file_problems + self.row_problems

    @property
    def bad_lines(self) -> int:
        """How many lines have something wrong with them."""
        return len({problem.line for problem in self.problems})


def read_roster(content: bytes, *, today: date) -> RosterFile:
    """Read a file's bytes; `today`, in the gym's time zone, decides which birth dates lie in the future."""
    if problem := _unreadable(content):
        return RosterFile(file_problems=(Problem(1, "", problem),))
    text = content.decode("utf-8-sig", errors="surrogateescape")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), strict=True)
    header, *rows = list(_records(reader)) or [_Record(1)]
    names = [_name(cell) for cell in header.cells]
    file_problems = tuple(_header_problems(header, names))
    if "name" not in names:
        return RosterFile(file_problems=file_problems)
    return _read_rows(rows, names, file_problems, today)


def _unreadable(content: bytes) -> str:
    if len(content) > MOST_BYTES:
        return f"The file has {len(content):,} bytes; {MOST_BYTES:,} is the most."
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return "The file is UTF-16 text. Save it as CSV in UTF-8."
    if not content.removeprefix(codecs.BOM_UTF8).strip():
        return "The file is empty."
    return ""


def _delimiter(text: str) -> str:
    """Return the character that makes more known columns of the first line."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;", key=lambda delimiter: sum(_name(cell) in COLUMNS for cell in first.split(delimiter)))


def _name(cell: str) -> str:
    return roster.printable(cell.strip(' "').casefold())


@dataclass(frozen=True, slots=True)
class _Record:
    """A row as it stands in the file: the line where it begins, its cells, or why it cannot be parted."""

    line: int
    cells: list[str] = field(default_factory=list)
    problem: str = ""


def _records(reader: Any) -> Iterator[_Record]:  # noqa: ANN401 (the csv module does not name its reader's type)
    while True:
        line = reader.line_num + 1
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            yield _Record(line, problem=_unparted(str(error)))
        else:
            if any(cell.strip() for cell in cells):
                yield _Record(line, cells)


def _unparted(reason: str) -> str:
    if "end of data" in reason:
        return "A quotation mark opens here and is never closed."
    if "field limit" in reason:
        return "A cell is too long to be read."
    return "The quotation marks do not match: one opens a cell, one ends it, and one inside it is doubled."


def _header_problems(header: _Record, names: list[str]) -> Iterator[Problem]:
    if header.problem:
        yield Problem(header.line, "", header.problem)
    for place, name in enumerate(names, start=1):
        if name not in COLUMNS:
            words = f"The column {shown(name)} is not known; the columns are {', '.join(COLUMNS)}."
            yield Problem(header.line, name or str(place), words if name else f"Column {place} has no name.")
        elif name in names[: place - 1]:
            yield Problem(header.line, name, "The column stands there twice.")
    if "name" not in names:
        yield Problem(
            header.line, "name", "The first line must name the columns, and “name” is not among them."
        )


def _read_rows(
    rows: list[_Record], names: list[str], file_problems: tuple[Problem, ...], today: date
) -> RosterFile:
    entries: list[RosterEntry] = []
    problems: list[Problem] = []
    lines_of: dict[PersonKey, int] = {}
    for record in rows:
        row = _Row(record, names, today)
        entry = row.entry()
        if not row.problems and (line := lines_of.setdefault(entry.key, record.line)) != record.line:
            row.refuse("", f"This person stands in line {line} already (same name and birth date).")
        problems += row.problems
        if not row.problems:
            entries.append(entry)
    return RosterFile(tuple(entries), tuple(problems), file_problems)


class _Row:
    """One row on its way to an entry; gathers its problems."""

    def __init__(self, record: _Record, names: list[str], today: date) -> None:
        self.line = record.line
        self.today = today
        self.problems: list[Problem] = []
        self.cells = dict(zip(names, record.cells, strict=False))
        if record.problem:
            self.refuse("", record.problem)
        elif len(record.cells) != len(names):
            self.refuse("", f"There are {len(record.cells)} cells here, and the first line has {len(names)}.")
        self.unparted = bool(self.problems)

    def refuse(self, column: str, sentence: str) -> None:
        self.problems.append(Problem(self.line, column, sentence))

    def entry(self) -> RosterEntry:
        """Return what could be read; worth something only while there are no problems."""
        if self.unparted:
            return RosterEntry("")
        name = self._text("name", roster.name_problem, roster.tidy_name)
        return RosterEntry(
            full_name=name,
            birth_on=self._birth_on(),
            stature_m=self._number("stature_m", "0.001", "number of metres", "1.72", roster.stature_problem),
            mass_kg=self._number("mass_kg", "0.01", "number of kilograms", "68.5", roster.mass_problem),
            email=self._text("email", roster.email_problem, str.lower, required=False),
            notes=self._text("notes", roster.notes_problem, _one_line_end, required=False),
        )

    def _cell(self, column: str) -> str:
        """Return a cell without the spaces around it, '' where it cannot be read as text."""
        cell = self.cells.get(column, "").strip()
        if "\0" in cell:
            self.refuse(column, "There is a NUL byte in the cell, which no text has.")
        elif any("\udc80" <= character <= "\udcff" for character in cell):
            self.refuse(column, "The cell is not UTF-8 text. Save the file as CSV in UTF-8.")
        else:
            return cell
        return ""

    def _text(
        self, column: str, check: Callable[[str], str], tidy: Callable[[str], str], *, required: bool = True
    ) -> str:
        before = len(self.problems)
        text = tidy(self._cell(column))
        if (text or required) and len(self.problems) == before and (sentence := check(text)):
            self.refuse(column, sentence)
        return text

    def _birth_on(self) -> date | None:
        cell = self._cell("birth_date")
        if not cell:
            return None
        birth_on = _date(cell)
        sentence = (
            roster.birth_problem(birth_on, self.today)
            if birth_on
            else f"{shown(cell)} is no date; write it like 2011-05-30."
        )
        if sentence:
            self.refuse("birth_date", sentence)
        return birth_on

    def _number(
        self, column: str, digit: str, what: str, example: str, check: Callable[[Decimal], str]
    ) -> Decimal | None:
        cell = self._cell(column)
        if not cell:
            return None
        if not _NUMBER.fullmatch(cell):
            self.refuse(column, f"{shown(cell)} is no {what}; write it like {example}.")
            return None
        value = Decimal(cell.replace(",", "."))
        if sentence := check(value):
            self.refuse(column, sentence)
        return value.quantize(Decimal(digit))


def _date(cell: str) -> date | None:
    if not _DATE.fullmatch(cell):
        return None
    try:
        return date.fromisoformat(cell)
    except ValueError:
        return None


def _one_line_end(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")
