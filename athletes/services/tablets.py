"""Tablets: let in by an owner, enrolled once by a code, revoked for good."""

from __future__ import annotations

import secrets
from datetime import datetime, timedelta
from typing import NamedTuple

from django.db import transaction
from django.utils import timezone
from django.utils.crypto import salted_hmac

from athletes.access.tablets import FloorRefusal
from athletes.core.refusal import Refusal
from athletes.core.tablets import (
    ENROLMENT_HOLDS,
    ENROLMENT_LENGTH,
    LETTERS,
    contact_is_news,
    offset_ms,
    shown_code,
    typed_code,
)
from athletes.models import Gym, HandOver, Membership, Tablet
from athletes.services.audit import record_act
from athletes.services.tokens import digest_of, new_key

NAME_LENGTH = 60


class BadTabletName(Refusal):
    """A tablet needs a name, by which to know it when it must be revoked."""

    field = "name"


class TabletNameTaken(Refusal):
    """A tablet in use has that name."""

    field = "name"


class UnknownCode(FloorRefusal):
    """The enrolment code is not known, was used, or has run out: which of them is nobody's business."""

    code = "unknown_code"


class AddedTablet(NamedTuple):
    """A tablet that waits, and the code for it, which is nowhere to be read again."""

    tablet: Tablet
    code: str


class EnrolledTablet(NamedTuple):
    """A tablet that was let in, and its key, which is nowhere to be read again."""

    tablet: Tablet
    key: str


@transaction.atomic
def add_tablet(*, by: Membership, name: str, holds: timedelta = ENROLMENT_HOLDS) -> AddedTablet:
    """Let one device in, and return the code to type on it, as it is read out.

    A tablet of that name that nobody has enrolled yet gets a new code, and its old one ends. Raises
    BadTabletName, TabletNameTaken.
    """
    name = " ".join(name.split())
    if not 0 < len(name) <= NAME_LENGTH:
        raise BadTabletName(f"Name the tablet, in at most {NAME_LENGTH} characters.")
    Gym.objects.select_for_update(no_key=True).get(pk=by.gym_id)  # two forms at once: one tablet
    tablet = Tablet.objects.filter(gym=by.gym, name=name, revoked_at=None).first()
    if tablet and tablet.enrolled_at:
        raise TabletNameTaken(f"A tablet in use is called “{name}” already: revoke it, or give this one another name.")
    tablet = tablet or Tablet(gym=by.gym, name=name)
    code = "".join(secrets.choice(LETTERS) for _ in range(ENROLMENT_LENGTH))
    tablet.let_in_by, tablet.code_digest, tablet.code_until_at = by, _code_digest(code), timezone.now() + holds
    tablet.save()
    record_act(gym=by.gym, actor=by, act="tablet_added", about=tablet.id, content={"code_until": tablet.code_until_at})
    return AddedTablet(tablet, shown_code(code))


@transaction.atomic
def enrol_tablet(*, code: str) -> EnrolledTablet:
    """Exchange an enrolment code for the key of the device that sends it; once. Raises UnknownCode."""
    digest, now, key = _code_digest(typed_code(code)), timezone.now(), new_key()
    waiting = Tablet.objects.select_related("gym").filter(code_digest=digest, code_until_at__gt=now, revoked_at=None)
    tablet = waiting.first()
    # Whoever is second of two at once finds the code used up, and changes nothing.
    if not tablet or not waiting.filter(pk=tablet.pk).update(
        key_digest=digest_of(key), code_digest="", code_until_at=None, enrolled_at=now, heard_at=now
    ):
        raise UnknownCode("This code is not known, was used already, or has run out. Ask the owner for a new one.")
    record_act(gym=tablet.gym, actor=None, act="tablet_enrolled", about=tablet.id, content={})
    return EnrolledTablet(tablet, key)


@transaction.atomic
def revoke_tablet(*, by: Membership, tablet: Tablet) -> bool:
    """Shut a tablet out at once and for good; return whether it was let in until now."""
    now = timezone.now()
    if not Tablet.objects.filter(gym=by.gym, pk=tablet.pk, revoked_at=None).update(revoked_at=now, code_digest=""):
        return False
    HandOver.objects.filter(gym=by.gym, tablet=tablet, ended_at=None, until_at__gt=now).update(ended_at=now)
    record_act(gym=by.gym, actor=by, act="tablet_revoked", about=tablet.id, content={})
    return True


def note_contact(*, tablet: Tablet, received_at: datetime, sent_at: datetime | None = None) -> None:
    """Note that a tablet was heard of, and what its clock said; at most once a minute, unless the clock was set."""
    heard_ms = None if sent_at is None else offset_ms(received_at, sent_at)
    if contact_is_news(heard_at=tablet.heard_at, kept_ms=tablet.offset_ms, received_at=received_at, heard_ms=heard_ms):
        clock = {} if heard_ms is None else {"offset_ms": heard_ms}
        Tablet.objects.filter(pk=tablet.pk).update(heard_at=received_at, **clock)


def _code_digest(code: str) -> str:
    """Return what is kept of an enrolment code. It is short, so the site's own secret goes in."""
    return salted_hmac("athletes.tablets.enrolment", code, algorithm="sha256").hexdigest()
