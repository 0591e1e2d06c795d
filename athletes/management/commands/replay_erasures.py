"""`manage.py replay_erasures`: after a backup was restored, erase again who had been erased since."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from athletes.core.refusal import Refusal
from athletes.services.erasure import erase_person
from athletes.services.erasure_list import list_path, noted_erasures, people_to_erase_again
from athletes.wording import counted


class Command(BaseCommand):
    help = (
        "Erase again everybody whom erasures.jsonl in the data folder names and who stands in the database as if they "
        "had not been erased. Run it after restoring a backup, before the site is opened; twice does nothing more. "
        "Restore the database alone: an older copy of the list would not know who was erased since."
    )

    def handle(self, **_options: Any) -> None:  # noqa: ANN401 (Django's signature)
        noted, strange = noted_erasures()
        refused = []
        done = 0
        for each, person in people_to_erase_again(noted):
            try:
                erase_person(person=person, by=None, cause="restored")
                done += 1
            except Refusal as refusal:
                refused.append(f"{each.subject}: {refusal}")
        self.stdout.write(
            f"{counted(done, 'person').replace('persons', 'people')} erased again, of {len(noted)} noted."
        )
        for words in [*refused, *(f"{list_path()}, line {number}: not sealed by this key" for number in strange)]:
            self.stderr.write(words)
        if refused or strange:
            raise CommandError("Not everything on the list could be carried out.")
