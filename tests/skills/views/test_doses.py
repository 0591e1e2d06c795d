"""This week's practice on its pages: how much, where, why and from where; changed by coaches, read by athletes."""

import re
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from athletes.models import Remark
from gymtrack.lib.ids import new_id
from skills.core.weeks import monday_of
from skills.models import Attempt, DoseChange
from skills.queries.books import book_of
from skills.services.cautions import enter_caution
from skills.showing.doses import doses_panel
from tests.factories.skills import days_before_now, library, log, meet, page_of, pass_step, reach


@pytest.fixture(autouse=True)
def _library(gym, owner):
    library(gym, owner)


def words(html: str) -> str:
    """The text of a page, on one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def monday(athlete):
    return monday_of(timezone.localdate(timezone=athlete.gym.zone))


def form_of(athlete, **more):
    said = {"sets": 2, "reps": 1, "hold_seconds": 10, "rest_seconds": 90, "days": 2, "reason": "Hips are tight."}
    return {"id": str(new_id()), "week_on": monday(athlete).isoformat(), "what": "set"} | said | more


# ---- The coach's page ---------------------------------------------------------------------------------------------


def test_a_coach_reads_how_much_where_why_and_from_where(client_of, coach, athlete):
    log(coach, athlete, "pullover-1", 6.2, days_ago=1)
    told = words(client_of(coach).get(reverse("doses", args=[athlete.id])).text)
    assert "1 Tucked hold in a long-arm hang 3 sets of 3 holds of 5 s, 10 s rest in between, on 3 days a week" in told
    assert "Best clean hold of eight weeks, without own entries 6.2 s" in told
    assert "In class or on your own" in told
    assert "Why so? 1 Tucked hold in a long-arm hang It is the next step." in told
    assert "5 s is the longest rung within 80 % of the best clean hold of late (6.2 s)." in told
    assert "Hang time this week" in told
    assert "No ratio of this week to others is made of it" in told
    assert "Lum D, Barbosa TM" in told


def test_no_ratio_and_no_risk_is_shown(client_of, coach, athlete):
    log(coach, athlete, "pullover-1", 6.2, days_ago=8)
    html = client_of(coach).get(reverse("doses", args=[athlete.id])).text.lower()
    assert not [word for word in ("acwr", "risk of injury", "danger", "sweet spot") if word in html]


def test_a_jump_is_told_in_plain_figures_beside_the_athletes_own_range(coach, athlete):
    log(coach, athlete, "pullover-1", 10.0, days_ago=9, reps=3)
    panel = doses_panel(athlete=athlete, now=timezone.now(), viewer_is_staff=True)
    (hang,) = [figure for figure in panel.figures if figure.label == "Hang time this week"]
    total = int(hang.value.removesuffix(" s"))
    assert hang.interval == "at most 180 s this week; 0 to 30 s in the last 4 weeks"
    assert hang.caution == f"{total - 30} s more than the fullest of the last 4 weeks."
    assert ("At most this week", "180 s") in hang.inputs


def test_a_coach_changes_the_dose_and_both_read_who_did(client_of, coach, athlete, athlete_member):
    place = reverse("dose_change", args=[athlete.id, "pullover-1"])
    answer = client_of(coach).post(place, form_of(athlete))
    assert (answer.status_code, answer["Location"]) == (303, reverse("doses", args=[athlete.id]))
    told = words(client_of(coach).get(reverse("doses", args=[athlete.id])).text)
    assert "2 holds of 10 s, 90 s rest in between, on 2 days a week, not one after another" in told
    assert "Changed by Cleo Adeyemi for this week : Hips are tight." in told
    hers = words(client_of(athlete_member).get(reverse("own_practice", args=[athlete.id])).text)
    assert "Changed by Cleo Adeyemi for this week" in hers
    assert "Hips are tight" not in hers
    assert "Change it" not in hers


def test_a_form_with_mistakes_comes_back_with_all_of_it_and_changes_nothing(client_of, coach, athlete):
    place = reverse("dose_change", args=[athlete.id, "pullover-1"])
    answer = client_of(coach).post(place, form_of(athlete, sets="many", reps=99, reason=""))
    assert answer.status_code == 422
    assert "Sets : A whole number from 1 to 20." in words(answer.text)
    assert "Holds in a set : A whole number from 1 to 50." in words(answer.text)
    assert "Say why, in a few words." in answer.text
    assert 'value="many"' in answer.text
    answer = client_of(coach).post(place, form_of(athlete, days=""))
    assert "Days this week : How many?" in words(answer.text)
    assert not DoseChange.objects.exists()


def test_not_this_week_and_taking_back_ask_for_a_reason_alone(client_of, coach, athlete):
    place = reverse("dose_change", args=[athlete.id, "pullover-1"])
    blank = {"sets": "", "reps": "", "rest_seconds": "", "hold_seconds": "", "days": ""}
    client_of(coach).post(place, form_of(athlete, what="skip", **blank))
    told = words(client_of(coach).get(reverse("doses", args=[athlete.id])).text)
    assert "1 Tucked hold in a long-arm hang: not this week, a coach says (Cleo Adeyemi)." in told
    assert "Take the change back" in client_of(coach).get(place).text
    client_of(coach).post(place, form_of(athlete, what="back", **blank))
    assert "not this week" not in client_of(coach).get(reverse("doses", args=[athlete.id])).text
    assert [row.taken_back for row in DoseChange.objects.order_by("recorded_at")] == [False, True]


def test_a_change_to_a_paused_step_is_refused_in_words(client_of, coach, athlete):
    enter_caution(
        by=coach, athlete=athlete, loads=frozenset({"hanging"}), from_at=timezone.now(), until_at=None, reason=""
    )
    answer = client_of(coach).post(reverse("dose_change", args=[athlete.id, "pullover-1"]), form_of(athlete))
    assert answer.status_code == 422
    assert "A caution forbids this step for now" in answer.text


def test_a_step_that_was_never_open_has_no_page(client_of, coach, athlete):
    for code in ("pullover-8", "no-such-step"):
        assert client_of(coach).get(reverse("dose_change", args=[athlete.id, code])).status_code == 404


def test_who_may_only_read_sees_no_way_to_change(client_of, reader, athlete):
    html = client_of(reader).get(reverse("doses", args=[athlete.id])).text
    assert "Change it" not in html
    assert "Another step" not in html


def test_an_erased_reason_leaves_the_change_standing(client_of, coach, athlete):
    client_of(coach).post(reverse("dose_change", args=[athlete.id, "pullover-1"]), form_of(athlete))
    Remark.objects.all().delete()
    told = words(client_of(coach).get(reverse("doses", args=[athlete.id])).text)
    assert "Changed by Cleo Adeyemi for this week" in told
    assert "Hips" not in told


# ---- However long the history ----------------------------------------------------------------------------------------


def _season(coach, athlete, days):
    page = page_of(athlete.gym, "pullover-1")
    for day in days:
        Attempt.objects.create(
            gym=athlete.gym,
            athlete=athlete,
            step_id=page.id,
            logged_by=coach,
            happened_at=days_before_now(day),
            source="judged",
            hold_tenths=60,
        )


def test_the_panel_costs_the_same_queries_however_long_the_history(
    coach, athlete, django_assert_max_num_queries, django_assert_num_queries
):
    book_of(athlete.gym)
    reach(coach, athlete, "pullover-3a")
    now = timezone.now()
    with django_assert_max_num_queries(9) as first:
        doses_panel(athlete=athlete, now=now, viewer_is_staff=True)
    _season(coach, athlete, range(60, 2000, 7))
    with django_assert_num_queries(len(first)):
        doses_panel(athlete=athlete, now=now, viewer_is_staff=True)


def test_weeks_away_are_told_and_halve_the_sets(client_of, coach, athlete):
    _season(coach, athlete, [40, 100])
    told = words(client_of(coach).get(reverse("doses", args=[athlete.id])).text)
    assert "After 40 days away: half the sets this week." in told
    _season(coach, athlete, [0])
    told = words(client_of(coach).get(reverse("doses", args=[athlete.id])).text)
    assert "days away: half the sets this week." in told  # for the whole week of the return


def test_own_entries_are_in_the_volume_and_not_in_the_best_hold(coach, athlete, athlete_member):
    log(athlete_member, athlete, "pullover-1", 30.0, days_ago=8, source="own")
    log(coach, athlete, "pullover-1", 5.5, days_ago=8)
    panel = doses_panel(athlete=athlete, now=timezone.now(), viewer_is_staff=False)
    assert ("Best clean hold of eight weeks, without own entries", "5.5 s") in panel.lines[0].figure.inputs
    (hang,) = [figure for figure in panel.figures if figure.label == "Hang time this week"]
    assert hang.interval == "at most 180 s this week; 0 to 35 s in the last 4 weeks"


def test_a_minor_is_told_never_alone_and_has_smaller_caps(coach, minor):
    panel = doses_panel(athlete=minor, now=timezone.now(), viewer_is_staff=False)
    assert panel.cautions[1].startswith("Never alone: an adult is there. No hold and no set to failure")
    (hang,) = [figure for figure in panel.figures if figure.label == "Hang time this week"]
    assert ("At most in any week", "270 s") in hang.inputs
    assert int(hang.value.removesuffix(" s")) <= 120


def test_the_sums_of_the_week_are_folded_unless_they_jump(client_of, coach, athlete, athlete_member):
    """A coach has them open; for an athlete one line tells them, and what is beyond the last weeks stands open."""
    log(coach, athlete, "pullover-1", 6.2, days_ago=1)
    page = client_of(athlete_member).get(reverse("my_progress")).text
    assert '<details class="dose-sums" open>' in page
    assert "more than the fullest of the last 4 weeks." in page
    _season(coach, athlete, [8, 10, 12] * 20)
    folded = client_of(athlete_member).get(reverse("my_progress")).text
    assert '<details class="dose-sums">' in folded
    assert re.search(r"This week in all: time [\w ]+, hang time \d+ s", words(folded))
    assert '<details class="dose-sums" open>' in client_of(coach).get(reverse("doses", args=[athlete.id])).text


def test_every_figure_has_a_source(coach, athlete):
    pass_step(coach, athlete, "pullover-3")
    panel = doses_panel(athlete=athlete, now=timezone.now(), viewer_is_staff=True)
    figures = [*panel.figures, *(line.figure for line in panel.lines)]
    assert len(figures) == 4
    assert all(figure.cited for figure in figures)


# ---- Own practice --------------------------------------------------------------------------------------------


@pytest.fixture
def hers(client_of, athlete_member, athlete) -> tuple[Client, str]:
    return client_of(athlete_member), reverse("own_practice", args=[athlete.id])


def own_form(athlete, **more):
    today = timezone.localdate(timezone=athlete.gym.zone)
    return {"id": str(new_id()), "step": "pullover-1", "practised_on": today, "sets": 3, "seconds": "5,5"} | more


def test_an_athlete_chooses_a_step_enters_practice_and_takes_it_back(hers, athlete):
    client, place = hers
    assert "?step=pullover-1" in client.get(place).text
    assert "Seconds of each" in client.get(f"{place}?step=pullover-1").text
    assert client.post(place, own_form(athlete)).status_code == 303
    told = words(client.get(place).text)
    assert "3 × 5.5 s, 1 Tucked hold in a long-arm hang own entry by Ada Lindqvist" in told
    attempt = Attempt.objects.get()
    undo = reverse("own_practice_undo", args=[athlete.id, attempt.id])
    assert client.post(undo).status_code == 303
    assert "taken back" in client.get(place).text
    assert client.post(undo, follow=True).text.count("This attempt was taken back before.") == 1


def test_wrong_figures_come_back_with_what_was_typed(hers, athlete):
    client, place = hers
    ahead = timezone.localdate(timezone=athlete.gym.zone) + timedelta(days=1)
    answer = client.post(place, own_form(athlete, seconds="a while", sets=0))
    assert answer.status_code == 422
    assert "is not a length in seconds" in answer.text
    assert "Holds : A whole number from 1 to 20." in words(answer.text)
    assert 'value="a while"' in answer.text
    answer = client.post(place, own_form(athlete, practised_on=ahead))
    assert "That day lies ahead" in answer.text
    answer = client.post(place, own_form(athlete, step="pullover-8"))
    assert answer.status_code == 422
    assert "This step is not open to you: choose one of these." in answer.text
    assert not Attempt.objects.exists()


def test_an_inverted_step_is_not_offered_and_refused_if_asked_for(hers, coach, athlete):
    client, place = hers
    reach(coach, athlete, "pullover-3a")
    assert "?step=pullover-3a" not in client.get(place).text
    answer = client.post(place, own_form(athlete, step="pullover-3a"))
    assert answer.status_code == 422
    assert "in class only" in answer.text


def test_pain_pauses_and_says_so(hers, athlete):
    client, place = hers
    answer = client.post(place, own_form(athlete, pain_where="elbow", pain_side="left"), follow=True)
    assert "paused until a coach lifts it: stop, and tell a coach." in answer.text
    told = words(answer.text)
    assert "Left out this week:" in told
    assert "paused by a caution" in told


def test_sent_twice_is_entered_once(hers, athlete):
    client, place = hers
    form = own_form(athlete)
    assert [client.post(place, form).status_code for _ in range(2)] == [303, 303]
    assert Attempt.objects.count() == 1


def test_a_guardian_enters_for_a_ward_and_for_nobody_else(client_of, guardian, minor, athlete):
    client = client_of(guardian)
    assert client.post(reverse("own_practice", args=[minor.id]), own_form(minor)).status_code == 303
    assert Attempt.objects.get().logged_by == guardian
    assert client.post(reverse("own_practice", args=[athlete.id]), own_form(athlete)).status_code == 404


def test_nobody_takes_back_what_somebody_else_entered(  # noqa: PLR0917 (fixtures)
    client_of, guardian, minor, coach, athlete, athlete_member
):
    by_coach = log(coach, athlete, "pullover-1", 5.0)
    by_guardian = log(guardian, minor, "pullover-1", 5.0, source="own")
    client = client_of(athlete_member)
    for whose, attempt in ((athlete, by_coach), (minor, by_guardian), (athlete, by_guardian)):
        assert client.post(reverse("own_practice_undo", args=[whose.id, attempt.id])).status_code == 404


def test_a_coach_sees_an_own_entry_as_such(client_of, coach, athlete, athlete_member):
    log(athlete_member, athlete, "pullover-1", 5.0, source="own")
    assert "own entry, Ada Lindqvist" in words(client_of(coach).get(reverse("athlete", args=[athlete.id])).text)


def test_after_a_step_is_met_the_next_one_takes_its_place(coach, athlete):
    meet(coach, athlete, "pullover-1", days_ago=1)
    panel = doses_panel(athlete=athlete, now=timezone.now(), viewer_is_staff=False)
    assert [line.code for line in panel.lines] == ["pullover-2", "pullover-3", "pullover-5a"]
    assert panel.lines[0].why[0] == "It is the next step"
