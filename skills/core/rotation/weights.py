"""What each wish is worth, in one place. Whole numbers, so that worths are compared exactly. Ours: no source."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Final


@dataclass(frozen=True, slots=True)
class Weights:
    """Points for one plan. Tuples count the times a person gets it: the first, the second, and so on; then nothing.

    They must not rise along the tuple (idle ones must not fall): the second time is never worth more than the first.
    Raises ValueError.
    """

    practising: int = 60  # a person has a place in a rotation
    idle_again: tuple[int, ...] = (0, 20, 40, 60)  # lost for the first, second, … rotation that a person stands idle
    in_hand: tuple[int, ...] = (100, 70, 40, 15)
    earlier: tuple[int, ...] = (30, 15, 5)
    accessory: tuple[int, ...] = (22, 14, 8, 3)
    test: tuple[int, ...] = (90,)
    late_inversion: int = 3  # lost for every rotation that an inversion comes after the first
    reset: int = 25  # lost for every time a bar is set to another hole
    misfit: int = 2  # lost for every hole that a bar is off from the one that suits best
    stay: int = 12  # a person keeps the place that an earlier plan gave

    def __post_init__(self) -> None:
        for name in ("in_hand", "earlier", "accessory", "test"):
            falls = getattr(self, name)
            if any(later > first for first, later in pairwise(falls)):
                raise ValueError(f"{name} must not rise from one time to the next.")
        if any(later < first for first, later in pairwise(self.idle_again)):
            raise ValueError("idle_again must not fall from one time to the next.")

    def again(self, role: str, times: int) -> int:
        """Return what getting a role once more is worth to a person who has had it `times` times."""
        falls: tuple[int, ...] = getattr(self, role)
        return falls[times] if times < len(falls) else 0


WEIGHTS: Final = Weights()
