"""The panels of figures on the page of a step, for an athlete or for nobody in particular."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from skills.queries.books import Book, StepPage
from skills.showing.bars import BarsPanel, bars_panel
from skills.showing.estimates import EstimatesPanel, estimates_panel
from skills.showing.levers import LeversPanel, levers_panel
from skills.showing.trends import TrendsPanel, trends_panel

if TYPE_CHECKING:
    from athletes.models import Athlete


@dataclass(frozen=True, slots=True)
class StepPanels:
    """What figures say of a step; all but the levers are an athlete's, and None for nobody."""

    levers: LeversPanel
    bars: BarsPanel | None = None
    trends: TrendsPanel | None = None
    estimates: EstimatesPanel | None = None


def step_panels(
    *, book: Book, athlete: Athlete | None, page: StepPage, viewer_is_staff: bool, table: str, now: datetime
) -> StepPanels:
    """Return the panels of a step, in a number of queries that no history changes; none for nobody."""
    levers = levers_panel(athlete=athlete, step=page, viewer_is_staff=viewer_is_staff, table=table, now=now, book=book)
    if athlete is None:
        return StepPanels(levers)
    bars = bars_panel(athlete=athlete, step=page, viewer_is_staff=viewer_is_staff, now=now)
    trends = trends_panel(athlete=athlete, step=page, now=now)
    estimates = estimates_panel(athlete=athlete, step=page, now=now)
    return StepPanels(
        levers=levers,
        bars=bars if bars.place else None,
        trends=None if trends.is_empty else trends,
        estimates=None if estimates.is_empty else estimates,
    )
