"""The panels of figures that stand on an athlete's page, on the coach's page of the athlete, and on the sheet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from skills.core.segments import WINTER
from skills.showing.bars import BarsPanel, bars_panel
from skills.showing.doses import DosesPanel, doses_panel
from skills.showing.estimates import EstimatesPanel, estimates_panel
from skills.showing.levers import LeversPanel, levers_panel
from skills.showing.trends import TrendsPanel, trends_panel

if TYPE_CHECKING:
    from athletes.models import Athlete
    from skills.queries.books import StepPage


@dataclass(frozen=True, slots=True)
class Viewer:
    """Who looks: staff see what is theirs to change; by a private link no figure is seen that needs a mass.

    `table` is the table of segments that they chose.
    """

    is_staff: bool = False
    by_link: bool = False
    table: str = WINTER.key


@dataclass(frozen=True, slots=True)
class Panels:
    """The week's practice over all steps; the others are about the next step, None where there is none."""

    doses: DosesPanel
    bars: BarsPanel | None = None
    trends: TrendsPanel | None = None
    estimates: EstimatesPanel | None = None
    levers: LeversPanel | None = None


def panels_of(*, athlete: Athlete, step: StepPage | None, viewer: Viewer, now: datetime) -> Panels:
    """Return the panels for an athlete and the next step, in a number of queries that no history changes."""
    doses = doses_panel(athlete=athlete, now=now, viewer_is_staff=viewer.is_staff)
    if step is None:
        return Panels(doses)
    return Panels(
        doses=doses,
        bars=bars_panel(athlete=athlete, step=step, viewer_is_staff=viewer.is_staff, now=now),
        trends=trends_panel(athlete=athlete, step=step, now=now),
        estimates=estimates_panel(athlete=athlete, step=step, now=now),
        levers=levers_panel(
            athlete=athlete,
            step=step,
            viewer_is_staff=viewer.is_staff,
            table=viewer.table,
            now=now,
            with_mass=not viewer.by_link,
        ),
    )
