"""The gym floor of the demo: codes for those who coach, and a tablet that waits to be let in."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from datetime import timedelta
from typing import Final

from athletes.core.tablets import COACH_CODE_DIGITS, is_weak
from athletes.models import CoachCode, Membership, Tablet
from athletes.services.coach_codes import set_code
from athletes.services.tablets import add_tablet
from skills.demo.cast import COACHES, DOMAIN, GYM_SLUG

TABLET_NAME: Final = "by the low bar"
_TABLET_WAITS: Final = timedelta(days=1)


def give_codes() -> dict[str, str]:
    """Set a code for each of the staff who has none, and return these codes by the first half of the address."""
    codes = {}
    for key, member in _staff().items():
        if not CoachCode.objects.filter(gym=member.gym_id, membership=member).exists():
            codes[key] = new_code()
            set_code(by=member, code=codes[key])
    return codes


def offer_tablet() -> str:
    """Return a code that lets a tablet in, good for a day; '' once one was let in by such a code."""
    owner = _staff().get("owner")
    if owner is None or Tablet.objects.filter(gym=owner.gym_id, name=TABLET_NAME).exclude(enrolled_at=None).exists():
        return ""
    return add_tablet(by=owner, name=TABLET_NAME, holds=_TABLET_WAITS).code


def new_code() -> str:
    """Return six random digits that may be set as a code."""
    while True:
        code = "".join(secrets.choice("0123456789") for _ in range(COACH_CODE_DIGITS))
        if not is_weak(code):
            return code


def _staff() -> Mapping[str, Membership]:
    """Return the owner and the coaches who are still there, by the first half of the address."""
    addresses = {f"{key}@{DOMAIN}": key for key in ("owner", *(coach.key for coach in COACHES))}
    roles = (Membership.Role.OWNER, Membership.Role.COACH)
    staff = Membership.objects.filter(gym__slug=GYM_SLUG, role__in=roles, ended_at=None, account__email__in=addresses)
    return {addresses[member.account.email]: member for member in staff.select_related("gym", "account")}
