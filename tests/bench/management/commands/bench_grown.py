"""A part of the bench: fill an empty database with a gym, then log one attempt for each line on standard input."""

from __future__ import annotations

import sys

from django.core.management import BaseCommand, CommandParser, call_command
from django.db import transaction

from skills.models import Attempt, StepTimeline
from tests.bench.figures import timed
from tests.bench.rows import multiply
from tests.bench.scenes import Scene, fill, make_scene
from tests.bench.writing import logging
from tests.factories.athletes import make_athlete

MEASURED, EACH, EACH_OTHER = 10, 40, 300


class Command(BaseCommand):
    help = "Log one attempt for each line on standard input, and answer with the seconds that it took."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("attempts", type=int, help="how many attempts the gym has")

    def handle(self, *, attempts: int, **_options: object) -> None:
        call_command("migrate", verbosity=0)
        scene = make_scene(athletes=MEASURED, attempts_each=EACH)
        _fill_with_others(scene, (attempts - MEASURED * EACH) // EACH_OTHER)
        log = logging(scene)
        for _line in sys.stdin:
            self.stdout.write(str(timed(log)))
            self.stdout.flush()


def _fill_with_others(scene: Scene, count: int) -> None:
    """Let a number of others have practised too, each as much as the first of them."""
    with transaction.atomic():
        first, *others = [make_athlete(scene.coach.gym, f"Other {number} Example") for number in range(count)]
        fill(scene, first, EACH_OTHER)
        for model in (Attempt, StepTimeline):
            multiply(model, first.id, [other.id for other in others])
