"""What ends with a membership, at once: tablets in hand, codes and links made, sign-ins that lead nowhere now."""

from __future__ import annotations

from datetime import datetime

from athletes.access.session_limits import end_sign_ins
from athletes.models import HandOver, Membership
from athletes.services.invitations import revoke_made_by
from athletes.services.private_links import revoke_links_of_maker

EVERY_ROLE = Membership.Role.values


def end_at_once(*, membership: Membership, at: datetime) -> None:
    """End what a membership opened, in the transaction that ends the membership itself.

    An account that belongs to no gym any more is signed out everywhere; keys work only while their owner's
    membership lasts, so they need no act of their own.
    """
    held = HandOver.objects.filter(gym=membership.gym_id, coach=membership, ended_at=None, until_at__gt=at)
    held.update(ended_at=at)
    revoke_made_by(maker=membership, roles=EVERY_ROLE, at=at)
    revoke_links_of_maker(maker=membership, at=at)
    if not Membership.objects.filter(account=membership.account_id, ended_at=None).exists():
        end_sign_ins(membership.account_id)
