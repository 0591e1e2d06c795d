"""The written form of a criterion, the same in YAML and JSON, read with every mistake named."""

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Final, cast, get_args

from skills.core.conditions import (
    AllOf,
    AnyOf,
    AttemptLeaf,
    BestOf,
    Counting,
    Criterion,
    HoldsOf,
    HoldTarget,
    LastOf,
    RepsOf,
    RepsTarget,
    StepPassed,
    Target,
)
from skills.core.facts import Source
from skills.core.form_fields import Fields, Problem, shown

MOST_LEVELS: Final = 6
MOST_LEAVES: Final = 40
MOST_WINDOW_DAYS: Final = 3660
WORDS: Final = ("holds", "reps", "best", "last", "step", "all", "any")
_SOURCES: Final = get_args(Source)
_USUAL: Final = Counting()


class CriterionError(ValueError):
    """A written criterion that cannot be read.

    ``path`` and ``sentence`` tell the first problem, ``problems`` holds all of them.
    """

    def __init__(self, path: str, sentence: str, others: tuple[Problem, ...] = ()) -> None:
        self.path, self.sentence = path, sentence
        self.problems = (Problem(path, sentence), *others)
        super().__init__("\n".join(map(str, self.problems)))


def parse(data: object) -> Criterion:
    """Read a criterion; raises CriterionError that names every place where it cannot be read."""
    criterion, found = _read(data)
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
        """Read one condition; None when it cannot even be told which one it is."""
        if not isinstance(data, Mapping) or len(data) != 1 or next(iter(data)) not in WORDS:
            return self._unread(path, f"Write one condition here: {', '.join(WORDS)}.")
        if level > MOST_LEVELS:
            return self._unread(path, f"Conditions stand at most {MOST_LEVELS} deep in one another.")
        [(word, body)] = data.items()
        place = f"{path}.{word}" if path else word
        if word in ("all", "any"):
            return self._several(word, body, place, level)
        return self._leaf(word, body, place)

    def _several(self, word: str, body: object, path: str, level: int) -> Criterion | None:
        if not isinstance(body, list | tuple) or not body:
            return self._unread(path, "Write a list of one or more conditions.")
        conditions = [self.condition(part, f"{path}[{place}]", level + 1) for place, part in enumerate(body)]
        read = tuple(condition for condition in conditions if condition is not None)
        return AllOf(read) if word == "all" else AnyOf(read)

    def _leaf(self, word: str, body: object, path: str) -> Criterion | None:
        self.leaves += 1
        if self.leaves > MOST_LEAVES:
            # Said once, and the rest is not read: one page of mistakes is enough.
            told = self.leaves > MOST_LEAVES + 1
            return None if told else self._unread(path, f"A criterion has at most {MOST_LEAVES} conditions.")
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
        fields.note("clean", f"{clean} of the last {of} can never be reached.")
    return LastOf(clean, of, _target(fields), _counting(fields, most=of, clean=True))


_READERS: Final[Mapping[str, Callable[[Fields], Criterion]]] = {
    "holds": _holds,
    "reps": _reps,
    "best": _best,
    "last": _last,
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
    for key, number in (("sessions", counting.sessions), ("dates", counting.dates)):
        if number > most:
            fields.note(key, f"{number} {key} can never be reached with {most} counted.")
    if counting.window_days is not None and counting.dates > counting.window_days:
        fields.note("dates", f"{counting.dates} days can never lie within {counting.window_days}.")
