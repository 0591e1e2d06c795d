"""The gym's list of bars: adding one, changing it, taking it out of use."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from athletes.models import Gym, Membership
from athletes.services.audit import record_act
from athletes.services.names_kept_out import NO_NAME, is_named_in
from athletes.services.roster import locked_gym
from gymtrack.lib.ids import new_id
from gymtrack.lib.units import format_setting, format_size
from skills.core.bar_entry import BarEntry, BarProblem, bar_problems
from skills.models import Bar


class BarRefusedError(ValueError):
    """The entry cannot be stored; `problems` names each field with its sentence."""

    def __init__(self, *problems: BarProblem) -> None:
        super().__init__(" ".join(problem.sentence for problem in problems))
        self.problems = problems


class BarRetiredError(ValueError):
    """The bar was taken out of use."""

    def __init__(self) -> None:
        super().__init__("This bar was taken out of use.")


def add_bar(*, by: Membership, entry: BarEntry, bar_id: UUID | None = None) -> Bar:
    """Add a bar behind those there are; the same id twice is one bar. Raises BarRefusedError with every mistake."""
    _refuse(by.gym, bar_problems(entry))
    key = bar_id or new_id()
    if before := Bar.objects.filter(gym=by.gym_id, pk=key).first():
        return before
    with transaction.atomic():
        gym = locked_gym(by.gym)
        _refuse_taken(gym, entry.name, key)
        position = Bar.objects.filter(gym=gym).count()
        bar = Bar.objects.create(id=key, gym=gym, position=position, **asdict(entry))
        record_act(gym=by.gym, actor=by, act="bar_added", about=bar.id, content=_content(entry))
    return bar


def change_bar(*, by: Membership, bar: Bar, entry: BarEntry) -> Bar:
    """Write down a bar anew; checks of before stay as they are. Raises BarRefusedError, BarRetiredError."""
    _refuse(by.gym, bar_problems(entry))
    with transaction.atomic():
        _refuse_taken(locked_gym(by.gym), entry.name, bar.id)
        if not Bar.objects.filter(pk=bar.pk, retired_at=None).update(**asdict(entry)):
            raise BarRetiredError
        record_act(gym=by.gym, actor=by, act="bar_changed", about=bar.id, content=_content(entry))
    bar.refresh_from_db()
    return bar


def retire_bar(*, by: Membership, bar: Bar) -> None:
    """Take a bar out of use; its checks stay. The second time changes nothing."""
    with transaction.atomic():
        if Bar.objects.filter(pk=bar.pk, retired_at=None).update(retired_at=timezone.now()):
            record_act(gym=by.gym, actor=by, act="bar_retired", about=bar.id, content={})


def _refuse_taken(gym: Gym, name: str, key: UUID) -> None:
    """Part of the caller's transaction, which holds the gym: one list has no two bars in use by one name."""
    if Bar.objects.filter(gym=gym, retired_at=None, name__iexact=name).exclude(pk=key).exists():
        raise BarRefusedError(BarProblem("name", "Another bar in use has this name."))
    if is_named_in([name], gym_id=gym.id):  # every check of the bar keeps its name for good
        raise BarRefusedError(BarProblem("name", NO_NAME))


def _refuse(gym: Gym, problems: Sequence[BarProblem]) -> None:
    if problems:
        raise BarRefusedError(*(BarProblem(each.field, _said(each, gym.units)) for each in problems))


def _said(problem: BarProblem, units: str) -> str:
    if problem.range_mm is None:
        return problem.sentence
    return problem.sentence.format(*(_length(mm, units) for mm in problem.range_mm))


def _length(mm: float, units: str) -> str:
    return format_setting(round(mm), units) if mm >= 100 else format_size(Decimal(mm), units)  # noqa: PLR2004 (10 cm)


def _content(entry: BarEntry) -> dict[str, object]:
    """Return what the audit chain keeps: figures, no words of anybody's."""
    return {field: value for field, value in asdict(entry).items() if field != "name"}
