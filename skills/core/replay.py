"""What a draft of a criterion would have done: a gym's own history replayed under it, and nothing stored.

Everything as it is known now: a try that was taken back never happened, whenever that was learned.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

from skills.core.course import Course, course_of
from skills.core.criteria import Criterion
from skills.core.facts import History, SignOff
from skills.core.spans import SINCE_EVER, Spans, any_holds
from skills.core.steps import CriterionInForce, Rules
from skills.core.timeline import Base, Timeline

Move = Literal["earlier", "later", "newly", "no_longer", "same"]
MOVES: Final[tuple[Move, ...]] = ("earlier", "later", "newly", "no_longer", "same")
_DONE: Final = ("ready", "passed")


@dataclass(frozen=True, slots=True)
class Past:
    """The facts of one athlete (of other steps they are left aside), and how they stood at the other steps."""

    history: History
    timelines: Mapping[str, Timeline]


@dataclass(frozen=True, slots=True)
class Outcome:
    """One athlete at the step.

    When the criterion was first met while the step was open (None = never so far), under the criteria that were in
    force then and under the draft; and how it stands now, and would if the draft were adopted now.
    """

    athlete: str
    then_us: int | None
    draft_us: int | None
    now: Base
    adopted: Base

    @property
    def move(self) -> Move | None:
        """How the first moment would have moved; None where neither was ever met."""
        if self.then_us == self.draft_us:
            return None if self.then_us is None else "same"
        if self.then_us is None or self.draft_us is None:
            return "newly" if self.then_us is None else "no_longer"
        return "earlier" if self.draft_us < self.then_us else "later"

    @property
    def loses(self) -> bool:
        """Whether they are ready for a sign-off now and would not be."""
        return self.now == "ready" and self.adopted != "ready"

    @property
    def gains(self) -> bool:
        """Whether adopting the draft would make them ready, or let them pass, at once."""
        return self.now not in _DONE and self.adopted in _DONE


@dataclass(frozen=True, slots=True)
class Passes:
    """Sign-offs that passed the finish: how many, and how many of them were revoked later."""

    made: int = 0
    revoked: int = 0


@dataclass(frozen=True, slots=True)
class Replay:
    """What the draft would have done, one outcome an athlete in the order given.

    ``met`` are the passes at the finish at whose moment the draft was met, ``unmet`` the others.
    """

    as_of_us: int
    outcomes: tuple[Outcome, ...]
    met: Passes
    unmet: Passes

    @property
    def moves(self) -> Mapping[Move, int]:
        """How many athletes there are of each move."""
        found = Counter(outcome.move for outcome in self.outcomes)
        return {move: found[move] for move in MOVES}


def replay(rules: Rules, code: str, draft: Criterion, pasts: Mapping[str, Past], as_of_us: int) -> Replay:
    """Replay the pasts of athletes, by their ids, at one step.

    Raises CycleError or UnknownStepError for a draft that asks for a step that waits for this one or is not there.
    """
    lenses = _Lenses.of(rules, code, draft, as_of_us)
    lenses.since_ever.order  # noqa: B018 - a cycle is told before anything is replayed
    seen = [lenses.look(athlete, past) for athlete, past in pasts.items()]
    passes = [each for _, made in seen for each in made]
    return Replay(
        as_of_us,
        tuple(outcome for outcome, _ in seen),
        _counted(revoked for met, revoked in passes if met),
        _counted(revoked for met, revoked in passes if not met),
    )


@dataclass(frozen=True, slots=True)
class _Lenses:
    """The rules as they are, with the draft since ever, and with the draft from now on."""

    code: str
    as_of_us: int
    rules: Rules
    since_ever: Rules
    from_now: Rules

    @classmethod
    def of(cls, rules: Rules, code: str, draft: Criterion, as_of_us: int) -> "_Lenses":
        criteria = rules.steps[code].criteria
        number = max((version.version for version in criteria), default=0) + 1
        since_ever = (CriterionInForce(number, SINCE_EVER, draft),)
        # The last to begin at a moment is the one in force; what would begin later gives way to the draft.
        from_now = (*(each for each in criteria if each.from_us <= as_of_us), CriterionInForce(number, as_of_us, draft))
        return cls(code, as_of_us, rules, _with(rules, code, since_ever), _with(rules, code, from_now))

    def look(self, athlete: str, past: Past) -> tuple[Outcome, list[tuple[bool, bool]]]:
        """Return the outcome, and for each pass whether the draft was met and whether it was revoked."""
        then, drafted, adopted = (
            course_of(rules, self.code, past.history, past.timelines)
            for rules in (self.rules, self.since_ever, self.from_now)
        )
        outcome = Outcome(
            athlete,
            self._first_us(then),
            self._first_us(drafted),
            then.timeline().at(self.as_of_us).base,
            adopted.timeline().at(self.as_of_us).base,
        )
        met = _met(drafted)
        made = drafted.finish.until(self.as_of_us)
        return outcome, [(met.covers(each.happened_us), revoked) for each, revoked in _passes(made)]

    def _first_us(self, course: Course) -> int | None:
        first_us = (course.open & _met(course)).first_us()
        return first_us if first_us is not None and first_us <= self.as_of_us else None


def _with(rules: Rules, code: str, criteria: tuple[CriterionInForce, ...]) -> Rules:
    return Rules({**rules.steps, code: replace(rules.steps[code], criteria=criteria)}, rules.zone)


def _met(course: Course) -> Spans:
    return any_holds(version.met for version in course.versions)


def _passes(made: Iterable[SignOff]) -> Iterator[tuple[SignOff, bool]]:
    """Yield each pass with whether a revocation followed it before the next pass."""
    standing: SignOff | None = None
    revoked = False
    for sign_off in made:
        if sign_off.decision == "passed":
            if standing:
                yield standing, revoked
            standing, revoked = sign_off, False
        revoked = revoked or sign_off.decision == "revoked"
    if standing:
        yield standing, revoked


def _counted(revoked: Iterable[bool]) -> Passes:
    each = [*revoked]
    return Passes(len(each), sum(each))
