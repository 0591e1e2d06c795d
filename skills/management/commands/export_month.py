"""Write a gym's month as CSV: `manage.py export_month 2026-10 --gym SLUG [--output FILE]`.

The file is the one that the month's page gives, byte for byte; without --output it goes to the terminal.
"""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from athletes.management.arguments import gym_named
from skills.core.month import Month, NoSuchMonthError, month_named
from skills.queries.months import month_csv


class Command(BaseCommand):
    help = "Write a gym's month as CSV: one row for the gym, one for each skill and one for each coach."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("month", help="year and month, such as 2026-10")
        parser.add_argument("--gym", required=True, metavar="SLUG", help="the gym's short name")
        parser.add_argument("--output", type=Path, metavar="FILE", help="where to write; else to the terminal")

    def handle(self, *, month: str, gym: str, output: Path | None, **_options: object) -> None:
        found = gym_named(gym)
        try:
            chosen = month_named(month, this=Month.at(timezone.now(), found.time_zone))
        except NoSuchMonthError as error:
            raise CommandError(str(error)) from error
        content = month_csv(found, chosen)
        if output is None:
            # Bytes, because text would get the line ends and the encoding of the terminal.
            terminal: BinaryIO = self.stdout.buffer  # type: ignore[assignment]  # the wrapper passes everything on
            terminal.write(content)
            terminal.flush()
        else:
            _write(output, content)


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise CommandError(f"{path} cannot be written: {error.strerror}.") from error
