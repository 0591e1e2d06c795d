"""What a month of classes would have been, told: figures with what stands behind them, a chart, and every class."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from gymtrack.lib.charts import Axis, Chart, Frame, Point, draw
from skills.core.class_shape import Shape
from skills.core.figures import Figure
from skills.core.rotation.what_if import PEOPLE_FOR, Change, Effect, Pair, Practice, effect
from skills.queries.what_ifs import USUAL
from skills.services.what_ifs import Run, Told
from skills.wording import counted

WORDS: Final = {
    "low_bar": "one more low bar",
    "people": "{} instead of {} people".format(*PEOPLE_FOR),
    "coach": "two coaches",
}
_LABELS: Final = {
    "idle_minutes": ("Idle, for each person and class", " min"),
    "in_hand_minutes": ("At the step in hand, for each person and class", " min"),
    "in_hand_rotations": ("Rotations at the step in hand, for each person and class", ""),
    "resets": ("Times that a bar is set to another hole, for each class", ""),
}
_HOW: Final = {
    "idle_minutes": "Rotations in which somebody has no place, times the minutes of a rotation, and the minutes for "
    "which people wait at a bar that is being set anew; over everybody in the classes.",
    "in_hand_minutes": "Rotations at the step in hand, times the minutes of a rotation, less the waiting at bars; over "
    "everybody in the classes.",
    "in_hand_rotations": "How often a plan puts somebody at the step in hand; over everybody in the classes.",
    "resets": "How often the plans set a bar to another hole after the class has begun; over the classes.",
}


@dataclass(frozen=True, slots=True)
class Answer:
    """What a page shows of a question: the words of what was asked, figures, a chart."""

    asked: str
    run: Run
    figures: tuple[Figure, ...]
    chart: Chart | None

    @property
    def missing(self) -> int:
        """How many classes were worked out without a plan."""
        return self.run.done - len(self.run.known)

    @property
    def left_out(self) -> int:
        """How many earlier classes of the month were not asked about."""
        return self.run.found - len(self.run.classes)


def told(run: Run) -> Answer:
    """Tell a question as far as it is answered."""
    known, asked = run.known, words_of(run.change)
    return Answer(asked, run, tuple(_figures(known, asked)), _chart(known) if known else None)


def words_of(change: Change) -> str:
    """Return what was asked: 'one more low bar and two coaches'."""
    parts = [words for name, words in WORDS.items() if getattr(change, name)]
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _figures(known: Sequence[Told], asked: str, shape: Shape = USUAL) -> Iterator[Figure]:
    pairs = [each.pair for each in known if each.pair]
    if not pairs:
        return
    for name, (label, unit) in _LABELS.items():
        found = effect(name, pairs)
        yield Figure(
            label=label,
            value=f"{found.after:.1f}{unit} instead of {found.before:.1f}{unit} ({_signed(found.difference)})",
            kind="estimate",
            interval=f"{_signed(found.least)} to {_signed(found.most)}{unit} in single classes",
            inputs=tuple(_inputs(pairs, found, asked, shape)),
            formula=_HOW[name],
            sources=("ours",),
        )


def _inputs(pairs: Sequence[Pair], found: Effect, asked: str, shape: Shape) -> Iterator[tuple[str, str]]:
    yield "What if", asked
    yield "Classes", str(len(pairs))
    yield "People in them", f"{_people(pairs, 'after')} instead of {_people(pairs, 'before')}"
    yield "As it was", f"{found.before:.3f}"
    yield "What if so", f"{found.after:.3f}"
    yield "A rotation", f"{shape.rotation_minutes} min, after {shape.warm_up_minutes} min of warming up"
    yield "Setting a bar anew", f"{shape.reset_minutes} min, once in a class at most"
    yield "Coaches as it was", "one, who spots and judges"
    yield "How good the plans are", _gap(pairs)


def _people(pairs: Sequence[Pair], side: str) -> int:
    return sum(_side(pair, side).people for pair in pairs)


def _side(pair: Pair, side: str) -> Practice:
    return pair.before if side == "before" else pair.after


def _gap(pairs: Sequence[Pair]) -> str:
    """Say how far a plan may be from the best one: a difference below that may be the search's alone."""
    plans = [practice for pair in pairs for practice in (pair.before, pair.after) if practice.bound > 0]
    worst = max(((plan.bound - plan.worth) / plan.bound for plan in plans), default=0.0)
    return f"at most {worst:.1%} below the best there can be" if worst else "the best there can be"


def _chart(known: Sequence[Told]) -> Chart:
    pairs = [each.pair for each in known if each.pair]
    before, after = ([_each(_side(pair, side)) for pair in pairs] for side in ("before", "after"))
    days = [f"{each.on.day} {each.on:%b}" for each in known]
    at = _ticks(len(pairs))
    frame = Frame(
        Axis("class", at, lambda place: days[int(place)], inset=0.5), Axis.over("minutes", [0.0, *before, *after])
    )
    return draw(
        frame,
        [
            frame.dots(
                _points(before), "dot", [f"{day}: as it was, {value:.1f} min" for day, value in _with(days, before)]
            ),
            frame.squares(_points(after), "dot-open"),
        ],
        name="what-if",
        title="Minutes at the step in hand for each person: dots as it was, open squares what if",
        description=f"{counted(len(pairs), 'class', 'classes')}, from {min(before):.1f} to {max(before):.1f} min as it "
        f"was, from {min(after):.1f} to {max(after):.1f} min what if.",
        columns=("Class", "People", "Idle", "At the step in hand", "Bars set anew"),
        rows=[_row(each.name, day, pair) for each, day, pair in zip(known, days, pairs, strict=True)],
    )


def _each(practice: Practice) -> float:
    return practice.in_hand_minutes / practice.people


def _with(days: Sequence[str], values: Sequence[float]) -> Iterator[tuple[str, float]]:
    return zip(days, values, strict=True)


def _points(values: Sequence[float]) -> list[Point]:
    return [(float(place), value) for place, value in enumerate(values)]


def _ticks(count: int, most: int = 5) -> list[int]:
    """Return the places of the classes that a phone has room to name."""
    step = max(1, -(-(count - 1) // (most - 1)))
    return sorted({*range(0, count - step + 1, step), count - 1}) if count > step else [*range(count)]


def _row(name: str, day: str, pair: Pair) -> tuple[str, ...]:
    before, after = pair.before, pair.after
    return (
        f"{name}, {day}",
        _told(before.people, after.people),
        f"{_told(before.idle_minutes, after.idle_minutes)} min",
        f"{_told(before.in_hand_minutes, after.in_hand_minutes)} min",
        _told(before.resets, after.resets),
    )


def _told(before: int, after: int) -> str:
    return f"{after}" if after == before else f"{after} instead of {before}"


def _signed(value: float) -> str:
    """Write a difference with its sign, '±0' for none."""
    words = f"{value:+.1f}".replace("-", "−")
    return "±0" if words in {"+0.0", "−0.0"} else words
