"""Why an attempt at a step counted or did not: reasons as data; `skills.why_words` has the sentences."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from skills.core.conditions import (
    Aim,
    AngleTarget,
    AttemptLeaf,
    Bound,
    Counting,
    HoldTarget,
    RepsTarget,
    asks_clean,
    attempt_leaves,
    is_of_kind,
    reaches,
    target_of,
)
from skills.core.counted import Counted, counted_attempts, open_spans, pauses
from skills.core.facts import Attempt, History, Source
from skills.core.holds import needed_tenths
from skills.core.spans import Spans
from skills.core.steps import Rules, StepRule
from skills.core.tallies import Tries

Bearing = Literal["criterion", "passing", "entrance", "finish"]
Kind = Literal["hold", "reps", "angle"]


@dataclass(frozen=True, slots=True)
class TakenBack:
    """Taken back later: it is to be taken as not having happened."""


@dataclass(frozen=True, slots=True)
class StepClosed:
    """The step was not open to the athlete, or was tried closed, with a reason."""


@dataclass(frozen=True, slots=True)
class UnderCaution:
    """A caution lay on a load of the step; ``loads`` sorted."""

    loads: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NotJudged:
    """A step that a coach opens counts only what a coach watched."""

    source: Source


@dataclass(frozen=True, slots=True)
class OtherEntry:
    """The condition does not look at entries of this kind."""

    source: Source


@dataclass(frozen=True, slots=True)
class WithHelp:
    """The condition does not look at tries with this help."""

    assistance: str


@dataclass(frozen=True, slots=True)
class EasierVariant:
    """The condition does not look at this easier form of the step."""

    variant: str


@dataclass(frozen=True, slots=True)
class GradedLow:
    """Graded lower than the condition asks for; 0 = not graded."""

    grade: int
    needed: int


@dataclass(frozen=True, slots=True)
class OtherKind:
    """The condition asks for something else: a hold, reps, a measured angle."""

    asked: Kind


@dataclass(frozen=True, slots=True)
class ShortHold:
    """Shorter than asked."""

    tenths: int
    needed_tenths: int


@dataclass(frozen=True, slots=True)
class FewReps:
    """Fewer reps than asked."""

    reps: int
    needed: int


@dataclass(frozen=True, slots=True)
class Broken:
    """Reps with a break, where unbroken ones are asked for."""


@dataclass(frozen=True, slots=True)
class OffAngle:
    """An angle on the wrong side of what is asked."""

    degrees: int
    needed: int
    bound: Bound


@dataclass(frozen=True, slots=True)
class NotClean:
    """A fault, a checkpoint that was not shown, or pain; codes sorted."""

    faults: tuple[str, ...]
    missed: tuple[str, ...]
    pain: bool


@dataclass(frozen=True, slots=True)
class OutsideWindow:
    """Too long ago for a window of so many days."""

    days: int


@dataclass(frozen=True, slots=True)
class NotAmongLast:
    """Followed by so many later tries that it is not among the last ones any more."""

    of: int


@dataclass(frozen=True, slots=True)
class NotNeeded:
    """Good for a condition, but the criterion was met in another of its ways."""


@dataclass(frozen=True, slots=True)
class NothingAsked:
    """No criterion was in force that looks at attempts."""


Reason = (
    TakenBack
    | StepClosed
    | UnderCaution
    | NotJudged
    | OtherEntry
    | WithHelp
    | EasierVariant
    | GradedLow
    | OtherKind
    | ShortHold
    | FewReps
    | Broken
    | OffAngle
    | NotClean
    | OutsideWindow
    | NotAmongLast
    | NotNeeded
    | NothingAsked
)


@dataclass(frozen=True, slots=True)
class Verdict:
    """An attempt, what rests on it, and why it does not count; it counts when there is no reason against it."""

    attempt: Attempt
    bears: tuple[Bearing, ...]
    reasons: tuple[Reason, ...]

    @property
    def counts(self) -> bool:
        """Whether something rests on the attempt and nothing speaks against it."""
        return not self.reasons


def verdicts_at(
    rules: Rules, code: str, history: History, bearing: Mapping[str, tuple[Bearing, ...]], as_of_us: int
) -> tuple[Verdict, ...]:
    """Return what became of each attempt at a step up to a moment, by moment and id.

    ``bearing`` names what rests on which attempt (by id); attempts at other steps are told where it names them.
    An attempt is judged by all that speaks against it for the condition that it comes nearest to.
    """
    judge = _Judge.of(rules, rules.steps[code], history, as_of_us)
    attempts = [
        attempt
        for attempt in history.attempts
        if attempt.happened_us <= as_of_us and (attempt.step == code or attempt.id in bearing)
    ]
    attempts.sort(key=lambda attempt: (attempt.happened_us, attempt.id))
    return tuple(judge.verdict(attempt, bearing.get(attempt.id, ())) for attempt in attempts)


@dataclass(frozen=True, slots=True)
class _View:
    """One condition and the tries that it has in view."""

    leaf: AttemptLeaf
    in_view: frozenset[str]
    past: frozenset[str]  # out of the window

    @classmethod
    def of(cls, leaf: AttemptLeaf, counted: Iterable[Counted], zone: str, as_of_us: int) -> "_View":
        tries = Tries.at(leaf, counted, zone)
        past = frozenset(seen.counted.attempt.id for seen in tries.seen if seen.leaves_us <= as_of_us)
        return cls(leaf, frozenset(seen.counted.attempt.id for seen in tries.in_view(as_of_us)), past)

    def reasons(self, attempt: Attempt) -> tuple[Reason, ...]:
        against = (*_not_looked_at(attempt, self.leaf.counting), *_no_success(attempt, self.leaf), *self._gone(attempt))
        return against or (NotNeeded(),)

    def _gone(self, attempt: Attempt) -> Iterator[Reason]:
        days, of = self.leaf.counting.window_days, getattr(self.leaf, "of", None)
        if attempt.id in self.past and days is not None:
            yield OutsideWindow(days)
        elif attempt.id not in self.in_view and of is not None and not [*_not_looked_at(attempt, self.leaf.counting)]:
            yield NotAmongLast(of)


@dataclass(frozen=True, slots=True)
class _Judge:
    """What is asked of an attempt at one step at one moment."""

    step: StepRule
    voided: frozenset[str]
    opened: Spans
    cautions: tuple[tuple[Spans, frozenset[str]], ...]
    views: tuple[_View, ...]

    @classmethod
    def of(cls, rules: Rules, step: StepRule, history: History, as_of_us: int) -> "_Judge":
        sign_offs = [each for each in history.sign_offs if each.step == step.code and each.gate == "entrance"]
        opened = open_spans(step, (each for each in history.openings if each.step == step.code), sign_offs)
        cautions = tuple((Spans.of([pause.lasting]), pause.loads) for pause in pauses(step, history))
        paused = Spans.of(span for spans, _ in cautions for span in spans.spans)
        counted = counted_attempts(step, history, rules.zone, opened, paused)
        in_force = step.in_force_at(as_of_us)
        leaves = attempt_leaves(in_force.criterion) if in_force else ()
        views = tuple(_View.of(leaf, counted, rules.zone, as_of_us) for leaf in leaves)
        return cls(step, frozenset(void.attempt for void in history.voids), opened, cautions, views)

    def verdict(self, attempt: Attempt, bears: tuple[Bearing, ...]) -> Verdict:
        if attempt.step != self.step.code:
            return Verdict(attempt, bears, (TakenBack(),) if attempt.id in self.voided else ())
        never = tuple(self._never_counted(attempt))
        return Verdict(attempt, bears, never or (() if bears else self._against(attempt)))

    def _never_counted(self, attempt: Attempt) -> Iterator[Reason]:
        if attempt.id in self.voided:
            yield TakenBack()
        if attempt.closed_try or not self.opened.covers(attempt.happened_us):
            yield StepClosed()
        loads = frozenset[str]().union(*(each for spans, each in self.cautions if spans.covers(attempt.happened_us)))
        if loads:
            yield UnderCaution(tuple(sorted(loads)))
        if self.step.asks_clearance and attempt.source != "judged":
            yield NotJudged(attempt.source)

    def _against(self, attempt: Attempt) -> tuple[Reason, ...]:
        """Return what speaks against the attempt for the condition that it comes nearest to, the first of such."""
        return min((view.reasons(attempt) for view in self.views), key=_distance, default=(NothingAsked(),))


def _distance(against: tuple[Reason, ...]) -> tuple[bool, int]:
    """Order what speaks against an attempt: a try of another kind is farther than any other miss."""
    missed = [reason for reason in against if not isinstance(reason, NotNeeded)]
    return any(isinstance(reason, OtherKind) for reason in missed), len(missed)


def _not_looked_at(attempt: Attempt, counting: Counting) -> Iterator[Reason]:
    if attempt.source not in counting.who:
        yield OtherEntry(attempt.source)
    if attempt.assistance not in counting.assistance:
        yield WithHelp(attempt.assistance)
    if attempt.variant and not counting.variants:
        yield EasierVariant(attempt.variant)
    if attempt.grade < counting.grade_at_least:
        yield GradedLow(attempt.grade, counting.grade_at_least)


def _no_success(attempt: Attempt, leaf: AttemptLeaf) -> Iterator[Reason]:
    aim = target_of(leaf)
    if not is_of_kind(attempt, aim):
        yield OtherKind(_kind(aim))
    elif not reaches(attempt, aim):
        yield from _misses(attempt, aim)
    if asks_clean(leaf) and not attempt.clean:
        yield NotClean(tuple(sorted(attempt.faults)), tuple(sorted(attempt.missed)), attempt.pain)


def _misses(attempt: Attempt, aim: Aim) -> Iterator[Reason]:
    match aim:
        case HoldTarget(tenths):
            yield ShortHold(attempt.hold_tenths or 0, needed_tenths(tenths))
        case RepsTarget(reps, unbroken):
            if attempt.reps < reps:
                yield FewReps(attempt.reps, reps)
            if unbroken and not attempt.unbroken:
                yield Broken()
        case AngleTarget(degrees, bound, tenths):
            if not reaches(attempt, AngleTarget(degrees, bound, 0)):
                yield OffAngle(attempt.angle_degrees or 0, degrees, bound)
            if tenths and (attempt.hold_tenths or 0) < needed_tenths(tenths):
                yield ShortHold(attempt.hold_tenths or 0, needed_tenths(tenths))


def _kind(aim: Aim) -> Kind:
    match aim:
        case HoldTarget():
            return "hold"
        case RepsTarget():
            return "reps"
        case AngleTarget():
            return "angle"
