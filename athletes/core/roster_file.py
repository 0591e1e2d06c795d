"""Reading a roster from a CSV file, and naming everything that is wrong with it at once.

name         required
birth_date   year-month-day, like 2011-05-30; without one the person counts as a minor
stature_m    metres, like 1.72 or "1,72"
mass_kg      kilograms, like 68.5
email        an address to write to; it gives no log-in
notes        anything, over several lines where the cell is quoted

How such a file is written otherwise stands in `athletes.core.csv_table`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from athletes.core import roster
from athletes.core.csv_table import Columns, Problem, Record, Row, Table, read_table
from athletes.core.roster import PersonKey, RosterEntry, RosterLine

COLUMNS = ("name", "birth_date", "stature_m", "mass_kg", "email", "notes")
MOST_BYTES = 10 * 1024 * 1024
MOST_ROWS = 5000


@dataclass(frozen=True, slots=True)
class RosterFile:
    """What a file says: the good entries, what is wrong with the other rows, and with the file as such."""

    entries: tuple[RosterEntry, ...] = ()
    row_problems: tuple[Problem, ...] = ()
    file_problems: tuple[Problem, ...] = ()
    line_numbers: tuple[int, ...] = field(default=(), compare=False)  # of the entries, in their order

    @property
    def lines(self) -> tuple[RosterLine, ...]:
        """The good entries with the lines where they stand; none of a file that is bad as such."""
        if self.file_problems:
            return ()
        return tuple(map(RosterLine, self.line_numbers, self.entries))

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
    columns = Columns(COLUMNS, required=("name",))
    table = read_table(content, columns, most_bytes=MOST_BYTES, most_rows=MOST_ROWS)
    return _read_rows(table, today)


def _read_rows(table: Table, today: date) -> RosterFile:
    entries: dict[int, RosterEntry] = {}
    problems: list[Problem] = []
    lines_of: dict[PersonKey, int] = {}
    for record in table.rows:
        row = _RosterRow(record, table.names, today)
        entry = row.entry()
        if not row.problems and (line := lines_of.setdefault(entry.key, record.line)) != record.line:
            row.refuse("", f"This person stands in line {line} already (same name and birth date).")
        problems += row.problems
        if not row.problems:
            entries[record.line] = entry
    return RosterFile(tuple(entries.values()), tuple(problems), table.problems, tuple(entries))


class _RosterRow(Row):
    """One row on its way to an entry."""

    def __init__(self, record: Record, names: Sequence[str], today: date) -> None:
        super().__init__(record, names)
        self.today = today

    def entry(self) -> RosterEntry:
        """Return what could be read; worth something only while there are no problems."""
        if self.unparted:
            return RosterEntry("")
        name = self._text("name", roster.name_problem, roster.tidy_name)
        return RosterEntry(
            full_name=name,
            birth_on=self._birth_on(),
            stature_m=self._measure("stature_m", "0.001", "number of metres", "1.72", roster.stature_problem),
            mass_kg=self._measure("mass_kg", "0.01", "number of kilograms", "68.5", roster.mass_problem),
            email=self._text("email", roster.email_problem, str.lower, required=False),
            notes=self._text("notes", roster.notes_problem, _one_line_end, required=False),
        )

    def _text(
        self, column: str, check: Callable[[str], str], tidy: Callable[[str], str], *, required: bool = True
    ) -> str:
        before = len(self.problems)
        text = tidy(self.cell(column))
        if (text or required) and len(self.problems) == before and (sentence := check(text)):
            self.refuse(column, sentence)
        return text

    def _birth_on(self) -> date | None:
        birth_on = self.day("birth_date")
        if birth_on and (sentence := roster.birth_problem(birth_on, self.today)):
            self.refuse("birth_date", sentence)
        return birth_on

    def _measure(
        self, column: str, digit: str, what: str, example: str, check: Callable[[Decimal], str]
    ) -> Decimal | None:
        value = self.number(column, what, example)
        if value is None:
            return None
        if sentence := check(value):
            self.refuse(column, sentence)
        return value.quantize(Decimal(digit))


def _one_line_end(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")
