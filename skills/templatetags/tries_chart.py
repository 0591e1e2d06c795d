"""Puts the chart of the last tries at a step on a page."""

from __future__ import annotations

from collections.abc import Sequence

from django import template

from gymtrack.lib.charts import Chart
from skills.core.criteria import Criterion
from skills.core.facts import Attempt
from skills.queries.books import StepPage
from skills.showing.tries import tries_drawn
from skills.wording import Terms

register = template.Library()


@register.inclusion_tag("includes/chart.html")
def tries_chart(
    page: StepPage, tries: Sequence[Attempt], criterion: Criterion | None, terms: Terms
) -> dict[str, Chart]:
    """Draw tries (one at least, the oldest first) with what the criterion asks of one."""
    return {"chart": tries_drawn(page, tries, criterion, terms)}
