"""`manage.py verify_audit`: compute the seals of the audit chains again."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from athletes.management.arguments import gym_named
from athletes.queries.gyms import all_gyms
from athletes.services.audit import first_broken_link


class Command(BaseCommand):
    help = "Compute every seal of the audit chains again; exit 0 only if all hold."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--gym", metavar="SLUG", help="only this gym")

    def handle(self, *, gym: str | None, **_options: Any) -> None:  # noqa: ANN401 (Django's signature)
        broken = 0
        for found in [gym_named(gym)] if gym else all_gyms():
            position = first_broken_link(found)
            broken += position is not None
            self.stdout.write(f"{found.slug}: " + (f"broken at entry {position}" if position else "whole"))
        if broken:
            raise CommandError(
                "An audit chain is broken: somebody changed what had been recorded, or the key is another."
            )
