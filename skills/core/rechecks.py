"""Old evidence: when a passed step has not been shown for so long that it is due for a recheck."""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta
from itertools import pairwise

from skills.core.conditions import attempt_leaves, succeeds
from skills.core.counted import Counted
from skills.core.days import day_starts_us, local_date
from skills.core.spans import Span, Spans
from skills.core.steps import StepRule


def recheck_spans(step: StepRule, stretches: Iterable[Span], attempts: Sequence[Counted], zone: str) -> Spans:
    """Return when a recheck is due, within the stretches that each begin with a moment of passing.

    It is due from the start of the day ``recheck_days`` after the step was last shown: by passing, or by
    a later attempt that is a success for a leaf of the criterion then in force.
    """
    if step.recheck_days is None:
        return Spans()
    shown_us = [counted.attempt.happened_us for counted in attempts if shows(step, counted)]
    wait = timedelta(days=step.recheck_days)
    return Spans.of(
        (max(shown, day_starts_us(local_date(shown, zone) + wait, zone)), following)
        for stretch in stretches
        for shown, following in pairwise(_showings(stretch, shown_us))
    )


def shows(step: StepRule, counted: Counted) -> bool:
    """Whether the attempt is a success for at least one leaf of the criterion in force at its time."""
    attempt = counted.attempt
    in_force = step.in_force_at(attempt.happened_us)
    return in_force is not None and any(succeeds(leaf, attempt) for leaf in attempt_leaves(in_force.criterion))


def _showings(stretch: Span, shown_us: list[int]) -> Iterator[int]:
    """Yield the passing, each showing after it, and the end of the stretch."""
    yield stretch.from_us
    yield from shown_us[bisect_left(shown_us, stretch.from_us) : bisect_left(shown_us, stretch.until_us)]
    yield stretch.until_us
