"""Which tries a step's rules can take notice of, where they count successes alone: the others need not be read.

`holds` and `reps` count successes, and a miss leaves no trace in what they say. The other conditions tell of misses:
`best` and `angle` name the nearest so far, `last` and `reliability` take them from what was gathered.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from skills.core.conditions import AttemptLeaf, HoldsOf, RepsOf, asks_clean, attempt_leaves
from skills.core.facts import Attempt
from skills.core.holds import needed_tenths
from skills.core.steps import StepRule


@dataclass(frozen=True, slots=True)
class Least:
    """The least that a success is: so many tenths of a hold, or so many reps; None where none of these counts."""

    tenths: int | None
    reps: int | None
    clean: bool

    def allows(self, attempt: Attempt) -> bool:
        """Whether the try may be a success."""
        done, asked = (attempt.reps, self.reps) if attempt.hold_tenths is None else (attempt.hold_tenths, self.tenths)
        return asked is not None and done >= asked and (attempt.clean or not self.clean)


def least_of(step: StepRule) -> Least | None:
    """Return the least that a success is under any version of the step's criterion; None where misses matter too."""
    leaves = [leaf for version in step.criteria for leaf in attempt_leaves(version.criterion)]
    holds = [leaf for leaf in leaves if isinstance(leaf, HoldsOf)]
    reps = [leaf for leaf in leaves if isinstance(leaf, RepsOf)]
    if len(holds) + len(reps) < len(leaves):
        return None
    return Least(
        tenths=min((needed_tenths(leaf.tenths) for leaf in holds), default=None),
        reps=min((leaf.reps for leaf in reps), default=None),
        clean=_all_clean(leaves),
    )


def _all_clean(leaves: Iterable[AttemptLeaf]) -> bool:
    return all(asks_clean(leaf) for leaf in leaves)
