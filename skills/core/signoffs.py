"""Coaches' decisions at the two gates of a step: their order, and the clearance that stands."""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from operator import attrgetter
from typing import Final

from skills.core.facts import Clearance, Decision, Gate, SignOff
from skills.core.spans import FOREVER, Span

# Decisions of one moment: the stricter one comes later, and so it stands.
_RANK: Final[dict[Decision, int]] = {"passed": 0, "not_yet": 1, "revoked": 2}
_happened_us: Callable[[SignOff], int] = attrgetter("happened_us")


@dataclass(frozen=True, slots=True)
class Decisions:
    """The decisions at one gate, in order."""

    made: tuple[SignOff, ...]

    @classmethod
    def at(cls, gate: Gate, sign_offs: Iterable[SignOff]) -> "Decisions":
        """Pick the decisions at a gate and order them by moment, strictness and id."""
        return cls(tuple(sorted((each for each in sign_offs if each.gate == gate), key=_in_order)))

    def moments(self) -> Iterator[int]:
        """Yield the moments of the decisions."""
        return map(_happened_us, self.made)

    def until(self, us: int) -> tuple[SignOff, ...]:
        """Return the decisions at or before ``us``."""
        return self.made[: bisect_right(self.made, us, key=_happened_us)]

    def latest(self, us: int) -> SignOff | None:
        """Return the decision that is the latest at ``us``, whatever it says."""
        made = self.until(us)
        return made[-1] if made else None

    def passed(self, us: int) -> SignOff | None:
        """Return the latest decision if it is *passed*."""
        latest = self.latest(us)
        return latest if latest is not None and latest.decision == "passed" else None

    def revoked(self, us: int) -> bool:
        """Whether the latest decision is *revoked*."""
        latest = self.latest(us)
        return latest is not None and latest.decision == "revoked"

    def unrevoked(self, us: int) -> SignOff | None:
        """Return the latest *passed* that no *revoked* has followed; a *not yet* leaves it standing."""
        for sign_off in reversed(self.until(us)):
            if sign_off.decision == "revoked":
                return None
            if sign_off.decision == "passed":
                return sign_off
        return None

    def stretches(self) -> Iterator[tuple[SignOff, Span]]:
        """Yield each decision with the span over which it is the latest."""
        for sign_off, (from_us, until_us) in zip(self.made, pairwise([*self.moments(), FOREVER]), strict=True):
            if from_us < until_us:
                yield sign_off, Span(from_us, until_us)


def granted(entrance: Decisions, finish: Decisions, us: int) -> Clearance:
    """Return the clearance of the latest *passed* of either gate; at one moment, the finish's.

    A *not yet* at the finish takes back what the finish had granted, as a revocation does: the entrance's
    clearance is left. At the entrance only a revocation takes anything back.
    """
    opened, finished = entrance.unrevoked(us), finish.passed(us)
    if finished and (not opened or finished.happened_us >= opened.happened_us):
        return finished.clearance
    return opened.clearance if opened else ""


def _in_order(sign_off: SignOff) -> tuple[int, int, str]:
    return sign_off.happened_us, _RANK[sign_off.decision], sign_off.id
