"""The written form of a criterion, the same in YAML and JSON, read with every mistake named."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final, cast, get_args

from skills.core.conditions import (
    AllOf,
    AngleOf,
    AnyOf,
    AtLeastOf,
    AttemptLeaf,
    BestOf,
    Bound,
    Confidence,
    Counting,
    Criterion,
    HoldsOf,
    HoldTarget,
    LastOf,
    ReliabilityOf,
    RepsOf,
    RepsTarget,
    StepPassed,
    Target,
)
from skills.core.entries import MOST_DEGREES
from skills.core.facts import Source
from skills.core.form_fields import Fields, Problem, shown
from skills.core.reliability import MOST_PERCENT, Rate

MOST_LEVELS: Final = 6
MOST_LEAVES: Final = 40
MOST_PROBLEMS: Final = 100  # as many as are noted before the rest is left unread
MOST_WINDOW_DAYS: Final = 3660
WORDS: Final = ("holds", "reps", "best", "last", "reliability", "angle", "step", "all", "any", "at_least")
_SOURCES: Final = get_args(Source)
_CONFIDENCES: Final = get_args(Confidence)
_USUAL_CONFIDENCE: Final = 90
_MOST_SUCCESSES: Final = 1000  # as good as any number: the most that a field of a criterion can ask for
_USUAL: Final = Counting()


class CriterionError(ValueError):
    """A written criterion that cannot be read.

    ``path`` and ``sentence`` tell the first problem, ``problems`` holds all of them.
    """

    def __init__(self, path: str, sentence: str, others: tuple[Problem, ...] = ()) -> None:
        self.path, self.sentence = path, sentence
        self.problems = (Problem(path, sentence), *others)
        super().__init__("\n".join(map(str, self.problems)))


def parse(data: object, *, stored: bool = False) -> Criterion:
    """Read a criterion; raises CriterionError that names every place where it cannot be read.

    One that is `stored` is read even if it can never be met: it was adopted before that was refused, and stands.
    """
    criterion, found = _read(data)
    found = tuple(problem for problem in found if not (stored and problem.never))
    if criterion is None or found:
        first, *others = found
        raise CriterionError(first.path, first.sentence, tuple(others))
    return criterion


def problems(data: object) -> tuple[Problem, ...]:
    """Return all that is wrong with a written criterion, nothing if it can be read."""
    return _read(data)[1]


def canonical(criterion: Criterion) -> str:
    """Return the one text of a criterion: JSON with every key, sorted, without spaces, in ASCII."""
    return json.dumps(to_data(criterion), sort_keys=True, separators=(",", ":"), ensure_ascii=True)


def to_data(criterion: Criterion) -> dict[str, object]:
    """Return the full written form, every key spelled out; ``parse`` reads the same criterion from it."""
    match criterion:
        case AllOf(conditions):
            return {"all": [to_data(condition) for condition in conditions]}
        case AnyOf(conditions):
            return {"any": [to_data(condition) for condition in conditions]}
        case AtLeastOf(count, conditions):
            return {"at_least": {"count": count, "of": [to_data(condition) for condition in conditions]}}
        case StepPassed(step):
            return {"step": step}
        case _:
            return _leaf_data(criterion)


def _leaf_data(leaf: AttemptLeaf) -> dict[str, object]:
    match leaf:
        case HoldsOf(count, tenths, counting):
            return {"holds": {"count": count, "seconds": _seconds(tenths), **_spelled(counting)}}
        case RepsOf(count, reps, unbroken, counting):
            return {"reps": {"count": count, "reps": reps, "unbroken": unbroken, **_spelled(counting)}}
        case BestOf(target, counting):
            return {"best": {**_target_data(target), **_spelled(counting)}}
        case LastOf(clean, of, target, counting):
            # "clean" is the number here: of the last tries only clean ones are ever successes.
            return {"last": {**_spelled(counting), **_target_data(target), "clean": clean, "of": of}}
        case AngleOf(count, degrees, bound, tenths, counting):
            seconds = _seconds(tenths) if tenths else None
            return {"angle": {"count": count, f"{bound}_degrees": degrees, "seconds": seconds, **_spelled(counting)}}
        case ReliabilityOf(percent, confidence, target, of, counting):
            rate = {"percent": percent, "confidence": confidence, "of": of}
            return {"reliability": {**rate, **_target_data(target), **_spelled(counting)}}


def _seconds(tenths: int) -> int | str:
    whole, tenth = divmod(tenths, 10)
    return f"{whole}.{tenth}" if tenth else whole


def _target_data(target: Target) -> dict[str, object]:
    if isinstance(target, HoldTarget):
        return {"seconds": _seconds(target.tenths)}
    return {"reps": target.reps, "unbroken": target.unbroken}


def _spelled(counting: Counting) -> dict[str, object]:
    return {
        "window_days": counting.window_days,
        "sessions": counting.sessions,
        "dates": counting.dates,
        "clean": counting.clean,
        "assistance": sorted(counting.assistance),
        "variants": counting.variants,
        "who": sorted(counting.who),
        "grade_at_least": counting.grade_at_least,
    }


def _read(data: object) -> tuple[Criterion | None, tuple[Problem, ...]]:
    reader = _Reader()
    return reader.condition(data, "", 1), tuple(reader.problems)


@dataclass(slots=True)
class _Reader:
    problems: list[Problem] = field(default_factory=list)
    leaves: int = 0

    def condition(self, data: object, path: str, level: int) -> Criterion | None:
        """Read one condition; None when it cannot even be told which one it is, or when enough was told."""
        if self.leaves > MOST_LEAVES or len(self.problems) >= MOST_PROBLEMS:
            return None
        if not isinstance(data, Mapping) or len(data) != 1 or next(iter(data)) not in WORDS:
            return self._unread(path, f"Write one condition here: {', '.join(WORDS)}.")
        if level > MOST_LEVELS:
            return self._unread(path, f"Conditions stand at most {MOST_LEVELS} deep in one another.")
        [(word, body)] = data.items()
        place = f"{path}.{word}" if path else word
        if word in ("all", "any"):
            parts = self._parts(body, place, level)
            return AllOf(parts) if word == "all" else AnyOf(parts)
        return self._at_least(body, place, level) if word == "at_least" else self._leaf(word, body, place)

    def _parts(self, body: object, path: str, level: int) -> tuple[Criterion, ...]:
        """Read the conditions of a list; those that cannot be told are left out."""
        if not isinstance(body, list | tuple) or not body:
            self._unread(path, "Write a list of one or more conditions.")
            return ()
        conditions = [self.condition(part, f"{path}[{place}]", level + 1) for place, part in enumerate(body)]
        return tuple(condition for condition in conditions if condition is not None)

    def _at_least(self, body: object, path: str, level: int) -> Criterion | None:
        if not isinstance(body, Mapping):
            return self._unread(path, f"Write the fields of at_least here, not {shown(body)}.")
        fields = Fields(body, path, self.problems)
        count, listed = fields.whole("count"), fields.anything("of")
        parts = self._parts(listed, f"{path}.of", level)
        if isinstance(listed, list | tuple) and 0 < len(listed) < count:
            fields.note("count", f"{count} of {len(listed)} can never be reached.", never=True)
        fields.refuse_unknown()
        return AtLeastOf(count, parts)

    def _leaf(self, word: str, body: object, path: str) -> Criterion | None:
        self.leaves += 1
        if self.leaves > MOST_LEAVES:
            # Said once, and the rest is not read: one page of mistakes is enough.
            return self._unread(path, f"A criterion has at most {MOST_LEAVES} conditions.")
        if word == "step":
            return self._step(body, path)
        if not isinstance(body, Mapping):
            return self._unread(path, f"Write the fields of {word} here, not {shown(body)}.")
        fields = Fields(body, path, self.problems)
        leaf = _READERS[word](fields)
        fields.refuse_unknown()
        return leaf

    def _step(self, body: object, path: str) -> Criterion | None:
        if isinstance(body, str) and body.strip() == body != "":
            return StepPassed(body)
        return self._unread(path, f"Write the code of a step, not {shown(body)}.")

    def _unread(self, path: str, sentence: str) -> Criterion | None:
        self.problems.append(Problem(path, sentence))
        return None


def _holds(fields: Fields) -> Criterion:
    count = fields.whole("count")
    return HoldsOf(count, fields.tenths("seconds"), _counting(fields, most=count))


def _reps(fields: Fields) -> Criterion:
    count = fields.whole("count")
    reps, unbroken = fields.whole("reps"), fields.flag("unbroken", default=False)
    return RepsOf(count, reps, unbroken, _counting(fields, most=count))


def _best(fields: Fields) -> Criterion:
    return BestOf(_target(fields), _counting(fields, most=1))


def _last(fields: Fields) -> Criterion:
    of = fields.whole("of")
    clean = fields.whole("clean")
    if clean > of:
        fields.note("clean", f"{clean} of the last {of} can never be reached.", never=True)
    return LastOf(clean, of, _target(fields), _counting(fields, most=of, clean=True))


def _angle(fields: Fields) -> Criterion:
    count = fields.whole("count")
    word = fields.one_of_two("at_least_degrees", "at_most_degrees")
    bound: Bound = "at_most" if word == "at_most_degrees" else "at_least"
    degrees = fields.whole(word, least=0, most=MOST_DEGREES) if word else 0
    return AngleOf(count, degrees, bound, fields.tenths_or_zero("seconds"), _counting(fields, most=count))


def _reliability(fields: Fields) -> Criterion:
    before = len(fields.problems)
    percent = fields.whole("percent", most=MOST_PERCENT)
    confidence = cast("Confidence", fields.one_of("confidence", _CONFIDENCES, _USUAL_CONFIDENCE))
    of = fields.whole_or_none("of")
    if len(fields.problems) == before and of is not None and not Rate(percent, confidence).reachable_with(of):
        # The number that would do is said, so that one knows what to write.
        fields.note("of", _too_few_tries(Rate(percent, confidence), of), never=True)
    return ReliabilityOf(percent, confidence, _target(fields), of, _counting(fields, most=of or _MOST_SUCCESSES))


def _too_few_tries(rate: Rate, of: int) -> str:
    return (
        f"{of} {'try' if of == 1 else 'tries'}, all of them clean, can never show {rate.percent} %: "
        f"it takes at least {rate.more_clean((), None)}."
    )


_READERS: Final[Mapping[str, Callable[[Fields], Criterion]]] = {
    "holds": _holds,
    "reps": _reps,
    "best": _best,
    "last": _last,
    "angle": _angle,
    "reliability": _reliability,
}


def _target(fields: Fields) -> Target:
    word = fields.one_of_two("seconds", "reps")
    if word == "seconds":
        return HoldTarget(fields.tenths("seconds"))
    return RepsTarget(fields.whole("reps") if word else 1, fields.flag("unbroken", default=False))


def _counting(fields: Fields, *, most: int, clean: bool | None = None) -> Counting:
    """Read how successes are counted; ``most`` successes cannot lie on more days or in more sessions."""
    before = len(fields.problems)
    counting = Counting(
        window_days=fields.whole_or_none("window_days", most=MOST_WINDOW_DAYS),
        sessions=fields.whole("sessions", default=_USUAL.sessions),
        dates=fields.whole("dates", default=_USUAL.dates),
        clean=fields.flag("clean", default=_USUAL.clean) if clean is None else clean,
        assistance=fields.codes("assistance", _USUAL.assistance),
        variants=fields.flag("variants", default=_USUAL.variants),
        who=cast("frozenset[Source]", fields.codes("who", _USUAL.who, allowed=_SOURCES)),
        grade_at_least=fields.whole("grade_at_least", default=0, least=0),
    )
    if len(fields.problems) == before:
        _refuse_the_impossible(fields, counting, most)
    return counting


def _refuse_the_impossible(fields: Fields, counting: Counting, most: int) -> None:
    for key, what, number in (("sessions", "sessions", counting.sessions), ("dates", "days", counting.dates)):
        if number > most:
            fields.note(key, f"{number} {what} can never be reached with {most} counted.", never=True)
    days = counting.window_days
    if days is None:
        return
    within = "1 day" if days == 1 else f"{days} days"
    if counting.dates > days:
        fields.note("dates", f"{counting.dates} days can never lie within {within}.", never=True)
    if counting.sessions > days:
        sentence = f"{counting.sessions} sessions can never lie within {within}, with one session a day."
        fields.note("sessions", sentence, never=True)
