"""Readiness screenings: that one was done, and until when it counts. What was asked and answered is not kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class ScreeningLine:
    """A screening as it was entered: its day and the last one on which it counts, None = without end."""

    done_on: date
    expires_on: date | None
    entered_by: str

    def counts_on(self, day: date) -> bool:
        """Whether it counts on that day."""
        return self.done_on <= day and (self.expires_on is None or day <= self.expires_on)


def screening_words(line: ScreeningLine | None, day: date) -> str:
    """Say how it stands: 'Readiness screening done on 3 Mar 2026, counts until 3 Mar 2027'."""
    if line is None:
        return "No readiness screening is noted"
    done = f"Readiness screening done on {_day(line.done_on)}"
    if line.expires_on is None:
        return f"{done}, without an end"
    return f"{done}, {'counts until' if line.counts_on(day) else 'expired on'} {_day(line.expires_on)}"


def screening_wanting(line: ScreeningLine | None, day: date) -> str:
    """Return what a coach is told where no screening counts; '' where one does."""
    return "" if line and line.counts_on(day) else screening_words(line, day)


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
