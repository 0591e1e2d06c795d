"""A part of the bench: fill an empty database with a gym, then log one attempt for each line on standard input."""

from __future__ import annotations

import sys

from django.core.management import BaseCommand, CommandParser, call_command

from tests.bench.figures import timed
from tests.bench.scenes import fill, make_scene
from tests.bench.writing import logging
from tests.factories.athletes import make_athlete

MEASURED, EACH, OTHERS = 10, 40, 20


class Command(BaseCommand):
    help = "Log one attempt for each line on standard input, and answer with the seconds that it took."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("attempts", type=int, help="how many attempts the gym has")

    def handle(self, *, attempts: int, **_options: object) -> None:
        call_command("migrate", verbosity=0)
        scene = make_scene(athletes=MEASURED, attempts_each=EACH)
        each_other = (attempts - MEASURED * EACH) // OTHERS
        for number in range(OTHERS):
            fill(scene, make_athlete(scene.coach.gym, f"Other {number} Example"), each_other)
        log = logging(scene)
        for _line in sys.stdin:
            self.stdout.write(str(timed(log)))
            self.stdout.flush()
