"""A second factor that was lost: who takes it away for whom, so that its owner can set up a new one.

Taking it away leaves the password as the only thing that signs somebody in, so it is an act of the audit chain, ends
every sign-in of the account, and is told to the person by mail.
"""

from __future__ import annotations

import logging
from smtplib import SMTPException

from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from django.core.mail import EmailMessage
from django.db import transaction
from django.template.loader import render_to_string

from athletes.access.second_factor import STAFF_ROLES, has_second_factor
from athletes.access.session_limits import end_sign_ins
from athletes.core.refusal import Refusal
from athletes.models import Account, Membership
from athletes.services.audit import record_act

logger = logging.getLogger(__name__)


class NoFactor(Refusal):
    """There is no second factor to take away."""


class NotTheirsToReset(Refusal):
    """The membership is another gym's, has ended, is one's own, or the account is on the staff elsewhere too."""


def reset_second_factor(*, by: Membership, membership: Membership) -> None:
    """Take the second factor of somebody of the same gym away, sign them out everywhere, and mail them.

    Not one's own: that is done under one's own sign-in. Not of who is on the staff of another gym as well, which
    an owner here has no say in. Raises NotTheirsToReset, NoFactor.
    """
    if membership.gym_id != by.gym_id or membership.ended_at or membership.account_id == by.account_id:
        raise NotTheirsToReset("This is not yours to take away.")
    staff = Membership.objects.filter(account=membership.account_id, ended_at=None, role__in=STAFF_ROLES)
    if staff.exclude(gym=by.gym_id).exists():
        raise NotTheirsToReset("Only the system administrator can take this one away: manage.py reset_second_factor.")
    with transaction.atomic():
        _take_away(membership.account)
        record_act(gym=by.gym, actor=by, act="second_factor_reset", about=membership.id, content={})
    _tell(membership.account, f"An owner of {by.gym.name}")


def reset_second_factor_by_hand(*, account: Account) -> None:
    """The same by the system administrator, for an account in any gym. Raises NoFactor."""
    held = Membership.objects.filter(account=account, ended_at=None).select_related("gym").order_by("gym_id", "id")
    with transaction.atomic():
        _take_away(account)
        for membership in held:
            record_act(gym=membership.gym, actor=None, act="second_factor_reset", about=membership.id, content={})
    _tell(account, "The administrator of this site")


def _take_away(account: Account) -> None:
    Account.objects.select_for_update().get(pk=account.pk)
    if not has_second_factor(account.pk):
        raise NoFactor("There is no second factor to take away.")
    Authenticator.objects.filter(user=account).delete()
    end_sign_ins(account.pk)


def _tell(account: Account, who: str) -> None:
    """Mail it. That it is done counts; a mail that cannot be sent is noted in the log."""
    text = render_to_string("athletes/email/second_factor_reset_message.txt", {"who": who})
    address = EmailAddress.objects.get_primary_email(account)
    try:
        EmailMessage("Your second factor was taken away", text.strip(), to=[address]).send()
    except (OSError, SMTPException) as error:
        logger.error("A mail about a second factor could not be sent: %s", type(error).__name__)  # noqa: TRY400
