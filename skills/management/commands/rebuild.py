"""`manage.py rebuild`: compute every kept timeline from the facts again, and store or only compare it.

Each athlete is one short transaction under the athlete's lock: facts may arrive meanwhile. Athletes come in the
order of their ids, which grow with time, so whoever is enrolled meanwhile comes last.
"""

from __future__ import annotations

import argparse
from bisect import bisect_right
from collections.abc import Sequence
from pathlib import Path
from time import monotonic
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection, transaction
from django.utils import timezone

from athletes.management.arguments import gym_named
from athletes.queries.gyms import all_gyms, athlete_ids
from skills.management.places import Place, PlaceFile, terminate_as_interrupt
from skills.queries.books import book_of
from skills.services.readiness import lock_athlete, rebuild_athlete

_INTERRUPTED = 130  # as a shell tells it: 128 + SIGINT
_TELL_EACH_S = 1.0


class Command(BaseCommand):
    help = "Compute the kept timelines of all athletes from the facts again."

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        parser.add_argument("--check", action="store_true", help="store nothing; exit 0 only if every byte is equal")
        parser.add_argument("--gym", metavar="SLUG", help="only this gym")
        parser.add_argument("--resume", action="store_true", help="go on where the last one was interrupted")

    def handle(self, *, check: bool, gym: str | None, resume: bool, **_options: Any) -> None:  # noqa: ANN401 (Django's signature)
        work = f"rebuild{' --check' if check else ''}{f' --gym {gym}' if gym else ''}"
        self._file, self._asked = PlaceFile(Path(settings.DATA_DIR, "rebuild.json")), f"{work} of {_database()}"
        gyms = [gym_named(gym)] if gym else all_gyms()
        ids = sorted(athlete_id for found in gyms for athlete_id in athlete_ids(found))
        place = self._place(ids, resume=resume)
        done, findings = (bisect_right(ids, place.last), place.findings) if place else (0, 0)
        try:
            with terminate_as_interrupt():
                findings = self._work(ids, done, findings, check=check)
        except KeyboardInterrupt:
            raise CommandError(self._how_to_go_on(ids, work), returncode=_INTERRUPTED) from None
        self._file.forget()
        self._close(len(ids), findings, check=check)

    def _place(self, ids: Sequence[UUID], *, resume: bool) -> Place | None:
        """Return where to go on; without `resume` the kept place is forgotten, and told if it was of this work."""
        kept = self._file.read()
        ours = kept if kept and kept.asked == self._asked else None
        if resume:
            if kept and not ours:
                raise CommandError(f"What was interrupted is another one, {kept.asked}: start without --resume.")
            self.stderr.write(self._done(ids, ours) if ours else "Nothing was interrupted: this one starts anew.")
            return ours
        if ours:
            self.stderr.write(f"{self._done(ids, ours)} This one starts anew; --resume would go on from there.")
        self._file.forget()
        return None

    @staticmethod
    def _done(ids: Sequence[UUID], place: Place) -> str:
        return f"The last one was interrupted after {bisect_right(ids, place.last)} of {len(ids)} athletes."

    def _work(self, ids: Sequence[UUID], done: int, findings: int, *, check: bool) -> int:
        """Rebuild one athlete after another and return how many timelines differed, with those found before."""
        told = 0.0
        for count, athlete_id in enumerate(ids[done:], done + 1):
            findings += self._rebuild(athlete_id, check=check)
            self._file.keep(Place(self._asked, athlete_id, findings))
            if monotonic() - told >= _TELL_EACH_S or count == len(ids):
                told = monotonic()
                self.stderr.write(f"{count} of {len(ids)} athletes", ending="\r" if self.stderr.isatty() else "\n")
        return findings

    def _rebuild(self, athlete_id: UUID, *, check: bool) -> int:
        with transaction.atomic():
            athlete = lock_athlete(athlete_id)
            codes = rebuild_athlete(book=book_of(athlete.gym), athlete=athlete, now=timezone.now(), store=not check)
        if codes:
            self.stdout.write(f"{athlete.gym.slug}, athlete {athlete.number}: {', '.join(codes)}")
        return len(codes)

    def _how_to_go_on(self, ids: Sequence[UUID], work: str) -> str:
        place = self._file.read()
        done = bisect_right(ids, place.last) if place else 0
        return f"Interrupted after {done} of {len(ids)} athletes. Go on with: python3 manage.py {work} --resume"

    def _close(self, athletes: int, differing: int, *, check: bool) -> None:
        if check and differing:
            message = f"{differing} timelines of {athletes} athletes differ from a rebuild."
            raise CommandError(message)
        verb = "differ" if check else "were rebuilt"
        self.stdout.write(f"{athletes} athletes looked at; {differing} timelines {verb}.")


def _database() -> str:
    """Return what tells one database from another: its name, and the server where it has one."""
    stored = connection.settings_dict
    return f"{stored['NAME']}{'@' if stored['HOST'] else ''}{stored['HOST']}"
