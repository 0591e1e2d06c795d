"""`manage.py erase --gym SLUG --athlete NUMBER | --person ID`: erase somebody from a shell."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.core.management.base import BaseCommand, CommandError, CommandParser

from athletes.core.refusal import Refusal
from athletes.management.arguments import gym_named
from athletes.models import Gym, Person
from athletes.queries.erasures import person_numbered, person_of_id
from athletes.services.erasure import erase_person
from gymtrack.lib.scrub import empty_log

HONEST = (
    "Backups, printed pages and exported files still have what was erased. On SQLite deleted bytes are overwritten; on "
    "PostgreSQL they stay in the files until VACUUM, and in archives of its log for as long as these are kept."
)


class Command(BaseCommand):
    help = (
        "Erase what is kept about one person of a gym, as an owner can on the page Erasure; it cannot be undone. "
        "Without --yes it only says who it would be. " + HONEST
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--gym", required=True, metavar="SLUG", help="the gym's short name")
        whom = parser.add_mutually_exclusive_group(required=True)
        whom.add_argument("--athlete", type=int, metavar="NUMBER", help="an athlete's number")
        whom.add_argument("--person", type=UUID, metavar="ID", help="a person's id, as in the address of their page")
        parser.add_argument("--yes", action="store_true", help="do it")

    def handle(self, *, gym: str, athlete: int | None, person: UUID | None, **options: Any) -> None:  # noqa: ANN401
        found = _found(gym_named(gym), athlete, person)
        if not options["yes"]:
            self.stdout.write(f"It would be {found.initials}, person {found.pk}. Say --yes to erase them.")
            return
        try:
            erase_person(person=found, by=None)
        except Refusal as refusal:
            raise CommandError(str(refusal)) from refusal
        left = "" if empty_log() else " The write-ahead log is in use: it is emptied by the next command."
        self.stdout.write(f"Erased.{left} {HONEST}")


def _found(gym: Gym, number: int | None, person_id: UUID | None) -> Person:
    found = person_of_id(gym, person_id) if person_id else person_numbered(gym, number or 0)
    if found is None:
        raise CommandError("The gym knows nobody like that, or not any more.")
    return found
