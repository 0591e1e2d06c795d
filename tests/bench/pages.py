"""Pages and forms through the whole stack, against a page behind the same doors that does nothing."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import count

from django.urls import reverse

from tests.bench.figures import Figure, Seconds, Timing, side_by_side
from tests.bench.scenes import attempts_of, make_scene
from tests.bench.server import served
from tests.bench.tablet import HTMX, Tablet

IDLE = "a page that does nothing"
_WARM_UP = 10


def log_attempt(attempts: int) -> list[Figure]:
    """Send the form of an attempt, up to the redirect after it is stored."""
    took, floor = _logging(attempts, 303, {})
    return [Figure("log_attempt_over_idle_page", 8, Timing("an attempt stored", took), Timing(IDLE, floor))]


def log_attempt_and_panel(attempts: int) -> list[Figure]:
    """Send the form as htmx does, up to the panel and the tile that come back."""
    took, floor = _logging(attempts, 200, HTMX)
    told = Timing("an attempt stored, its panel and tile", took)
    return [Figure("log_attempt_and_panel_over_idle_page", 25, told, Timing(IDLE, floor))]


def board(attempts: int) -> list[Figure]:
    """Get the board of a class of twelve."""
    scene = make_scene(athletes=12)
    path = reverse("session", args=[scene.session.id])
    with served() as port:
        tablet = Tablet(port, scene.cookies())
        took, floor = _beside_idle(attempts, tablet, lambda: tablet.get(path))
    return [Figure("board_over_idle_page", 20, Timing("the board of twelve", took), Timing(IDLE, floor))]


def _logging(attempts: int, expect: int, headers: Mapping[str, str]) -> tuple[Seconds, Seconds]:
    """Time forms and the page that does nothing; raises RuntimeError if one is not stored, or stored twice."""
    scene, numbers = make_scene(), count()
    athletes, path = scene.in_turn(), reverse("attempt_log", args=[scene.session.id])
    ids = [athlete.id for athlete in scene.athletes]
    before = attempts_of(ids)
    with served() as port:
        tablet = Tablet(port, scene.cookies())

        def post() -> None:
            tablet.post(path, scene.form(next(athletes), next(numbers)), expect=expect, headers=headers)

        took = _beside_idle(attempts, tablet, post)
    sent, stored = next(numbers), attempts_of(ids) - before
    if sent != stored:
        raise RuntimeError(f"{sent} attempts were sent, and {stored} are stored.")
    return took


def _beside_idle(rounds: int, tablet: Tablet, act: Callable[[], object]) -> tuple[Seconds, Seconds]:
    """Time an act and the page that does nothing in turns, once the server is warm."""
    side_by_side(_WARM_UP, act, lambda: tablet.get("/idle/"))
    return side_by_side(rounds, act, lambda: tablet.get("/idle/"))
