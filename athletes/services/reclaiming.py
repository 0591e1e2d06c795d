"""An account that comes to who reads its address's mail: nothing that was set up in it before stays a way in.

Where an address need not be shown (a gym's laptop, where mail goes to files), whoever holds an invitation's code may
open an account under an address that is not theirs. Its owner chooses a new password by mail; a passkey, an app for
codes, a key for programs or a code for tablets that was set up meanwhile would outlive that password.
"""

from __future__ import annotations

from allauth.account.models import EmailAddress
from allauth.account.signals import password_reset
from allauth.mfa.models import Authenticator
from django.db import transaction
from django.utils import timezone

from athletes.access.session_limits import end_sign_ins
from athletes.models import Account, ApiToken, CoachCode, HandOver, Membership
from athletes.services.audit import record_act
from athletes.services.invitations import revoke_made_by
from athletes.services.private_links import revoke_links_of_maker


@transaction.atomic
def reclaim(*, account: Account) -> bool:
    """Take what a password that was chosen anew by mail leaves behind; return whether the address was unproved.

    Every sign-in ends. Where no address of the account was ever shown to be its owner's, all that was set up in it
    goes too, an address that waits as well, and the account's own counts as shown: the mail with the link came there.
    """
    end_sign_ins(account.pk)
    if any(address.verified for address in EmailAddress.objects.select_for_update().filter(user_id=account.pk)):
        return False
    Authenticator.objects.filter(user=account).delete()
    for membership in Membership.objects.filter(account=account).select_related("gym").order_by("gym_id", "pk"):
        _empty(membership)
    _prove(account)
    return True


def watch_resets() -> None:
    """Have every password that is chosen anew by mail take the account back."""
    password_reset.connect(_was_reset, dispatch_uid="reclaiming")


def _was_reset(sender: object, user: Account, **_more: object) -> None:  # noqa: ARG001 (a signal's receiver)
    reclaim(account=user)


def _empty(membership: Membership) -> None:
    at, gym = timezone.now(), membership.gym_id
    ApiToken.objects.filter(gym=gym, membership=membership, revoked_at=None).update(revoked_at=at)
    CoachCode.objects.filter(gym=gym, membership=membership).delete()
    HandOver.objects.filter(gym=gym, coach=membership, ended_at=None, until_at__gt=at).update(ended_at=at)
    revoke_made_by(maker=membership, roles=Membership.Role.values, at=at)
    revoke_links_of_maker(maker=membership, at=at)
    record_act(gym=membership.gym, actor=None, act="account_reclaimed", about=membership.id, content={})


def _prove(account: Account) -> None:
    """Note the address as shown, since the mail came there (`ForgottenPasswordForm`); one that waits beside it goes."""
    EmailAddress.objects.filter(user=account).exclude(email__iexact=account.email).delete()
    shown = {"verified": True, "primary": True}
    EmailAddress.objects.update_or_create(user=account, email=account.email.lower(), defaults=shown)
