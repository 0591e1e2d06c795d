"""Mails about invitations: plain text, to one address, with a link that only its reader has."""

from __future__ import annotations

import logging
from collections.abc import Callable
from smtplib import SMTPException

from allauth.account.adapter import get_adapter
from django.utils import timezone
from django.utils.dateformat import format as format_date

from athletes.models import Invitation
from athletes.services.joining import letter_for

logger = logging.getLogger(__name__)
Address = Callable[[str], str]


def mail_invitation(*, invitation: Invitation, code: str, join_page: str, link_of: Address) -> bool:
    """Mail an invitation with its code to who is invited, if there is an address; return whether it went out.

    `join_page` is where the code is typed, `link_of` makes the absolute address that opens a token. A mail that
    cannot be sent is no error: the code is on the page of who invites, to be printed.
    """
    address = invitation.person.email
    if not address:
        return False
    context = {**_context(invitation, address, link_of), "code": code, "join_page": join_page}
    if not _sent("athletes/email/invitation", address, context):
        return False
    invitation.mailed_at = timezone.now()
    return bool(
        Invitation.objects.filter(pk=invitation.pk, digest=invitation.digest).update(mailed_at=invitation.mailed_at)
    )


def mail_way_on(*, invitation: Invitation, address: str, link_of: Address) -> None:
    """Mail the way on to an address that somebody who holds the code has typed, whosever it is."""
    _sent("athletes/email/way_on", address, _context(invitation, address, link_of))


def _context(invitation: Invitation, address: str, link_of: Address) -> dict[str, object]:
    return {
        "gym": invitation.gym,
        "role": invitation.role,
        # In words: a template would tell the time of who asked, and whoever only holds a code has none.
        "until": format_date(invitation.until_at.astimezone(invitation.gym.zone), "j F Y, H:i"),
        "link": link_of(letter_for(invitation, address)),
    }


def _sent(template: str, address: str, context: dict[str, object]) -> bool:
    try:
        get_adapter().send_mail(template, address, context)
    except (OSError, SMTPException) as error:
        logger.warning("A mail about an invitation could not be sent: %s", type(error).__name__)
        return False
    return True
