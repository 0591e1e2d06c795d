"""What is due to go: people who left long ago, and small things that have had their day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any, Final

from django.apps import apps
from django.contrib.sessions.models import Session
from django.core.cache import caches
from django.core.cache.backends.db import DatabaseCache
from django.core.management import call_command
from django.db import connection, transaction
from django.db.models import Exists, OuterRef, Q, QuerySet

from athletes.core.days import months_before
from athletes.core.refusal import Refusal
from athletes.models import Athlete, Gym, HandOver, Invitation, Membership, Person, PrivateLink
from athletes.services.audit import record_act
from athletes.services.erasure import erase_person
from athletes.services.traces import cache_table

# Used or run out, a code or a link is of no use; a month later nobody asks any more what became of it.
SPENT_DAYS: Final = 30


@dataclass(frozen=True, slots=True)
class Due:
    """What is due in one gym: whom to erase, and which rows to delete, by what to call them."""

    people: Sequence[Person]
    rows: Mapping[str, QuerySet[Any]]

    def counts(self) -> dict[str, int]:
        """Return how many of each."""
        return {"people": len(self.people), **{name: rows.count() for name, rows in self.rows.items()}}


@dataclass(frozen=True, slots=True)
class Applied:
    """What went, and the sentences about whom nothing could be done."""

    counts: Mapping[str, int]
    refusals: tuple[str, ...] = ()


def cut_off(gym: Gym, now: datetime) -> date:
    """Return the day: who left on it, or before, is due to be erased."""
    return months_before(now.astimezone(gym.zone).date(), gym.keep_months_after_leaving)


def due_of(gym: Gym, now: datetime) -> Due:
    """Return what is due in the tables of people."""
    spent = now - timedelta(days=SPENT_DAYS)
    gone = _gone(spent)
    held_before = HandOver.objects.filter(gym=gym, until_at__lt=months_before(now, gym.keep_months_after_leaving))
    rows = {
        "invitations": Invitation.objects.filter(gone | Q(used_at__lte=spent), gym=gym),
        "private links": PrivateLink.objects.filter(gone, gym=gym),
        # Of those by which something was logged the log still speaks.
        "hand-overs": held_before.filter(acts=None),
    }
    return Due([*_people_who_left(gym, cut_off(gym, now)), *_people_who_never_came(gym, spent)], rows)


def apply_due(gym: Gym, due: Due) -> Applied:
    """Erase and delete what is due, each person in a transaction of their own; record how much it was."""
    refusals = tuple(_refusals(due.people))
    with transaction.atomic():
        counts = {name: rows.delete()[0] for name, rows in due.rows.items()}
        counts = {"people": len(due.people) - len(refusals), **counts}
        if any(counts.values()):
            record_act(gym=gym, actor=None, act="retention_applied", about=gym.pk, content=counts)
    return Applied(counts, refusals)


def clear_sessions(now: datetime) -> None:
    """Delete what has run out of no gym in particular: sessions, where they were seen, rows of the cache."""
    call_command("clearsessions")
    if apps.is_installed("allauth.usersessions"):
        seen = apps.get_model("usersessions", "UserSession")._default_manager
        seen.exclude(session_key__in=Session.objects.values("session_key")).delete()
    cache = caches["default"]
    if isinstance(cache, DatabaseCache):
        table = connection.ops.quote_name(cache_table())
        with connection.cursor() as cursor:
            moment = connection.ops.adapt_datetimefield_value(now.replace(microsecond=0))
            cursor.execute(f"DELETE FROM {table} WHERE expires < %s", [moment])  # noqa: S608 (the setting's name)


def _refusals(people: Iterable[Person]) -> Iterable[str]:
    for person in people:
        try:
            erase_person(person=person, by=None, cause="retention")
        except Refusal as refusal:
            yield f"{person.pk}: {refusal}"


def _people_who_left(gym: Gym, day: date) -> QuerySet[Person]:
    """Return who belonged to the gym and has not done so since that day, in any role.

    Of an athlete the roster says whether they left; a log-in that nobody ended keeps nothing.
    """
    mine = {"person": OuterRef("pk")}
    athlete = Athlete.objects.filter(**mine)
    member = Membership.objects.filter(**mine).exclude(role=Membership.Role.ATHLETE)
    people = Person.objects.filter(Exists(athlete) | Exists(member), gym=gym, erased_at=None)
    midnight = datetime.combine(day + timedelta(days=1), datetime.min.time(), gym.zone)
    return people.exclude(Exists(athlete.filter(Q(left_on=None) | Q(left_on__gt=day)))).exclude(
        Exists(member.filter(Q(ended_at=None) | Q(ended_at__gte=midnight)))
    )


def _people_who_never_came(gym: Gym, spent: datetime) -> QuerySet[Person]:
    """Return who was invited once, did not come, and has no invitation that might still be used."""
    mine = {"person": OuterRef("pk")}
    invited = Invitation.objects.filter(**mine)
    people = Person.objects.filter(Exists(invited), gym=gym, erased_at=None, athlete=None, memberships=None)
    return people.exclude(Exists(invited.exclude(_gone(spent))))


def _gone(spent: datetime) -> Q:
    """Return what ran out or was taken back by then."""
    return Q(until_at__lte=spent) | Q(revoked_at__lte=spent, revoked_at__isnull=False)
