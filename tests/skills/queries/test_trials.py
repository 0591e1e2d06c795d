"""The trial of a draft on a gym's own history: whom it would have moved, told by name, and nothing stored."""

import re

import pytest
from django.apps import apps
from django.template.loader import render_to_string
from django.utils import timezone

from athletes.models import Gym
from skills.core.criteria import Counting, Criterion, HoldsOf, StepPassed
from skills.core.replay import Passes
from skills.core.steps import CycleError
from skills.queries.books import book_of
from skills.queries.trials import Trial, replay_of
from skills.services.cautions import enter_caution
from tests.factories.athletes import make_athlete
from tests.factories.skills import days_before_now, decide, library, log, meet, page_of, reach

# As it is shipped, each asks for three clean holds of 5 s on two days; the first passes by itself.
AUTOMATIC, SIGNED = "pullover-1", "pullover-3a"
TWO, FIVE = (HoldsOf(count, 50, Counting(dates=2)) for count in (2, 5))


@pytest.fixture(autouse=True)
def _library(gym, owner):
    library(gym, owner)


def trial(gym: Gym, code: str, draft: Criterion) -> Trial:
    gym = Gym.objects.get(pk=gym.pk)
    return replay_of(book_of(gym), page_of(gym, code), draft, timezone.now())


def told(found: Trial) -> str:
    """The fragment's text, on one line."""
    html = render_to_string("skills/criteria/_replay.html", {"replay": found})
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def held(coach, athlete, *days_ago):
    for day in days_ago:
        log(coach, athlete, AUTOMATIC, 5.0, days_ago=day)


def day(days_ago: int):
    return days_before_now(days_ago).date()


def test_who_would_have_met_it_when(gym, coach, athlete, minor):
    held(coach, athlete, 5, 4, 3)
    held(coach, minor, 5, 4)
    found = trial(gym, AUTOMATIC, TWO)
    rows = [(row.athlete.board_name, row.outcome.move, row.then_on, row.draft_on) for row in found.rows]
    assert rows == [("M. O.", "newly", None, day(4)), ("Ada Lindqvist", "earlier", day(3), day(4))]
    assert [each.board_name for each in found.gaining] == ["M. O."]
    assert found.losing == ()


def test_it_is_told_in_sentences_with_minors_by_initials(gym, coach, athlete, minor):
    held(coach, athlete, 5, 4, 3)
    held(coach, minor, 5, 4)
    text = told(trial(gym, AUTOMATIC, TWO))
    assert "1 would have met it earlier, 0 later." in text
    assert "1 who never met it would have; 0 who met it would not have, so far." in text
    assert "1 would meet it at once: M. O. ." in text
    assert "Mia" not in text
    assert "Nobody has been signed off at the finish of this step yet." in text


def test_who_is_ready_now_and_would_not_be(gym, coach, athlete):
    reach(coach, athlete, SIGNED)
    meet(coach, athlete, SIGNED)
    found = trial(gym, SIGNED, FIVE)
    assert found.losing == (athlete,)
    assert [row.outcome.move for row in found.rows] == ["no_longer"]
    assert "1 ready for a sign-off now would not be any more: Ada Lindqvist ." in told(found)


def test_who_has_left_is_part_of_the_history_and_not_of_today(gym, coach, athlete):
    reach(coach, athlete, SIGNED)
    meet(coach, athlete, SIGNED)
    athlete.left_on = timezone.localdate()
    athlete.save(update_fields=["left_on"])
    found = trial(gym, SIGNED, FIVE)
    assert found.losing == ()
    assert [row.athlete for row in found.rows] == [athlete]


def test_sign_offs_made_so_far_and_how_many_were_revoked(gym, coach, athlete):
    reach(coach, athlete, SIGNED)
    meet(coach, athlete, SIGNED)
    decide(coach, athlete, SIGNED)
    decide(coach, athlete, SIGNED, decision="revoked", reason="The elbows were bent.")
    five, two = trial(gym, SIGNED, FIVE), trial(gym, SIGNED, TWO)
    assert (five.replay.met, five.replay.unmet) == (Passes(), Passes(made=1, revoked=1))
    assert (two.replay.met, two.replay.unmet) == (Passes(made=1, revoked=1), Passes())
    assert "At 1 the draft was not met at that moment; 1 of these was revoked later." in told(five)


def test_a_draft_may_ask_for_another_step_and_sees_how_everybody_stood_there(gym, coach, athlete, minor):
    held(coach, athlete, 5, 4, 3)
    found = trial(gym, "pullover-5a", StepPassed(AUTOMATIC))
    assert [(row.athlete, row.draft_on) for row in found.rows] == [(athlete, day(3))]


def test_a_draft_that_makes_a_cycle_is_refused_by_name(gym):
    with pytest.raises(CycleError, match="pullover-1 → pullover-2 → pullover-1"):
        trial(gym, AUTOMATIC, StepPassed("pullover-2"))


def test_nobody_of_another_gym_is_looked_at(gym, other_gym, other_coach, coach, athlete):
    library(other_gym)
    other = make_athlete(other_gym, "Nora Silva")
    held(other_coach, other, 5, 4, 3)
    assert trial(gym, AUTOMATIC, TWO).rows == ()


def test_nobody_moves_where_nothing_is_written_down(gym, athlete):
    found = trial(gym, AUTOMATIC, TWO)
    assert found.rows == ()
    text = told(found)
    assert "Nobody has met it so far, and nobody would have." in text
    assert "Nobody’s readiness would change today." in text


def contents() -> dict[str, list[str]]:
    """Every row of every table of ours."""
    ours = [model for app in ("athletes", "skills") for model in apps.get_app_config(app).get_models()]
    return {model._meta.label: sorted(map(repr, model._default_manager.values_list())) for model in ours}


def test_nothing_is_stored(gym, coach, athlete, minor):
    reach(coach, athlete, SIGNED)
    meet(coach, athlete, SIGNED)
    held(coach, minor, 5, 4)
    before = contents()
    for code, draft in ((SIGNED, FIVE), (SIGNED, TWO), (AUTOMATIC, FIVE)):
        trial(gym, code, draft)
    assert contents() == before
    assert sum(map(len, before.values())) > 100


@pytest.mark.parametrize("athletes", [1, 3])
def test_queries_do_not_grow_with_the_athletes(gym, coach, athlete, django_assert_num_queries, athletes):
    for one in (athlete, *(make_athlete(gym, f"Guest {place}") for place in range(athletes - 1))):
        held(coach, one, 5, 4, 3)
    since, loads = days_before_now(1), frozenset({"landing"})
    enter_caution(by=coach, athlete=athlete, loads=loads, from_at=since, until_at=None, reason="A sprain.")
    gym = Gym.objects.get(pk=gym.pk)
    book, page = book_of(gym), page_of(gym, AUTOMATIC)
    with django_assert_num_queries(8):
        told(replay_of(book, page, FIVE, timezone.now()))
