"""Pages of safety: one tap in a class, risk notes to read, incidents, equipment."""

import csv
import io
from datetime import timedelta

import pytest
from django.utils import timezone

from athletes.models import Caution, SkinNote
from skills.models import EquipmentCheck, Incident, IncidentNote, RiskRead
from skills.queries.risk_notes import notes_of
from skills.services.safety import CheckEntry, IncidentEntry, check_equipment, log_incident
from tests.factories.athletes import make_consent
from tests.factories.skills import days_before_now, library, log, start_class, step_of
from tests.helpers.html import text_of


@pytest.fixture(autouse=True)
def _skills(gym, owner):
    library(gym, owner)


@pytest.fixture
def klass(coach, athlete, minor):
    return start_class(coach, athlete, minor)


# ---- In a class -------------------------------------------------------------------------------------------


def unwell(client, klass, athlete, what, **headers):
    address = f"/sessions/{klass.id}/athletes/{athlete.id}/unwell/"
    return client.post(address, {"what": what}, headers=headers)


def test_dizziness_and_torn_skin_are_one_tap_and_lead_back_to_the_panel(client_of, coach, klass, athlete):
    client = client_of(coach)
    panel = f"/sessions/{klass.id}/athletes/{athlete.id}/"
    for what in ("dizzy", "skin"):
        answer = unwell(client, klass, athlete, what)
        assert (answer.status_code, answer["Location"]) == (303, panel)
    assert Caution.objects.get().loads == ["inversion"]
    assert "Torn skin, shown until" in text_of(client.get(f"/sessions/{klass.id}/"))
    assert SkinNote.objects.get().athlete == athlete


def test_with_htmx_the_panel_comes_back_and_the_tile_says_it(client_of, coach, klass, athlete):
    told = text_of(unwell(client_of(coach), klass, athlete, "skin", **{"HX-Request": "true"}))
    assert "Torn skin, shown until" in told
    assert "Torn skin is noted and shown for a week. Nothing is paused." in told


def test_anything_else_is_asked_again(client_of, coach, klass, athlete):
    assert unwell(client_of(coach), klass, athlete, "bored").status_code == 422
    assert not Caution.objects.exists()


def test_where_it_hurt_is_pain_too_and_stands_beside_the_caution(client_of, coach, klass, athlete, gym):
    client = client_of(coach)
    panel = client.get(f"/sessions/{klass.id}/athletes/{athlete.id}/")
    form = panel.context["form"].initial
    sent = {name: form[name] for name in ("id", "athlete", "step", "assistance", "source")}
    said = {"seconds": "4.2", "reps": "1", "verdict": "marked", "pain_where": "shoulder", "pain_side": "left"}
    client.post(f"/sessions/{klass.id}/attempts/", {**sent, **said, "note": "at once"})
    (told,) = client.get(f"/athletes/{athlete.id}/").context["cautions"]
    assert told.reason == "Pain: left shoulder. at once"


# ---- Risk notes -------------------------------------------------------------------------------------------


def test_today_lists_what_is_to_be_read_until_it_is(client_of, coach_two, gym):
    client, step = client_of(coach_two), step_of(gym, "pullover-6")
    start_class(coach_two, focus="pullover-6")
    (asked,) = client.get("/today/").context["unread"]
    assert asked.step == step
    read = f"/risk-notes/{step.id}/read/"
    assert "have changed meanwhile" in text_of(client.post(read, {"digest": "old"}, follow=True))
    assert not RiskRead.objects.exists()
    client.post(read, {"digest": asked.digest})
    assert (RiskRead.objects.get().coach, client.get("/today/").context["unread"]) == (coach_two, [])


def test_logging_waits_for_no_reading(coach, athlete, gym):
    assert log(coach, athlete, "pullover-1", 5.0).is_clean
    assert not RiskRead.objects.exists()


def test_the_step_page_shows_the_notes_by_place(client_of, coach, gym):
    shown = text_of(client_of(coach).get("/skills/bar-pullover/pullover-6/"))
    for note in notes_of(step_of(gym, "pullover-6")).notes:
        assert note.title in shown


# ---- Incidents --------------------------------------------------------------------------------------------


def incident_of(coach, athlete=None, **more):
    said = {"kind": "fall", "happened_at": timezone.now(), "words": "Slipped off.", "athlete": athlete, **more}
    return log_incident(by=coach, entry=IncidentEntry(**said))


def form_of(athlete, **more):
    now = days_before_now(0)
    said = {"kind": "fall", "day": f"{now:%Y-%m-%d}", "time": f"{now:%H:%M}", "words": "Slipped off the bar."}
    return {**said, "athlete": athlete.id, **more}


def test_an_incident_is_written_down_shown_and_added_to(client_of, coach, klass, minor, gym):
    client = client_of(coach)
    step = step_of(gym, "pullover-6")
    shown = client.get(f"/incidents/add/?athlete={minor.id}&session={klass.id}&step={step.id}").context["form"]
    assert [shown[name].value() for name in ("athlete", "session", "step")] == [
        str(minor.id),
        str(klass.id),
        str(step.id),
    ]
    sent = form_of(minor, session=klass.id, step=step.id, first_aid="on")
    answer = client.post("/incidents/add/", sent)
    row = Incident.objects.get()
    assert (answer.status_code, answer["Location"]) == (303, f"/incidents/{row.id}/")
    assert (row.kind, row.athlete, row.session, row.step, row.first_aid, row.doctor) == (
        "fall", minor, klass, step, True, False
    )  # fmt: skip
    client.post(f"/incidents/{row.id}/note/", {"words": "Mats lie closer now."})
    page = text_of(client.get(f"/incidents/{row.id}/"))
    assert "Slipped off the bar." in page
    assert "Mats lie closer now." in page
    assert client.post(f"/incidents/{row.id}/note/", {"words": " "}).status_code == 422
    assert IncidentNote.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"kind": ""}, "kind"),
        ({"words": ""}, "words"),
        ({"day": "soon"}, "day"),
        ({"day": "2999-01-01"}, "day"),
        ({"time": "25:00"}, "time"),
        ({"athlete": "01a22f06-9bb1-7610-85a0-4a0ee19d4767"}, "athlete"),
    ],
)
def test_bad_input_is_told_beside_its_field_and_stays(client_of, coach, athlete, wrong, field):
    answer = client_of(coach).post("/incidents/add/", {**form_of(athlete), **wrong})
    assert answer.status_code == 422
    assert [*answer.context["form"].errors] == [field]
    assert not Incident.objects.exists()
    kept = "" if field == "words" else "Slipped off the bar."
    assert answer.context["form"]["words"].value() == kept


def test_minors_stand_by_initials_on_the_list_and_as_was_agreed_in_the_owners_file(client_of, coach, owner, minor):
    incident_of(coach, minor, words="=SUM(A1)")
    name, initials = minor.person.full_name, minor.person.initials
    for member in (coach, owner):
        listed = text_of(client_of(member).get("/incidents/"))
        assert initials in listed
        assert name not in listed
    for shown in (initials, name):
        file = client_of(owner).get("/incidents/file.csv").content.decode("utf-8-sig")
        (row,) = csv.DictReader(io.StringIO(file))
        assert (row["athlete"], row["minor"], row["what_happened"]) == (shown, "yes", "'=SUM(A1)")
        make_consent(minor, by=coach, kind="reports")
    assert client_of(coach).get("/incidents/file.csv").status_code == 403


def test_a_period_takes_both_of_its_days(client_of, owner, coach):
    days = [incident_of(coach, happened_at=days_before_now(ago)) for ago in (3, 2, 1)]
    second = f"{days_before_now(2):%Y-%m-%d}"
    client = client_of(owner)
    assert [*client.get("/incidents/", {"first": second, "last": second}).context["incidents"]] == [days[1]]
    file = client.get("/incidents/file.csv", {"first": second, "last": second}).content.decode()
    assert file.count("\r\n") == 2
    bad = client.get("/incidents/file.csv", {"first": second, "last": "2020-01-01"})
    assert (bad.status_code, [*bad.context["form"].errors]) == (422, ["last"])


@pytest.mark.parametrize("many", [1, 12])
def test_the_list_costs_the_same_whatever_its_length(client_of, coach, athlete, django_assert_num_queries, many):
    for _ in range(many):
        incident_of(coach, athlete)
    client = client_of(coach)
    client.get("/incidents/")
    with django_assert_num_queries(4):
        client.get("/incidents/")


# ---- Equipment --------------------------------------------------------------------------------------------


def test_a_check_is_recorded_and_what_is_not_fit_stays_on_todays_page(client_of, coach):
    client = client_of(coach)
    assert client.post("/equipment/check/", {"item": "High bar", "fit": "no"}).status_code == 422
    said = {"item": "High bar", "fit": "no", "reason": "A hook does not lock.", "found": ["mats"]}
    assert client.post("/equipment/check/", said)["Location"] == "/equipment/"
    for address in ("/today/", "/equipment/"):
        told = text_of(client.get(address))
        assert "High bar: not fit for use" in told
        assert "A hook does not lock." in told
    client.post("/equipment/check/", {"item": "High bar", "fit": "yes", "found": ["hooks"]})
    assert "not fit for use" not in text_of(client.get("/today/"))
    assert EquipmentCheck.objects.count() == 2


def test_holes_that_differ_need_a_word(client_of, coach):
    said = {"item": "Low bar", "fit": "yes", "hole_left": "4", "hole_right": "5"}
    answer = client_of(coach).post("/equipment/check/", said)
    assert [*answer.context["form"].errors] == ["reason"]
    assert client_of(coach).post("/equipment/check/", {**said, "reason": "Uneven floor."}).status_code == 303


def test_the_owner_takes_the_checks_of_a_period_as_a_file(client_of, coach, owner):
    check_equipment(by=coach, entry=CheckEntry(item="@bar", fit=True, found=("bar",), hole_left=3, hole_right=3))
    today = timezone.localdate()
    client = client_of(owner)
    (row,) = csv.DictReader(io.StringIO(client.get("/equipment/file.csv").content.decode("utf-8-sig")))
    assert (row["item"], row["fit"], row["hole_left"], row["checked_by"]) == (
        "'@bar", "yes", "3", coach.person.full_name
    )  # fmt: skip
    before = {"last": f"{today - timedelta(days=2)}"}
    assert client.get("/equipment/file.csv", before).content.decode().count("\r\n") == 1
    assert client_of(coach).get("/equipment/file.csv").status_code == 403


def test_another_gym_sees_nothing_of_it(client_of, coach, other_coach, athlete):
    row = incident_of(coach, athlete)
    check_equipment(by=coach, entry=CheckEntry(item="High bar", fit=True))
    client = client_of(other_coach)
    assert client.get(f"/incidents/{row.id}/").status_code == 404
    assert [*client.get("/incidents/").context["incidents"]] == []
    assert client.get("/equipment/").context["checks"] == []
    assert client.post("/incidents/add/", form_of(athlete)).status_code == 422
