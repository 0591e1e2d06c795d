"""Pages of a class plan: having it made, moving people in it, what clashes, what is left out."""

import re
from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from athletes.services.erasure import erase_person
from skills.core.rotation.asks import Pin
from skills.forms.class_plans import pin_code
from skills.models import ClassPlan
from skills.queries.class_asks import words_of
from skills.services import planning
from skills.services.cautions import enter_caution
from skills.services.sessions import end_session, unmark_present
from tests.factories.athletes import make_athlete, years_before_today
from tests.factories.bars import check_hole
from tests.factories.class_plans import SHORT, make_hall, make_measured, make_plan, plans_of
from tests.factories.skills import library, reach, start_class
from tests.helpers.attempt_forms import text_of

LENGTHS = {
    "minutes": "40", "warm_up_minutes": "10", "rotation_minutes": "15", "coaches": "1", "judges": "1",
    "most_resets": "1", "reset_minutes": "3",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _in_the_afternoon():
    """Far from midnight, which parts one day's checks from the next one's."""
    with time_machine.travel(datetime(2026, 6, 1, 15, 0, tzinfo=UTC)):
        yield


@pytest.fixture
def athletes(coach):
    library(coach.gym)
    found = [make_athlete(coach.gym, name) for name in ("Ada Berg", "Bo Chen", "Cara Dahl")]
    for athlete in found:
        make_measured(athlete)
    return found


@pytest.fixture
def hall(gym):
    return make_hall(gym)


@pytest.fixture
def session(coach, athletes, hall):
    return start_class(coach, *athletes)


def plan_page(client, session):
    return client.get(reverse("class_plan", args=[session.id]))


def make(client, session, **more):
    return client.post(reverse("class_plan_make", args=[session.id]), {**LENGTHS, **more}, follow=True)


def fields_of(response, button):
    """The hidden fields of the form whose button begins like this."""
    html = response.content.decode()
    for form in re.findall(r"<form.*?</form>", html, re.DOTALL):
        if re.search(rf'row-name"><bdi>{re.escape(button)}', form):
            found: dict[str, list[str]] = {}
            for name, value in re.findall(r'name="([^"]+)" value="([^"]*)"', form):
                found.setdefault(name, []).append(value)
            found.pop("csrfmiddlewaretoken", None)
            return found
    raise AssertionError(f"no button {button!r}")


def test_a_class_is_planned_from_the_page(client_of, coach, session):
    client = client_of(coach)
    assert "3 people are here, 4 stations described" in text_of(plan_page(client, session))
    page = text_of(make(client, session))
    assert "Rotation 2" in page
    assert "1 Ada Berg" in page
    assert "This is the best plan there is under these rules." in page
    assert "Before anybody hangs" in page
    assert plans_of(session).rotations == 2


def test_the_form_opens_with_the_lengths_of_the_last_class_of_that_name(client_of, coach, session, athletes):
    make_plan(coach, session)
    end_session(by=coach, session=session)
    form = plan_page(client_of(coach), start_class(coach, *athletes)).context["form"]
    opened = {name: form[name].value() for name in ("minutes", "warm_up_minutes", "rotation_minutes", "judges")}
    assert opened == {"minutes": 40, "warm_up_minutes": 10, "rotation_minutes": 15, "judges": 1}
    assert "afresh" not in text_of(plan_page(client_of(coach), session))


@pytest.mark.parametrize(
    ("changed", "fields"),
    [
        ({"minutes": "12"}, ["minutes"]),
        ({"minutes": "an hour"}, ["minutes"]),
        ({"coaches": ""}, ["coaches"]),
        ({"coaches": "1", "judges": "3"}, ["judges"]),
        ({"most_resets": "often"}, ["most_resets"]),
        ({"first_rotation": "7"}, ["first_rotation"]),
    ],
)
def test_a_mistake_stands_beside_its_field_and_nothing_is_lost(client_of, coach, session, changed, fields):
    response = client_of(coach).post(reverse("class_plan_make", args=[session.id]), {**LENGTHS, **changed})
    assert response.status_code == 422
    assert list(response.context["form"].errors) == fields
    assert 'value="15"' in response.content.decode()
    assert not ClassPlan.objects.exists()


def test_nobody_here_and_no_station_are_said_above_the_form(client_of, coach, athletes, hall):
    assert "Nobody is here yet" in text_of(make(client_of(coach), start_class(coach)))


def test_somebody_is_fixed_and_freed_by_a_tap(client_of, coach, session, athletes, hall):
    client, ada = client_of(coach), athletes[0]
    make(client, session)
    person = reverse("class_plan_person", args=[session.id, ada.id, 1])
    fields = fields_of(client.get(person), "Fix at floor")
    page = client.post(reverse("class_plan_make", args=[session.id]), fields, follow=True)
    assert page.redirect_chain == [(f"/sessions/{session.id}/plan/#rotation-2", 303)]
    assert "1 Ada Berg is fixed at floor in rotation 2." in text_of(page)
    assert text_of(page).count("1 Ada Berg fixed") == 1
    whole = plans_of(session)
    assert [s.station for s in whole.seats(1) if s.person == str(ada.id)] == [str(hall["floor"].id)]
    freed = fields_of(client.get(person), "No longer fixed")
    page = text_of(client.post(reverse("class_plan_make", args=[session.id]), freed, follow=True))
    assert "is fixed at" not in page
    assert "1 Ada Berg fixed" not in page
    assert words_of(plans_of(session)).pins == ()


def test_two_swap_by_two_taps(client_of, coach, session, athletes):
    client = client_of(coach)
    make(client, session)
    whole = plans_of(session)
    seats = {seat.person: seat.station for seat in whole.seats(0)}
    one, other = next(
        (one, other) for one in athletes for other in athletes if seats[str(one.id)] != seats[str(other.id)]
    )
    page = client.get(reverse("class_plan_person", args=[session.id, one.id, 0]))
    fields = fields_of(page, f"Swap with {other.number} {other.person.full_name}")
    client.post(reverse("class_plan_make", args=[session.id]), fields)
    after = {seat.person: seat.station for seat in plans_of(session).seats(0)}
    assert (after[str(one.id)], after[str(other.id)]) == (seats[str(other.id)], seats[str(one.id)])


def test_two_are_kept_apart_and_joined_again(client_of, coach, session, athletes):
    client, (one, other, _) = client_of(coach), athletes
    make(client, session)
    address = reverse("class_plan_person", args=[session.id, one.id, 0])
    fields = fields_of(client.get(address), f"{other.number} {other.person.full_name}")
    page = client.post(reverse("class_plan_make", args=[session.id]), fields, follow=True)
    assert "1 Ada Berg and 2 Bo Chen are kept apart." in text_of(page)
    assert "No longer kept apart from" in text_of(client.get(address))
    fields = fields_of(client.get(address), f"{other.number} {other.person.full_name}")
    assert "apart" not in fields
    client.post(reverse("class_plan_make", args=[session.id]), fields)
    assert words_of(plans_of(session)).apart == ()


def test_a_clash_is_told_and_each_word_can_be_let_go(client_of, coach, session, athletes, hall):
    client = client_of(coach)
    pins = [pin_code(Pin(str(athlete.id), 0, str(hall["high"].id))) for athlete in athletes]  # two fit
    response = client.post(reverse("class_plan_make", args=[session.id]), {**LENGTHS, "pin": pins})
    assert response.status_code == 422
    page = text_of(response)
    assert "These cannot hold together" in page
    for athlete in athletes:
        assert f"{athlete.number} {athlete.person.full_name} is fixed at high bar in rotation 1." in page
    assert not ClassPlan.objects.exists()
    drop = fields_of(response, "Let it go")
    assert drop["pin"] == pins[1:]
    assert "Planned." in text_of(client.post(reverse("class_plan_make", args=[session.id]), drop, follow=True))


def test_a_place_where_nothing_is_open_to_somebody_cannot_be(client_of, coach, session, athletes, hall):
    pin = pin_code(Pin(str(athletes[0].id), 0, str(hall["low"].id)))
    response = client_of(coach).post(reverse("class_plan_make", args=[session.id]), {**LENGTHS, "pin": pin})
    assert "Nothing that is open to them today is done there" in text_of(response)


def test_want_of_coaches_and_re_sets_are_rules_that_can_be_eased(client_of, coach, athletes, hall):
    """Two short and two tall ones at one bar in turns, and no re-set allowed."""
    for athlete, stature in zip(athletes, ("1.500", "1.900", "1.900"), strict=True):
        make_measured(athlete, stature)
        reach(coach, athlete, "pullover-6")
    session = start_class(coach, *athletes, focus="pullover-6")
    low = str(hall["low"].id)
    pins = [pin_code(Pin(str(athletes[0].id), 0, low)), pin_code(Pin(str(athletes[1].id), 1, low))]
    client = client_of(coach)
    response = client.post(reverse("class_plan_make", args=[session.id]), {**LENGTHS, "most_resets": "0", "pin": pins})
    assert "Bars are re-set no more often than you said." in text_of(response)
    eased = fields_of(response, "Re-set as often as it is worth")
    assert eased["most_resets"] == ["any"]
    page = text_of(client.post(reverse("class_plan_make", args=[session.id]), eased, follow=True))
    assert "Re-set low bar by the door to hole" in page


def test_a_bar_that_is_set_asks_for_its_check_until_it_was_made(client_of, coach, athletes, hall):
    reach(coach, athletes[0], "pullover-6")
    session = start_class(coach, *athletes, focus="pullover-6")
    client = client_of(coach)
    response = make(client, session)
    page = text_of(response)
    assert "Set low bar by the door to hole 18, 125.0 cm. Then look it over." in page
    assert f"/check/?hole=18&amp;session={session.id}" in response.content.decode()
    check_hole(coach, hall["low"].bar, 18)
    assert "hole 18, 125.0 cm. Checked today at 17:00 in hole 18 by Cleo Adeyemi" in text_of(plan_page(client, session))


def test_what_a_caution_forbids_is_not_planned_and_told_without_its_reason(client_of, coach, session, athletes):
    enter_caution(
        by=coach,
        athlete=athletes[0],
        loads=frozenset({"hanging"}),
        from_at=timezone.now(),
        until_at=None,
        reason="a torn callus on the left hand",
    )
    page = text_of(make(client_of(coach), session))
    assert "1 Ada Berg: under a caution, without 1 Tucked hold in a long-arm hang" in page
    assert "callus" not in page
    ask = plans_of(session).last.ask
    assert "pullover-1" not in {choice.step for choice in ask.person[str(athletes[0].id)].choices}


def test_without_consent_nothing_inverts_and_the_page_says_for_whom(client_of, coach, hall):
    library(coach.gym)
    coach.gym.asks_consent = True
    coach.gym.save()
    minor = make_athlete(coach.gym, "Mia Okafor", birth_on=years_before_today(12))
    session = start_class(coach, minor)
    page = text_of(make(client_of(coach), session))
    assert "Left out, and for whom 1 M. O.: no consent to hands-on spotting" in page
    ask = plans_of(session).last.ask
    assert not any(choice.inverted or choice.spotters for choice in ask.people[0].choices)


def test_who_was_not_measured_is_named_where_a_bar_is_set_to_them(client_of, coach, hall):
    library(coach.gym)
    new = make_athlete(coach.gym, "Noor Haddad")
    reach(coach, new, "pullover-6")
    session = start_class(coach, new, focus="pullover-6")
    page = make(client_of(coach), session)
    assert "Not measured: 1 Noor Haddad" in text_of(page)
    assert reverse("measures", args=[new.id]) in page.content.decode()


def test_who_came_and_went_since_is_told(client_of, coach, session, athletes):
    make_plan(coach, session)
    unmark_present(by=coach, session=session, athlete=athletes[1])
    page = text_of(plan_page(client_of(coach), session))
    assert "Since it was planned 2 Bo Chen went: plan again." in page
    assert "2 Bo Chen" in page.split("Rotation 1")[1]  # the plan itself stays as it is


def test_a_plan_made_by_somebody_else_meanwhile_is_shown_instead(client_of, coach, owner, session):
    client = client_of(coach)
    make_plan(owner, session)
    page = text_of(make(client, session, seen="0"))
    assert "This class was planned by another tap meanwhile" in page
    assert ClassPlan.objects.count() == 1


def test_without_an_answer_in_time_people_take_turns_and_the_page_says_so(client_of, coach, session, monkeypatch):
    monkeypatch.setattr(planning, "CHILD", ("/nonexistent",))
    page = text_of(make(client_of(coach), session))
    assert "Nothing was found in time, so people take turns" in page
    assert "best plan there is" not in page


def test_while_another_is_planned_one_comes_again_and_loses_nothing(client_of, coach, session, monkeypatch):
    monkeypatch.setattr(planning, "WAIT_SECONDS", 0.05)
    with planning._turn:
        response = make(client_of(coach), session)
    assert "Another class is being planned: try again in a moment." in text_of(response)
    assert response.context["form"]["minutes"].value() == "40"


def test_an_ended_class_shows_its_plan_and_makes_none(client_of, coach, session):
    make_plan(coach, session)
    end_session(by=coach, session=session)
    page = plan_page(client_of(coach), session)
    assert "Plan again" not in text_of(page)
    assert "This session has ended" in text_of(make(client_of(coach), session))


def test_who_may_only_read_sees_the_plan_and_no_button(client_of, coach, reader, session, athletes):
    make_plan(coach, session)
    page = plan_page(client_of(reader), session)
    assert "1 Ada Berg" in text_of(page)
    assert "Plan again" not in text_of(page)
    assert reverse("class_plan_person", args=[session.id, athletes[0].id, 0]) not in page.content.decode()


def test_a_person_or_rotation_that_is_not_in_the_plan_is_not_found(client_of, coach, session, athletes):
    client = client_of(coach)
    assert client.get(reverse("class_plan_person", args=[session.id, athletes[0].id, 0])).status_code == 404
    make_plan(coach, session)
    assert client.get(reverse("class_plan_person", args=[session.id, athletes[0].id, 2])).status_code == 404
    other = make_athlete(coach.gym, "Olu Bello")
    assert client.get(reverse("class_plan_person", args=[session.id, other.id, 0])).status_code == 404


@pytest.mark.parametrize("said", [{"pin": "x"}, {"pin": "1:2:3"}, {"apart": "a:b:c"}])
def test_words_that_no_button_sends_are_not_understood(client_of, coach, session, said):
    assert make(client_of(coach), session, **said).status_code == 404


def test_a_plan_costs_as_many_queries_for_many_as_for_one(client_of, coach, athletes, hall):
    client, counts = client_of(coach), []
    for there in (athletes[:1], athletes):
        session = start_class(coach, *there)
        make_plan(coach, session, SHORT)
        plan_page(client, session)
        with CaptureQueriesContext(connection) as asked:
            plan_page(client, session)
        counts.append(len(asked))
    assert counts == [34, 34]


def test_planning_again_starts_with_the_next_rotation(client_of, coach, session):
    client = client_of(coach)
    make(client, session)
    assert plan_page(client, session).context["form"]["first_rotation"].value() == 0
    with time_machine.travel(timezone.now() + timedelta(minutes=12)):
        response = plan_page(client, session)
        assert response.context["form"]["first_rotation"].value() == 1
        page = text_of(response)
        assert "Rotation 1 now, since 17:10" in page
        assert "Rotation 2 from 17:25" in page
    with time_machine.travel(timezone.now() + timedelta(minutes=27)):
        response = plan_page(client, session)
        assert response.context["form"]["first_rotation"].value() == 1
        assert "Rotation 1 over" in text_of(response)


def test_a_name_from_right_to_left_leaves_a_sentence_as_it_is(client_of, coach, hall):
    library(coach.gym)
    people = [make_athlete(coach.gym, name) for name in ("مريم العلي", "Bo Chen", "Cara Dahl", "Dev Eze")]
    make_plan(coach, session := start_class(coach, *people))
    unmark_present(by=coach, session=session, athlete=people[0])
    assert "Since it was planned \u20681 مريم العلي\u2069 went" in text_of(plan_page(client_of(coach), session))


def test_who_was_erased_leaves_the_plan_whole(client_of, coach, owner, session, athletes):
    make_plan(coach, session)
    erase_person(person=athletes[1].person, by=owner)
    page = text_of(plan_page(client_of(coach), session))
    assert "Bo Chen" not in page
    assert "Rotation 2" in page
