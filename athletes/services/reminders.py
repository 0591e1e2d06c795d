"""Telling by mail that the right to sign off is about to end, because a certificate that it rests on is."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.core.cache import cache
from django.core.mail import EmailMessage, get_connection
from django.db import transaction
from django.template.loader import render_to_string

from athletes.models import AuditEntry, Gym, Membership
from athletes.queries.certificates import EndingCertificate, certificates_ending
from athletes.services.audit import canonical_json, record_act

ACT = "certificate_reminder_sent"
CLAIM_SECONDS = 600


def reminders_due(*, gym: Gym, now: datetime) -> list[EndingCertificate]:
    """Return the certificates of a gym of which nobody was reminded yet, on that day of the gym; three queries."""
    ending = certificates_ending(gym, now.astimezone(gym.zone).date())
    sent = set(_sent(gym)) if ending else set()
    return [each for each in ending if (each.member.id, _content(each)) not in sent]


def send_reminder(*, gym: Gym, ending: EndingCertificate) -> int:
    """Mail who holds the certificate and the gym's owners, once for the certificate and its days; return how many.

    What stands in the audit chain is that it was sent: it is stored once the mails are out, and no lock of the database
    waits for the mail server. Where the machine stops in between they go out a second time, and never not at all.
    Raises OSError where they cannot be sent.
    """
    claim = f"reminder-{ending.member.id}-{ending.kind}-{ending.valid_until}-{ending.days}"
    if not cache.add(claim, 1, CLAIM_SECONDS):  # another timer is at it
        return 0
    try:
        return 0 if (ending.member.id, _content(ending)) in set(_sent(gym)) else _send(gym, ending)
    finally:
        cache.delete(claim)


def _send(gym: Gym, ending: EndingCertificate) -> int:
    mails = list(_mails(gym, ending))
    get_connection().send_messages(mails)
    content = {"kind": ending.kind, "valid_until": ending.valid_until.isoformat(), "days": ending.days}
    with transaction.atomic():
        record_act(gym=gym, actor=None, act="certificate_reminder_sent", about=ending.member.id, content=content)
    return len(mails)


def _content(ending: EndingCertificate) -> str:
    return canonical_json({"kind": ending.kind, "valid_until": ending.valid_until.isoformat(), "days": ending.days})


def _sent(gym: Gym) -> Iterator[tuple[object, str]]:
    yield from AuditEntry.objects.filter(gym=gym, act=ACT).values_list("about", "content")


def _mails(gym: Gym, ending: EndingCertificate) -> Iterator[EmailMessage]:
    owners = Membership.objects.filter(gym=gym, role=Membership.Role.OWNER, ended_at=None).select_related("account")
    addresses = dict.fromkeys((ending.member.account.email, *(owner.account.email for owner in owners)))
    for address in addresses:
        yours = address == ending.member.account.email
        context = {"gym": gym, "ending": ending, "name": "" if yours else ending.member.person.full_name}
        signing = ending.member.is_owner or ending.member.may_sign_off
        body = render_to_string("athletes/email/certificate_ends.txt", {**context, "signing": signing})
        yield EmailMessage(f"{gym.name}: {ending.words} ends soon", body, to=[address])
