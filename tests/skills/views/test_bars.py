"""Pages of the gym's bars: the list, setting one for a body or for a group, and the check after it."""

from datetime import UTC, date, datetime
from uuid import UUID

import pytest
import time_machine
from django.urls import reverse

from athletes.models import BodyMeasure
from skills.forms.bars import setting_code
from skills.forms.sessions import LOW_BAR_CHECKS
from skills.models import Attempt, Bar, BarCheck
from skills.services.sessions import end_session
from tests.factories.athletes import make_athlete, make_measure, years_before_today
from tests.factories.bars import check_hole, make_high_bar, make_low_bar
from tests.factories.skills import library, reach, start_class, step_of
from tests.helpers.attempt_forms import filled, send, text_of

TICKS = [code for code, _ in LOW_BAR_CHECKS]


@pytest.fixture(autouse=True)
def _in_the_afternoon():
    """Far from midnight, which parts one day's checks from the next one's."""
    with time_machine.travel(datetime(2026, 6, 1, 15, 0, tzinfo=UTC)):
        yield


def measured(athlete, **metres):
    BodyMeasure.objects.create(gym=athlete.gym, athlete=athlete, measured_on=date(2026, 5, 20), **metres)


# ---- The list ------------------------------------------------------------------------------------------------------


def _sent(**changed):
    return {"name": "low bar", "kind": "tied", "diameter_tenths_mm": "28 mm", **dict.fromkeys(_OPTIONAL, ""), **changed}


_STANDS = ("height_mm", "first_hole_mm", "hole_pitch_tenths_mm", "holes")
_OPTIONAL = (*_STANDS, "ceiling_mm", "clear_front_mm", "clear_behind_mm", "mat_mm")


IN_HOLES = {"first_hole_mm": "40 cm", "hole_pitch_tenths_mm": "2 in", "holes": "30"}


def test_a_bar_in_holes_is_added_in_either_unit_and_told_with_what_nobody_measured(client_of, owner, reader):
    response = client_of(owner).post("/bars/add/", _sent(**IN_HOLES, mat_mm="3/4 in", ceiling_mm="2.4 m"), follow=True)
    bar = Bar.objects.get()
    assert (bar.first_hole_mm, bar.hole_pitch_tenths_mm, bar.holes) == (400, 508, 30)
    assert (bar.diameter_tenths_mm, bar.ceiling_mm, bar.mat_mm) == (280, 2400, 19)
    words = "holes 1 to 30, 50.8 mm apart, 40.0 cm to 187.3 cm. Above 240.0 cm over the floor, mat 1.9 cm."
    assert words in text_of(response)
    page = text_of(client_of(reader).get("/bars/"))
    assert page.count("is not taken as free") == 2
    assert "Add a bar" not in page


def test_a_gym_in_imperial_units_reads_inches(client_of, owner):
    owner.gym.units = "imperial"
    owner.gym.save()
    page = text_of(client_of(owner).post("/bars/add/", _sent(**IN_HOLES), follow=True))
    assert "1.10 in thick" in page
    assert "2.00 in apart, 15.7 in to 73.7 in" in page


@pytest.mark.parametrize(
    ("changed", "fields"),
    [
        ({}, ["height_mm"]),
        ({"height_mm": "255"}, ["height_mm"]),
        ({"height_mm": "255 cm", "name": ""}, ["name"]),
        ({"height_mm": "255 cm", "diameter_tenths_mm": ""}, ["diameter_tenths_mm"]),
        ({"height_mm": "255 cm", "diameter_tenths_mm": "70 mm", "confirmed": "on"}, ["diameter_tenths_mm"]),
        ({"height_mm": "255 cm", "ceiling_mm": "250 cm"}, ["ceiling_mm"]),
        ({"height_mm": "255 cm", **IN_HOLES}, ["height_mm"]),
        ({**IN_HOLES, "holes": "many"}, ["holes"]),
        ({**IN_HOLES, "holes": ""}, ["holes"]),
        ({"height_mm": "9999 m"}, ["height_mm"]),
    ],
)
def test_a_mistake_stands_beside_its_field_and_nothing_is_lost(client_of, owner, changed, fields):
    response = client_of(owner).post("/bars/add/", _sent(**changed))
    assert response.status_code == 422
    assert list(response.context["form"].errors) == fields
    assert not Bar.objects.exists()
    for name, value in _sent(**changed).items():
        assert not value or name in {"kind", "confirmed"} or f'value="{value}"' in response.content.decode()


def test_an_unusual_thickness_is_taken_once_it_is_confirmed(client_of, owner):
    thick = _sent(height_mm="255 cm", diameter_tenths_mm="2 in")
    asked = client_of(owner).post("/bars/add/", thick)
    assert list(asked.context["form"].errors) == ["confirmed"]
    assert 'name="confirmed"' in asked.content.decode()
    assert client_of(owner).post("/bars/add/", {**thick, "confirmed": "on"}).status_code == 303
    assert Bar.objects.get().diameter_tenths_mm == 508


def test_changing_leaves_what_was_not_touched_to_the_millimetre(client_of, owner):
    owner.gym.units = "imperial"
    owner.gym.save()
    bar = make_low_bar(owner.gym, first_hole_mm=401, hole_pitch_tenths_mm=503, diameter_tenths_mm=508)
    form = client_of(owner).get(f"/bars/{bar.id}/change/").context["form"]
    same = {name: form[name].value() or "" for name in form.fields if name != "confirmed"}
    client_of(owner).post(f"/bars/{bar.id}/change/", {**same, "name": "low bar two"})
    bar.refresh_from_db()
    assert (bar.name, bar.first_hole_mm, bar.hole_pitch_tenths_mm) == ("low bar two", 401, 503)


def test_a_bar_is_taken_out_of_use_after_a_question(client_of, owner):
    bar = make_low_bar(owner.gym)
    assert "out of use?" in text_of(client_of(owner).get(f"/bars/{bar.id}/retire/"))
    page = text_of(client_of(owner).post(f"/bars/{bar.id}/retire/", follow=True))
    assert "No bar is described yet" in page
    assert "since 1 Jun 2026" in page
    assert client_of(owner).get(f"/bars/{bar.id}/change/").status_code == 404
    assert client_of(owner).get(f"/bars/{bar.id}/check/").status_code == 404


def test_the_list_asks_as_many_queries_for_three_bars_as_for_one(
    client_of, owner, coach, django_assert_max_num_queries
):
    client = client_of(owner)
    check_hole(coach, make_low_bar(owner.gym), 3)
    client.get("/bars/")
    with django_assert_max_num_queries(20) as one:
        client.get("/bars/")
    for name in ("two", "three"):
        check_hole(coach, make_low_bar(owner.gym, name), 4)
    with django_assert_max_num_queries(len(one)):
        client.get("/bars/")


# ---- Setting one ---------------------------------------------------------------------------------------------------


def _set_page(client, athlete, code="pullover-6"):
    return text_of(client.get(reverse("set_bar", args=[athlete.id, code])))


def test_the_page_tells_hole_and_room_and_asks_for_what_is_not_known(client_of, owner, coach, athlete):
    library(owner.gym, owner)
    bar = make_low_bar(owner.gym, ceiling_mm=2400, clear_front_mm=1500)
    measured(athlete, stature_m="1.720", chest_m="1.240", armpit_m="1.310")
    page = _set_page(client_of(coach), athlete)
    assert "hole 18, 125.0 cm over the floor, 123.0 cm over the mat: 1 cm below the chest measured" in page
    assert "The next hole up, 19, is 4 cm above the chest, and still under the armpit." in page
    assert "Straight legs in front clear by 43 cm estimate 41 to 51 cm clear, 90 of 100 adults of this stature" in page
    assert "Straight legs over the bar clear by 8 cm estimate" in page
    assert "next bar or wall behind: measure it and enter it at the bar; until then it is not taken as free" in page
    assert "Set into hole 18 and check" in page
    check_hole(coach, bar, 18)
    page = _set_page(client_of(coach), athlete)
    assert "Checked today at 17:00 in hole 18 by Cleo Adeyemi" in page
    assert "Set into hole 18 and check" not in page


def test_nothing_is_guessed_of_a_body_that_was_not_measured(client_of, owner, coach, athlete):
    library(owner.gym, owner)
    make_low_bar(owner.gym)
    page = _set_page(client_of(coach), athlete)
    assert "The stature is not known: measure it, and nothing is guessed until then." in page
    assert "Set it into" not in page


def test_a_high_bar_tells_the_hang_and_the_box(client_of, owner, coach, athlete):
    library(owner.gym, owner)
    make_high_bar(owner.gym, mat_mm=20)
    make_low_bar(owner.gym)
    measured(athlete, stature_m="1.750", reach_m="2.100")
    page = _set_page(client_of(coach), athlete, "pullover-1")
    assert "free of the mat by 26 cm" in page
    assert "Box to get hold of it 41 cm measured" in page
    assert "low bar by the door" not in page


def test_a_step_on_the_floor_has_no_bar_to_set(client_of, owner, coach, athlete):
    library(owner.gym, owner)
    assert "not done on a bar" in _set_page(client_of(coach), athlete, "l-hold-1")


def test_a_minors_estimates_say_that_they_are_of_adults_and_old_measures_are_asked_for_again(
    client_of, owner, coach, minor
):
    library(owner.gym, owner)
    make_low_bar(owner.gym)
    make_measure(minor, stature_m="1.520", mass_kg="41.30")  # of January
    page = _set_page(client_of(coach), minor)
    assert "The stature is of 12 Jan 2026, more than three months ago: measure it again, they still grow." in page
    assert "Estimated by the proportions of adults, and they still grow: measure it." in page
    assert " kg" not in page


# ---- The check after it --------------------------------------------------------------------------------------------


def _check(client, bar, hole, **more):
    return client.post(
        f"/bars/{bar.id}/check/",
        {"setting": setting_code(bar.id, hole), "looked_over": TICKS, "session": "", **more},
    )


def test_a_re_set_is_checked_and_leads_back(client_of, coach, athlete):
    bar, session = make_low_bar(coach.gym), start_class(coach, athlete)
    form = client_of(coach).get(f"/bars/{bar.id}/check/?hole=8&session={session.id}").context["form"]
    assert (form["setting"].value(), form["session"].value()) == (setting_code(bar.id, 8), str(session.id))
    response = _check(client_of(coach), bar, 8, session=str(session.id), next="/today/")
    assert (response.status_code, response["Location"]) == (303, "/today/")
    check = BarCheck.objects.get()
    assert (check.of, check.hole, check.session, check.checked_by) == (bar, 8, session, coach)


def test_a_check_without_every_line_or_without_the_hole_is_none(client_of, coach):
    bar = make_low_bar(coach.gym)
    for sent, field in (
        ({"setting": setting_code(bar.id, 8), "looked_over": TICKS[:4]}, "looked_over"),
        ({"setting": "", "looked_over": TICKS}, "setting"),
        ({"setting": setting_code(bar.id, 31), "looked_over": TICKS}, "setting"),
        ({"setting": setting_code(make_low_bar(coach.gym, "other").id, 8), "looked_over": TICKS}, "setting"),
    ):
        response = client_of(coach).post(f"/bars/{bar.id}/check/", sent)
        assert (response.status_code, list(response.context["form"].errors)) == (422, [field])
        Bar.objects.filter(name="other").delete()
    assert not BarCheck.objects.exists()


def test_a_check_leads_nowhere_else(client_of, coach):
    response = _check(client_of(coach), make_low_bar(coach.gym), 8, next="https://elsewhere.example/")
    assert response["Location"] == "/bars/"


# ---- A group -------------------------------------------------------------------------------------------------------


@pytest.fixture
def three(gym, coach, athlete):
    """A class of three: two of about one height, one much smaller, and their class."""
    ben = make_athlete(gym, "Ben Falk", birth_on=years_before_today(30))
    small = make_athlete(gym, "Kim Rost", birth_on=years_before_today(25))
    for who, chest_m, armpit_m in ((athlete, "1.270", "1.350"), (ben, "1.310", "1.390"), (small, "1.010", "1.080")):
        measured(who, stature_m="1.500" if who is small else "1.760", chest_m=chest_m, armpit_m=armpit_m)
    return start_class(coach, athlete, ben, small), [athlete, ben, small]


def _share(client, session, bar, athletes):
    chosen = {"bar": str(bar.id), "who": [str(athlete.id) for athlete in athletes]}
    return client.get(reverse("share_bar", args=[session.id]), chosen)


def test_a_group_gets_a_hole_and_hears_whom_it_does_not_suit(client_of, coach, three):
    session, athletes = three
    page = text_of(_share(client_of(coach), session, make_low_bar(coach.gym), athletes))
    assert "hole 19, 130.0 cm over the floor: for 2 of 3" in page
    assert "does not suit: 20 cm above the armpit measured" in page
    assert "For this one alone: hole 13, and a check after the re-set." in page
    assert "Set into hole 19 and check" in page


def test_of_whom_nothing_is_known_it_is_said(client_of, coach, three):
    session, athletes = three
    BodyMeasure.objects.filter(athlete=athletes[1]).delete()
    page = text_of(_share(client_of(coach), session, make_low_bar(coach.gym), athletes))
    assert "for 1 of 2" in page
    assert "Ben Falk : The stature is not known" in page


def test_a_group_asks_as_many_queries_for_three_as_for_one(client_of, coach, three, django_assert_max_num_queries):
    session, athletes = three
    client, bar = client_of(coach), make_low_bar(coach.gym)
    _share(client, session, bar, athletes)
    with django_assert_max_num_queries(30) as one:
        _share(client, session, bar, athletes[:1])
    with django_assert_max_num_queries(len(one)):
        _share(client, session, bar, athletes)


def test_who_is_not_here_shares_no_bar(client_of, coach, three, minor):
    session, _ = three
    response = _share(client_of(coach), session, make_low_bar(coach.gym), [minor])
    assert response.status_code == 422
    assert "who" in response.context["form"].errors


def test_a_class_that_has_ended_is_not_named_in_a_check(client_of, coach, three):
    session, athletes = three
    end_session(by=coach, session=session)
    page = _share(client_of(coach), session, make_low_bar(coach.gym), athletes).content.decode()
    assert f"session={session.id}" not in page


# ---- The panel of a class ------------------------------------------------------------------------------------------


@pytest.fixture
def climber(coach, owner, athlete):
    """Somebody whose next step is on the low bar, in a class."""
    library(coach.gym, owner)
    reach(coach, athlete, "pullover-6")
    return athlete


def _panel(client, session, athlete, **query):
    step = step_of(athlete.gym, "pullover-6")
    return client.get(f"/sessions/{session.id}/athletes/{athlete.id}/", {"step": step.id, **query})


def test_the_panel_checks_a_bar_of_the_list_at_the_hole_that_fits(client_of, coach, climber):
    bar, session, client = make_low_bar(coach.gym), start_class(coach, climber), client_of(coach)
    measured(climber, stature_m="1.720", chest_m="1.240")
    form = _panel(client, session, climber).context["bar_form"]
    assert form["setting"].value() == setting_code(bar.id, 18)
    sent = {"athlete": str(climber.id), "looked_over": TICKS, "bar": "", "setting": setting_code(bar.id, 18)}
    assert client.post(f"/sessions/{session.id}/bar-check/", sent).status_code == 303
    assert "Bar checked today: low bar by the door, hole 18, 17:00, Cleo Adeyemi" in text_of(
        _panel(client, session, climber)
    )


@pytest.mark.parametrize(
    ("changed", "field"), [({"bar": "", "setting": ""}, "setting"), ({"bar": "bar in the yard"}, "bar")]
)
def test_a_check_is_of_one_bar(client_of, coach, climber, changed, field):
    bar, session = make_low_bar(coach.gym), start_class(coach, climber)
    sent = {"athlete": str(climber.id), "looked_over": TICKS, "setting": setting_code(bar.id, 18), **changed}
    response = client_of(coach).post(f"/sessions/{session.id}/bar-check/", sent)
    assert list(response.context["bar_form"].errors) == [field]


def test_a_bar_that_is_not_on_the_list_is_named_as_before(client_of, coach, climber):
    make_low_bar(coach.gym)
    session = start_class(coach, climber)
    sent = {"athlete": str(climber.id), "looked_over": TICKS, "setting": "", "bar": "bar in the yard"}
    client_of(coach).post(f"/sessions/{session.id}/bar-check/", sent)
    check = BarCheck.objects.get()
    assert (check.bar, check.of, check.hole) == ("bar in the yard", None, None)


def test_a_try_at_a_bar_that_was_set_anew_meanwhile_is_asked_about_and_not_lost(client_of, coach, climber):
    bar, session, client = make_low_bar(coach.gym), start_class(coach, climber), client_of(coach)
    first = check_hole(coach, bar, 18)
    shown = _panel(client, session, climber).context["form"]["bar_check"].value()
    assert shown == str(first.id)
    second = check_hole(coach, bar, 20)
    entry = filled(climber, "pullover-6", seconds=None, bar_check=str(first.id))
    response = send(client, session, entry)
    assert response.status_code == 422
    assert "set anew meanwhile, into hole 20" in text_of(response)
    assert "low bar by the door, hole 20, 17:00, Cleo Adeyemi" in text_of(response)
    assert send(client, session, {**entry, "bar_check": str(second.id)}).status_code == 303
    assert Attempt.objects.filter(pk=UUID(entry["id"])).exists()


def test_of_several_bars_the_one_that_was_used_is_chosen(client_of, coach, climber):
    session, client = start_class(coach, climber), client_of(coach)
    checks = [check_hole(coach, make_low_bar(coach.gym, name), 18) for name in ("one", "other")]
    page = text_of(_panel(client, session, climber))
    assert "At which low bar, as it was checked" in page
    entry = filled(climber, "pullover-6", seconds=None)
    assert "Choose the low bar that was used." in text_of(send(client, session, entry))
    assert send(client, session, {**entry, "bar_check": str(checks[0].id)}).status_code == 303


def test_a_bar_can_be_checked_again_from_the_panel(client_of, coach, climber):
    session, client = start_class(coach, climber), client_of(coach)
    check_hole(coach, make_low_bar(coach.gym), 18)
    page = _panel(client, session, climber, check="again")
    assert "bar_form" in page.context
    assert "No low bar was checked today" not in text_of(page)
