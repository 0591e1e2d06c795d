"""Many attempts at once: brought in from a sheet, and the timelines that follow from them made anew."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from random import Random

from django.utils import timezone

from athletes.models import Gym, Membership
from gymtrack.lib.memory import no_cycle_search
from skills.core.attempt_file import read_attempts
from skills.queries.books import StepPage, book_of
from skills.services.imports import Lookup, import_attempts
from skills.services.readiness import rebuilt
from tests.bench.figures import Figure, Timing, side_by_side, timed
from tests.bench.rows import insert_all_again, read_rows
from tests.bench.scenes import Scene, make_scene

ROWS = 100_000
ATHLETES = 40
EACH_REBUILT = 500
YEARS_DAYS = 3 * 365
MINUTE_S = 60
_STEPS = ("pullover-1", "pullover-2", "pull-up-1", "toes-1", "swing-1", "l-hold-1")
_HEADER = "athlete,step,date,time,seconds,reps,faults,session,source"


def import_sheet(_attempts: int) -> list[Figure]:
    """Bring a sheet of 100,000 rows in, from its bytes to the last timeline, against executemany of the rows."""
    scene = make_scene(athletes=ATHLETES, attempts_each=0)
    sheet = "\n".join([_HEADER, *_lines(scene, ROWS)]).encode()
    took = timed(lambda: _bring_in(scene.coach.gym, scene.coach, sheet))
    rows = read_rows(scene.session.gym_id)
    if len(rows) != ROWS:
        raise RuntimeError(f"{ROWS} rows were brought in, and {len(rows)} are stored.")
    floor = timed(insert_all_again(rows))
    imported = Timing(f"import of {ROWS:,} rows", [took])
    return [
        Figure("import_attempts", 8, imported, Timing("executemany of the same rows", [floor])),
        Figure("import_attempts_over_a_minute", 1, imported, Timing("a minute", [MINUTE_S])),
    ]


def rebuild(_attempts: int) -> list[Figure]:
    """Make all timelines of a gym from its facts, against reading the rows of its attempts."""
    scene = make_scene(athletes=ATHLETES, attempts_each=EACH_REBUILT)

    def make_anew() -> None:
        for athlete in scene.athletes:
            rebuilt(book=scene.book, athlete=athlete, now=timezone.now())

    took, floor = side_by_side(3, make_anew, lambda: read_rows(scene.session.gym_id))
    what = f"rebuild from {EACH_REBUILT * ATHLETES:,} attempts"
    return [Figure("rebuild_over_reading", 20, Timing(what, took), Timing("reading their rows", floor))]


@no_cycle_search()
def _bring_in(gym: Gym, by: Membership, sheet: bytes) -> None:
    read, lookup = read_attempts(sheet), Lookup(gym, timezone.now())
    rows = [row for row, _problems in map(lookup.ready, read.rows) if row]
    import_attempts(gym=gym, by=by, rows=rows)


def _lines(scene: Scene, count: int) -> Iterator[str]:
    """Write a sheet of three years, the same each time but for its last day: classes in the evening, many steps."""
    chance, book = Random(20), book_of(scene.coach.gym)
    first = timezone.now() - timedelta(days=YEARS_DAYS)
    pages = [book.steps[code] for code in _STEPS]
    for _ in range(count):
        moment = first + timedelta(days=chance.randrange(YEARS_DAYS), minutes=chance.randrange(90))
        yield _line(chance, chance.choice(scene.athletes).number, chance.choice(pages), moment)


def _line(chance: Random, athlete: int, page: StepPage, moment: datetime) -> str:
    seconds = f"{chance.randrange(15, 90) / 10}" if page.form.is_hold else ""
    fault = page.faults[0][0] if chance.random() < 1 / 3 else ""
    source = chance.choice(("judged", "judged", "counted"))
    words = (athlete, page.code, f"{moment:%Y-%m-%d,%H:%M}", seconds, chance.randint(1, 5), fault, "Evening", source)
    return ",".join(map(str, words))
