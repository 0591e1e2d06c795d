"""Rights over time: who might do what at a moment."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import datetime
from typing import Final

RIGHTS: Final = ("may_log", "may_sign_off", "may_edit_skills", "may_read_reports")


@dataclass(frozen=True, slots=True)
class RightsHeld:
    """The rights of one membership over time: `moments` ascending, and the rights that hold from each one on."""

    moments: tuple[datetime, ...] = ()
    rights: tuple[frozenset[str], ...] = ()

    def at(self, moment: datetime) -> frozenset[str]:
        """Return the rights at that moment: none before the first; of several changes at one moment the last holds."""
        place = bisect_right(self.moments, moment)
        return self.rights[place - 1] if place else frozenset()
