"""Rights over time: who might do what at a moment."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import datetime
from typing import Final

RIGHTS: Final = ("may_log", "may_sign_off", "may_edit_skills", "may_read_reports")


@dataclass(frozen=True, slots=True)
class RightsHeld:
    """The rights of one membership over time: `moments` ascending, and the rights and skills that hold from each on."""

    moments: tuple[datetime, ...] = ()
    rights: tuple[frozenset[str], ...] = ()
    skills: tuple[frozenset[str] | None, ...] = ()  # whose steps may be signed off, by slug; None = every skill's

    def at(self, moment: datetime) -> frozenset[str]:
        """Return the rights at that moment: none before the first; of several changes at one moment the last holds."""
        place = bisect_right(self.moments, moment)
        return self.rights[place - 1] if place else frozenset()

    def skills_at(self, moment: datetime) -> frozenset[str] | None:
        """Return the skills, by slug, for which the right to sign off holds at that moment; None for every skill."""
        place = bisect_right(self.moments, moment)
        if not place or "may_sign_off" not in self.rights[place - 1]:
            return frozenset()
        return self.skills[place - 1]
