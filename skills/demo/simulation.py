"""The demo gym as values: everything that happened there, from a seed and a last day. Pure; no database, no clock."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from random import Random
from typing import Final

from skills.demo import stories
from skills.demo.cast import ADULT_AGE_YEARS, ATHLETES, ZONE, Role
from skills.demo.diary import Diary, Measured, Trainee
from skills.demo.latent import draw_latent
from skills.demo.seeded import row_id
from skills.demo.syllabus import Syllabus, syllabus
from skills.demo.timetable import DAYS, SLOTS, Session, local_us, running_session, timetable
from skills.demo.training import MIS_TAP_EVERY, Training, home_days

PRESENT_TODAY: Final = 8
FULL_STANDARD_DAYS: Final = 30  # before the last day
MEASURED_EVERY_DAYS: Final = 84
_CLASSES_A_WEEK: Final = sum(1 / slot.every_weeks for slot in SLOTS)


@dataclass(frozen=True, slots=True)
class BarChecked:
    """A low bar that was looked over before a class used it."""

    session: Session
    us: int


@dataclass(frozen=True, slots=True)
class DemoGym:
    """All that happened. `until` is the last day; a class of that day still runs, with `present_today`."""

    seed: int
    first: date
    until: date
    full_standard_us: int
    syllabus: Syllabus
    sessions: tuple[Session, ...]
    running: Session
    present_today: tuple[str, ...]  # ids of athletes
    diaries: tuple[Diary, ...]
    bar_checks: tuple[BarChecked, ...]


def simulate(*, seed: int, until: date, days: int = DAYS) -> DemoGym:
    """Play the gym up to `until`, which must leave room for `days` before it."""
    first = until - timedelta(days=days)
    rng = Random(f"gym {seed} {until}")
    full_standard_us = local_us(until - timedelta(days=FULL_STANDARD_DAYS), time(9, 0))
    lessons = syllabus(ZONE, full_standard_us)
    sessions = timetable(rng, first, until)
    running = running_session(rng, until)
    trainings = [
        _play(lessons, sessions, number, role, (seed, first, until)) for number, role in enumerate(ATHLETES, start=1)
    ]
    stories.close(rng, trainings, sessions)
    diaries = tuple(training.diary for training in trainings)
    return DemoGym(
        seed=seed,
        first=first,
        until=until,
        full_standard_us=full_standard_us,
        syllabus=lessons,
        sessions=sessions,
        running=running,
        present_today=_present_today(rng, diaries),
        diaries=diaries,
        bar_checks=tuple(_bar_checks(lessons, sessions, diaries)),
    )


def _play(
    lessons: Syllabus, sessions: Sequence[Session], number: int, role: Role, frame: tuple[int, date, date]
) -> Training:
    seed, first, until = frame
    rng = Random(f"athlete {seed} {until} {number}")
    trainee = _trainee(rng, number, role, first, until)
    training = Training(lessons, rng, Diary(trainee))
    coming = [session for session in sessions if _comes(rng, trainee, session)]
    at_home = home_days(rng, coming, until) if role.login else []
    events: list[Session | date] = sorted([*coming, *at_home], key=_on)
    tellings = stories.of(number, coming)
    for event in events:
        if isinstance(event, date):
            training.practise_at_home(event)
        else:
            mis_tapped = sessions.index(event) % MIS_TAP_EVERY == number % MIS_TAP_EVERY and number < MIS_TAP_EVERY
            training.attend(event, mis_tapped=mis_tapped)
            for tell in tellings.get(event.id, ()):
                tell(training, event)
    return training


def _on(event: Session | date) -> date:
    return event if isinstance(event, date) else event.on


def _comes(rng: Random, trainee: Trainee, session: Session) -> bool:
    luck = rng.random()
    member = session.on >= trainee.joined_on and trainee.latent.trains_on(session.on)
    return member and luck < min(trainee.latent.classes_a_week / _CLASSES_A_WEEK, 0.9)


def _trainee(rng: Random, number: int, role: Role, first: date, until: date) -> Trainee:
    span = (until - first).days
    joined_on = first
    if role.kind == "newcomer":
        joined_on = until - timedelta(days=rng.randint(min(14, span), min(70, span)))
    return Trainee(
        id=str(row_id(rng, local_us(joined_on, time(12, 0)))),
        number=number,
        role=role,
        birth_on=_birth_on(rng, role.age_years, until),
        joined_on=joined_on,
        minor=role.age_years < ADULT_AGE_YEARS,
        latent=draw_latent(rng, role.kind, first, until),
        measures=tuple(_measures(rng, role.age_years, joined_on, until)),
    )


def _birth_on(rng: Random, age_years: int, until: date) -> date:
    """Return a day that makes somebody so old on the last day, and keeps them so for two months or more."""
    day = until - timedelta(days=rng.randint(5, 300))
    return day.replace(year=day.year - age_years, day=min(day.day, 28))


def _measures(rng: Random, age_years: int, joined_on: date, until: date) -> list[Measured]:
    """Return what was measured on joining; of who still grows, each three months again."""
    grown = age_years >= ADULT_AGE_YEARS
    stature_mm = rng.randint(1560, 1890) if grown else 1180 + 35 * age_years + rng.randint(-60, 60)
    mass_dag = round(stature_mm**2 * rng.uniform(20.5, 26.5) / 10_000) if grown else round(stature_mm**2 * 0.0019)
    found = [Measured(joined_on, stature_mm, mass_dag)]
    while not grown and (day := found[-1].on + timedelta(days=MEASURED_EVERY_DAYS)) < until:
        taller = found[-1].stature_mm + rng.randint(5, 16)
        found.append(Measured(day, taller, found[-1].mass_dag + rng.randint(30, 110)))
    return found


def _present_today(rng: Random, diaries: Sequence[Diary]) -> tuple[str, ...]:
    """Return who is there on the last day: who has been told to take care, a minor or two, and others."""
    always = [diary for diary in diaries if diary.trainee.number in stories.PRESENT_TODAY]
    others = [diary for diary in diaries if diary.present and diary not in always]
    chosen = [*always, *rng.sample(others, PRESENT_TODAY - len(always))]
    return tuple(diary.trainee.id for diary in sorted(chosen, key=lambda diary: diary.trainee.number))


def _bar_checks(lessons: Syllabus, sessions: Sequence[Session], diaries: Sequence[Diary]) -> list[BarChecked]:
    """Return a check for each class with low-bar work, a moment before its first try."""
    first_us: dict[str, int] = {}
    for tried in (tried for diary in diaries for tried in diary.tries):
        if lessons.drills[tried.fact.step].low_bar_check:
            us = tried.fact.happened_us
            first_us[tried.fact.session] = min(us, first_us.get(tried.fact.session, us))
    by_id: Mapping[str, Session] = {session.id: session for session in sessions}
    checks = [BarChecked(by_id[session], us - 45_000_000) for session, us in first_us.items()]
    return sorted(checks, key=lambda check: check.us)
