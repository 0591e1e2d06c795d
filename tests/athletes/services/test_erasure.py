"""Erasure: what goes, what stays, and what stands in its way."""

import json
from datetime import timedelta
from functools import partial

import pytest
from allauth.usersessions.models import UserSession
from django.conf import settings
from django.contrib.sessions.models import Session
from django.core import mail
from django.core.cache import cache
from django.core.mail import EmailMessage, get_connection
from django.utils import timezone

from athletes.core.kept import ERASED
from athletes.core.roster import RosterEntry
from athletes.models import (
    Account,
    Athlete,
    AuditEntry,
    BodyMeasure,
    CoachCode,
    EmergencyContact,
    Erasure,
    ErasureRequest,
    Invitation,
    Membership,
    Person,
    PrivateLink,
    Remark,
)
from athletes.services.audit import first_broken_link
from athletes.services.coach_codes import set_code
from athletes.services.erasure import AlreadyErased, erase_person
from athletes.services.erasure_list import ListInTheWay, list_path, noted_erasures
from athletes.services.erasure_requests import (
    AlreadyAnswered,
    AlreadyAsked,
    NotYours,
    ReasonMissing,
    ask_erasure,
    refuse_erasure,
)
from athletes.services.remarks import keep_remark
from athletes.services.roster import change_athlete
from athletes.services.staff import LastOwner
from athletes.services.tokens import make_token
from athletes.services.traces import MailInTheWay
from tests.factories.athletes import (
    PASSWORD,
    Role,
    make_athlete,
    make_caution,
    make_login,
    make_measure,
    make_member,
)
from tests.helpers.floor import CODE
from tests.helpers.threads import at_once

UNTIL = timedelta(hours=1)


@pytest.fixture(autouse=True)
def data_folder(tmp_path, settings):
    """A list of erasures of each test's own."""
    settings.DATA_DIR = tmp_path
    settings.EMAIL_FILE_PATH = tmp_path / "mail"
    return tmp_path


def test_the_person_is_nobody_afterwards(owner, athlete):
    erasure = erase_person(person=athlete.person, by=owner)
    person = athlete.person
    assert (person.full_name, person.email, person.birth_on, person.notes) == (ERASED, "", None, "")
    assert person.erased_at == erasure.happened_at
    assert (person.initials, athlete.board_name) == (ERASED, ERASED)
    athlete.refresh_from_db()
    assert athlete.left_on == erasure.happened_at.astimezone(owner.gym.zone).date()


def test_who_left_before_left_then(owner, athlete):
    athlete.left_on = athlete.joined_on + timedelta(days=9)
    athlete.save()
    erase_person(person=athlete.person, by=owner)
    athlete.refresh_from_db()
    assert athlete.left_on == athlete.joined_on + timedelta(days=9)


def test_what_names_an_athlete_goes_and_nobody_else_loses_any(owner, coach, athlete, minor):
    now = timezone.now()
    for each in (athlete, minor):
        make_measure(each)
        caution = make_caution(each, coach)
        keep_remark(gym=each.gym, subject=each.person, about=caution.id, text="sore wrist")
        each.emergency_contacts.create(gym=each.gym, name="x", phone="1", entered_by=coach, entered_at=now)
        timed = {"gym": each.gym, "made_by": coach, "made_at": now, "until_at": now + UNTIL}
        PrivateLink.objects.create(athlete=each, digest=f"link {each.number}", **timed)
        Invitation.objects.create(
            role=Role.ATHLETE, person=each.person, athlete=each, digest=f"code {each.number}", **timed
        )
    erase_person(person=athlete.person, by=owner)
    for model, whose in (
        (BodyMeasure, "athlete__person"),
        (EmergencyContact, "athlete__person"),
        (Invitation, "person"),
        (PrivateLink, "athlete__person"),
        (Remark, "subject"),
    ):
        assert [*model.objects.values_list(whose, flat=True)] == [minor.person_id], model
    assert athlete.cautions.count() == 1  # without a word why


def test_a_coach_loses_code_keys_rights_and_the_account(owner, coach):
    set_code(by=coach, code=CODE)
    make_token(by=coach, name="door")
    erase_person(person=coach.person, by=owner)
    assert not CoachCode.objects.exists()
    assert not coach.tokens.exists()
    assert not Account.objects.filter(pk=coach.account_id).exists()
    coach = Membership.objects.get(pk=coach.pk)
    assert coach.ended_at
    assert coach.account.email.endswith("@erased.invalid")
    assert not coach.account.is_active
    assert not coach.account.has_usable_password()
    assert coach.rights_changes.order_by("happened_at").last().rights == []


def test_an_account_that_opens_another_gym_stays_and_nothing_leads_to_it(owner, athlete, other_gym):
    login = make_login(athlete)
    elsewhere = make_member(other_gym, Role.COACH, "Ada Lindqvist", email="ada@x.example", account=login.account)
    erase_person(person=athlete.person, by=owner)
    assert Account.objects.get(pk=login.account_id).email == login.account.email
    elsewhere.refresh_from_db()
    assert elsewhere.ended_at is None
    assert elsewhere.person.full_name == "Ada Lindqvist"
    assert Membership.objects.get(pk=login.pk).account_id != login.account_id


def test_an_account_that_another_gym_remembers_is_emptied(owner, athlete, other_gym):
    login = make_login(athlete)
    make_member(other_gym, Role.COACH, "Ada Lindqvist", email="ada@x.example", account=login.account)
    Membership.objects.filter(gym=other_gym).update(ended_at=timezone.now())
    erase_person(person=athlete.person, by=owner)
    account = Account.objects.get(pk=login.account_id)
    assert account.email.endswith("@erased.invalid")
    assert not account.is_active
    assert not account.has_usable_password()


def test_browsers_of_who_is_erased_are_signed_out_and_others_are_not(client_of, owner, coach, athlete):
    client, other = client_of(make_login(athlete)), client_of(coach)
    waiting = client_of(owner)
    session = waiting.session
    session["_messages"] = "Ada Lindqvist can sign in."
    session.save()
    erase_person(person=athlete.person, by=owner)
    keys = {*Session.objects.values_list("session_key", flat=True)}
    assert keys == {other.session.session_key}
    assert client.get("/").status_code == 303


def test_a_guardian_of_nobody_else_is_signed_out(client, owner, guardian, minor):
    client.post("/account/sign-in/", {"login": guardian.account.email, "password": PASSWORD})
    assert UserSession.objects.filter(user=guardian.account).exists()
    erase_person(person=minor.person, by=owner)
    guardian.refresh_from_db()
    assert guardian.ended_at is not None
    assert not UserSession.objects.filter(user=guardian.account).exists()
    assert Account.objects.filter(pk=guardian.account_id, is_active=True).exists()


def test_the_cache_forgets_them_and_keeps_other_counts(owner, athlete):
    login = make_login(athlete)
    cache.set("count:ada@harbour.example", 3)
    cache.set("greeting", ["hello Ada Lindqvist"])
    cache.set("count:other", 4)
    erase_person(person=login.person, by=owner)
    assert (cache.get("count:ada@harbour.example"), cache.get("greeting"), cache.get("count:other")) == (None, None, 4)
    cache.clear()


def test_notes_about_others_say_erased_for_the_name(owner, coach, athlete, minor):
    about = make_caution(minor, coach).id
    keep_remark(gym=minor.gym, subject=minor.person, about=about, text="Fell on ADA LINDQVIST, who is Adamant.")
    minor.person.notes = "Comes with Ada Lindqvist (ada@harbour.example)."
    minor.person.save()
    make_login(athlete)
    erase_person(person=athlete.person, by=owner)
    assert Remark.objects.get(about=about).text == "Fell on erased, who is Adamant."
    minor.person.refresh_from_db()
    assert minor.person.notes == "Comes with erased (erased)."


def test_one_short_word_is_not_looked_for_in_notes_about_others(owner, coach, minor):
    li = make_athlete(owner.gym, "Li")
    minor.person.notes = "Li said so"
    minor.person.save()
    erase_person(person=li.person, by=owner)
    minor.person.refresh_from_db()
    assert minor.person.notes == "Li said so"


def test_mail_that_names_them_goes_whatever_it_is_packed_in(owner, athlete, data_folder):
    athlete.person.full_name = "Åsa Lindqvist-Ólafsdóttir"
    athlete.person.save()
    backend, folder = "django.core.mail.backends.filebased.EmailBackend", str(data_folder / "mail")
    for words, to in ((f"Dear {athlete.person.full_name}", "a@b.example"), ("Dear Cleo", "cleo@harbour.example")):
        files = get_connection(backend, file_path=folder)  # one for each, since each has a file of its own
        EmailMessage("Hello", words, "gym@localhost", [to], connection=files).send()
    erase_person(person=athlete.person, by=owner)
    (left,) = (data_folder / "mail").iterdir()
    assert "Dear Cleo" in left.read_text()
    assert mail.outbox == []


def test_mail_that_cannot_be_deleted_stops_it(owner, athlete, data_folder, monkeypatch):
    (data_folder / "mail").mkdir()
    (data_folder / "mail" / "1.log").write_text("To: x\n\nDear Ada Lindqvist")
    monkeypatch.setattr("pathlib.Path.unlink", lambda _self: (_ for _ in ()).throw(PermissionError(13, "no")))
    with pytest.raises(MailInTheWay, match=r"1\.log"):
        erase_person(person=athlete.person, by=owner)
    athlete.person.refresh_from_db()
    assert athlete.person.full_name == "Ada Lindqvist"
    assert not list_path().exists()


def test_a_list_that_cannot_be_written_stops_it(owner, athlete, data_folder):
    list_path().mkdir()
    with pytest.raises(ListInTheWay, match="nothing was erased"):
        erase_person(person=athlete.person, by=owner)
    athlete.person.refresh_from_db()
    assert athlete.person.full_name == "Ada Lindqvist"
    assert not Erasure.objects.exists()


def test_it_is_on_the_list_and_in_the_chain_without_a_name(owner, athlete):
    erasure = erase_person(person=athlete.person, by=owner)
    noted, bad = noted_erasures()
    assert [(each.gym_id, each.subject, each.at) for each in noted] == [
        (owner.gym_id, athlete.person_id, erasure.happened_at)
    ]
    assert bad == []
    assert "Ada" not in list_path().read_text()
    entry = AuditEntry.objects.get(act="erased")
    assert json.loads(entry.content)["cause"] == "asked"
    assert (entry.about, entry.actor_id) == (athlete.person_id, owner.id)
    assert first_broken_link(owner.gym) is None


def test_nobody_is_erased_twice(owner, athlete):
    erase_person(person=athlete.person, by=owner)
    with pytest.raises(AlreadyErased):
        erase_person(person=athlete.person, by=owner)
    assert Erasure.objects.count() == 1


def test_the_last_owner_stays_until_there_is_another(owner, gym):
    with pytest.raises(LastOwner):
        erase_person(person=owner.person, by=owner)
    second = make_member(gym, Role.OWNER, "Odo Falk")
    erase_person(person=owner.person, by=second)
    assert AuditEntry.objects.get(act="erased").actor_id == second.id
    with pytest.raises(LastOwner):
        erase_person(person=second.person, by=second)


def test_what_a_tablet_sends_late_brings_no_words_back(owner, coach, athlete):
    erase_person(person=athlete.person, by=owner)
    caution = make_caution(athlete, coach)
    assert len(keep_remark(gym=athlete.gym, subject=athlete.person, about=caution.id, text="Ada’s wrist")) == 64
    assert not Remark.objects.exists()


def test_a_form_that_was_open_meanwhile_brings_no_name_back(owner, coach, athlete):
    stale = Athlete.objects.select_related("person", "gym").get(pk=athlete.pk)
    erase_person(person=athlete.person, by=owner)
    entry = RosterEntry("Ada Lindqvist", None, email="ada@x.example")
    with pytest.raises(AlreadyErased):
        change_athlete(by=coach, athlete=stale, entry=entry)
    assert Person.objects.get(pk=athlete.person_id).full_name == ERASED


@pytest.mark.django_db(transaction=True)
def test_of_two_owners_who_erase_somebody_at_once_one_does(owner, gym, athlete):
    second = make_member(gym, Role.OWNER, "Odo Falk")

    def erased(by: Membership) -> str:
        try:
            erase_person(person=Person.objects.get(pk=athlete.person_id), by=by)
        except AlreadyErased:
            return "already"
        return "erased"

    assert sorted(at_once([partial(erased, by) for by in (owner, second)])) == ["already", "erased"]
    assert Erasure.objects.count() == 1
    assert len(noted_erasures()[0]) == 1
    assert first_broken_link(gym) is None


@pytest.mark.django_db(transaction=True)
def test_of_two_owners_who_erase_themselves_at_once_one_stays(owner, gym):
    second = make_member(gym, Role.OWNER, "Odo Falk")

    def erased(by: Membership) -> str:
        try:
            erase_person(person=Person.objects.get(pk=by.person_id), by=by)
        except LastOwner:
            return "last"
        return "erased"

    assert sorted(at_once([partial(erased, by) for by in (owner, second)])) == ["erased", "last"]
    assert Membership.objects.filter(gym=gym, role=Role.OWNER, ended_at=None).count() == 1


def test_people_ask_for_themselves_and_guardians_for_wards(athlete_member, guardian, minor, athlete, coach):
    assert ask_erasure(by=athlete_member, person=athlete.person).answer == ""
    assert ask_erasure(by=guardian, person=minor.person).asked_by == guardian
    assert ask_erasure(by=guardian, person=guardian.person).person == guardian.person
    for by, person in ((athlete_member, minor.person), (guardian, athlete.person), (coach, athlete.person)):
        with pytest.raises(NotYours):
            ask_erasure(by=by, person=person)


def test_one_request_is_open_for_a_person(athlete_member, athlete):
    ask_erasure(by=athlete_member, person=athlete.person)
    with pytest.raises(AlreadyAsked):
        ask_erasure(by=athlete_member, person=athlete.person)


def test_a_refusal_has_a_reason_and_another_request_may_follow(owner, athlete_member, athlete):
    request = ask_erasure(by=athlete_member, person=athlete.person)
    with pytest.raises(ReasonMissing):
        refuse_erasure(by=owner, request=request, reason=" ")
    refused = refuse_erasure(by=owner, request=request, reason="An insurer still asks.")
    assert (refused.answer, refused.answered_by) == ("refused", owner)
    assert Remark.objects.get(about=request.id).text == "An insurer still asks."
    with pytest.raises(AlreadyAnswered):
        refuse_erasure(by=owner, request=request, reason="Once more.")
    assert ask_erasure(by=athlete_member, person=athlete.person).pk != request.pk


def test_erasing_answers_the_request(owner, athlete_member, athlete):
    request = ask_erasure(by=athlete_member, person=athlete.person)
    erase_person(person=athlete.person, by=owner)
    request.refresh_from_db()
    assert (request.answer, request.answered_by) == (ErasureRequest.Answer.DONE, owner)


def test_the_folder_of_the_tests_is_not_the_gyms(data_folder):
    assert data_folder == settings.DATA_DIR
