"""Rights as facts: each change is appended, so that it can be told later who held which right when."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from athletes.models import Membership, RightsChange


def note_rights(*, membership: Membership, rights: Collection[str], at: datetime) -> RightsChange:
    """Append that a coach or an owner holds these rights, and no others, from a moment on.

    In the caller's transaction, which stores the same in the membership itself.
    """
    return RightsChange.objects.create(
        gym_id=membership.gym_id, membership=membership, rights=sorted(rights), happened_at=at, recorded_at=at
    )
