"""The end of a person's log-ins to a gym, and of the account behind them where it opens nothing any more."""

from __future__ import annotations

from datetime import datetime
from uuid import uuid4

from django.db import models
from django.db.models import CASCADE

from athletes.models import Account, Guardianship, Membership, Person
from athletes.services.endings import end_at_once
from athletes.services.rights import note_rights


def end_log_ins(person: Person, at: datetime) -> list[Account]:
    """End every membership, link and hand-over of a person, and part them from the account; return what goes.

    Afterwards nothing leads from the gym to the account. It is one of the returned, emptied or deleted, unless it
    opens something else: another gym, or another role under another person.
    """
    memberships = list(Membership.objects.filter(person=person).select_related("account"))
    for membership in memberships:
        if membership.ended_at is None:
            _end(membership, at)
    Guardianship.objects.filter(guardian__person=person, ended_at=None).update(ended_at=at)
    _end_guardians_of(person, at)
    if not memberships:
        return []
    nobody = _nobody()
    Membership.objects.filter(person=person).update(account=nobody)
    return [account for account in {row.account for row in memberships} if _close(account)]


def _end(membership: Membership, at: datetime) -> None:
    Membership.objects.filter(pk=membership.pk).update(ended_at=at)
    end_at_once(membership=membership, at=at)
    if membership.is_staff_member:
        note_rights(membership=membership, rights=(), at=at)


def _end_guardians_of(person: Person, at: datetime) -> None:
    """End the links to an athlete, and the membership of a guardian for whom it was the last one."""
    links = Guardianship.objects.filter(athlete__person=person, ended_at=None)
    ids = [*links.values_list("guardian", flat=True)]
    # Locked before the links, as at the end of a single link: of two last ones, the later sees the other's end.
    guardians = [*Membership.objects.select_for_update(no_key=True).filter(pk__in=ids, ended_at=None).order_by("pk")]
    links.update(ended_at=at)
    for guardian in guardians:
        if not guardian.wards.filter(ended_at=None).exists():
            _end(guardian, at)


def _nobody() -> Account:
    """Return a new account that nobody can sign in with, for what was done by somebody who is erased."""
    account = Account(email=_no_address(), is_active=False)
    account.set_unusable_password()
    account.save(force_insert=True)
    return account


def _no_address() -> str:
    return f"{uuid4().hex}@erased.invalid"  # a domain that never is one (RFC 6761, section 6.4)


def _close(account: Account) -> bool:
    """Delete an account that opens nothing, or empty it where a gym that they left still points to it."""
    left = Membership.objects.filter(account=account)
    if left.filter(ended_at=None).exists():
        return False
    if not left.exists():
        Account.objects.get(pk=account.pk).delete()
        return True
    for relation in Account._meta.related_objects:
        if getattr(relation, "on_delete", None) is CASCADE:
            rows: models.Manager[models.Model] = relation.related_model._default_manager
            rows.filter(**{relation.field.name: account.pk}).delete()
    emptied = Account(email=_no_address())
    emptied.set_unusable_password()
    Account.objects.filter(pk=account.pk).update(
        email=emptied.email, password=emptied.password, is_active=False, last_login=None
    )
    return True
