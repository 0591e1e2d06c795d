"""The week's practice in words: what to do, and why so."""

from typing import get_args

import pytest

from skills.core import dose_findings as why
from skills.core.portions import Portion
from skills.dose_words import minutes, portion_words, reason

SENTENCES = [
    (why.NextStep(), "It is the next step"),
    (why.NextOfSkill(practised=True), "It is the next step of a skill that was practised in the last four weeks"),
    (why.NextOfSkill(practised=False), "It is the next step of a skill in the order of the gym"),
    (why.OpenToo(), "It is open too, in a skill that was practised in the last four weeks"),
    (why.ChosenByCoach(), "A coach put it so"),
    (why.ByBest(10, 134, 75), "10 s is the longest rung within 75 % of the best clean hold of late (13.4 s)"),
    (why.ByTarget(5, 50), "5 s is enough: the step asks for 5 s"),
    (
        why.WithHelp(5, 42),
        "5 s with help (feet, box, band or a coach’s hand): the best clean hold of late is 4.2 s",
    ),
    (why.WithHelp(5, 0), "5 s with help (feet, box, band or a coach’s hand): there is no clean hold of late"),
    (why.ByBestSet(1, 1, one_fewer=False), "1 rep a set: the best clean set of late has 1 rep"),
    (why.ByBestSet(3, 4, one_fewer=True), "3 reps a set: fewer than the best clean set of late (4 reps)"),
    (why.ByBestSet(1, 1, one_fewer=True), "1 rep a set: the best clean set of late has 1 rep"),
    (why.HalfOfOwn(2, 4), "No clean set of late: half of the step’s own 4 reps, rounded up"),
    (why.FewerSets(1, 3), "1 set instead of 3: longer holds, about as many seconds a day"),
    (why.LongerRest(120), "120 s of rest: longer holds ask for longer rests"),
    (why.NotToFailure(), "Under age: no hold and no set to failure"),
    (why.InClassOnly("present", low_bar=False), "In class only until the clearance is alone (now: coach present)"),
    (
        why.InClassOnly("", low_bar=True),
        "In class only: it asks for a clearance, or for a low bar that a coach has looked over",
    ),
    (why.ClassDays(1), "There were classes on one day of a week lately, and it stays in class"),
    (why.AfterAway(24), "After 24 days away: half the sets this week"),
    (why.ByRoom(), "Less than it would be, so that the week keeps to its hang time and pulls"),
    (why.UnderCaution(), "paused by a caution"),
    (why.LacksConsent(), "a consent that it asks for is lacking"),
    (why.NotThisWeek(), "not this week, a coach says"),
    (why.NoRoom(), "the week’s hang time or pulls are used up"),
    (why.NotOpen(), "not open any more"),
]


@pytest.mark.parametrize(("finding", "sentence"), SENTENCES)
def test_each_reason_has_its_sentence(finding, sentence):
    assert reason(finding) == sentence


def test_no_reason_is_without_one():
    assert {type(finding) for finding, _ in SENTENCES} == {*get_args(why.Why), *get_args(why.WhyNone)}
    with pytest.raises(TypeError, match="no words"):
        reason("because")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("portion", "words"),
    [
        (Portion(4, 1, 5, 90, 2), "4 holds of 5 s, 90 s rest in between, on 2 days a week, not one after another"),
        (Portion(2, 3, None, 120, 1), "2 sets of 3 reps, 2 min rest in between, on one day a week"),
    ],
)
def test_a_portion_reads_as_a_coach_would_say_it(portion, words):
    assert portion_words(portion) == words


@pytest.mark.parametrize(("seconds", "words"), [(0, "0 min"), (1, "1 min"), (60, "1 min"), (61, "2 min")])
def test_minutes_are_rounded_up(seconds, words):
    assert minutes(seconds) == words
