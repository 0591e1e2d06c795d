"""`manage.py remind`: the owner and the coach hear before the right to sign off ends, once each time."""

import io
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.core import mail
from django.core.mail import EmailMessage
from django.core.mail.backends.locmem import EmailBackend
from django.core.management import CommandError, call_command

from athletes.models import AuditEntry, Membership
from athletes.services.certificates import enter_certificate
from athletes.services.reminders import reminders_due, send_reminder
from athletes.services.staff import end_membership
from tests.factories.athletes import Role, make_certificate, make_member

LAST = date(2026, 6, 30)
# Midnight in Berlin, where the clocks are two hours ahead in summer (IANA time zone database).
MIDNIGHT = datetime(2026, 6, 30, 22, tzinfo=UTC)
TICK = timedelta(microseconds=1)

pytestmark = pytest.mark.django_db


def reminded(moment: datetime, *options: str) -> tuple[str, list[tuple[str, str]]]:
    """Run the command at a moment; return what it printed, and to whom it wrote of what."""
    mail.outbox.clear()
    out = io.StringIO()
    with time_machine.travel(moment, tick=False):
        call_command("remind", *options, stdout=out)
    return out.getvalue(), [(address, str(letter.subject)) for letter in mail.outbox for address in letter.to]


def before_the_last_day(days: int) -> datetime:
    """The first moment of the day that is so many before the last one."""
    return MIDNIGHT - timedelta(days=days + 1)


def test_owner_and_coach_hear_thirty_and_seven_days_before_and_never_twice(
    owner: Membership, coach: Membership
) -> None:
    make_certificate(coach, by=owner, kind="first_aid", valid_until=LAST)
    both = [(who.account.email, "Harbour Hall: first aid ends soon") for who in (coach, owner)]
    moments = [before_the_last_day(30) - TICK, *(before_the_last_day(days) for days in (30, 30, 29, 8, 7, 7, 0, -1))]
    assert [reminded(moment)[1] for moment in moments] == [[], both, [], [], [], both, [], [], []]
    assert AuditEntry.objects.filter(act="certificate_reminder_sent", about=coach.id).count() == 2


def test_the_mail_says_what_ends_when_and_with_it_the_right(owner: Membership, coach: Membership) -> None:
    make_certificate(coach, by=owner, valid_until=LAST)
    assert reminded(before_the_last_day(3))[0] == "2 mails sent.\n"
    to_coach, to_owner = (letter.body for letter in mail.outbox)
    assert to_coach.startswith("A certificate of yours ends soon: coaching certificate. Its last day is 30 June 2026.")
    assert to_owner.startswith("A certificate of Cleo Adeyemi ends soon: coaching certificate.")
    for body in (to_coach, to_owner):
        assert "The right to sign off in Harbour Hall ends with that day" in body


def test_who_may_not_sign_off_loses_no_right_by_it(owner: Membership, coach_two: Membership) -> None:
    make_certificate(coach_two, by=owner, valid_until=LAST)
    reminded(before_the_last_day(3))
    assert all("right to sign off" not in letter.body for letter in mail.outbox)


def test_an_owner_of_ones_own_certificate_gets_one_mail_and_every_owner_gets_one(owner: Membership) -> None:
    second = make_member(owner.gym, Role.OWNER, "Ines Roth")
    make_certificate(owner, by=owner, valid_until=LAST)
    assert {address for address, _ in reminded(before_the_last_day(3))[1]} == {
        owner.account.email,
        second.account.email,
    }
    assert len(mail.outbox) == 2


def test_each_certificate_is_told_and_a_newer_one_anew(owner: Membership, coach: Membership) -> None:
    make_certificate(coach, by=owner, kind="coaching", valid_until=LAST)
    make_certificate(coach, by=owner, kind="safeguarding", valid_until=LAST)
    assert len(reminded(before_the_last_day(3))[1]) == 4
    enter_certificate(
        by=owner, membership=coach, kind="coaching", valid_from=LAST, valid_until=LAST + timedelta(days=20)
    )
    assert [subject for _, subject in reminded(MIDNIGHT)[1]] == ["Harbour Hall: coaching certificate ends soon"] * 2


def test_what_is_renewed_in_time_is_not_told(owner: Membership, coach: Membership) -> None:
    make_certificate(coach, by=owner, valid_until=LAST)
    make_certificate(coach, by=owner, valid_from=LAST + timedelta(days=1), valid_until=None)
    assert reminded(before_the_last_day(3)) == ("0 mails sent.\n", [])
    make_certificate(coach, by=owner, kind="first_aid", valid_until=LAST)
    make_certificate(coach, by=owner, kind="first_aid", valid_from=LAST + timedelta(days=2), valid_until=None)
    assert len(reminded(before_the_last_day(3))[1]) == 2


def test_nobody_hears_of_who_has_left_or_of_another_gym(
    owner: Membership, coach: Membership, coach_two: Membership, other_coach: Membership
) -> None:
    make_certificate(coach, by=owner, valid_until=LAST)
    make_certificate(other_coach, by=other_coach, valid_until=LAST)
    end_membership(by=owner, membership=coach)
    assert reminded(before_the_last_day(3), "--gym", owner.gym.slug) == ("0 mails sent.\n", [])
    assert {address for address, _ in reminded(before_the_last_day(3))[1]} == {other_coach.account.email}


def test_two_timers_at_one_time_send_it_once(
    owner: Membership, coach: Membership, monkeypatch: pytest.MonkeyPatch
) -> None:
    make_certificate(coach, by=owner, valid_until=LAST)
    (due,) = reminders_due(gym=owner.gym, now=before_the_last_day(3))
    told: list[int] = []

    class Meanwhile(EmailBackend):
        """Another timer runs while the first one's mails go out."""

        def send_messages(self, messages: Sequence[EmailMessage]) -> int:
            told.append(send_reminder(gym=owner.gym, ending=due))
            return super().send_messages(messages)

    monkeypatch.setattr("athletes.services.reminders.get_connection", Meanwhile)
    told += [send_reminder(gym=owner.gym, ending=due) for _ in range(2)]
    assert told == [0, 2, 0]


class Broken(EmailBackend):
    """A way to send mail that has gone."""

    def send_messages(self, _messages: object) -> int:
        raise ConnectionRefusedError


def test_what_could_not_be_sent_is_said_and_sent_by_the_next_run(owner, coach, settings) -> None:
    make_certificate(coach, by=owner, valid_until=LAST)
    before, settings.EMAIL_BACKEND = settings.EMAIL_BACKEND, f"{__name__}.Broken"
    with pytest.raises(CommandError, match="1 reminder could not be sent; the next run tries again"):
        reminded(before_the_last_day(3))
    assert not AuditEntry.objects.filter(act="certificate_reminder_sent").exists()
    settings.EMAIL_BACKEND = before
    assert len(reminded(before_the_last_day(3))[1]) == 2


def test_a_gym_that_is_not_there_is_named(owner: Membership) -> None:
    with pytest.raises(CommandError, match="There is no gym 'haven'"):
        call_command("remind", gym="haven")
