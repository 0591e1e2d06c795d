"""A criterion under a plan of tries: when it may come to be met, what each condition has in view, what is enough.

Every try is one that the conditions look at, so what is in view at a moment follows from the plan alone.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property, reduce
from operator import and_, or_
from typing import Any, Final

from skills.core.conditions import (
    AllOf,
    AnyOf,
    AtLeastOf,
    AttemptLeaf,
    Branch,
    Criterion,
    StepPassed,
    asks_clean,
    attempt_leaves,
)
from skills.core.tallies import Need, need_of

MOST_TRIES: Final = 200
MOST_DAYS_BETWEEN: Final = 90


@dataclass(frozen=True, slots=True)
class Plan:
    """How many tries there are, how many of them in a session, and how many days lie from session to session.

    Raises ValueError outside of 1 to MOST_TRIES, and of 1 to MOST_DAYS_BETWEEN.
    """

    tries: int
    tries_a_session: int
    days_between_sessions: int

    def __post_init__(self) -> None:
        if not (0 < self.tries <= MOST_TRIES and 0 < self.tries_a_session <= MOST_TRIES):
            raise ValueError(f"A plan has 1 to {MOST_TRIES} tries, and as many a session.")
        if not 0 < self.days_between_sessions <= MOST_DAYS_BETWEEN:
            raise ValueError(f"Sessions lie 1 to {MOST_DAYS_BETWEEN} days apart.")

    def session_of(self, place: int) -> int:
        """Return the session, counted from 0, of a try, counted from 0."""
        return place // self.tries_a_session

    def day_of(self, place: int) -> int:
        """Return the day, counted from 0, of a try, counted from 0."""
        return self.session_of(place) * self.days_between_sessions


@dataclass(frozen=True, slots=True)
class Moment:
    """A moment at which a rule may come to be met: so many tries are made, on this day."""

    made: int
    day: int


@dataclass(frozen=True)  # without slots: what is derived is kept on the object
class Part:
    """One leaf under a plan: what is in its view at a moment, and how much of it is enough."""

    need: Need
    window_days: int | None
    asks_clean: bool
    plan: Plan

    @classmethod
    def of(cls, leaf: AttemptLeaf, plan: Plan) -> "Part":
        """Put a leaf under a plan."""
        return cls(need_of(leaf), leaf.counting.window_days, asks_clean(leaf), plan)

    @cached_property
    def spread(self) -> int:
        """On how many sessions the successes must lie; with one session a day, that is as many dates."""
        return max(self.need.sessions, self.need.dates)

    @cached_property
    def forgets(self) -> bool:
        """Whether a try can ever fall out of view."""
        return self.window_days is not None or (self.need.of or MOST_TRIES) < self.plan.tries

    @property
    def expiries(self) -> set[int]:
        """The days on which tries leave the window."""
        last, between = self.plan.day_of(self.plan.tries - 1), self.plan.days_between_sessions
        return set() if self.window_days is None else {day + self.window_days for day in range(0, last + 1, between)}

    def first_in_view(self, at: Moment) -> int:
        """Return the place of the first try in view."""
        first = 0 if self.need.of is None else max(0, at.made - self.need.of)
        if self.window_days is None:
            return first
        session = (at.day - self.window_days) // self.plan.days_between_sessions + 1
        return min(at.made, max(first, session * self.plan.tries_a_session))

    def enough(self, tries: int) -> int:
        """Return how many successes among so many tries in view are enough; more than there are, where none are."""
        return _enough(self.need, tries)

    @cached_property
    def spare(self) -> int:
        """How many misses a view can hold and be enough; more than there are tries, where any number can."""
        if self.need.of is None:
            return self.plan.tries
        return max(tries - self.enough(tries) for tries in range(self.need.of + 1))


@cache
def _enough(need: Need, tries: int) -> int:
    rate = need.rate
    return next((k for k in range(need.count, tries + 1) if rate is None or rate.shown_by(k, tries)), tries + 1)


@dataclass(frozen=True)  # without slots, for the same reason
class PlannedRule:
    """A criterion under a plan; leaves that say the same are one part."""

    criterion: Criterion
    plan: Plan
    parts: Mapping[AttemptLeaf, Part]

    @classmethod
    def of(cls, criterion: Criterion, plan: Plan) -> "PlannedRule":
        """Put a criterion under a plan."""
        return cls(criterion, plan, {leaf: Part.of(leaf, plan) for leaf in attempt_leaves(criterion)})

    @property
    def only_counts(self) -> bool:
        """Whether all that matters is how many of the tries are clean."""
        if isinstance(self.criterion, Branch | StepPassed):
            return False
        part = self.parts[self.criterion]
        return part.need.rate is None and part.spread == 1 and not part.forgets

    def before(self, place: int) -> Iterator[Moment]:
        """Yield the moments from the try before it until a try at which something leaves a window."""
        if place:
            since, until = self.plan.day_of(place - 1), self.plan.day_of(place)
            yield from (Moment(place, day) for day in self._expiries if since < day <= until)

    def moments(self) -> Iterator[Moment]:
        """Yield all moments that matter, in order."""
        for place in range(self.plan.tries):
            yield from self.before(place)
            yield Moment(place + 1, self.plan.day_of(place))

    @cached_property
    def _expiries(self) -> list[int]:
        return sorted({day for part in self.parts.values() for day in part.expiries})


def verdict(criterion: Criterion, met: Mapping[AttemptLeaf, Any]) -> Any:  # noqa: ANN401 - bool, or an array of them
    """Return whether the tree holds, given which of its leaves do."""
    match criterion:
        case StepPassed():
            return True
        case AllOf(conditions):
            return reduce(and_, (verdict(each, met) for each in conditions))
        case AnyOf(conditions):
            return reduce(or_, (verdict(each, met) for each in conditions))
        case AtLeastOf(count, conditions):
            return sum(verdict(each, met) for each in conditions) >= count
        case _:
            return met[criterion]
