"""Reading attempts from a CSV file: years of holds from a spreadsheet.

athlete      required: the number or the full name on the roster
step         required: the step's code, like pullover-1, or its name
date         required: year-month-day in the gym's time zone
time         hours and minutes, like 18:05 or 18:05:30; noon without one
seconds      the length of a hold, like 5.2; more digits are cut to tenths, never rounded up
reps         how many, one without a number
faults       codes or names of the step's faults, with | between them; empty for a clean attempt
assistance   none, band, spot, box or feet; none without a word
session      the name of the class; the attempts of a class on one day make one training session
source       judged, counted, timed_only or own; counted without a word, since a sheet does not say who watched
grade        the number of the step's grade, from 1 on
angle        whole degrees from 0 to 180, at a step that says which angle is measured

How such a file is written otherwise stands in `athletes.core.csv_table`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, time
from typing import cast, get_args

from athletes.core.csv_table import Columns, Problem, Row, read_table
from athletes.core.roster import shown
from skills.core.facts import UNASSISTED, Source
from skills.core.holds import HoldLengthError, cut_to_tenths

COLUMNS = (
    "athlete", "step", "date", "time", "seconds", "reps", "faults", "assistance", "session", "source", "grade",
    "angle",
)  # fmt: skip
MOST_BYTES = 64 * 1024 * 1024
_TIME = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?", re.ASCII)
_WHOLE = re.compile(r"\d{1,4}", re.ASCII)
_NOON = time(12)


@dataclass(frozen=True, slots=True)
class AttemptRow:
    """One row as written: names not looked up yet, the moment on the gym's own clock."""

    line: int
    athlete: str
    step: str
    local: datetime
    hold_tenths: int | None
    reps: int
    faults: tuple[str, ...]
    assistance: str
    session: str
    source: Source
    grade: int
    angle_degrees: int | None


@dataclass(frozen=True, slots=True)
class AttemptFile:
    """What a file says: the good rows, what is wrong with the other ones, and with the file as such."""

    rows: tuple[AttemptRow, ...]
    row_problems: tuple[Problem, ...]
    file_problems: tuple[Problem, ...]


def read_attempts(content: bytes) -> AttemptFile:
    """Read a file's bytes; what needs the gym (names, steps, faults) is looked up afterwards."""
    columns = Columns(COLUMNS, required=("athlete", "step", "date"))
    table = read_table(content, columns, most_bytes=MOST_BYTES)
    rows: list[AttemptRow] = []
    problems: list[Problem] = []
    for record in table.rows:
        reader = _AttemptRow(record, table.names)
        row = reader.read()
        problems += reader.problems
        if row is not None and not reader.problems:
            rows.append(row)
    return AttemptFile(tuple(rows), tuple(problems), table.problems)


class _AttemptRow(Row):
    """One row on its way to an attempt."""

    def read(self) -> AttemptRow | None:
        """Return what could be read; worth something only while there are no problems."""
        if self.unparted:
            return None
        day = self.day("date") if self._named("date") else None
        clock = self._time()
        return AttemptRow(
            line=self.line,
            athlete=self._named("athlete"),
            step=self._named("step"),
            local=datetime.combine(day, clock) if day and clock else datetime.min,  # noqa: DTZ901 (the gym's own clock)
            hold_tenths=self._hold_tenths(),
            reps=self._whole("reps", 1),
            faults=tuple(word.strip() for word in self.cell("faults").split("|") if word.strip()),
            assistance=self.cell("assistance").casefold() or UNASSISTED,
            session=" ".join(self.cell("session").split())[:80],
            source=self._source(),
            grade=self._whole("grade", 0),
            angle_degrees=self._whole("angle", 0) if self.cell("angle") else None,
        )

    def _named(self, column: str) -> str:
        cell = self.cell(column)
        if not cell:
            self.refuse(column, "The cell is empty, and this column is needed.")
        return cell

    def _time(self) -> time | None:
        cell = self.cell("time")
        if not cell:
            return _NOON
        found = _TIME.fullmatch(cell)
        hour, minute, second = (int(part or 0) for part in found.groups()) if found else (24, 0, 0)
        try:
            return time(hour, minute, second)
        except ValueError:
            self.refuse("time", f"{shown(cell)} is no time of day; write it like 18:05.")
            return None

    def _hold_tenths(self) -> int | None:
        cell = self.cell("seconds").replace(",", ".")
        if not cell:
            return None
        try:
            return cut_to_tenths(cell)
        except HoldLengthError as error:
            self.refuse("seconds", str(error))
            return None

    def _whole(self, column: str, default: int) -> int:
        cell = self.cell(column)
        if cell and not _WHOLE.fullmatch(cell):
            self.refuse(column, f"{shown(cell)} is no whole number.")
            return default
        return int(cell) if cell else default

    def _source(self) -> Source:
        cell = self.cell("source").casefold().replace(" ", "_") or "counted"
        if cell not in get_args(Source):
            self.refuse("source", f"{shown(cell)} is not one of {', '.join(get_args(Source))}.")
        return cast("Source", cell)
