"""A step's criterion as its versions tell it, and what a new one must fit."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from json import loads

from skills.core import criteria
from skills.core.criteria import Criterion
from skills.core.criterion_fit import Fit
from skills.models import CriterionVersion
from skills.queries.books import Book, StepPage


@dataclass(frozen=True, slots=True)
class VersionLine:
    """One version of a step's criterion; `adopted_by` is '' where it came with the skill."""

    number: int
    criterion: Criterion
    from_at: datetime
    adopted_by: str


def fit_of(book: Book, page: StepPage) -> Fit:
    """Return what a criterion for the step has to fit."""
    form = page.form
    return Fit(page.code, form.is_hold, form.angle, form.grades, book.rules, lambda code: step_name(book, code))


def step_name(book: Book, code: str) -> str:
    """Return a step as '3a Tucked inverted hang'."""
    return f"{book.steps[code].label} {book.steps[code].name}"


def latest_number(page: StepPage) -> int:
    """Return the number of the step's latest version, 0 where it has none."""
    return max(page.criterion_ids, default=0)


def versions_of(page: StepPage) -> tuple[VersionLine, ...]:
    """Return all versions of a step's criterion, the newest first; one query."""
    rows = CriterionVersion.objects.filter(step=page.id).select_related("adopted_by__person").order_by("-number")
    return tuple(
        VersionLine(
            number=row.number,
            criterion=criteria.parse(loads(row.tree), stored=True),
            from_at=row.happened_at,
            adopted_by=row.adopted_by.person.full_name if row.adopted_by else "",
        )
        for row in rows
    )
