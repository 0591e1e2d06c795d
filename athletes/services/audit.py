"""The audit chain: every act of a gym, sealed in one order.

Each seal is HMAC-SHA256(key, seal before | entry), with a key that the database does not hold. Whoever
changes, drops or reorders an entry breaks every seal after it.
"""

from __future__ import annotations

import hashlib
import hmac
import json
from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from django.conf import settings
from django.utils import timezone

from athletes.models import AuditEntry, AuditHead, Gym, Membership

Content = Mapping[str, object]


def canonical_json(content: Mapping[str, object]) -> str:
    """Return the one spelling of a JSON object: sorted keys, no blanks, ASCII; ids and moments as text."""
    return json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=True, default=_plain)


def _plain(value: object) -> object:
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, (set, frozenset)):
        return sorted(value)
    message = f"{type(value).__name__} has no canonical form"
    raise TypeError(message)


def record_act(*, gym: Gym, actor: Membership | None, act: str, about: UUID, content: Content) -> AuditEntry:
    """Append an act to the gym's chain, as the last statement of the caller's transaction.

    Locks the gym's chain until the transaction ends, so call it after everything slow. `content` holds ids
    and figures, no names and no free text.
    """
    head = AuditHead.objects.select_for_update().get(gym=gym)
    entry = AuditEntry(
        gym=gym,
        position=head.length + 1,
        recorded_at=timezone.now(),
        actor=actor,
        act=act,
        about=about,
        content=canonical_json(content),
    )
    entry.seal = _seal(head.seal, entry)
    entry.save(force_insert=True)
    AuditHead.objects.filter(gym=gym).update(length=entry.position, seal=entry.seal)
    return entry


def first_broken_link(gym: Gym) -> int | None:
    """Return the position of the first entry whose seal does not hold, or None for a whole chain.

    A chain that ends before its head says it does is broken at the first missing position.
    """
    seal, position, before = "", 0, -1
    # Acts may be recorded while a long chain is read, so it is read on until nothing is new.
    while position > before:
        before = position
        rest = AuditEntry.objects.filter(gym=gym, position__gt=position).order_by("position")
        for entry in rest.iterator():
            if entry.position != position + 1 or not hmac.compare_digest(entry.seal, _seal(seal, entry)):
                return position + 1
            seal, position = entry.seal, entry.position
        head = AuditHead.objects.get(gym=gym)
        if head.length == position and hmac.compare_digest(head.seal, seal):
            return None
    return position + 1


def _seal(seal_before: str, entry: AuditEntry) -> str:
    parts = (
        seal_before,
        str(entry.gym_id),
        str(entry.position),
        entry.recorded_at.isoformat(),
        str(entry.actor_id or ""),
        entry.act,
        str(entry.about),
        entry.content,
    )
    return hmac.new(settings.AUDIT_KEY.encode(), "\n".join(parts).encode(), hashlib.sha256).hexdigest()
