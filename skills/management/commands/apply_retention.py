"""`manage.py apply_retention [--dry-run] [--compact]`: erase and delete what has been kept long enough."""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from athletes.management.arguments import gym_named
from athletes.models import Gym
from athletes.queries.gyms import all_gyms
from athletes.services.retention import Applied, apply_due, clear_sessions
from gymtrack.lib.scrub import compact, empty_log
from skills.services.retention import all_due

HONEST = (
    "Backups and what was exported or printed are out of reach. On PostgreSQL deleted rows stay in the files until "
    "VACUUM, which autovacuum runs at a time of its own, and in archives of its log for as long as these are kept."
)


class Command(BaseCommand):
    help = (
        "Erase people who left longer ago than their gym keeps them, and delete old notes on pain, spent invitations "
        "and links, old hand-overs and sessions; the periods are the gym’s settings. Run it daily by a timer. " + HONEST
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--gym", metavar="SLUG", help="only this gym")
        parser.add_argument("--dry-run", action="store_true", help="only say how much it would be")
        parser.add_argument(
            "--compact", action="store_true", help="then rewrite the database’s files, so that no deleted bytes remain"
        )

    def handle(self, *, gym: str | None, dry_run: bool, **options: Any) -> None:  # noqa: ANN401 (Django's signature)
        refusals: list[str] = []
        for found in [gym_named(gym)] if gym else all_gyms():
            applied = _applied(found, dry_run=dry_run)
            self.stdout.write(f"{found.slug}: {'would go' if dry_run else 'gone'}: {_told(applied)}")
            refusals += applied.refusals
        if not dry_run:
            clear_sessions(timezone.now())
            empty_log()
        if options["compact"] and not dry_run:
            self._compact()
        for words in refusals:
            self.stderr.write(words)
        if refusals:
            raise CommandError("Somebody could not be erased; all others were.")

    def _compact(self) -> None:
        trouble = compact(model._meta.db_table for model in apps.get_models(include_auto_created=True))
        self.stdout.write(f"Not compacted: {trouble}" if trouble else "Compacted.")


def _applied(gym: Gym, *, dry_run: bool) -> Applied:
    due = all_due(gym, timezone.now())
    return Applied(due.counts()) if dry_run else apply_due(gym, due)


def _told(applied: Applied) -> str:
    return ", ".join(f"{number} {name}" for name, number in applied.counts.items())
