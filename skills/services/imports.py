"""Bringing attempts in from elsewhere, as often as one likes: the same row is stored once."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from hashlib import sha256
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from athletes.core.csv_table import Problem
from athletes.core.roster import person_key, shown
from athletes.core.zones import zone_named
from athletes.models import Athlete, Gym, Membership
from athletes.services.audit import record_act
from skills.core.attempt_file import AttemptRow
from skills.core.entries import CLOCK_LEEWAY_US, Result, mistakes_in
from skills.models import Attempt, Attendance, TrainingSession
from skills.queries.books import StepPage, book_of
from skills.queries.histories import attempt_fact
from skills.services.readiness import Known, lock_athlete, settle_known

OLDEST_YEAR = 1990
_BATCH = 500
_COLUMN_OF = {"hold_tenths": "seconds", "angle_degrees": "angle"}


@dataclass(frozen=True, slots=True)
class ReadyRow:
    """A row that can be stored: everything in it is known to the gym."""

    athlete_id: UUID
    step: StepPage
    happened_at: datetime
    result: Result
    source: str
    session: str
    day: date


@dataclass(frozen=True, slots=True)
class ImportReport:
    """How many attempts were stored, how many were known already."""

    stored: int
    known: int


class Lookup:
    """Finds what rows name: athletes by number or name, steps and faults by code or name."""

    def __init__(self, gym: Gym, now: datetime) -> None:
        self._zone = zone_named(gym.time_zone)
        self._now = now
        self._book = book_of(gym)
        self._steps = {page.name.casefold(): page for page in self._book.steps.values()} | dict(self._book.steps)
        self._athletes: defaultdict[str, list[UUID]] = defaultdict(list)
        for athlete in Athlete.objects.filter(gym=gym, person__erased_at=None).select_related("person"):
            self._athletes[str(athlete.number)].append(athlete.id)
            self._athletes[person_key(athlete.person.full_name, None)[0]].append(athlete.id)

    def ready(self, row: AttemptRow) -> tuple[ReadyRow | None, list[Problem]]:
        """Return the row with everything looked up, or all that is wrong with it."""
        problems: list[Problem] = []
        athlete_id = self._athlete(row, problems)
        step = self._steps.get(row.step) or self._steps.get(row.step.casefold())
        if step is None:
            problems.append(Problem(row.line, "step", f"There is no step {shown(row.step)} in this gym."))
        happened_at = self._moment(row, problems)
        if step is None or athlete_id is None or happened_at is None:
            return None, problems
        result = _result(row, step)
        problems += [
            Problem(row.line, _COLUMN_OF.get(m.field, m.field), m.sentence) for m in mistakes_in(result, step.form)
        ]
        ready = ReadyRow(athlete_id, step, happened_at, result, row.source, row.session, row.local.date())
        return (None if problems else ready), problems

    def _athlete(self, row: AttemptRow, problems: list[Problem]) -> UUID | None:
        found = self._athletes.get(person_key(row.athlete, None)[0], [])
        if len(found) == 1:
            return found[0]
        words = f"{len(found)} athletes are called {shown(row.athlete)}: write the number instead."
        none = f"There is no athlete {shown(row.athlete)} in this gym."
        problems.append(Problem(row.line, "athlete", words if found else none))
        return None

    def _moment(self, row: AttemptRow, problems: list[Problem]) -> datetime | None:
        """The earlier one where the clocks went back; none where they went forward over it."""
        local = row.local.replace(tzinfo=self._zone)
        moment = local.astimezone(UTC)
        if moment.astimezone(self._zone).replace(tzinfo=None) != row.local:
            problems.append(Problem(row.line, "time", "The clocks went forward over that time: it did not exist."))
        elif (moment - self._now).total_seconds() * 1_000_000 > CLOCK_LEEWAY_US:
            problems.append(Problem(row.line, "date", "The attempt lies in the future."))
        elif row.local.year < OLDEST_YEAR:
            problems.append(Problem(row.line, "date", f"The attempt lies before {OLDEST_YEAR}."))
        else:
            return moment
        return None


def _result(row: AttemptRow, step: StepPage) -> Result:
    codes = {name.casefold(): code for code, name in step.faults}
    return Result(
        hold_tenths=row.hold_tenths,
        reps=row.reps,
        assistance=row.assistance,
        faults=tuple(sorted({codes.get(word.casefold(), word) for word in row.faults})),
        grade=row.grade,
        angle_degrees=row.angle_degrees,
    )


def import_attempts(
    *, gym: Gym, by: Membership, rows: Sequence[ReadyRow], progress: Callable[[int], None] = lambda _done: None
) -> ImportReport:
    """Store attempts, athlete by athlete, each in one short transaction with the readiness that follows.

    What is stored already is known by its content and left alone, so an import that was cut off is simply
    started again. `progress` is told after each athlete how many rows are done.

    No consent to spotting or inversion is asked for: these tries were made before, elsewhere, and a record of what
    happened touches nobody. What they open is stopped as everything is where consent is lacking now.
    """
    sessions = _sessions(gym, by, rows)
    stored = done = 0
    for athlete_id, mine in _by_athlete(rows).items():
        stored += _import_athlete(by, athlete_id, mine, sessions)
        done += len(mine)
        progress(done)
    return ImportReport(stored, len(rows) - stored)


def _by_athlete(rows: Iterable[ReadyRow]) -> Mapping[UUID, list[ReadyRow]]:
    grouped: defaultdict[UUID, list[ReadyRow]] = defaultdict(list)
    for row in rows:
        grouped[row.athlete_id].append(row)
    return grouped


def _import_athlete(
    by: Membership, athlete_id: UUID, rows: Sequence[ReadyRow], sessions: Mapping[tuple[str, date], UUID]
) -> int:
    with transaction.atomic():
        athlete = lock_athlete(athlete_id)
        book = book_of(athlete.gym)  # as it is now: the rules may have changed since the sheet was read
        attempts = _unknown(list(_attempts(athlete, by, rows, sessions)))
        if not attempts:
            return 0
        known, touched = Known(book, athlete), {book.codes[attempt.step_id] for attempt in attempts}
        known.of(touched)  # before they are stored: what is in hand needs no reading back
        Attempt.objects.bulk_create(attempts, batch_size=_BATCH)
        present = {attempt.session_id for attempt in attempts if attempt.session_id}
        Attendance.objects.bulk_create(
            [Attendance(gym_id=athlete.gym_id, session_id=key, athlete_id=athlete.id) for key in sorted(present)],
            ignore_conflicts=True,
        )
        known.add(attempts=[attempt_fact(attempt, book.codes[attempt.step_id]) for attempt in attempts])
        settle_known(known=known, touched=touched, now=timezone.now())
        ids = ",".join(sorted(str(attempt.id) for attempt in attempts))
        content = {"attempts": len(attempts), "sha256_of_ids": sha256(ids.encode()).hexdigest()}
        record_act(gym=athlete.gym, actor=by, act="attempts_imported", about=athlete.id, content=content)
    return len(attempts)


def _unknown(attempts: Sequence[Attempt]) -> list[Attempt]:
    known: set[UUID] = set()
    for start in range(0, len(attempts), _BATCH):
        ids = [attempt.id for attempt in attempts[start : start + _BATCH]]
        known.update(Attempt.objects.filter(pk__in=ids).values_list("pk", flat=True))
    return [attempt for attempt in attempts if attempt.id not in known]


def _attempts(
    athlete: Athlete, by: Membership, rows: Iterable[ReadyRow], sessions: Mapping[tuple[str, date], UUID]
) -> Iterable[Attempt]:
    """Make the rows' attempts; the id comes from the content, and equal rows are told apart by their count."""
    seen: Counter[str] = Counter()
    for row in rows:
        result = row.result
        told = _told(result)
        content = f"{athlete.id}|{row.step.code}|{row.happened_at.isoformat()}|{told}|{row.source}|{row.session}"
        seen[content] += 1
        yield Attempt(
            id=uuid5(athlete.gym_id, f"{content}|{seen[content]}"),
            gym_id=athlete.gym_id,
            athlete_id=athlete.id,
            step_id=row.step.id,
            session_id=sessions.get((row.session, row.day)),
            logged_by_id=by.id,
            happened_at=row.happened_at,
            hold_tenths=result.hold_tenths,
            reps=result.reps,
            source=row.source,
            assistance=result.assistance,
            faults=list(result.faults),
            grade=result.grade,
            angle_degrees=result.angle_degrees,
        )


def _told(result: Result) -> str:
    """Return the part of the content that is the result. Rows from before there were angles keep their ids."""
    return str(result).replace(", angle_degrees=None", "")


def _sessions(gym: Gym, by: Membership, rows: Iterable[ReadyRow]) -> Mapping[tuple[str, date], UUID]:
    """Make the training sessions that rows name, one for each name and day, from the first to the last attempt."""
    moments: defaultdict[tuple[str, date], list[datetime]] = defaultdict(list)
    for row in rows:
        if row.session:
            moments[row.session, row.day].append(row.happened_at)
    ids = {(name, day): uuid5(gym.id, f"session|{name}|{day}") for name, day in moments}
    with transaction.atomic():
        known = set(TrainingSession.objects.filter(gym=gym, pk__in=ids.values()).values_list("pk", flat=True))
        new = [key for key, session_id in ids.items() if session_id not in known]
        TrainingSession.objects.bulk_create(
            [
                TrainingSession(
                    id=ids[key], gym=gym, name=key[0], coach=by, starts_at=min(moments[key]), ended_at=max(moments[key])
                )
                for key in new
            ],
            batch_size=_BATCH,
        )
        if new:
            record_act(gym=gym, actor=by, act="sessions_imported", about=gym.id, content={"sessions": len(new)})
    return ids
