"""The archive of a person: everything that is kept about them, and nothing about anybody else."""

import csv
import json
from datetime import date
from io import BytesIO, StringIO
from zipfile import ZipFile

import pytest
from allauth.mfa.models import Authenticator
from django.apps import apps
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from athletes.core.kept import TABLES, Erasing
from athletes.models import Athlete, AuditEntry, Membership
from athletes.services.audit import first_broken_link
from athletes.services.remarks import keep_remark
from athletes.services.rights import note_rights
from gymtrack.lib.ids import new_id
from skills.core.class_shape import Words
from skills.core.portions import Portion
from skills.core.rotation.asks import Apart
from skills.core.weeks import monday_of
from skills.queries.archives import _DOERS, ELSEWHERE, WITHHELD
from skills.services.archives import NotTheirs, take_archive
from skills.services.attempts import void_attempt
from skills.services.cautions import enter_caution, lift_caution
from skills.services.class_plans import plan_class
from skills.services.doses import DoseOrder, change_dose
from skills.services.own_practice import OwnEntry, enter_own_practice
from tests.factories.athletes import (
    Role,
    make_account,
    make_athlete,
    make_consent,
    make_guardian,
    make_login,
    make_measure,
    make_member,
    years_before_today,
)
from tests.factories.class_plans import SHORT, make_hall, make_measured
from tests.factories.skills import library, log, page_of, start_class, step_of
from tests.helpers import canary

OTHERS = ("zebracanary", "198.51.100.9")  # RFC 5737: nobody's


@pytest.fixture
def xylia(gym) -> Athlete:
    """She practises, coaches, and has a log-in."""
    return make_athlete(gym, canary.NAME)


@pytest.fixture
def her_membership(xylia) -> Membership:
    member = Membership.objects.create(
        gym=xylia.gym, account=make_account(canary.MAIL), person=xylia.person, role=Role.COACH, may_log=True
    )
    note_rights(membership=member, rights=["may_log"], at=member.started_at)
    return member


@pytest.fixture
def everywhere(gym, owner, xylia, her_membership) -> canary.Seeding:
    """A row about her in every table that can lead to a person, canaries wherever words can stand."""
    library(gym, owner)
    seeding = canary.Seeding(gym, xylia.person, her_membership)
    seeding._rows["athletes.Athlete"] = xylia
    seeding.seed_all()
    xylia.person.refresh_from_db()
    return seeding


@pytest.fixture
def zeno(gym, her_membership, owner) -> Athlete:
    """Somebody else, whom she coaches, with other canaries wherever words can stand about an athlete."""
    zeno = make_athlete(gym, "Zeno Zebracanary", birth_on=years_before_today(15))
    zeno.person.notes, zeno.person.email = "zebracanary notes", "z@zebracanary.example"
    zeno.person.save()
    zeno.emergency_contacts.create(
        gym=gym,
        name="Zebracanary",
        relation="zebracanary",
        phone="1",
        entered_by=her_membership,
        entered_at=timezone.now(),
    )
    make_measure(zeno, stature_m="1.234", mass_kg="56.78")
    make_login(zeno, email="zeno@zebracanary.example")
    make_guardian(zeno, "Gro Zebracanary")
    make_consent(zeno, by=her_membership, kind="spotting")
    keep_remark(gym=gym, subject=zeno.person, about=zeno.id, text="zebracanary fell")
    return zeno


def opened(archive: bytes) -> tuple[ZipFile, dict]:
    file = ZipFile(BytesIO(archive))
    assert file.testzip() is None
    return file, json.loads(file.read("data.json"))


def all_words(archive: bytes) -> str:
    file, _ = opened(archive)
    return "\n".join(file.read(name).decode("utf-8-sig") for name in file.namelist())


def file_of(label: str) -> str:
    return label.lower().replace(".", "-")


def test_every_table_about_people_is_in_it_or_is_told_elsewhere(everywhere, her_membership):
    _, document = opened(take_archive(by=her_membership, person=her_membership.person))
    about_people = {label for label, line in TABLES.items() if line.erasing is not Erasing.NONE}
    missing = {label for label in about_people - ELSEWHERE.keys() if file_of(label) not in document["tables"]}
    assert missing == set(), "say in athletes/core/kept.py by which ways its rows lead to a person"
    empty = {label for label in about_people - ELSEWHERE.keys() if not document["tables"][file_of(label)]["rows"]}
    assert empty == set()
    assert document["tables"]["acts"]["rows"]


def test_every_word_about_her_is_in_it(everywhere, her_membership):
    _, document = opened(take_archive(by=her_membership, person=her_membership.person))
    missing = []
    for label, line in TABLES.items():
        if label in ELSEWHERE or not line.of:
            continue
        row = everywhere.row(label)
        row.refresh_from_db()
        told = document["tables"][file_of(label)]["rows"]
        for name in {*line.empties, *line.gyms_words, *line.codes} - {*WITHHELD.get(label, ())}:
            kept = getattr(row, name)
            plain = kept.isoformat() if isinstance(kept, date) else kept
            if (label, name) == ("mfa.Authenticator", "data"):
                plain = ""  # no passkey: a name is all of it that is told
            if not any(each[name] == plain for each in told):
                missing.append((label, name, plain))
    assert missing == []


def test_every_needle_in_the_tables_of_the_database_is_in_it(everywhere, her_membership):
    """Whatever table has a canary: so has the file of that table in the archive, as JSON and as CSV."""
    file, document = opened(take_archive(by=her_membership, person=her_membership.person))
    tables = canary.tables_with_canaries()
    by_table = {apps.get_model(label)._meta.db_table: label for label in TABLES}
    wordy = {by_table[table] for table in tables if table in by_table} - ELSEWHERE.keys()
    wordy = {label for label in wordy if TABLES[label].erasing is not Erasing.NONE}
    assert len(wordy) >= 8
    for label in wordy:
        name = file_of(label)
        assert canary.found_in(json.dumps(document["tables"][name], ensure_ascii=False)), label
        assert canary.found_in(file.read(f"tables/{name}.csv").decode("utf-8-sig")), label


def test_nobody_elses_words_are_in_it(everywhere, zeno, her_membership):
    log(her_membership, zeno, "pullover-1", 4.4, note="zebracanary’s left hand")
    words = all_words(take_archive(by=her_membership, person=her_membership.person)).casefold()
    assert canary.found_in(words) == [*canary.NEEDLES]
    assert [needle for needle in OTHERS if needle in words] == []
    assert "1.234" not in words


def test_of_what_a_coach_wrote_about_others_there_are_the_moments_alone(everywhere, zeno, her_membership):
    attempt = log(her_membership, zeno, "pullover-1", 4.4)
    _, document = opened(take_archive(by=her_membership, person=her_membership.person))
    rows = document["tables"]["skills-attempt-about-others"]["rows"]
    assert [row["id"] for row in rows] == [str(attempt.id)]
    assert rows[0].keys() == {"id", "happened_at", "recorded_at"}
    assert str(attempt.id) not in {row["id"] for row in document["tables"]["skills-attempt"]["rows"]}


def test_whoever_wrote_about_an_athlete_is_a_doer():
    """Or their archive would hold the athlete's row as if it were about them."""
    lines = [line for line in TABLES.values() if any(_leads_to_athlete(way) for way in line.of)]
    wrote = {way for line in lines for way in line.of if not _leads_to_athlete(way)}
    assert {way.removesuffix("__person") for way in wrote} - {"person", "guardian"} <= _DOERS


def _leads_to_athlete(way: str) -> bool:
    return "athlete" in way.split("__")


def test_a_changed_dose_is_the_athletes_and_of_the_coach_the_moment(athlete, athlete_member, owner, her_membership):
    library(owner.gym, owner)
    change_dose(by=her_membership, athlete=athlete, step=page_of(owner.gym, "pullover-1"), order=_less(athlete))
    _, mine = opened(take_archive(by=athlete_member, person=athlete.person))
    (row,) = mine["tables"]["skills-dosechange"]["rows"]
    assert (row["athlete"], row["hold_seconds"], row["words"]) == ("1 Ada Lindqvist", 10, "Hips are tight.")
    assert row["changed_by"] == canary.NAME
    _, hers = opened(take_archive(by=her_membership, person=her_membership.person))
    assert not hers["tables"]["skills-dosechange"]["rows"]
    (moment,) = hers["tables"]["skills-dosechange-about-others"]["rows"]
    assert moment.keys() == {"id", "happened_at", "recorded_at"}


def _less(athlete: Athlete) -> DoseOrder:
    monday = monday_of(timezone.localdate(timezone=athlete.gym.zone))
    portion = Portion(sets=2, reps=2, hold_seconds=10, rest_seconds=90, days=2)
    return DoseOrder(week_on=monday, portion=portion, reason="Hips are tight.")


def test_of_a_plan_of_a_class_everybody_has_their_own_places_and_of_its_maker_the_moment(  # noqa: PLR0917 (fixtures)
    gym, owner, athlete, athlete_member, zeno, her_membership
):
    library(gym, owner)
    make_hall(gym)
    for somebody in (athlete, zeno):
        make_measured(somebody)
    session = start_class(her_membership, athlete, zeno, name="Monday class")
    words = Words(apart=(Apart(str(athlete.id), str(zeno.id)),))
    plan = plan_class(by=her_membership, session=session, shape=SHORT, words=words)
    archive = take_archive(by=athlete_member, person=athlete.person)
    (row,) = opened(archive)[1]["tables"]["class-plans"]["rows"]
    assert (row["number"], row["kept_apart_from"], row["id"]) == (1, 1, str(plan.id))
    assert {place["rotation"] for place in row["places"]} == {1, 2}
    might = {(choice["step"], station) for choice in row["might_do"] for station in choice["stations"]}
    assert {(place["step"], place["station"]) for place in row["places"]} <= might
    assert str(zeno.id) not in all_words(archive)
    made = take_archive(by=her_membership, person=her_membership.person)
    tables = opened(made)[1]["tables"]
    assert not tables["class-plans"]["rows"]
    assert [each["id"] for each in tables["skills-classplan-about-others"]["rows"]] == [str(plan.id)]
    assert str(athlete.id) not in all_words(made)


def test_own_practice_and_measures_are_in_it(coach, owner, athlete, athlete_member):
    library(coach.gym, owner)
    make_measure(athlete, stature_m="1.701", mass_kg="61.50")
    today = timezone.localdate(timezone=athlete.gym.zone)
    step_id = step_of(athlete.gym, "pullover-1").id
    own = OwnEntry(new_id(), athlete.id, step_id, today, sets=3, hold_tenths=50, pain=True, note="left elbow")
    enter_own_practice(by=athlete_member, entry=own)
    tables = opened(take_archive(by=athlete_member, person=athlete.person))[1]["tables"]
    (attempt,) = tables["skills-attempt"]["rows"]
    assert (attempt["source"], attempt["pain"], attempt["words"]) == ("own", True, "left elbow")
    (caution,) = tables["athletes-caution"]["rows"]
    assert caution["words"] == "left elbow"
    (measure,) = tables["athletes-bodymeasure"]["rows"]
    assert (float(measure["stature_m"]), float(measure["mass_kg"])) == (1.701, 61.5)


def test_no_secret_is_in_it(everywhere, her_membership):
    words = all_words(take_archive(by=her_membership, person=her_membership.person))
    for label, columns in WITHHELD.items():
        row = everywhere.row(label)
        for column in columns:
            secret = getattr(row, column)
            if not isinstance(secret, str):
                continue  # which log-in: the one in use stands in a table of its own
            assert len(secret) < 8 or secret not in words, (label, column)
    _, document = opened(take_archive(by=her_membership, person=her_membership.person))
    for label, columns in WITHHELD.items():
        assert not {*columns} & {*document["tables"][file_of(label)]["columns"]}
    assert her_membership.account.password not in words


def test_of_a_passkey_the_name_alone_is_in_it(athlete_member):
    data = {"name": "my blue key", "credential": "zebra-secret"}
    Authenticator.objects.create(user=athlete_member.account, type="webauthn", data=data)
    words = all_words(take_archive(by=athlete_member, person=athlete_member.person))
    assert "my blue key" in words
    assert "zebra-secret" not in words


def test_document_and_spreadsheets_agree(everywhere, her_membership):
    file, document = opened(take_archive(by=her_membership, person=her_membership.person))
    for name, table in document["tables"].items():
        if not table["rows"]:
            assert f"tables/{name}.csv" not in file.namelist()
            continue
        text = file.read(f"tables/{name}.csv").decode("utf-8-sig")
        first, *rows = csv.reader(StringIO(text, newline=""))
        assert first == table["columns"]
        assert len(rows) == len(table["rows"])


def test_no_cell_runs_in_a_spreadsheet(athlete, athlete_member):
    athlete.person.notes = '=HYPERLINK("http://x.example")'
    athlete.person.save()
    file, document = opened(take_archive(by=athlete_member, person=athlete.person))
    assert b"'=HYPERLINK" in file.read("tables/athletes-person.csv")
    assert document["tables"]["athletes-person"]["rows"][0]["notes"].startswith("=HYPERLINK")


def test_a_coach_stands_by_name_and_what_they_did_in_words(athlete, athlete_member, coach, owner):
    library(coach.gym, owner)
    log(coach, athlete, "pullover-1", 4.4, note="left hand first")
    _, document = opened(take_archive(by=athlete_member, person=athlete.person))
    (attempt,) = document["tables"]["skills-attempt"]["rows"]
    assert attempt["logged_by"] == "Cleo Adeyemi"
    assert attempt["athlete"] == "1 Ada Lindqvist"
    assert attempt["step"].startswith("pullover-1 ")
    assert attempt["hold_tenths"] == 44
    assert attempt["words"] == "left hand first"
    assert [row["text"] for row in document["tables"]["athletes-remark"]["rows"]] == ["left hand first"]
    acts = [(row["who"], row["did"], row["by_the_person"]) for row in document["tables"]["acts"]["rows"]]
    assert ("Cleo Adeyemi", "logged an attempt", False) in acts


def test_voids_cautions_and_lifts_stand_with_their_reasons(athlete, athlete_member, coach, owner):
    library(coach.gym, owner)
    silent = log(coach, athlete, "pullover-1", 3.3)
    void_attempt(by=coach, attempt=silent, reason="Wrong athlete")
    attempt = log(coach, athlete, "pullover-1", 4.4, note="left hand first")
    void_attempt(by=coach, attempt=attempt, reason="Wrong clock")
    caution = enter_caution(
        by=coach,
        athlete=athlete,
        loads=frozenset({"hanging"}),
        from_at=timezone.now(),
        until_at=None,
        reason="Sore left wrist",
    )
    lift_caution(by=coach, caution=caution)
    _, document = opened(take_archive(by=athlete_member, person=athlete.person))
    tables = document["tables"]
    told = {row["attempt"]: row["words"] for row in tables["skills-attemptvoid"]["rows"]}
    assert told == {str(silent.id): "Wrong athlete", str(attempt.id): "Wrong clock"}
    told = {row["id"]: row["words"] for row in tables["skills-attempt"]["rows"]}
    assert told == {str(silent.id): "", str(attempt.id): "left hand first"}
    assert [row["words"] for row in tables["athletes-caution"]["rows"]] == ["Sore left wrist"]
    assert [row["caution"] for row in tables["athletes-cautionlift"]["rows"]] == [str(caution.id)]
    assert [row["lifted_by"] for row in tables["athletes-cautionlift"]["rows"]] == ["Cleo Adeyemi"]


def test_a_class_stands_by_name_and_beginning(athlete, athlete_member, coach, owner):
    library(coach.gym, owner)
    session = start_class(coach, athlete, name="Monday class")
    _, document = opened(take_archive(by=athlete_member, person=athlete.person))
    began = session.starts_at.astimezone(coach.gym.zone)
    assert [row["session"] for row in document["tables"]["skills-attendance"]["rows"]] == [
        f"Monday class, {began:%Y-%m-%d %H:%M}"
    ]


def test_an_owner_makes_it_for_anybody_without_their_log_in(owner, athlete, athlete_member):
    _, document = opened(take_archive(by=owner, person=athlete.person))
    assert document["person"]["full_name"] == "Ada Lindqvist"
    assert not [name for name in document["tables"] if name.startswith(("account", "mfa", "usersessions"))]
    assert "athletes-account" not in document["tables"]
    _, mine = opened(take_archive(by=athlete_member, person=athlete.person))
    assert mine["tables"]["athletes-account"]["rows"][0]["email"] == "ada@harbour.example"


def test_of_log_ins_it_holds_the_one_that_it_is_taken_with_alone(athlete, athlete_member, gym):
    account = make_account("somebody.else@harbour.example")
    Membership.objects.create(
        gym=gym, account=account, person=athlete.person, role=Role.ATHLETE, athlete=athlete, ended_at=timezone.now()
    )
    words = all_words(take_archive(by=athlete_member, person=athlete.person))
    assert athlete_member.account.email in words
    assert account.email not in words


def test_a_guardian_has_it_of_a_minor_until_they_come_of_age(guardian, minor):
    assert opened(take_archive(by=guardian, person=minor.person))[1]["person"]["full_name"] == "Mia Okafor"
    minor.person.birth_on = years_before_today(18)
    minor.person.save()
    with pytest.raises(NotTheirs):
        take_archive(by=guardian, person=minor.person)


@pytest.mark.parametrize("who", ["coach", "guardian", "other_coach"])
def test_nobody_else_has_it(request, athlete, who):
    with pytest.raises(NotTheirs):
        take_archive(by=request.getfixturevalue(who), person=athlete.person)
    assert not AuditEntry.objects.filter(act="archive_taken").exists()


def test_an_owner_of_another_gym_has_it_not(other_gym, athlete):
    with pytest.raises(NotTheirs):
        take_archive(by=make_member(other_gym, Role.OWNER, "Oona Varga"), person=athlete.person)


def test_it_holds_one_gym_alone(athlete, athlete_member, other_gym):
    elsewhere = make_member(
        other_gym, Role.COACH, "Ada Elsewhere", account=athlete_member.account, email="a@uptown.example"
    )
    words = all_words(take_archive(by=athlete_member, person=athlete.person))
    assert "Elsewhere" not in words
    assert "Uptown" not in words
    assert "Lindqvist" not in all_words(take_archive(by=elsewhere, person=elsewhere.person))


def test_that_it_was_taken_is_in_the_chain(owner, athlete):
    take_archive(by=owner, person=athlete.person)
    entry = AuditEntry.objects.get(act="archive_taken")
    assert (entry.actor, entry.about) == (owner, athlete.person_id)
    assert "Ada" not in entry.content
    assert first_broken_link(owner.gym) is None


def test_the_text_to_read_first_says_whose_it_is(owner, athlete):
    file, _ = opened(take_archive(by=owner, person=athlete.person))
    text = file.read("README.txt").decode("utf-8-sig")
    assert text.startswith("EVERYTHING THAT Harbour Hall KEEPS ABOUT Ada Lindqvist\r\n")
    assert "by Olga Brandt, owner" in text
    assert "Backups" in text
    assert "- athletes-person: 1" in text


def test_a_longer_history_takes_no_more_queries(owner, coach, athlete, athlete_member):
    library(coach.gym, owner)

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            take_archive(by=athlete_member, person=athlete.person)
        return len(seen)

    log(coach, athlete, "pullover-1", 4.4, note="first")
    one = queries()
    for seconds in (2.2, 3.3, 5.5):
        log(coach, athlete, "pullover-1", seconds, note="more")
    assert queries() == one
