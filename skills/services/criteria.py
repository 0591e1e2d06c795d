"""Adopting a criterion: a new version from now on; what was decided under the old one keeps pointing to it."""

from __future__ import annotations

from django.db import transaction
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.models import Gym, Membership
from athletes.queries.gyms import athlete_ids
from athletes.services.audit import record_act
from skills.core import criteria
from skills.core.criteria import Criterion
from skills.core.criterion_fit import misfits
from skills.models import CriterionVersion
from skills.queries.books import StepPage, book_of
from skills.queries.criteria import fit_of
from skills.services.library import touch_rules
from skills.services.readiness import lock_athlete, settle


class SameCriterion(Refusal):
    """The step has this criterion already."""


class CriterionMoved(Refusal):
    """Another version was adopted since the one that this criterion was weighed against."""


class CriterionMisfits(Refusal):
    """The criterion does not fit the step."""


def adopt_criterion(
    *, by: Membership, step: StepPage, criterion: Criterion, instead_of: int | None = None
) -> CriterionVersion:
    """Put a criterion into force from now on, and bring every athlete's readiness up to date with it.

    `instead_of` is the number of the version that it was weighed against, 0 for none at all; None where it was
    weighed against nothing. Raises SameCriterion when it is the one in force, CriterionMoved when that is not the
    version weighed against, CriterionMisfits when it does not fit the step.
    """
    tree = criteria.canonical(criterion)
    with transaction.atomic():
        # Not the whole row's lock: attempts of the gym may go on while this waits for its turn.
        gym = Gym.objects.select_for_update(no_key=True).get(pk=by.gym_id)
        now = timezone.now()
        latest = CriterionVersion.objects.filter(gym=gym, step=step.id).order_by("-number").first()
        if latest is not None and latest.tree == tree:
            raise SameCriterion("The step has this criterion already.")
        number = latest.number if latest else 0
        if instead_of not in (None, number):
            raise CriterionMoved(f"Version {number} was adopted meanwhile, so this was compared with an older one.")
        _refuse_misfits(gym, step, criterion)
        version = CriterionVersion.objects.create(
            gym=gym, step_id=step.id, number=number + 1, tree=tree, adopted_by=by, happened_at=now
        )
        touch_rules(gym)
        for athlete_id in sorted(athlete_ids(gym)):  # in one order everywhere, so that no two wait for each other
            athlete = lock_athlete(athlete_id)
            settle(book=book_of(athlete.gym), athlete=athlete, touched={step.code}, now=now)
        content = {"step": step.id, "number": number + 1, "tree": tree}
        record_act(gym=gym, actor=by, act="criterion_adopted", about=version.id, content=content)
    return version


def _refuse_misfits(gym: Gym, step: StepPage, criterion: Criterion) -> None:
    book = book_of(gym)
    found = misfits(criteria.to_data(criterion), fit_of(book, book.steps[step.code]))
    if found:
        raise CriterionMisfits(" ".join(problem.sentence for problem in found))
