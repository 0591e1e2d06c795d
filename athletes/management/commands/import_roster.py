"""Put the people of a CSV file on a gym's roster: `manage.py import_roster FILE.csv --gym SLUG [--dry-run] …`.

Nothing is stored unless every line is good, or --skip-bad says to leave the bad ones out; and unless nobody in the file
resembles somebody on the roster, or --similar says whether to add such people or to leave them out. With --dry-run it
is told what would be done, and nothing is stored. The same file twice adds nothing. The columns stand in
`athletes.core.roster_file`.
"""

from __future__ import annotations

from pathlib import Path

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from athletes.core.roster_file import COLUMNS, MOST_BYTES, read_roster
from athletes.core.roster_plan import Choice, DoubtfulLine, RosterPlan
from athletes.management.arguments import file_content, gym_named, refuse_bad_lines
from athletes.services.roster_import import enrol_from_shell, preview_roster
from athletes.wording import bad_lines, counted, enrolled, line_words, resemblance_words


class Command(BaseCommand):
    help = f"Add the people of a CSV file to a gym's roster. Columns: {', '.join(COLUMNS)}; only name is required."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", type=Path, help="a CSV file in UTF-8, its first line naming the columns")
        parser.add_argument("--gym", required=True, metavar="SLUG", help="the gym's short name")
        parser.add_argument("--skip-bad", action="store_true", help="leave bad lines out, store the others")
        parser.add_argument(
            "--similar",
            choices=("add", "leave"),
            help="who resembles somebody on the roster: add them, or leave them out",
        )
        parser.add_argument("--dry-run", action="store_true", help="tell what would be done, and store nothing")

    def handle(
        self, *, file: Path, gym: str, skip_bad: bool, similar: str | None, dry_run: bool, **_options: object
    ) -> None:
        found = gym_named(gym)
        today = timezone.now().astimezone(found.zone).date()
        roster = read_roster(file_content(file, most_bytes=MOST_BYTES), today=today)
        plan = preview_roster(gym=found, lines=roster.lines)
        self._tell([str(problem) for problem in roster.problems])
        self._tell([f"{line_words(each.line)}: {_resemblances(each)}." for each in plan.doubtful])
        if dry_run:
            self.stdout.write(f"{found.name}: {_would(plan, roster.bad_lines)} Nothing was stored.")
            return
        refuse_bad_lines(roster.file_problems, roster.row_problems, skip_bad=skip_bad)
        if plan.doubtful and not similar:
            raise CommandError(
                f"Nothing was stored: {counted(len(plan.doubtful), 'line')} may be of somebody on the roster. Add them"
                " with --similar add, leave them out with --similar leave, or say of each on the page of the import."
            )
        choices = {each.line.line: _choice(similar, each.resembles[0].who.number) for each in plan.doubtful}
        report = enrol_from_shell(gym=found, lines=roster.lines, choices=choices, seen=plan.digest)
        skipped = f" {bad_lines(roster.bad_lines)} and stayed out." if roster.bad_lines else ""
        self.stdout.write(f"{found.name}: {enrolled(report)}{skipped}")

    def _tell(self, sentences: list[str]) -> None:
        for sentence in sentences:
            self.stderr.write(sentence)


def _resemblances(doubt: DoubtfulLine) -> str:
    return "; ".join(resemblance_words(doubt.line, each) for each in doubt.resembles)


def _choice(similar: str | None, number: int) -> Choice:
    return Choice("leave", number) if similar == "leave" else Choice("add")


def _would(plan: RosterPlan, bad: int) -> str:
    measured = sum(each.measured for each in plan.known)
    words = f"{counted(len(plan.added), 'athlete')} would be added, {len(plan.known)} already on the roster"
    words += f" ({measured} with new measures)" if measured else ""
    words += f", {counted(len(plan.doubtful), 'line')} to be decided" if plan.doubtful else ""
    return f"{words}. {bad_lines(bad)}." if bad else f"{words}."
