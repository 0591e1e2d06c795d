"""Facts as values for the engine: rows in, `skills.core.facts` out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from typing import TypeVar, cast
from uuid import UUID

from django.db.models import Q, QuerySet

from athletes.models import Caution, CautionLift
from skills.core import facts
from skills.core.days import moment_us
from skills.core.successes import Least, least_of
from skills.models import Attempt, AttemptVoid, Opening, SignOff
from skills.queries.books import Book


def histories_of(
    book: Book, athlete_ids: Collection[UUID], codes: Collection[str] | None = None
) -> Mapping[UUID, facts.History]:
    """Return the history of each athlete, in six queries whatever their number.

    With `codes`, attempts and sign-offs of other steps are left out; voids, openings and cautions always come
    whole: a sign-off may rest on an attempt at another step.
    """
    rows = _at_steps(book, Attempt.objects.all(), codes)
    return _histories(book, athlete_ids, codes, rows)


def telling_histories_of(
    book: Book, athlete_ids: Collection[UUID], codes: Collection[str]
) -> Mapping[UUID, facts.History]:
    """Return the same without the tries at which the steps' rules cannot look: years of misses need not be read.

    How it stands at these steps comes out the same (`skills.core.successes`).
    """
    telling = Q()
    for code in codes:
        telling |= Q(step=book.steps[code].id) & _telling(least_of(book.rules.steps[code]))
    return _histories(book, athlete_ids, codes, Attempt.objects.filter(telling) if codes else Attempt.objects.none())


def _telling(least: Least | None) -> Q:
    """Say in SQL what `Least.allows` says."""
    if least is None:
        return Q()
    clean = Q(faults=[], missed=[], pain=False) if least.clean else Q()
    holds = Q(pk=None) if least.tenths is None else Q(hold_tenths__gte=least.tenths)
    reps = Q(pk=None) if least.reps is None else Q(hold_tenths=None, reps__gte=least.reps)
    return clean & (holds | reps)


def _histories(
    book: Book, athlete_ids: Collection[UUID], codes: Collection[str] | None, attempts: QuerySet[Attempt]
) -> Mapping[UUID, facts.History]:
    cautions = list(Caution.objects.filter(athlete__in=athlete_ids))
    lifts = _by_caution(cautions)
    grouped = _Grouped()
    for athlete_id, fact in _attempts(book, _of(book, attempts, athlete_ids)):
        grouped.attempts[athlete_id].append(fact)
    for athlete_id, void in _voids(athlete_ids):
        grouped.voids[athlete_id].append(void)
    for opening in _of(book, Opening.objects.all(), athlete_ids):
        grouped.openings[opening.athlete_id].append(opening_fact(opening, book.codes[opening.step_id]))
    sign_offs = _at_steps(book, SignOff.objects.select_related("criterion"), codes)
    for sign_off in _of(book, sign_offs, athlete_ids):
        grouped.sign_offs[sign_off.athlete_id].append(sign_off_fact(sign_off, book.codes[sign_off.step_id]))
    for caution in cautions:
        grouped.cautions[caution.athlete_id].append(caution_fact(caution))
        grouped.lifts[caution.athlete_id].extend(lifts[caution.id])
    return {athlete_id: grouped.history(athlete_id) for athlete_id in athlete_ids}


class _Grouped:
    """Facts by athlete while they are being read."""

    def __init__(self) -> None:
        self.attempts: defaultdict[UUID, list[facts.Attempt]] = defaultdict(list)
        self.voids: defaultdict[UUID, list[facts.Void]] = defaultdict(list)
        self.openings: defaultdict[UUID, list[facts.Opening]] = defaultdict(list)
        self.sign_offs: defaultdict[UUID, list[facts.SignOff]] = defaultdict(list)
        self.cautions: defaultdict[UUID, list[facts.Caution]] = defaultdict(list)
        self.lifts: defaultdict[UUID, list[facts.Lift]] = defaultdict(list)

    def history(self, athlete_id: UUID) -> facts.History:
        return facts.History(
            attempts=tuple(self.attempts[athlete_id]),
            voids=tuple(self.voids[athlete_id]),
            openings=tuple(self.openings[athlete_id]),
            sign_offs=tuple(self.sign_offs[athlete_id]),
            cautions=tuple(self.cautions[athlete_id]),
            lifts=tuple(self.lifts[athlete_id]),
        )


Row = TypeVar("Row", Attempt, SignOff, Opening)


def _of(book: Book, rows: QuerySet[Row], athlete_ids: Collection[UUID]) -> QuerySet[Row]:
    """Name the gym too: the indexes lead with it, and SQLite may else walk through all attempts at a step."""
    return rows.filter(gym=book.gym_id, athlete__in=athlete_ids)


def _at_steps(book: Book, rows: QuerySet[Row], codes: Collection[str] | None) -> QuerySet[Row]:
    return rows if codes is None else rows.filter(step__in=[book.steps[code].id for code in codes])


def _voids(athlete_ids: Collection[UUID]) -> Iterator[tuple[UUID, facts.Void]]:
    rows = AttemptVoid.objects.filter(athlete__in=athlete_ids)
    for athlete_id, attempt_id, happened_at, recorded_at in rows.values_list(
        "athlete_id", "attempt_id", "happened_at", "recorded_at"
    ):
        yield athlete_id, facts.Void(str(attempt_id), moment_us(happened_at), moment_us(recorded_at))


def _by_caution(cautions: Collection[Caution]) -> Mapping[UUID, list[facts.Lift]]:
    lifts: defaultdict[UUID, list[facts.Lift]] = defaultdict(list)
    for lift in CautionLift.objects.filter(caution__in=[caution.id for caution in cautions]):
        lifts[lift.caution_id].append(
            facts.Lift(str(lift.caution_id), moment_us(lift.happened_at), moment_us(lift.recorded_at))
        )
    return lifts


_COLUMNS = (
    "id", "athlete_id", "step_id", "session_id", "happened_at", "recorded_at", "hold_tenths", "reps", "unbroken",
    "source", "assistance", "variant", "faults", "missed", "pain", "grade", "closed_try",
    "angle_degrees",
)  # fmt: skip


def _attempts(book: Book, rows: QuerySet[Attempt]) -> Iterator[tuple[UUID, facts.Attempt]]:
    """Read attempts as named tuples: a history may have thousands, and model instances cost twice as much."""
    for row in rows.values_list(*_COLUMNS, named=True).iterator(chunk_size=5000):
        yield row.athlete_id, attempt_fact(cast("Attempt", row), book.codes[row.step_id])


def attempt_fact(row: Attempt, code: str) -> facts.Attempt:
    """Return an attempt as the engine knows it."""
    return facts.Attempt(
        id=str(row.id),
        step=code,
        happened_us=moment_us(row.happened_at),
        recorded_us=moment_us(row.recorded_at),
        session=str(row.session_id or ""),
        hold_tenths=row.hold_tenths,
        reps=row.reps,
        unbroken=row.unbroken,
        source=cast("facts.Source", row.source),
        assistance=row.assistance,
        variant=row.variant,
        faults=frozenset(row.faults),
        missed=frozenset(row.missed),
        pain=row.pain,
        grade=row.grade,
        closed_try=row.closed_try,
        angle_degrees=row.angle_degrees,
    )


def opening_fact(row: Opening, code: str) -> facts.Opening:
    """Return an opening as the engine knows it."""
    return facts.Opening(str(row.id), code, moment_us(row.happened_at), moment_us(row.recorded_at))


def sign_off_fact(row: SignOff, code: str) -> facts.SignOff:
    """Return a sign-off as the engine knows it."""
    return facts.SignOff(
        id=str(row.id),
        step=code,
        gate=cast("facts.Gate", row.gate),
        decision=cast("facts.Decision", row.decision),
        clearance=cast("facts.Clearance", row.clearance),
        criterion_version=row.criterion.number,
        evidence=tuple(row.evidence),
        happened_us=moment_us(row.happened_at),
        recorded_us=moment_us(row.recorded_at),
    )


def caution_fact(row: Caution) -> facts.Caution:
    """Return a caution as the engine knows it."""
    return facts.Caution(
        id=str(row.id),
        loads=frozenset(row.loads),
        from_us=moment_us(row.happened_at),
        until_us=None if row.until_at is None else moment_us(row.until_at),
        recorded_us=moment_us(row.recorded_at),
    )
