"""Draws the last tries at a step: seconds of holds, or reps of sets, one mark a try in the order they were made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from django.utils.safestring import SafeString

from gymtrack.lib.charts import Axis, Chart, Frame, draw
from skills import wording
from skills.core.conditions import HoldTarget, RepsTarget, attempt_leaves, target_of
from skills.core.criteria import Criterion
from skills.core.facts import Attempt
from skills.queries.books import StepPage
from skills.wording import Terms

DAY_LABELS = 6  # more of them would run into one another on a phone


def tries_drawn(page: StepPage, tries: Sequence[Attempt], criterion: Criterion | None, terms: Terms) -> Chart:
    """Draw tries (one at least, the oldest first) with what the criterion asks of one."""
    unit, asked = "seconds" if page.form.is_hold else "reps", _asked(page, criterion)
    values = [_value(attempt) for attempt in tries]
    frame = Frame(_days(tries, terms), _sizes(unit, [0, *values, *asked]))
    return draw(
        frame,
        [*_asked_line(frame, asked, len(tries)), *_marks(frame, tries, values)],
        name="tries",
        title=f"Last {'holds' if page.form.is_hold else 'sets'}: {page.label} {page.name}",
        description=_description(values, unit, asked),
        columns=("Day", "Seconds" if page.form.is_hold else "Reps", "Holds" if page.form.is_hold else "Sets", "How"),
        rows=[_row(attempt, page, terms) for attempt in reversed(tries)],
    )


def _value(attempt: Attempt) -> float:
    return attempt.reps if attempt.hold_tenths is None else attempt.hold_tenths / 10


def _asked(page: StepPage, criterion: Criterion | None) -> list[float]:
    """Return the largest result that the criterion asks of one try, or nothing."""
    targets = [target_of(leaf) for leaf in attempt_leaves(criterion)] if criterion else []
    holds = [target.tenths / 10 for target in targets if isinstance(target, HoldTarget)]
    reps = [float(target.reps) for target in targets if isinstance(target, RepsTarget)]
    fitting = holds if page.form.is_hold else reps
    return [max(fitting)] if fitting else []


def _days(tries: Sequence[Attempt], terms: Terms) -> Axis:
    """Return an axis of the tries by number, the first of a day labelled with it where there is room."""
    days = [terms.day(attempt.happened_us).rsplit(" ", 1)[0] for attempt in tries]
    labels: dict[float, str] = {1: days[0]}
    for number, (before, day) in enumerate(pairwise(days), start=2):
        if day != before and number - max(labels) >= len(days) / DAY_LABELS:
            labels[number] = day
    return Axis("tries in order, by day", sorted({*labels, len(tries)}), lambda at: labels.get(at, ""), inset=0.5)


def _sizes(unit: str, values: Sequence[float]) -> Axis:
    """Return the axis of results; there are no parts of a rep."""
    axis = Axis.over(unit, values)
    return replace(axis, at=[at for at in axis.at if at == int(at)]) if unit == "reps" else axis


def _asked_line(frame: Frame, asked: Sequence[float], count: int) -> Iterator[SafeString]:
    for value in asked:
        yield frame.line([(0.5, value), (count + 0.5, value)], "target")


def _marks(frame: Frame, tries: Sequence[Attempt], values: Sequence[float]) -> Iterator[SafeString]:
    """Yield dots of what was logged in class and squares of own entries, filled where the try was clean."""
    for own, shape in ((False, frame.dots), (True, frame.squares)):
        for clean, kind in ((True, "dot"), (False, "dot-open")):
            yield shape(
                [
                    (number, value)
                    for number, (attempt, value) in enumerate(zip(tries, values, strict=True), start=1)
                    if attempt.clean is clean and (attempt.source == "own") is own
                ],
                kind,
            )


def _description(values: Sequence[float], unit: str, asked: Sequence[float]) -> str:
    words = f"{wording.counted(len(values), 'try', 'tries')}, from {min(values):g} to {max(values):g} {unit}"
    return words + "".join(f"; the criterion asks for {value:g}" for value in asked) + "."


def _row(attempt: Attempt, page: StepPage, terms: Terms) -> tuple[str, str, str, str]:
    done = wording.how_done(attempt, page) + (", own entry" if attempt.source == "own" else "")
    day = terms.day(attempt.happened_us)
    if attempt.hold_tenths is None:
        return day, str(attempt.reps), "1", done
    return day, f"{attempt.hold_tenths / 10:.1f}", str(attempt.reps), done
