"""Bring attempts in: `manage.py import_attempts FILE.csv --gym SLUG [--by EMAIL] [--skip-bad]`.

Nothing is stored unless every line is good, or --skip-bad says to leave the bad ones out. The same file twice
adds nothing. The columns stand in `skills.core.attempt_file`. What the gym's people agreed to is not asked for: these
tries were made before.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from athletes.management.arguments import file_content, gym_named, refuse_bad_lines
from athletes.queries.gyms import staff_named
from athletes.wording import bad_lines
from gymtrack.lib.memory import no_cycle_search
from skills.core.attempt_file import COLUMNS, MOST_BYTES, read_attempts
from skills.services.imports import Lookup, import_attempts

PROGRESS_ROWS = 10_000
NO_CONSENT_ASKED = (
    "Tries from before are stored without asking for consents to spotting or going upside down; "
    "from now on these steps are stopped for whoever has not agreed."
)


class Command(BaseCommand):
    help = (
        f"Bring attempts in from a CSV file. Columns: {', '.join(COLUMNS)}; athlete, step and date are required. "
        f"{NO_CONSENT_ASKED}"
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="a CSV file in UTF-8, its first line naming the columns")
        parser.add_argument("--gym", required=True, metavar="SLUG", help="the gym's short name")
        parser.add_argument("--by", default="", metavar="EMAIL", help="the coach who logged them; else the owner")
        parser.add_argument("--skip-bad", action="store_true", help="leave bad lines out, store the others")

    @no_cycle_search()
    def handle(self, *, file: Path, gym: str, by: str, skip_bad: bool, **_options: object) -> None:
        found = gym_named(gym)
        member = staff_named(found, by)
        if member is None:
            raise CommandError(f"Nobody on the staff of {found.name} signs in with {by or 'the role of an owner'}.")
        read = read_attempts(file_content(file, most_bytes=MOST_BYTES))
        lookup = Lookup(found, timezone.now())
        looked_up = [lookup.ready(row) for row in read.rows]
        problems = sorted(
            [*read.row_problems, *(problem for _, found_problems in looked_up for problem in found_problems)],
            key=lambda problem: problem.line,
        )
        for problem in (*read.file_problems, *problems):
            self.stderr.write(str(problem))
        refuse_bad_lines(read.file_problems, problems, skip_bad=skip_bad)
        rows = [row for row, _ in looked_up if row is not None]
        report = import_attempts(gym=found, by=member, rows=rows, progress=self._progress(len(rows)))
        lines = bad_lines(len({problem.line for problem in problems}))
        skipped = f" {lines} and stayed out." if problems else ""
        self.stdout.write(f"{report.stored} attempts stored, {report.known} were known already.{skipped}")
        if found.asks_consent and report.stored:
            self.stdout.write(NO_CONSENT_ASKED)

    def _progress(self, total: int) -> Callable[[int], None]:
        told = 0

        def tell(done: int) -> None:
            nonlocal told
            if done // PROGRESS_ROWS > told // PROGRESS_ROWS:
                self.stdout.write(f"{done} of {total} rows")
            told = done

        return tell
