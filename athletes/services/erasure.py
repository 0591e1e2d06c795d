"""Erasure: everything about a person goes; what happened stays, under a random number, so that counts stay right."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from athletes.core.mentions import is_findable
from athletes.core.refusal import Refusal
from athletes.models import Account, Athlete, Erasure, ErasureRequest, Gym, Membership, Person
from athletes.services.audit import record_act
from athletes.services.emptying import empty_mentions, empty_tables
from athletes.services.erasure_list import note_erasure
from athletes.services.log_ins import end_log_ins
from athletes.services.staff import LastOwner
from athletes.services.traces import delete_mail, end_sessions, forget_in_cache
from gymtrack.lib.scrub import empty_log

Role = Membership.Role


class AlreadyErased(Refusal):
    """Nothing is kept about this person any more."""


@dataclass(frozen=True, slots=True)
class _Names:
    """What a person may be found by: `all_words` in what is theirs or about mail, `whole` in other people's notes."""

    all_words: tuple[str, ...]
    whole: tuple[str, ...]


def erase_person(*, person: Person, by: Membership | None, cause: str = "asked") -> Erasure:
    """Erase what is kept about a person, as `athletes.core.kept` declares; return the fact that it was done.

    `by` is the owner who did it, None for the program; `cause` is "asked", "retention" or "restored". The same
    transaction empties the tables, ends the log-ins, answers an open request and writes the list of erasures to the
    disk; whatever goes wrong, nothing is erased. Raises AlreadyErased, LastOwner, MailInTheWay, ListInTheWay.
    """
    with transaction.atomic():
        gym = Gym.objects.select_for_update(no_key=True).get(pk=person.gym_id)
        locked = _locked(gym, person)
        erasure = _erase(gym, locked, by, cause)
    person.refresh_from_db()
    empty_log()
    return erasure


def _locked(gym: Gym, person: Person) -> Person:
    """Lock the person, and the athlete whom others may be writing about; raises AlreadyErased, LastOwner."""
    found = Person.objects.select_for_update().get(gym=gym, pk=person.pk)
    if found.erased_at:
        raise AlreadyErased("What was kept about this person has been erased already.")
    list(Athlete.objects.select_for_update().filter(person=found).values_list("pk"))
    owners = Membership.objects.select_for_update().filter(gym=gym, role=Role.OWNER, ended_at=None)
    people = {row.person_id for row in owners}
    if people == {found.pk}:
        raise LastOwner("This is the gym’s only owner. Make somebody else an owner first.")
    return found


def _erase(gym: Gym, person: Person, by: Membership | None, cause: str) -> Erasure:
    now = timezone.now()
    accounts = [row.account for row in person.memberships.select_related("account")]
    names = _names_of(person, accounts)
    closed = end_log_ins(person, now)
    counts = empty_tables(person)
    Person.objects.filter(pk=person.pk).update(erased_at=now)
    _leave(gym, person, now)
    mentions = empty_mentions(gym, names.whole)
    end_sessions(closed, names.all_words)
    forget_in_cache(closed, names.all_words)
    _answer_open_request(person, by, now)
    content = {"cause": cause, "rows": counts, "mentions": mentions, "log_ins": len(closed)}
    erasure = Erasure.objects.create(gym=gym, subject=person.pk, done_by=by, happened_at=now, recorded_at=now)
    record_act(gym=gym, actor=by, act="erased", about=person.pk, content=content)
    # Files last, when nothing else can fail any more; the list is on the disk before the commit.
    delete_mail(names.all_words)
    if cause != "restored":  # then it is on the list already
        note_erasure(erasure)
    return erasure


def _names_of(person: Person, accounts: Collection[Account]) -> _Names:
    """Return the words; one short word alone, 'Li' say, would be found in half of all others' notes."""
    addresses = {address for address in (person.email, *(account.email for account in accounts)) if address}
    name = person.full_name.strip()
    whole = [name] if is_findable(name) else []
    return _Names(tuple({*addresses, *([name] if name else [])}), tuple({*addresses, *whole}))


def _leave(gym: Gym, person: Person, at: datetime) -> None:
    """Have an athlete who had not left leave today: boards and rosters are of who practises."""
    today = at.astimezone(gym.zone).date()
    staying = Athlete.objects.filter(person=person).exclude(left_on__lte=today)
    for athlete in staying:
        Athlete.objects.filter(pk=athlete.pk).update(left_on=max(today, athlete.joined_on))


def _answer_open_request(person: Person, by: Membership | None, at: datetime) -> None:
    done = ErasureRequest.Answer.DONE
    ErasureRequest.objects.filter(person=person, answer="").update(answer=done, answered_at=at, answered_by=by)
