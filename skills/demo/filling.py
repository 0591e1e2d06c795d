"""The demo gym, written into the tables: all of it in one transaction, or nothing."""

from __future__ import annotations

from collections.abc import Mapping
from random import Random
from uuid import UUID

from django.db import transaction
from django.db.models import OuterRef, Subquery

from athletes.models import Gym, Membership
from athletes.services.audit import record_act
from gymtrack.lib.ids import ids_from
from skills.core import criteria
from skills.core.days import moment_of
from skills.demo.dosing import put_doses
from skills.demo.people import opened_at, put_people
from skills.demo.planned import put_plan, put_stations
from skills.demo.rig import LOW_HOLE, put_bars, put_heights
from skills.demo.rows import FactRows
from skills.demo.seeded import SeededIds
from skills.demo.simulation import DemoGym
from skills.demo.syllabus import FULL_STANDARD_STEP, FULL_STANDARD_VERSION
from skills.demo.timetable import Session
from skills.library import FULL_STANDARD
from skills.models import Attendance, Bar, BarCheck, CriterionVersion, RiskRead, Step, TrainingSession
from skills.queries.books import book_of
from skills.queries.risk_notes import ASKED, notes_of
from skills.services.library import install_library, touch_rules


@transaction.atomic
def fill(*, played: DemoGym, password: str) -> Gym:
    """Write a played gym, and return it. All who sign in do so with that password."""
    rng = Random(f"rows {played.seed} {played.until}")
    ids = SeededIds(rng, int(opened_at(played).timestamp()) * 1_000_000)
    with ids_from(ids):
        people = put_people(played, password)
        gym = people.owner.gym
        _put_skills(gym, people.owner, played)
        put_heights(gym, people.athletes, played)
        _put_sessions(gym, people.staff, played, put_bars(gym, played))
        rows = FactRows(gym, people, book_of(gym), rng)
        for diary in played.diaries:
            rows.add(diary)
        content = {"seed": played.seed, "until": str(played.until), **rows.store()}
        content["dosechange"] = put_doses(people, book_of(gym), played)
        put_stations(gym, played)
        put_plan(people, played)
        _put_reads(gym, people.staff["coach"], played)
        record_act(gym=gym, actor=None, act="demo_filled", about=gym.id, content=content)
    return gym


def _put_skills(gym: Gym, owner: Membership, played: DemoGym) -> None:
    """Bring the shipped skills in, and adopt the full standard for one step."""
    install_library(gym=gym, by=owner, recorded_at=opened_at(played))
    adopted_at = moment_of(played.full_standard_us)
    CriterionVersion.objects.create(
        gym=gym,
        step=Step.objects.get(gym=gym, code=FULL_STANDARD_STEP),
        number=FULL_STANDARD_VERSION,
        tree=criteria.canonical(criteria.parse(FULL_STANDARD)),
        adopted_by=owner,
        happened_at=adopted_at,
        recorded_at=adopted_at,
    )
    touch_rules(gym)


def _put_sessions(gym: Gym, staff: Mapping[str, Membership], played: DemoGym, low: Bar) -> None:
    sessions = (*played.sessions, played.running)
    TrainingSession.objects.bulk_create(_session(gym, staff, session) for session in sessions)
    present = [(session, diary.trainee.id) for diary in played.diaries for session in diary.present]
    present += [(played.running.id, athlete) for athlete in played.present_today]
    Attendance.objects.bulk_create(
        Attendance(gym=gym, session_id=UUID(session), athlete_id=UUID(athlete)) for session, athlete in present
    )
    began = TrainingSession.objects.filter(pk=OuterRef("session")).values("starts_at")
    Attendance.objects.filter(gym=gym).update(marked_at=Subquery(began))
    BarCheck.objects.bulk_create(
        BarCheck(
            gym=gym,
            session_id=UUID(check.session.id),
            checked_by=staff[check.session.coach.key],
            bar=low.name,
            of=low,
            hole=LOW_HOLE,
            happened_at=moment_of(check.us),
            recorded_at=moment_of(check.us),
        )
        for check in played.bar_checks
    )


def _put_reads(gym: Gym, coach: Membership, played: DemoGym) -> None:
    """One coach has read all risk notes before the first class; whoever signs in as another has them still to read."""
    began = opened_at(played)
    RiskRead.objects.bulk_create(
        RiskRead(gym=gym, coach=coach, step=step, digest=notes_of(step).digest, happened_at=began, recorded_at=began)
        for step in Step.objects.filter(ASKED, gym=gym)
    )


def _session(gym: Gym, staff: Mapping[str, Membership], session: Session) -> TrainingSession:
    return TrainingSession(
        id=UUID(session.id),
        gym=gym,
        name=session.name,
        coach=staff[session.coach.key],
        starts_at=moment_of(session.starts_us),
        ended_at=None if session.ends_us is None else moment_of(session.ends_us),
    )
