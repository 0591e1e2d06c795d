"""Logging an attempt by the service alone: against the bare row, and in a gym that has grown."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count

from skills.services.attempts import log_attempt
from tests.bench.figures import Figure, Timing, side_by_side
from tests.bench.grown import grown_gym
from tests.bench.rows import insert_again, read_rows
from tests.bench.scenes import Scene, make_scene

SMALL, LARGE = 1_000, 1_000_000


def over_raw_insert(attempts: int) -> list[Figure]:
    """Log an attempt with all that follows, against the bare INSERT and COMMIT of the same row."""
    scene = make_scene()
    log = logging(scene)
    log()
    row = read_rows(scene.session.gym_id)[-1]
    took, floor = side_by_side(attempts, log, lambda: insert_again(row))
    return [
        Figure("log_attempt_over_raw_insert", 20, Timing("log_attempt", took), Timing("INSERT and COMMIT", floor)),
    ]


def logging(scene: Scene) -> Callable[[], object]:
    """Return an act that logs the next attempt of the class."""
    numbers, athletes = count(), scene.in_turn()
    return lambda: log_attempt(by=scene.coach, entry=scene.entry(next(athletes), next(numbers)))


def history_growth(attempts: int) -> list[Figure]:
    """Log an attempt in a gym with many, against one with few, where the athletes have the same history."""
    with grown_gym(SMALL) as few, grown_gym(LARGE) as many:
        took, floor = [], []
        for _ in range(attempts):
            took.append(many())
            floor.append(few())
    return [
        Figure(
            "log_attempt_history_growth",
            1.2,
            Timing(f"log_attempt, {LARGE:,} attempts in the gym", took),
            Timing(f"log_attempt, {SMALL:,} attempts in the gym", floor),
        )
    ]
