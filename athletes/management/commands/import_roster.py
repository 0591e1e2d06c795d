"""Put the people of a CSV file on a gym's roster: `manage.py import_roster FILE.csv --gym SLUG [--skip-bad]`.

Nothing is stored unless every line is good, or --skip-bad says to leave the bad ones out. The same file twice
adds nothing. The columns stand in `athletes.core.roster_file`.
"""

from __future__ import annotations

from pathlib import Path

from django.core.management.base import BaseCommand, CommandParser
from django.utils import timezone

from athletes.core.roster_file import COLUMNS, MOST_BYTES, read_roster
from athletes.management.arguments import file_content, gym_named, refuse_bad_lines
from athletes.services.roster import enrol_from_shell
from athletes.wording import bad_lines, enrolled


class Command(BaseCommand):
    help = f"Add the people of a CSV file to a gym's roster. Columns: {', '.join(COLUMNS)}; only name is required."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="a CSV file in UTF-8, its first line naming the columns")
        parser.add_argument("--gym", required=True, metavar="SLUG", help="the gym's short name")
        parser.add_argument("--skip-bad", action="store_true", help="leave bad lines out, store the others")

    def handle(self, *, file: Path, gym: str, skip_bad: bool, **_options: object) -> None:
        found = gym_named(gym)
        today = timezone.now().astimezone(found.zone).date()
        roster = read_roster(file_content(file, most_bytes=MOST_BYTES), today=today)
        for problem in roster.problems:
            self.stderr.write(str(problem))
        refuse_bad_lines(roster.file_problems, roster.row_problems, skip_bad=skip_bad)
        report = enrol_from_shell(gym=found, entries=roster.entries)
        skipped = f" {bad_lines(roster.bad_lines)} and stayed out." if roster.bad_lines else ""
        self.stdout.write(f"{found.name}: {enrolled(report)}{skipped}")
