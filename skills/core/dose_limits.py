"""How much is practised in a week at most, and on which rungs: every figure with where it comes from.

None of them foretells an injury, and none is a ratio of one week to others: those have no evidence that holds
(`lolli-2019` in `skills.core.sources`). They keep a plan that nobody has looked at small; a coach decides.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

RUNGS_S: Final = (5, 10, 20)  # seconds of a hold; common practice, no source

# Two steps, a third where its skill is being practised: ours.
USUAL_STEPS: Final = 2
MOST_STEPS: Final = 3

# Two or three days a week, not one after another: Lloyd and others 2014 for youths, second hand; ours for adults.
FEWEST_DAYS: Final = 2
MOST_DAYS: Final = 3

# A rung has to be well inside the best clean hold, so that each hold of a set can be clean: ours.
SHARE_PERCENT: Final = 80
MINORS_SHARE_PERCENT: Final = 75  # no holds to failure, so a little less: ours

# A longer rung than the step's own asks for a longer rest: 2 to 3 min, ACSM 2009; of lifting, none of hangs is known.
LONGER_REST_S: Final = 120

REP_SECONDS: Final = 3  # one up and down, and what a rep counts as hang time: ours
AWAY_DAYS: Final = 21  # strength is kept for about three weeks: McMaster and others 2013, second hand
GROWTH_PERCENT: Final = 10  # 5 to 10 % more once it is done well: Lloyd and others 2014, second hand
RECENT_WEEKS: Final = 4  # the athlete's own recent range: ours
BEST_WEEKS: Final = 8  # an older best says little of today: ours


@dataclass(frozen=True, slots=True)
class Volume:
    """What a week, or a part of one, comes to: seconds on a bar or rings, and pulls."""

    hang_seconds: int = 0
    pulls: int = 0

    def __add__(self, other: Volume) -> Volume:
        return Volume(self.hang_seconds + other.hang_seconds, self.pulls + other.pulls)

    def less(self, other: Volume) -> Volume:
        """Return what is left, which may be less than nothing."""
        return Volume(self.hang_seconds - other.hang_seconds, self.pulls - other.pulls)

    def fits(self, room: Volume) -> bool:
        """Whether it is within the room; what asks for none of a kind needs none of it."""
        return (not self.hang_seconds or self.hang_seconds <= room.hang_seconds) and (
            not self.pulls or self.pulls <= room.pulls
        )


# Three days of 150 s, the upper end of what Lum and Barbosa 2019 tell of a session; three days of three sets of eight
# pulls: common practice, no source. What one may begin with: three days of 60 s, and half the pulls: ours.
MOST_OF_ADULTS: Final = Volume(hang_seconds=450, pulls=72)
START_OF_ADULTS: Final = Volume(hang_seconds=180, pulls=36)
# Three days of 90 s, the upper end for greatest strength there; half the pulls: two sets of six. One or two sets to
# begin with (Lloyd and others 2014, second hand): two days of 60 s, three of six pulls. The figures are ours.
MOST_OF_MINORS: Final = Volume(hang_seconds=270, pulls=36)
START_OF_MINORS: Final = Volume(hang_seconds=120, pulls=18)


def most_of(*, minor: bool) -> Volume:
    """Return what a week may never exceed, over all steps of a person."""
    return MOST_OF_MINORS if minor else MOST_OF_ADULTS


def room_of(weeks: tuple[Volume, ...], *, minor: bool, away: bool) -> Volume:
    """Return what this week may come to: a tenth more than the fullest of the last weeks, within the limits.

    Whoever practised little may begin with the start, and whoever was away begins there again.
    """
    most, start = most_of(minor=minor), START_OF_MINORS if minor else START_OF_ADULTS
    if away:
        return start
    return Volume(
        hang_seconds=_room(start.hang_seconds, [week.hang_seconds for week in weeks], most.hang_seconds),
        pulls=_room(start.pulls, [week.pulls for week in weeks], most.pulls),
    )


def _room(start: int, weeks: list[int], most: int) -> int:
    fullest = max(weeks, default=0)
    return min(most, max(start, fullest * (100 + GROWTH_PERCENT) // 100))
