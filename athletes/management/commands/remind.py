"""Mail who has to know that a certificate of the staff ends: `manage.py remind`, for a timer to run once a day.

The coach and the gym's owners are told once 30 days before the last day, and once more 7 days before; run as often as
you like, nobody is told twice. Exit code 1 where a mail could not be sent: the next run tries again.
"""

from __future__ import annotations

import logging

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from athletes.management.arguments import gym_named
from athletes.queries.certificates import EndingCertificate
from athletes.queries.gyms import all_gyms
from athletes.services.reminders import reminders_due, send_reminder
from athletes.wording import counted

logger = logging.getLogger(__name__)


class Command(BaseCommand):
    help = "Mail coaches and owners about certificates that end within 30 and within 7 days, once each."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--gym", metavar="SLUG", help="only this gym")

    def handle(self, *, gym: str | None, **_options: object) -> None:
        sent = failed = 0
        for found in [gym_named(gym)] if gym else all_gyms():
            for ending in reminders_due(gym=found, now=timezone.now()):
                mails = _sent(ending)
                sent, failed = sent + (mails or 0), failed + (mails is None)
        self.stdout.write(f"{counted(sent, 'mail')} sent.")
        if failed:
            raise CommandError(f"{counted(failed, 'reminder')} could not be sent; the next run tries again.")


def _sent(ending: EndingCertificate) -> int | None:
    """Return how many mails went out, None where they could not."""
    try:
        return send_reminder(gym=ending.member.gym, ending=ending)
    except OSError as error:  # that of smtplib too
        logger.warning("A reminder of a certificate could not be sent: %s", type(error).__name__)
        return None
