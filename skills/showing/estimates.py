"""The hold to expect on a step, told with its band, its sources and how well such estimates did in the gym so far."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final
from uuid import UUID

from gymtrack.lib.charts import Chart
from skills import wording
from skills.core.dose_limits import RUNGS_S
from skills.core.estimates import (
    ENOUGH_PAIRS,
    LEAST_S,
    PERCENT,
    Estimate,
    Lever,
    NoEstimateError,
    calibration,
    estimate,
    lever_between,
)
from skills.core.figures import Figure
from skills.core.levers import Pose
from skills.core.pairs import Pair
from skills.queries.books import Book, StepPage, book_of
from skills.queries.clean_holds import RECENT_DAYS, gym_pairs, posed_steps, recent_bests
from skills.showing.endurance_chart import endurance_chart

if TYPE_CHECKING:
    from collections.abc import Mapping

    from athletes.models import Athlete
    from skills.models import Step

MINOR: Final = (
    "No hold is estimated for who is under age, or whose birth date is not known: the published curves are of adults."
)
_WEEKS: Final = RECENT_DAYS // 7
_FORMULA: Final = (
    "The share of the greatest force that the hold asked, by the joined curve (Rohmert’s from 70 % up, below it the "
    "general power law scaled to meet it); that share over the ratio of the moments; and back through the curve. The "
    "band adds up how far the published curves and the tables of segments disagree and how far people differ."
)
_SHRUNK: Final = (
    " Then corrected by what the gym’s own people held on both steps: their mean distance, shrunk by how sure it is "
    "(empirical Bayes, on the logarithm of the share)."
)
_CAUTION: Final = (
    "An estimate counts as no evidence and opens nothing; a coach decides. Nobody has published a curve for the hip: "
    "these are of other joints. A hold that was ended at its count says “at least”, so the estimate is low then. Holds "
    "to the very end are not asked for."
)
_SOURCES: Final = ("rohmert-1960", "frey-law-avin-2010", "frey-law-2012", "winter-2009", "de-leva-1996", "ours")


@dataclass(frozen=True, slots=True)
class EstimatesPanel:
    """The hold to expect at a step, or in `why_none` the sentence that says why there is no estimate.

    `held` is what the athlete holds there already. `notes` tell of the gym's pairs and how past estimates did; `key`
    says what the marks of the chart are.
    """

    why_none: str
    figure: Figure | None = None
    held: Figure | None = None
    notes: tuple[str, ...] = ()
    chart: Chart | None = None
    key: str = ""
    is_empty: bool = False  # a step of which a hold is never estimated


@dataclass(frozen=True, slots=True)
class _Way:
    """From the step that the estimate goes out from, with the best clean hold there, to the step that is asked."""

    step: Step
    seconds: float
    asked: Step
    lever: Lever


def estimates_panel(*, athlete: Athlete, step: StepPage | Step, now: datetime) -> EstimatesPanel:
    """Return the hold to expect at a step; three queries beside the gym's book, none for a minor."""
    book = book_of(athlete.gym)
    page = book.steps[step.code]
    if not page.form.is_hold:
        return EstimatesPanel("This step is counted in reps; an estimate is told of holds.", is_empty=True)
    if athlete.is_minor(now.astimezone(athlete.gym.zone).date()):
        return EstimatesPanel(MINOR)
    nearest = _leading_to(book, page.code)
    steps = posed_steps(athlete.gym, [page.id, *nearest])
    if page.id not in steps:
        return EstimatesPanel("No pose is entered for this step, so its lever is not known.", is_empty=True)
    bests = recent_bests(athlete=athlete, step_ids=[*steps], now=now)
    held = _held(steps[page.id], bests.get(page.id))
    try:
        way = _way([steps[each] for each in nearest if each in steps], bests, steps[page.id])
        return _estimated(athlete, way, held, now)
    except NoEstimateError as error:
        return EstimatesPanel(str(error), held=held)


def _leading_to(book: Book, code: str) -> list[UUID]:
    """Return the ids of the steps that lead to one, the nearest first."""
    found: dict[str, None] = {}
    ahead = deque(book.rules.steps[code].requires)
    while ahead:
        nearest = ahead.popleft()
        if nearest not in found:
            found[nearest] = None
            ahead.extend(book.rules.steps[nearest].requires)
    return [book.steps[each].id for each in found]


def _way(posed: Sequence[Step], bests: Mapping[UUID, int], asked: Step) -> _Way:
    """Return the way from the nearest step before whose pose compares and that was held. Raises NoEstimateError."""
    if not posed:
        raise NoEstimateError("No pose is entered for a step before this one, so there is nothing to compare it with.")
    refused: list[NoEstimateError] = []
    for step in posed:
        try:
            lever = lever_between(_pose(step), _pose(asked))
        except NoEstimateError as error:
            refused.append(error)
            continue
        if step.id in bests:
            return _Way(step, bests[step.id] / 10, asked, lever)
    if len(refused) == len(posed):
        raise refused[0]
    names = " or ".join(_name(step) for step in posed[:2])
    raise NoEstimateError(f"There is no clean judged hold of the last {_WEEKS} weeks at {names} to go out from.")


def _name(step: Step) -> str:
    return f"{step.label} {step.name}"


def _pose(step: Step) -> Pose:
    # The database holds that both are there or none, and steps without are not asked for.
    return Pose(step.thigh_degrees or 0, step.knee_degrees or 0)


def _estimated(athlete: Athlete, way: _Way, held: Figure | None, now: datetime) -> EstimatesPanel:
    pairs = gym_pairs(athlete=athlete, known_id=way.step.id, next_id=way.asked.id, now=now)
    told = estimate(way.seconds, way.lever, pairs if len(pairs) >= ENOUGH_PAIRS else ())
    return EstimatesPanel(
        why_none="",
        figure=_figure(way, told),
        held=held,
        notes=(*_ended_at_a_count(way), *_notes(pairs, way.lever)),
        chart=endurance_chart(way.seconds, told, _name(way.step), _name(way.asked)),
        key=(
            f"Filled: {_name(way.step)}, {way.seconds:.1f} s. Open: {_name(way.asked)}, with its band dotted. Shaded: "
            "what the published curves span; the line is the joined one."
        ),
    )


def _figure(way: _Way, told: Estimate) -> Figure:
    lever = way.lever
    return Figure(
        label=f"Hold to expect at {_name(way.asked)}",
        value=_about(told),
        kind="estimate",
        inputs=(
            (f"Best clean hold at {_name(way.step)}, last {_WEEKS} weeks", f"{way.seconds:.1f} s"),
            ("Pose there", _in_words(way.step)),
            ("Pose here", _in_words(way.asked)),
            ("Moment about the hips there, over here", f"{lever.ratio:.2f} ({lever.low:.2f} to {lever.high:.2f})"),
            ("Share of the greatest force", f"{told.share_known:.0%} there, {told.share_next:.0%} here"),
            *(_of_the_gym(way, told) if told.pairs else ()),
        ),
        formula=_FORMULA + (_SHRUNK if told.pairs else ""),
        sources=_SOURCES,
        interval=f"{_span(told)}, {PERCENT} of 100",
        caution=_CAUTION,
    )


def _of_the_gym(way: _Way, told: Estimate) -> Iterator[tuple[str, str]]:
    alone = estimate(way.seconds, way.lever)
    yield "People of this gym with holds on both", str(told.pairs)
    yield "By the curves alone", _about(alone) + (f" ({_span(alone)})" if alone.high > LEAST_S else "")


def _ended_at_a_count(way: _Way) -> Iterator[str]:
    for count in RUNGS_S:
        if LEAST_S < count <= way.seconds < count + 1:
            yield (
                f"{way.seconds:.1f} s lie just over a count of {count} s. If the hold was ended at the count, more was "
                "there, and the estimate is too short."
            )


def _in_words(step: Step) -> str:
    return f"thighs {step.thigh_degrees}° from straight down, knees bent {step.knee_degrees}°"


def _about(told: Estimate) -> str:
    return f"less than {LEAST_S:.0f} s, or not yet" if told.seconds <= LEAST_S else f"about {told.seconds:.0f} s"


def _span(told: Estimate) -> str:
    if told.high <= LEAST_S:
        return f"less than {LEAST_S:.0f} s"
    low = f"less than {LEAST_S:.0f} s" if told.low <= LEAST_S else f"{told.low:.0f} s"
    return f"{low} to {told.high:.0f} s"


def _held(step: Step, tenths: int | None) -> Figure | None:
    if tenths is None:
        return None
    return Figure(
        label=f"Held at {_name(step)} already",
        value=wording.seconds(tenths),
        kind="measured",
        inputs=(("Looked at", f"judged clean holds without help of the last {_WEEKS} weeks"),),
        formula="The longest of them. What was held says more than any estimate.",
        sources=("ours",),
        interval="±0.2 s by a hand stopwatch",
    )


def _notes(pairs: Sequence[Pair], lever: Lever) -> Iterator[str]:
    people = wording.counted(len(pairs), "other grown person", "other grown people")
    if len(pairs) < ENOUGH_PAIRS:
        yield (
            f"Of this gym {people} {'has' if len(pairs) == 1 else 'have'} clean holds on both steps from the same "
            f"weeks; from {ENOUGH_PAIRS} on, their holds correct the estimate."
        )
        return
    did = calibration(pairs, lever)
    yield (
        f"Corrected by {people} of this gym with clean holds on both steps from the same weeks. They had come to hold "
        "the second step: who did not is not among them, so it may be told too long."
    )
    words = (
        f"How past estimates did, each made without that person: {did.inside} of {did.pairs} holds lay in their band; "
        f"{PERCENT} of 100 should."
    )
    if did.error_seconds is not None:
        words += (
            f" Where the curve reaches, from {LEAST_S:.0f} s up, half were off by {did.error_seconds:.1f} s or less."
        )
    yield words
