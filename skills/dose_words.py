"""The week's practice in words: what to do, where, and why so."""

from __future__ import annotations

from functools import singledispatch
from typing import Final

from skills import wording
from skills.core import dose_findings as why
from skills.core.dose_limits import FEWEST_DAYS
from skills.core.portions import Portion
from skills.library.texts import Dose

SAFETY: Final = (
    "Warm up first, look over bar and mat, and stop at pain, numbness or dizziness: a coach decides what follows."
)
OF_MINORS: Final = "Never alone: an adult is there. No hold and no set to failure: stop while it still looks good."


def portion_words(portion: Portion) -> str:
    """Return '3 sets of 3 holds of 5 s, 10 s rest in between, on 3 days a week'."""
    return wording.dose(Dose(portion.sets, portion.hold_seconds, portion.reps, portion.rest_seconds, portion.days)) + (
        ", not one after another" if portion.days >= FEWEST_DAYS else ""
    )


def portion_today(portion: Portion) -> str:
    """Return what of a portion is done on one day: '3 sets of 3 holds of 5 s, 10 s rest'."""
    return wording.dose_today(
        Dose(portion.sets, portion.hold_seconds, portion.reps, portion.rest_seconds, portion.days)
    )


def minutes(total_seconds: int) -> str:
    """Return a time as '1 min', '12 min', rounded up; nothing is '0 min'."""
    return f"{-(-total_seconds // 60)} min"


def place_words(place: why.Place) -> str:
    """Return where a step may be practised."""
    return "in class only" if place == "class" else "in class or on your own"


@singledispatch
def reason(finding: why.Why | why.WhyNone) -> str:
    """Return why a dose is as it is, or why there is none, as a sentence without its end."""
    message = f"no words for {finding!r}"
    raise TypeError(message)


@reason.register
def _(_finding: why.NextStep) -> str:
    return "It is the next step"


@reason.register
def _(finding: why.NextOfSkill) -> str:
    return "It is the next step of a skill " + (
        "that was practised in the last four weeks" if finding.practised else "in the order of the gym"
    )


@reason.register
def _(_finding: why.OpenToo) -> str:
    return "It is open too, in a skill that was practised in the last four weeks"


@reason.register
def _(_finding: why.ChosenByCoach) -> str:
    return "A coach put it so"


@reason.register
def _(finding: why.ByBest) -> str:
    best, share = wording.seconds(finding.best_tenths), finding.share_percent
    return f"{finding.rung_s} s is the longest rung within {share} % of the best clean hold of late ({best})"


@reason.register
def _(finding: why.ByTarget) -> str:
    return f"{finding.rung_s} s is enough: the step asks for {wording.seconds(finding.target_tenths)}"


@reason.register
def _(finding: why.WithHelp) -> str:
    best = (
        f"the best clean hold of late is {wording.seconds(finding.best_tenths)}"
        if finding.best_tenths
        else "there is no clean hold of late"
    )
    return f"{finding.rung_s} s with help (feet, box, band or a coach’s hand): {best}"


@reason.register
def _(finding: why.ByBestSet) -> str:
    best = wording.counted(finding.best_reps, "rep")
    if finding.one_fewer and finding.reps < finding.best_reps:
        return f"{wording.counted(finding.reps, 'rep')} a set: fewer than the best clean set of late ({best})"
    return f"{wording.counted(finding.reps, 'rep')} a set: the best clean set of late has {best}"


@reason.register
def _(finding: why.HalfOfOwn) -> str:
    return f"No clean set of late: half of the step’s own {wording.counted(finding.own_reps, 'rep')}, rounded up"


@reason.register
def _(finding: why.FewerSets) -> str:
    sets = wording.counted(finding.sets, "set")
    return f"{sets} instead of {finding.own_sets}: longer holds, about as many seconds a day"


@reason.register
def _(finding: why.LongerRest) -> str:
    return f"{finding.rest_s} s of rest: longer holds ask for longer rests"


@reason.register
def _(_finding: why.NotToFailure) -> str:
    return "Under age: no hold and no set to failure"


@reason.register
def _(finding: why.InClassOnly) -> str:
    if finding.low_bar and not finding.clearance:
        return "In class only: it asks for a clearance, or for a low bar that a coach has looked over"
    return f"In class only until the clearance is alone (now: {wording.CLEARANCES[finding.clearance]})"


@reason.register
def _(finding: why.ClassDays) -> str:
    days = "one day" if finding.days == 1 else f"{finding.days} days"
    return f"There were classes on {days} of a week lately, and it stays in class"


@reason.register
def _(finding: why.AfterAway) -> str:
    return f"After {finding.days_away} days away: half the sets this week"


@reason.register
def _(_finding: why.ByRoom) -> str:
    return "Less than it would be, so that the week keeps to its hang time and pulls"


@reason.register
def _(_finding: why.UnderCaution) -> str:
    return "paused by a caution"


@reason.register
def _(_finding: why.LacksConsent) -> str:
    return "a consent that it asks for is lacking"


@reason.register
def _(_finding: why.NotThisWeek) -> str:
    return "not this week, a coach says"


@reason.register
def _(_finding: why.NoRoom) -> str:
    return "the week’s hang time or pulls are used up"


@reason.register
def _(_finding: why.NotOpen) -> str:
    return "not open any more"
