"""`manage.py anchor_audit`: write down how long each audit chain is and how it ends, outside of the database."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from athletes.management.arguments import gym_named
from athletes.queries.gyms import all_gyms
from athletes.services.anchors import anchor_chain, anchors_path


class Command(BaseCommand):
    help = (
        "Append the head of every audit chain to anchors.jsonl in the data folder, and print it. Run it daily, and "
        "keep what it prints where nobody reaches it who reaches the database: `verify_audit --anchors FILE` compares."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--gym", metavar="SLUG", help="only this gym")

    def handle(self, *, gym: str | None, **_options: Any) -> None:  # noqa: ANN401 (Django's signature)
        try:
            for found in [gym_named(gym)] if gym else all_gyms():
                self.stdout.write(anchor_chain(found))
        except OSError as error:
            raise CommandError(f"{anchors_path()} cannot be written: {error.strerror}.") from error
