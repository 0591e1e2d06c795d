"""What is due to go, with what only the facts of training tell: pain, and guests who were not seen again."""

from __future__ import annotations

from datetime import date, datetime, timedelta

from django.db.models import Exists, OuterRef, Q, QuerySet

from athletes.models import Caution, Gym, Person, Remark
from athletes.services.retention import Due, cut_off, due_of
from skills.models import Attempt, Attendance


def all_due(gym: Gym, now: datetime) -> Due:
    """Return everything that is due in a gym."""
    due = due_of(gym, now)
    people = [*due.people, *_guests_not_seen_since(gym, cut_off(gym, now))]
    return Due(people, {**due.rows, "notes on pain": old_pain_notes(gym, now)})


def old_pain_notes(gym: Gym, now: datetime) -> QuerySet[Remark]:
    """Return the notes on attempts that hurt, and on cautions that have ended, older than the gym keeps them.

    While a caution holds, its reason is what a coach needs to heed it; it is kept that much longer than its end.
    """
    before = now - timedelta(days=gym.keep_pain_notes_days)
    hurt = Attempt.objects.filter(gym=gym, pain=True, happened_at__lt=before)
    ended = Caution.objects.filter(Q(until_at__lt=before) | Q(lifts__happened_at__lt=before), gym=gym)
    return Remark.objects.filter(Q(about__in=hurt.values("pk")) | Q(about__in=ended.values("pk")), gym=gym)


def _guests_not_seen_since(gym: Gym, day: date) -> QuerySet[Person]:
    """Return who came by as a guest and was in no class after that day: nobody ever says that a guest has left."""
    midnight = datetime.combine(day + timedelta(days=1), datetime.min.time(), gym.zone)
    mine = {"athlete__person": OuterRef("pk")}
    guests = Person.objects.filter(
        gym=gym,
        erased_at=None,
        memberships=None,
        birth_on=None,  # once it is entered, the guest has become one of the gym
        athlete__guest=True,
        athlete__left_on=None,
        athlete__joined_on__lte=day,
    )
    return guests.exclude(Exists(Attendance.objects.filter(**mine, marked_at__gte=midnight))).exclude(
        Exists(Attempt.objects.filter(**mine, happened_at__gte=midnight))
    )
