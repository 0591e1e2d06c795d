"""The page of who did what, and its file."""

import csv
from datetime import UTC, datetime
from io import StringIO

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from athletes.models import AuditEntry, Person
from athletes.services.audit import record_act
from athletes.services.erasure import erase_person
from skills.services.sessions import start_session
from tests.factories.athletes import Role, make_login, make_member
from tests.helpers.html import elements, words_of


@pytest.fixture(autouse=True)
def data_folder(tmp_path, settings):
    settings.DATA_DIR = tmp_path


def acted(member, number, act="presence_marked", **content):
    for _ in range(number):
        record_act(gym=member.gym, actor=member, act=act, about=member.gym_id, content=content)


def shown(client, **asked) -> list[str]:
    answer = client.get(reverse("acts"), asked)
    assert answer.status_code == 200
    return [" ".join(line.text.split()) for line in elements(answer.content.decode(), "li") if "value" in line.attrs]


def test_acts_stand_with_who_did_them_and_to_whom(client_of, owner, coach, athlete, minor):
    acted(coach, 1, athlete=athlete.id)
    acted(coach, 1, athlete=minor.id)
    acted(owner, 1, act="membership_ended", membership=coach.id, role="coach")
    record_act(gym=owner.gym, actor=None, act="tablet_left", about=owner.gym_id, content={})
    lines = [line.split(" ", 4)[4] for line in shown(client_of(owner))]
    assert lines == [
        "The server noted that a tablet was left",
        "Olga Brandt ended a membership (coach): Cleo Adeyemi",
        f"Cleo Adeyemi marked somebody as here: {minor.number} M. O.",
        f"Cleo Adeyemi marked somebody as here: {athlete.number} Ada Lindqvist",
    ]


def test_a_minor_who_acts_stands_by_initials(client_of, owner, minor):
    acted(make_login(minor), 1, act="attempt_logged")
    (line,) = shown(client_of(owner))
    assert line.endswith(f"{minor.number} M. O. logged an attempt")
    assert "Mia" not in line


def test_who_was_erased_is_nobody_in_acts_of_before(client_of, owner, coach, athlete):
    acted(coach, 1, athlete=athlete.id)
    for person in (coach.person, athlete.person):
        erase_person(person=person, by=owner)
    lines = shown(client_of(owner))
    assert lines[-1].endswith(f"erased marked somebody as here: {athlete.number} erased")
    assert not any("Cleo" in line or "Ada" in line for line in lines)
    assert "Olga Brandt erased what was kept about somebody (asked for)" in lines[0]


def test_acts_of_one_person_in_all_their_roles(client_of, owner, coach, coach_two):
    acted(coach, 2)
    acted(coach_two, 1)
    client = client_of(owner)
    assert len(shown(client, who=coach.person_id)) == 2
    assert len(shown(client, who=coach_two.person_id)) == 1
    assert len(shown(client, who="nobody")) == len(shown(client)) == 3


def test_acts_of_a_month_of_the_gyms_own_zone(client_of, owner, coach):
    # In Berlin it is November already in the last hour of October (UTC).
    for moment in (datetime(2026, 10, 31, 22, 59, tzinfo=UTC), datetime(2026, 10, 31, 23, tzinfo=UTC)):
        with time_machine.travel(moment, tick=False):
            acted(coach, 1)
    client = client_of(owner)
    assert [line.split(" Cleo")[0] for line in shown(client, month="2026-10")] == ["31 Oct 2026 23:59"]
    assert [line.split(" Cleo")[0] for line in shown(client, month="2026-11")] == ["1 Nov 2026 00:00"]
    for nonsense in ("2026-13", "soon", "9999-12", "0000-01"):
        assert client.get(reverse("acts"), {"month": nonsense}).status_code == 200


def test_pages_go_back_without_counting_from_the_top(client_of, owner, coach):
    acted(coach, 120)
    client = client_of(owner)
    seen = shown(client)
    pages = [seen]
    while pages[-1]:
        last = AuditEntry.objects.get(position=120 - sum(map(len, pages)) + 1)
        pages.append(shown(client, before=last.position))
    assert [len(page) for page in pages] == [50, 50, 20, 0]
    answer = client.get(reverse("acts"), {"who": coach.person_id})
    older = next(each for each in elements(answer.content.decode(), "a") if each.text == "Older")
    assert f"who={coach.person_id}" in older.attrs["href"]
    assert len(elements(client.get(reverse("acts") + older.attrs["href"]).content.decode(), "li")) > 20


def test_a_place_that_is_none_is_passed_over(client_of, owner, coach):
    acted(coach, 1)
    for nonsense in ("-1", "0", "x", "9" * 40, "²"):
        assert len(shown(client_of(owner), before=nonsense)) == 1


def test_number_of_queries_does_not_grow_with_the_acts(client_of, owner, coach, athlete, minor):
    client = client_of(owner)

    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            client.get(reverse("acts"))
        return len(asked)

    acted(coach, 2, athlete=athlete.id)
    before = queries()
    acted(coach, 30, athlete=minor.id)
    assert queries() == before == 8


def test_the_file_has_the_same_acts_with_their_seals(client_of, owner, coach, athlete):
    session = start_session(by=coach, name="=cmd()")
    acted(coach, 600, athlete=athlete.id)
    answer = client_of(owner).get(reverse("acts_csv"), {"who": coach.person_id})
    assert answer["Content-Disposition"] == 'attachment; filename="harbour-acts.csv"'
    assert answer["Cache-Control"] == "no-store"
    rows = list(csv.DictReader(StringIO(b"".join(answer.streaming_content).decode("utf-8-sig"), newline="")))
    assert [int(row["position"]) for row in rows] == list(range(1, 602))
    assert rows[0]["about"] == str(session.id)
    assert rows[-1]["whom"] == f"{athlete.number} Ada Lindqvist"
    assert {row["seal"] for row in rows} == {*AuditEntry.objects.values_list("seal", flat=True)}


def test_another_gym_has_acts_of_its_own(client_of, coach, athlete, other_gym):
    acted(coach, 1, athlete=athlete.id)
    client = client_of(make_member(other_gym, Role.OWNER, "Oona Varga"))
    assert shown(client) == []
    assert shown(client, who=coach.person_id) == []
    assert "No acts" in words_of(client.get(reverse("acts")))


def test_a_name_is_text_and_nothing_else(client_of, owner, coach):
    Person.objects.filter(pk=coach.person_id).update(full_name="<b>Cleo</b>")
    acted(coach, 1)
    assert b"<b>Cleo" not in client_of(owner).get(reverse("acts")).content
