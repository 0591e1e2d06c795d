"""Doses that a coach changed in the demo gym, in the week of its last day."""

from __future__ import annotations

from datetime import time
from random import Random
from typing import Final
from uuid import UUID

from athletes.models import Athlete, Remark
from athletes.services.remarks import commitment
from skills.core.days import moment_of
from skills.core.weeks import monday_of
from skills.demo.diary import Diary
from skills.demo.people import People
from skills.demo.seeded import row_id
from skills.demo.simulation import DemoGym
from skills.demo.syllabus import Drill
from skills.demo.timetable import local_us
from skills.models import DoseChange
from skills.queries.books import Book

# Number of the athlete, and why; a lighter week for one, none of the step for the other.
LIGHTER: Final = (1, "Two night shifts this week: fewer sets, longer rests.")
LEFT_OUT: Final = (3, "Travels from Tuesday on, and there is no bar there.")


def put_doses(people: People, book: Book, played: DemoGym) -> int:
    """Write the changes of the last week, and return how many there are; without a draw from anybody else's luck."""
    rng = Random(f"doses {played.seed} {played.until}")
    changes = [
        _change(people, book, played, rng, number, reason, lighter=lighter)
        for (number, reason), lighter in ((LIGHTER, True), (LEFT_OUT, False))
    ]
    return len(DoseChange.objects.bulk_create(change for change in changes if change))


def _change(  # noqa: PLR0917 (one call)
    people: People, book: Book, played: DemoGym, rng: Random, number: int, reason: str, *, lighter: bool
) -> DoseChange | None:
    us = local_us(played.until, time(8, 30))
    diary = played.diaries[number - 1]
    drill = _in_hand(played, diary, us)
    if drill is None:
        return None
    athlete = people.athletes[diary.trainee.id]
    change = DoseChange(
        id=row_id(rng, us),
        gym=athlete.gym,
        athlete=athlete,
        step_id=book.steps[drill.code].id,
        week_on=monday_of(played.until),
        changed_by=people.staff["coach"],
        happened_at=moment_of(us),
        recorded_at=moment_of(us),
    )
    if lighter:
        change.sets, change.reps, change.rest_seconds, change.days = 2, 1, 150, 2
        change.hold_seconds = 5 if drill.is_hold else None
    change.remark_commitment = _said(rng, athlete, change.id, reason)
    return change


def _in_hand(played: DemoGym, diary: Diary, us: int) -> Drill | None:
    """Return the first step that is being worked on, of a skill that somebody came for, and needs no clearance."""
    rules = played.syllabus.rules.steps
    return next(
        (
            drill
            for drill in played.syllabus.drills.values()
            if drill.skill in diary.trainee.role.skills
            and not rules[drill.code].asks_clearance
            and drill.code in diary.timelines
            and diary.timelines[drill.code].at(us).state == "working"
        ),
        None,
    )


def _said(rng: Random, athlete: Athlete, about: UUID, reason: str) -> str:
    salt = f"{rng.getrandbits(256):064x}"
    Remark.objects.create(
        id=row_id(rng, 0), gym=athlete.gym, subject=athlete.person, about=about, text=reason, salt=salt
    )
    return commitment(salt, reason)
