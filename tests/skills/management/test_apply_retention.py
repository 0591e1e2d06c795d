"""`manage.py apply_retention`: what is due goes, what is not stays."""

from datetime import UTC, date, datetime, timedelta
from io import StringIO

import pytest
from django.contrib.sessions.models import Session
from django.core.cache import cache
from django.core.management import CommandError, call_command
from django.utils import timezone

from athletes.core.days import months_before
from athletes.models import AuditEntry, CautionLift, Gym, HandOver, Invitation, Membership, Person, PrivateLink, Remark
from athletes.services.audit import first_broken_link
from athletes.services.remarks import keep_remark
from gymtrack.lib.ids import new_id
from skills.models import Attempt
from tests.factories.athletes import Role, make_athlete, make_caution, make_member, make_person
from tests.factories.skills import library, start_class, step_of
from tests.helpers.floor import enrolled, held


@pytest.fixture(autouse=True)
def data_folder(tmp_path, settings):
    settings.DATA_DIR = tmp_path
    return tmp_path


def days_ago(days: int) -> datetime:
    return timezone.now() - timedelta(days=days)


def applied(*arguments: str) -> str:
    said = StringIO()
    call_command("apply_retention", *arguments, stdout=said)
    return said.getvalue()


def erased(*people: Person) -> list[bool]:
    return [Person.objects.get(pk=person.pk).erased_at is not None for person in people]


def left(athlete, days: int):
    athlete.left_on = days_ago(days).date()
    athlete.save()
    return athlete


@pytest.mark.parametrize(
    ("day", "months", "before"),
    [
        (date(2026, 12, 1), 12, date(2025, 12, 1)),
        (date(2026, 3, 31), 1, date(2026, 2, 28)),
        (date(2028, 2, 29), 12, date(2027, 2, 28)),
        (date(2026, 1, 15), 1, date(2025, 12, 15)),
        (datetime(2026, 1, 15, 8, tzinfo=UTC), 13, datetime(2024, 12, 15, 8, tzinfo=UTC)),
    ],
)
def test_months_before(day, months, before):
    assert months_before(day, months) == before


def test_who_left_longer_ago_than_the_gym_says_is_erased(gym, owner, other_gym):
    gym.keep_months_after_leaving = 2
    gym.save()
    long_gone = left(make_athlete(gym, "Ida Holm"), 70)
    lately_gone = left(make_athlete(gym, "Jon Holm"), 40)
    here = make_athlete(gym, "Kai Holm")
    elsewhere = left(make_athlete(other_gym, "Lea Holm"), 70)  # that gym keeps twelve months
    assert "2 people" not in applied()
    assert erased(*(each.person for each in (long_gone, lately_gone, here, elsewhere))) == [True, False, False, False]
    assert erased(owner.person) == [False]
    assert first_broken_link(gym) is None


def test_who_still_belongs_in_another_role_stays(gym, coach, owner):
    athlete = left(make_athlete(gym, "Ida Holm"), 800)
    Membership.objects.create(gym=gym, account=coach.account, person=athlete.person, role=Role.GUARDIAN)
    applied()
    assert erased(athlete.person) == [False]


def test_a_log_in_that_nobody_ended_keeps_no_athlete_who_left(athlete, athlete_member):
    left(athlete, 800)
    applied()
    assert erased(athlete.person) == [True]


def test_a_guest_whose_birth_date_was_entered_has_become_one_of_the_gym(gym):
    guest, regular = (make_athlete(gym, name) for name in ("Ida Holm", "Jon Holm"))
    for athlete in (guest, regular):
        athlete.guest, athlete.joined_on = True, days_ago(800).date()
        athlete.save()
    guest.person.birth_on = None
    guest.person.save()
    applied()
    assert erased(guest.person, regular.person) == [True, False]


def test_who_was_invited_goes_also_where_the_invitation_was_taken_back_early(gym, owner):
    person, now = make_person(gym, "Ida Holm"), timezone.now()
    Invitation.objects.create(
        gym=gym,
        role=Role.COACH,
        person=person,
        digest="x",
        made_by=owner,
        made_at=days_ago(32),
        until_at=now - timedelta(days=18),
        revoked_at=days_ago(31),
    )
    applied()
    assert erased(person) == [True]
    assert not Invitation.objects.exists()


def test_staff_and_guardians_go_when_their_last_membership_ended_long_ago(gym, coach, coach_two, guardian, owner):
    Membership.objects.filter(pk__in=[coach.pk, guardian.pk]).update(ended_at=days_ago(400))
    Membership.objects.filter(pk=coach_two.pk).update(ended_at=days_ago(300))
    applied()
    assert erased(coach.person, guardian.person, coach_two.person) == [True, True, False]


def test_who_was_invited_and_never_came_goes_with_the_invitation(gym, owner):
    never, perhaps = make_person(gym, "Ida Holm"), make_person(gym, "Jon Holm")
    for person, days in ((never, 40), (perhaps, 10)):
        Invitation.objects.create(
            gym=gym,
            role=Role.COACH,
            person=person,
            digest=str(days),
            made_by=owner,
            made_at=days_ago(days + 7),
            until_at=days_ago(days),
        )
    applied()
    assert erased(never, perhaps) == [True, False]
    assert Invitation.objects.get().person == perhaps


def test_spent_links_go_and_those_in_force_stay(gym, owner, athlete):
    spans = {"old": (-40, None), "taken back": (40, 31), "fresh": (-10, None), "in force": (40, None)}
    for digest, (until, revoked) in spans.items():
        PrivateLink.objects.create(
            gym=gym,
            athlete=athlete,
            digest=digest,
            made_by=owner,
            made_at=days_ago(60),
            until_at=days_ago(-until),
            revoked_at=days_ago(revoked) if revoked else None,
        )
    applied()
    assert {*PrivateLink.objects.values_list("digest", flat=True)} == {"fresh", "in force"}


def test_notes_on_pain_go_first_and_other_notes_stay(gym, owner, coach, athlete):
    library(gym, owner)
    for name, days, pain in (("old pain", 100, True), ("fresh pain", 80, True), ("old reason", 100, False)):
        row = Attempt.objects.create(
            gym=gym,
            athlete=athlete,
            step=step_of(gym, "pullover-1"),
            logged_by=coach,
            source="judged",
            pain=pain,
            happened_at=days_ago(days),
        )
        keep_remark(gym=gym, subject=athlete.person, about=row.id, text=name)
    applied()
    assert {*Remark.objects.values_list("text", flat=True)} == {"fresh pain", "old reason"}


def test_the_reason_of_a_caution_stays_while_it_holds_and_goes_after_it_has_ended(gym, owner, coach, athlete):
    def cautioned(words: str, *, until: int | None = None, lifted: int | None = None) -> None:
        caution = make_caution(athlete, coach)
        caution.id = new_id()
        caution.happened_at = days_ago(200)
        caution.until_at = days_ago(until) if until else None
        caution.save(force_insert=True)
        keep_remark(gym=gym, subject=athlete.person, about=caution.id, text=words)
        if lifted:
            CautionLift.objects.create(gym=gym, caution=caution, lifted_by=coach, happened_at=days_ago(lifted))

    cautioned("holds")
    cautioned("ran out long ago", until=100)
    cautioned("ran out lately", until=50)
    cautioned("lifted long ago", lifted=100)
    cautioned("lifted lately", lifted=50)
    applied()
    assert {*Remark.objects.values_list("text", flat=True)} == {"holds", "ran out lately", "lifted lately"}


def test_guests_who_were_not_seen_again_go(gym, owner, coach):
    library(gym, owner)
    gone, back, member = (make_athlete(gym, name) for name in ("Ida Holm", "Jon Holm", "Kai Holm"))
    for each in (gone, back):
        each.guest = True
        each.joined_on = days_ago(500).date()
        each.save()
        each.person.birth_on = None  # as nobody asks a guest for it
        each.person.save()
    start_class(coach, back)
    applied()
    assert erased(gone.person, back.person, member.person) == [True, False, False]


def test_hand_overs_by_which_nothing_was_logged_go(gym, owner, coach):
    tablet = enrolled(owner)
    held(tablet, coach)
    old = HandOver.objects.create(
        gym=gym, tablet=tablet.tablet, coach=coach, confirmed_at=days_ago(500), until_at=days_ago(499)
    )
    applied()
    assert HandOver.objects.count() == 1
    assert not HandOver.objects.filter(pk=old.pk).exists()


def test_sessions_and_counts_that_ran_out_go(gym, client_of, coach, owner):
    old, now = client_of(coach), client_of(owner)
    Session.objects.filter(pk=old.session.session_key).update(expire_date=days_ago(1))
    cache.set("soon", 1, timeout=1000)
    applied()
    assert [*Session.objects.values_list("pk", flat=True)] == [now.session.session_key]
    assert cache.get("soon") == 1
    cache.clear()


def test_a_dry_run_counts_and_touches_nothing(gym, owner):
    athlete = left(make_athlete(gym, "Ida Holm"), 800)
    assert applied("--dry-run").startswith("harbour: would go: 1 people, 0 invitations, ")
    assert erased(athlete.person) == [False]
    assert not AuditEntry.objects.filter(act="retention_applied").exists()


def test_it_is_recorded_where_something_went_and_twice_does_nothing_more(gym, owner):
    left(make_athlete(gym, "Ida Holm"), 800)
    assert "gone: 1 people" in applied()
    assert "gone: 0 people" in applied()
    (entry,) = AuditEntry.objects.filter(act="retention_applied")
    assert (entry.actor, entry.about) == (None, gym.id)
    assert '"people":1' in entry.content
    assert Gym.objects.count() == 1


def test_one_who_cannot_be_erased_holds_nobody_else_up(gym, owner, data_folder, monkeypatch):
    left(make_athlete(gym, "Ida Holm"), 800)
    make_member(gym, Role.COACH, "Jon Holm")
    (data_folder / "erasures.jsonl").mkdir()
    with pytest.raises(CommandError, match="could not be erased"):
        applied()
    assert not AuditEntry.objects.filter(act="erased").exists()
