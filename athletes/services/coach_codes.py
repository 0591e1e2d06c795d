"""The short code by which a coach takes over a tablet: set, and tried."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.utils import timezone

from athletes.access.tablets import FloorRefusal
from athletes.core.refusal import Refusal
from athletes.core.tablets import LOCK_HOLDS, MOST_TRIES, is_code, is_weak
from athletes.models import CoachCode, HandOver, Membership
from athletes.services.audit import record_act


class BadCode(Refusal):
    """The code has not six digits, or is one that somebody would try first."""

    field = "code"


class NoCode(FloorRefusal):
    """The coach has set no code yet."""

    code = "no_code"


class WrongCode(FloorRefusal):
    """It is another code."""

    code = "wrong_code"


class CodeLocked(FloorRefusal):
    """Too many wrong codes were tried: none is looked at for a while."""

    code = "locked"


def set_code(*, by: Membership, code: str) -> None:
    """Set one's own code. Tablets that were held by an earlier one ask for the new one. Raises BadCode."""
    if not is_code(code):
        raise BadCode("Type six digits.")
    if is_weak(code):
        raise BadCode("Somebody would try this one first: no run such as 123456, nothing that repeats.")
    digest = make_password(code)  # slow on purpose, so before anything is locked
    with transaction.atomic():
        now = timezone.now()
        fresh = {"digest": digest, "set_at": now, "failures": 0, "locked_until_at": None}
        CoachCode.objects.update_or_create(gym=by.gym, membership=by, defaults=fresh)
        HandOver.objects.filter(gym=by.gym, coach=by, ended_at=None, until_at__gt=now).update(ended_at=now)
        record_act(gym=by.gym, actor=by, act="code_set", about=by.id, content={})


def check_code(*, coach: Membership, code: str) -> CoachCode:
    """Return the coach's code if it is that one. Raises NoCode, CodeLocked, WrongCode.

    A try is counted before it is looked at, so that as many as come at once are no more than one after the other.
    The caller forgives it by `forgive`, in the transaction of what the code was for.
    """
    kept = _count_try(coach, timezone.now())
    if check_password(code, kept.digest):
        return kept
    left = MOST_TRIES - kept.failures
    if left:
        raise WrongCode(f"That is not the code. {left} more {'try' if left == 1 else 'tries'}.")
    with transaction.atomic():
        record_act(gym=coach.gym, actor=None, act="code_locked", about=coach.id, content={})
    raise WrongCode(f"That is not the code. It is locked for {_minutes(LOCK_HOLDS.total_seconds())} now.")


def forgive(kept: CoachCode) -> bool:
    """Forget the tries after a right one; return False where the code was changed meanwhile. Locks its row."""
    same = CoachCode.objects.filter(pk=kept.pk, digest=kept.digest)
    return bool(same.update(failures=0, locked_until_at=None))


@transaction.atomic
def _count_try(coach: Membership, now: datetime) -> CoachCode:
    kept = CoachCode.objects.select_for_update(no_key=True).filter(gym=coach.gym_id, membership=coach).first()
    if kept is None:
        raise NoCode("This coach has set no code yet: sign in on any device and set one under “My code”.")
    if kept.locked_until_at and kept.locked_until_at > now:
        seconds = (kept.locked_until_at - now).total_seconds()
        raise CodeLocked(f"Too many wrong codes: this one is locked for {_minutes(seconds)}.")
    if kept.locked_until_at:
        kept.failures, kept.locked_until_at = 0, None
    kept.failures += 1
    if kept.failures >= MOST_TRIES:
        kept.locked_until_at = now + LOCK_HOLDS
    kept.save(update_fields=["failures", "locked_until_at"])
    return kept


def _minutes(seconds: float) -> str:
    count = max(1, -int(-seconds // 60))
    return f"{count} minute{'' if count == 1 else 's'}"
