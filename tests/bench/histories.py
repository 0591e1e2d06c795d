"""An athlete's own page after five years of practice, against the page of one who began a month ago."""

from __future__ import annotations

from datetime import timedelta

from django.urls import reverse

from athletes.models import Athlete
from tests.bench.figures import Figure, Seconds, Timing, side_by_side
from tests.bench.scenes import Scene, cookies_of, fill, log_one, make_scene
from tests.bench.server import served
from tests.bench.tablet import Tablet
from tests.factories.athletes import make_login

MONTH, FIVE_YEARS = timedelta(days=30), timedelta(days=5 * 365)
A_DAY = 4  # tries a day, all at one step that is never met: the most that the page could have to read
_WARM_UP = 5


def athlete_page(rounds: int) -> list[Figure]:
    """Get both pages in turns: as they are opened again, and as they are opened first after a new try."""
    scene = make_scene(athletes=2, attempts_each=0)
    beginner, old_hand = scene.athletes
    for athlete, over in ((beginner, MONTH), (old_hand, FIVE_YEARS)):
        fill(scene, athlete, A_DAY * over.days, over=over)
    with served() as port:
        old, new = (_Browser(port, scene, athlete) for athlete in (old_hand, beginner))
        side_by_side(_WARM_UP, old.look, new.look)
        again = side_by_side(rounds, old.look, new.look)
        first = _in_turns(rounds, old, new)
    return [
        _figure("athlete_page_history_growth", "the page", *again),
        _figure("athlete_page_after_a_try_history_growth", "the page after a new try", *first),
    ]


class _Browser:
    """An athlete's phone."""

    def __init__(self, port: int, scene: Scene, athlete: Athlete) -> None:
        self._tablet = Tablet(port, cookies_of(make_login(athlete, email=f"{athlete.number}@phone.example")))
        self._scene, self._athlete = scene, athlete

    def look(self) -> None:
        """Open the page; raises UnexpectedError if it does not come."""
        self._tablet.get(reverse("my_progress"))

    def log(self) -> None:
        """Have a try written down that the page has not seen."""
        log_one(self._scene, self._athlete)


def _in_turns(rounds: int, old: _Browser, new: _Browser) -> tuple[Seconds, Seconds]:
    took: tuple[list[float], list[float]] = ([], [])
    for _ in range(rounds):
        old.log()
        new.log()
        of_old, of_new = side_by_side(1, old.look, new.look)
        took[0].extend(of_old)
        took[1].extend(of_new)
    return took


def _figure(name: str, what: str, old: Seconds, new: Seconds) -> Figure:
    return Figure(name, 2, Timing(f"{what}, five years of tries", old), Timing(f"{what}, one month", new))
