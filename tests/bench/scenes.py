"""Gyms to measure in: a class of athletes who have practised for months, and what a tablet sends of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import count, cycle
from uuid import UUID

from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.db import transaction
from django.utils import timezone

from athletes.access.session_limits import SEEN_AT, SIGNED_IN_AT
from athletes.models import Athlete, Membership
from gymtrack.lib.ids import new_id
from skills.core.entries import Result
from skills.models import Attempt, TrainingSession
from skills.queries.books import Book, StepPage
from skills.services.attempts import AttemptEntry
from skills.services.readiness import lock_athlete, rebuild_athlete
from tests.bench.tablet import Form
from tests.factories.athletes import Role, make_athlete, make_gym, make_member
from tests.factories.skills import library, start_class

STEP = "pullover-1"
CSRF_SECRET = "b" * 32
_GYMS = count(1)
_MONTHS = timedelta(days=180)


@dataclass(frozen=True, slots=True)
class Scene:
    """A gym in the middle of a class."""

    coach: Membership
    athletes: Sequence[Athlete]
    session: TrainingSession
    book: Book

    @property
    def page(self) -> StepPage:
        """The step that everybody works on."""
        return self.book.steps[STEP]

    def in_turn(self) -> Iterator[Athlete]:
        """Give the athletes again and again, so that no history grows faster than the others."""
        return cycle(self.athletes)

    def entry(self, athlete: Athlete, number: int) -> AttemptEntry:
        """Return a hold as it comes from a page: five seconds and a bit, every third one with a fault."""
        return AttemptEntry(
            id=new_id(),
            athlete_id=athlete.id,
            step_id=self.page.id,
            session_id=self.session.id,
            happened_at=timezone.now(),
            source=Attempt.Source.JUDGED,
            result=Result(hold_tenths=50 + number % 7, reps=1, faults=_faults(self.page, number)),
        )

    def form(self, athlete: Athlete, number: int) -> Form:
        """Return the same hold as the fields of the page's form."""
        entry = self.entry(athlete, number)
        verdict = {"fault": entry.result.faults[0]} if entry.result.faults else {"verdict": "clean"}
        return {
            "id": str(entry.id),
            "athlete": str(athlete.id),
            "step": str(self.page.id),
            "seconds": str((entry.result.hold_tenths or 0) / 10),
            "reps": "1",
            "assistance": "none",
            "source": "judged",
            **verdict,
        }

    def cookies(self) -> dict[str, str]:
        """Sign the coach in and return the cookies of that browser."""
        return cookies_of(self.coach)


def cookies_of(member: Membership) -> dict[str, str]:
    """Sign somebody in and return the cookies of that browser."""
    account, store = member.account, SessionStore()
    store[SESSION_KEY] = str(account.pk)
    store[BACKEND_SESSION_KEY] = "allauth.account.auth_backends.AuthenticationBackend"
    store[HASH_SESSION_KEY] = account.get_session_auth_hash()
    store[SIGNED_IN_AT] = store[SEEN_AT] = timezone.now().timestamp()  # or it is taken as over
    store.create()
    return {"sessionid": str(store.session_key), "csrftoken": CSRF_SECRET}


def make_scene(*, athletes: int = 12, attempts_each: int = 40) -> Scene:
    """Make a gym whose athletes have that many attempts at one step each, and a class that they all are in."""
    gym = make_gym(slug=f"gym-{next(_GYMS)}", name="Riverside Gym")
    coach = make_member(gym, Role.COACH, "Cleo Adeyemi", rights=("may_log", "may_sign_off"))
    book = library(gym)
    people = [make_athlete(gym, f"Person {number} Example", number=number) for number in range(1, athletes + 1)]
    scene = Scene(coach, people, start_class(coach, *people), book)
    for athlete in people:
        fill(scene, athlete, attempts_each)
    return scene


def fill(scene: Scene, athlete: Athlete, attempts: int, *, over: timedelta = _MONTHS) -> None:
    """Give an athlete a past of so many holds at the step, all a little short, over half a year."""
    began = timezone.now() - over
    gap = (over - timedelta(days=2)) / max(attempts, 1)
    with transaction.atomic():
        locked = lock_athlete(athlete.id)
        Attempt.objects.bulk_create(
            (_past(scene, athlete, number, began + gap * number) for number in range(attempts)), batch_size=2000
        )
        rebuild_athlete(book=scene.book, athlete=locked, now=timezone.now(), store=True)


def log_one(scene: Scene, athlete: Athlete) -> None:
    """Write down one more hold that is too short, past the program, so that what was kept of the facts is stale."""
    Attempt.objects.bulk_create([_past(scene, athlete, 1, timezone.now())])


def _past(scene: Scene, athlete: Athlete, number: int, happened_at: datetime) -> Attempt:
    return Attempt(
        gym_id=athlete.gym_id,
        athlete=athlete,
        step_id=scene.page.id,
        logged_by=scene.coach,
        happened_at=happened_at,
        recorded_at=happened_at,
        hold_tenths=30 + number % 20,
        source=Attempt.Source.JUDGED,
        faults=list(_faults(scene.page, number)),
    )


def _faults(page: StepPage, number: int) -> tuple[str, ...]:
    return () if number % 3 else (page.faults[0][0],)


def attempts_of(athlete_ids: Sequence[UUID]) -> int:
    """Return how many attempts are stored for these athletes."""
    return Attempt.objects.filter(athlete__in=athlete_ids).count()
