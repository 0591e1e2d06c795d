"""A portion of practice at one step: sets of holds or reps, with rests, on days of a week."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from skills.core.dose_limits import MOST_DAYS, REP_SECONDS, RUNGS_S, Volume
from skills.core.entries import Mistake

MOST_SETS: Final = 20
MOST_REPS: Final = 50
MOST_REST_S: Final = 600


@dataclass(frozen=True, slots=True)
class Portion:
    """`sets` of `reps` holds of `hold_seconds` each, or of reps where that is None, on `days` of the week.

    `rest_seconds` lie between two holds, or between two sets of reps.
    """

    sets: int
    reps: int
    hold_seconds: int | None
    rest_seconds: int
    days: int

    @property
    def tries_a_day(self) -> int:
        """All holds, or all reps, of one day."""
        return self.sets * self.reps

    @property
    def working_seconds_a_day(self) -> int:
        """Holding, or going up and down, on one day."""
        return self.tries_a_day * (REP_SECONDS if self.hold_seconds is None else self.hold_seconds)

    @property
    def seconds_a_day(self) -> int:
        """Holding and resting, on one day; without warming up and setting up."""
        rests = (self.sets if self.hold_seconds is None else self.tries_a_day) - 1
        return self.working_seconds_a_day + rests * self.rest_seconds

    @property
    def tries_a_week(self) -> int:
        """All holds, or all reps, of the week."""
        return self.tries_a_day * self.days

    def volume(self, loads: frozenset[str]) -> Volume:
        """Return what a week of it comes to at a step with these loads."""
        hang = self.working_seconds_a_day * self.days if "hanging" in loads else 0
        pulls = self.tries_a_week if "pulling" in loads and self.hold_seconds is None else 0
        return Volume(hang, pulls)


def mistakes_in_portion(portion: Portion, *, is_hold: bool) -> tuple[Mistake, ...]:
    """Return everything that is wrong with what a coach wrote for a step that is held, or counted in reps."""
    return tuple(_mistakes(portion, is_hold=is_hold))


def _mistakes(portion: Portion, *, is_hold: bool) -> Iterator[Mistake]:
    if not 1 <= portion.sets <= MOST_SETS:
        yield Mistake("sets", f"Sets are a whole number from 1 to {MOST_SETS}.")
    if not 1 <= portion.reps <= MOST_REPS:
        what = "Holds in a set" if is_hold else "Reps in a set"
        yield Mistake("reps", f"{what} are a whole number from 1 to {MOST_REPS}.")
    if is_hold and portion.hold_seconds not in RUNGS_S:
        yield Mistake("hold_seconds", f"Holds are practised for {_rungs()} s.")
    if not is_hold and portion.hold_seconds is not None:
        yield Mistake("hold_seconds", "This step is counted in reps: leave the seconds out.")
    if not 0 <= portion.rest_seconds <= MOST_REST_S:
        yield Mistake("rest_seconds", f"A rest lasts from 0 to {MOST_REST_S} seconds.")
    if not 1 <= portion.days <= MOST_DAYS:
        yield Mistake("days", f"Practise on one to {MOST_DAYS} days of a week.")


def _rungs() -> str:
    return f"{', '.join(str(rung) for rung in RUNGS_S[:-1])} or {RUNGS_S[-1]}"
