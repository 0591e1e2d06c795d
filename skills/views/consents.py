"""What a coach has to know of an athlete's consents beside a step."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from athletes.queries.consents import consents_lacking

if TYPE_CHECKING:
    from athletes.models import Athlete
    from skills.queries.books import Book, StepPage


def no_consent(athlete: Athlete, book: Book, page: StepPage, now: datetime) -> list[str]:
    """Say to what of a step the athlete, or a minor's guardian, has not agreed; nothing in a gym that does not ask."""
    kinds = ("spotting", "inversion") if book.rules.steps[page.code].inverted else ("spotting",)
    return [words for _, words in consents_lacking(athlete, kinds, now)]
