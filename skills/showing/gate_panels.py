"""The panels of figures beside a decision at a gate. None of them counts as evidence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from skills.queries.books import Book, StepPage
from skills.showing.estimates import EstimatesPanel, estimates_panel
from skills.showing.levers import LeversPanel, levers_panel
from skills.showing.trends import TrendsPanel, trends_panel

if TYPE_CHECKING:
    from athletes.models import Athlete


@dataclass(frozen=True, slots=True)
class GatePanels:
    """What figures say at a gate; `trends` name their steps, those before at the entrance and the step itself after."""

    levers: LeversPanel
    estimates: EstimatesPanel
    trends: tuple[tuple[StepPage, TrendsPanel], ...]

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to show."""
        return self.levers.is_empty and self.estimates.is_empty and not self.trends


def gate_panels(
    *, book: Book, athlete: Athlete, page: StepPage, looked_at: Iterable[StepPage], table: str, now: datetime
) -> GatePanels:
    """Return the panels for a decision on a step, for staff: six queries at most, and one for each step looked at."""
    trends = ((step, trends_panel(athlete=athlete, step=step, now=now)) for step in looked_at)
    return GatePanels(
        levers=levers_panel(athlete=athlete, step=page, viewer_is_staff=True, table=table, now=now, book=book),
        estimates=estimates_panel(athlete=athlete, step=page, now=now),
        trends=tuple((step, panel) for step, panel in trends if not panel.is_empty),
    )
