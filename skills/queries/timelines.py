"""The kept timelines: read for one athlete, or for all of a class."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from uuid import UUID

from skills.core.readiness import default_timeline
from skills.core.steps import Rules
from skills.core.timeline import Timeline
from skills.models import StepTimeline
from skills.queries.books import Book


class Timelines(dict[str, Timeline]):
    """Timelines of one athlete by step code; a step without facts gives its default timeline."""

    def __init__(self, rules: Rules, kept: Mapping[str, Timeline]) -> None:
        super().__init__(kept)
        self._rules = rules

    def __missing__(self, code: str) -> Timeline:
        return default_timeline(self._rules, code)


def kept_timelines(book: Book, athlete_ids: Collection[UUID]) -> Mapping[UUID, Timelines]:
    """Return the kept timelines of each athlete, in one query."""
    kept: dict[UUID, dict[str, Timeline]] = {athlete_id: {} for athlete_id in athlete_ids}
    rows = StepTimeline.objects.filter(gym=book.gym_id, athlete__in=athlete_ids)
    for athlete_id, step_id, changes in rows.values_list("athlete_id", "step_id", "changes"):
        kept[athlete_id][book.codes[step_id]] = Timeline.from_json(changes)
    return {athlete_id: Timelines(book.rules, found) for athlete_id, found in kept.items()}
