"""`manage.py rebuild`: compute every kept timeline from the facts again, and store or only compare it."""

from __future__ import annotations

import argparse
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.db import transaction
from django.utils import timezone

from athletes.management.arguments import gym_named
from athletes.queries.gyms import all_gyms, athlete_ids
from skills.queries.books import book_of
from skills.services.readiness import lock_athlete, rebuild_athlete


class Command(BaseCommand):
    help = "Compute the kept timelines of all athletes from the facts again."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--check", action="store_true", help="store nothing; exit 0 only if every byte is equal")
        parser.add_argument("--gym", metavar="SLUG", help="only this gym")

    def handle(self, *, check: bool, gym: str | None, **_options: Any) -> None:  # noqa: ANN401 (Django's signature)
        athletes = differing = 0
        for found in [gym_named(gym)] if gym else all_gyms():
            for athlete_id in athlete_ids(found):
                with transaction.atomic():
                    athlete = lock_athlete(athlete_id)
                    codes = rebuild_athlete(
                        book=book_of(athlete.gym), athlete=athlete, now=timezone.now(), store=not check
                    )
                athletes += 1
                differing += len(codes)
                if codes:
                    self.stdout.write(f"{found.slug}, athlete {athlete.number}: {', '.join(codes)}")
        self._close(athletes, differing, check=check)

    def _close(self, athletes: int, differing: int, *, check: bool) -> None:
        if check and differing:
            message = f"{differing} timelines of {athletes} athletes differ from a rebuild."
            raise CommandError(message)
        verb = "differ" if check else "were rebuilt"
        self.stdout.write(f"{athletes} athletes looked at; {differing} timelines {verb}.")
