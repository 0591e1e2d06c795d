"""A gym's month, added up by the database: a fixed number of queries, however much happened in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from typing import Any, Final
from uuid import UUID

from django.db.models import (
    BigIntegerField,
    Case,
    Count,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.expressions import Combinable

from athletes.models import AuditHead, Gym, Membership, Person
from gymtrack.lib.csv_export import csv_file
from skills.core.holds import HOLD_FLOOR_TENTHS
from skills.core.month import (
    COLUMNS,
    Bounds,
    Counts,
    DayFigures,
    Line,
    Month,
    Report,
    Sessions,
    Share,
    Tally,
    chain_row,
    table,
    tally,
)
from skills.models import Attempt, Opening, SignOff, Skill, TrainingSession

# Whose work stands in the coaches' table without a name: athletes who log their own tries, and steps that
# opened without a coach's clearance.
NO_COACH: Final = "No coach"
UNNAMED: Final = "A former coach"

_STAFF = (Membership.Role.OWNER, Membership.Role.COACH)
_SUMS: Final[Mapping[str, Combinable]] = {
    "attempts": Count("pk"),
    # The same as `facts.Attempt.clean`: no fault, no missed checkpoint, no pain.
    "clean_attempts": Count("pk", filter=Q(faults=[], missed=[], pain=False)),
    "hold_tenths": Sum(
        F("hold_tenths") * F("reps"),
        filter=Q(hold_tenths__gte=HOLD_FLOOR_TENTHS),
        default=0,
        output_field=BigIntegerField(),
    ),
}


def month_csv(gym: Gym, month: Month) -> bytes:
    """Return the month as the CSV file that the page and the command give; its last row anchors the audit chain."""
    length, seal = AuditHead.objects.values_list("length", "seal").get(gym=gym)
    return csv_file(COLUMNS, [*table(month_report(gym, month)), chain_row(month, length, seal)])


def month_report(gym: Gym, month: Month) -> Report:
    """Return the month with the names of its skills, in the gym's order, and of its coaches, in the alphabet's."""
    found = month_tally(gym, month)
    return Report(month, Line(gym.name, found.gym), _skill_lines(gym, found), _coach_lines(gym, found))


def _skill_lines(gym: Gym, found: Tally) -> tuple[Line, ...]:
    names = Skill.objects.filter(gym=gym).values_list("id", "name")
    return tuple(Line(name, found.skills[key]) for key, name in names if key in found.skills)


def _coach_lines(gym: Gym, found: Tally) -> tuple[Line, ...]:
    coaches = [key for key in found.coaches if key]
    people = Person.objects.filter(gym=gym, id__in=coaches).values_list("full_name", "id")
    named = sorted(people, key=lambda person: (person[0].casefold(), person[1]))
    lines = [Line(name or UNNAMED, found.coaches[key]) for name, key in named]
    return (*lines, *([Line(NO_COACH, found.coaches[None])] if None in found.coaches else []))


def month_tally(gym: Gym, month: Month) -> Tally:
    """Return the figures of a month in five queries. Taken-back attempts never happened, whenever it was noticed."""
    span = month.bounds(gym.time_zone)
    shares = [*_attempts(gym.id, span), *_decisions(gym.id, span), *_openings(gym.id, span)]
    return tally(shares, _sessions(gym.id, span))


def days_of_month(gym: Gym, month: Month) -> tuple[DayFigures, ...]:
    """Return the days on which something was tried, in one query.

    The bounds of the days come from here: the database's own time zones may be of another year.
    """
    ends = month.day_ends(gym.time_zone)
    place = Case(*(When(happened_at__lt=end, then=Value(day.day)) for day, end in ends), output_field=IntegerField())
    tried = _tried(gym.id, month.bounds(gym.time_zone)).values(number=place)
    athletes = Count("athlete", distinct=True)
    rows: Iterable[Any] = tried.annotate(active_athletes=athletes, **_SUMS).order_by("number")
    return tuple(DayFigures(month.days[row.pop("number") - 1], **row) for row in rows)


def first_fact_at(gym: Gym) -> datetime | None:
    """Return when the gym's books begin: with a session, an attempt (taken back or not) or a sign-off, else None."""
    mine: Mapping[str, Any] = {"gym": OuterRef("pk")}
    firsts = (
        Subquery(rows.filter(**mine).order_by(moment).values(moment)[:1])
        for rows, moment in (
            (TrainingSession.objects.all(), "starts_at"),
            (Attempt.objects.all(), "happened_at"),
            (SignOff.objects.all(), "happened_at"),
        )
    )
    moments = Gym.objects.filter(pk=gym.pk).values_list(*firsts).get()
    return min((moment for moment in moments if moment), default=None)


def _within(span: Bounds, moment: str = "happened_at") -> Q:
    return Q((f"{moment}__gte", span.starts_at), (f"{moment}__lt", span.ends_at))


def _tried(gym_id: UUID, span: Bounds) -> QuerySet[Attempt]:
    return Attempt.objects.filter(_within(span), gym=gym_id, void=None)


def _attempts(gym_id: UUID, span: Bounds) -> Iterator[Share]:
    on_staff = Case(When(logged_by__role__in=_STAFF, then=F("logged_by__person")))
    tried = _tried(gym_id, span).values("athlete", skill=F("step__skill"), coach=on_staff)
    rows: Iterable[Any] = tried.annotate(**_SUMS).order_by()
    for row in rows:
        counts = Counts(**{name: row[name] for name in _SUMS})
        yield Share(row["skill"], row["coach"], counts, row["athlete"])


def _decisions(gym_id: UUID, span: Bounds) -> Iterator[Share]:
    signed = SignOff.objects.filter(_within(span), gym=gym_id)
    of_each = signed.values(skill=F("step__skill"), coach=F("signed_by__person"))
    made = {decision: Count("pk", filter=Q(decision=decision)) for decision in SignOff.Decision.values}
    rows: Iterable[Any] = of_each.annotate(**made).order_by()
    for row in rows:
        counts = Counts(signed_off=row["passed"], not_yet=row["not_yet"], revoked=row["revoked"])
        yield Share(row["skill"], row["coach"], counts)


def _openings(gym_id: UUID, span: Bounds) -> Iterator[Share]:
    opened = Opening.objects.filter(_within(span), gym=gym_id)
    of_each = opened.values(skill=F("step__skill"), coach=F("sign_off__signed_by__person"))
    for row in of_each.annotate(opened=Count("pk")).order_by():
        yield Share(row["skill"], row["coach"], Counts(steps_opened=row["opened"]))


def _sessions(gym_id: UUID, span: Bounds) -> Sessions:
    begun = TrainingSession.objects.filter(_within(span, "starts_at"), gym=gym_id)
    # Named one by one, the sessions lead over the index of their attempts; a join would read the gym's whole history.
    tried = Attempt.objects.filter(gym=gym_id, session__in=begun.values("pk"), void=None)
    coaches = begun.values_list("coach__person").annotate(Count("pk")).order_by()
    skills = tried.values_list("step__skill").annotate(Count("session", distinct=True)).order_by()
    return Sessions(dict(coaches), dict(skills))
