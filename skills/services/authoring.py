"""Saving skills and steps: from a form or a file, one act, one transaction, with everybody's readiness after it."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.db.models import Max, Min, QuerySet
from django.utils import timezone

from athletes.core.refusal import Refusal
from athletes.models import Gym, Membership
from athletes.queries.gyms import athlete_ids
from athletes.services.audit import record_act
from athletes.services.names_kept_out import NO_NAME, is_named_in
from skills.core import criteria
from skills.core.criterion_fit import misfits
from skills.core.steps import CycleError
from skills.library.changes import SkillChanges, StepChange, changes_between, first_criterion
from skills.library.graph import circle_sentence, graph_problems
from skills.library.texts import FileProblem, SkillText, StepText
from skills.library.writing import step_json
from skills.models import Attempt, CriterionVersion, Opening, Prerequisite, Skill, Step, StepVersion
from skills.queries.books import Book, book_of
from skills.queries.criteria import fit_of, step_name
from skills.queries.texts import skill_texts
from skills.services.library import SINCE_EVER, add_words, columns_of, touch_rules
from skills.services.readiness import followed, lock_athlete, settle

Texts = Mapping[str, SkillText]
# What of a step its criterion has to fit.
_FITTED = frozenset({"measure", "angle", "grades", "asks_clearance", "criterion"})


class NotSaved(Refusal):
    """A skill that cannot be saved as it is; `found` has each thing wrong with its place."""

    def __init__(self, found: Collection[FileProblem]) -> None:
        self.found = tuple(found)
        super().__init__(" ".join(map(str, self.found)))


class ChangedMeanwhile(Refusal):
    """Somebody else saved while this was being written."""


def import_skill(*, by: Membership, text: SkillText, seen: UUID | None = None) -> SkillChanges:
    """Bring a skill file in: a new skill, or the changes to the one of that code.

    `seen` is the gym's `rules_stamp` of the preview. Raises NotSaved and ChangedMeanwhile.
    """
    return _save(by=by, edit=lambda _: text, seen=seen)


def preview_import(*, by: Membership, text: SkillText) -> SkillChanges:
    """Return what `import_skill` would do, and store nothing; raises NotSaved as it would."""
    return _save(by=by, edit=lambda _: text, dry=True)


def add_skill(*, by: Membership, heading: SkillText, place: int) -> SkillChanges:
    """Add a skill without steps, at a place among the gym's from 0. Raises NotSaved."""

    def edit(known: Texts) -> SkillText:
        if heading.skill in known:
            raise NotSaved([FileProblem("", "skill", f"There is a skill “{heading.skill}” already.")])
        return heading

    return _save(by=by, edit=edit, place=place)


def change_skill(*, by: Membership, slug: str, name: str, purpose: str, place: int) -> SkillChanges:
    """Change a skill's name, purpose and place; its steps stay."""
    return _save(by=by, edit=lambda known: replace(known[slug], name=name, purpose=purpose), place=place)


def add_step(*, by: Membership, slug: str, step: StepText) -> SkillChanges:
    """Add a step at the end of a skill. Its criterion is the usual first one of its measure. Raises NotSaved."""
    step = replace(step, criterion=first_criterion(step.measure))

    def edit(known: Texts) -> SkillText:
        if any(step.code == each.code for skill in known.values() for each in skill.steps):
            raise NotSaved([FileProblem("", "code", f"There is a step “{step.code}” already.")])
        return replace(known[slug], steps=(*known[slug].steps, step))

    return _save(by=by, edit=edit)


def change_step(*, by: Membership, slug: str, step: StepText, seen: int) -> SkillChanges:
    """Change a step whose version `seen` was on the page. Its criterion stays, unless the measure changes.

    Raises NotSaved and ChangedMeanwhile.
    """

    def edit(known: Texts) -> SkillText:
        if _latest(StepVersion, by.gym_id, step.code) != seen:
            raise ChangedMeanwhile("Somebody else has changed this step meanwhile. Open it again to see how it is now.")
        steps = (_with_criterion(each, step) if each.code == step.code else each for each in known[slug].steps)
        return replace(known[slug], steps=tuple(steps))

    return _save(by=by, edit=edit)


def move_step(*, by: Membership, slug: str, code: str, up: bool) -> SkillChanges:
    """Move a step one place up or down in its skill; at the end of the list nothing happens."""

    def edit(known: Texts) -> SkillText:
        steps = list(known[slug].steps)
        place = next(n for n, step in enumerate(steps) if step.code == code)
        other = min(max(place + (-1 if up else 1), 0), len(steps) - 1)
        steps[place], steps[other] = steps[other], steps[place]
        return replace(known[slug], steps=tuple(steps))

    return _save(by=by, edit=edit)


def _with_criterion(before: StepText, after: StepText) -> StepText:
    same = before.measure == after.measure
    return replace(after, criterion=before.criterion if same else first_criterion(after.measure))


# ---- One act --------------------------------------------------------------------------------------------


def _save(
    *,
    by: Membership,
    edit: Callable[[Texts], SkillText],
    seen: UUID | None = None,
    place: int | None = None,
    dry: bool = False,
) -> SkillChanges:
    with transaction.atomic():
        # Not the whole row's lock: attempts of the gym may go on while this waits for its turn.
        gym = Gym.objects.select_for_update(no_key=True).get(pk=by.gym_id)
        if seen is not None and seen != gym.rules_stamp:
            raise ChangedMeanwhile("The gym's skills have changed since the preview. Look at it again.")
        known = skill_texts(gym.id)
        text = edit(known)
        changes = changes_between(known.get(text.skill), text)
        order = _placed([*known], text.skill, place)
        if changes.nothing and order == [*known]:
            return changes
        _refuse(
            [
                *_clashes(gym, changes),
                *_named(gym, changes),
                *graph_problems([*(known | {text.skill: changes.skill}).values()]),
            ]
        )
        before, now = book_of(gym), timezone.now()
        skill = _write(gym, by, changes, order, now)
        touch_rules(gym)
        after = book_of(gym)
        _refuse([*_circles(after), *_unfit(after, changes)])
        if dry:
            transaction.set_rollback(True)
            return changes
        _settle_all(gym, before, after, now)
        record_act(gym=gym, actor=by, act="skill_saved", about=skill.id, content=_content(gym, changes))
    return changes


def _refuse(found: list[FileProblem]) -> None:
    if found:
        raise NotSaved(found)


def _placed(slugs: list[str], slug: str, place: int | None) -> list[str]:
    """Return the order of the skills with one of them at its place; without a place where it is, or last."""
    if place is None:
        return slugs if slug in slugs else [*slugs, slug]
    others = [each for each in slugs if each != slug]
    return [*others[:place], slug, *others[place:]]


def _clashes(gym: Gym, changes: SkillChanges) -> Iterator[FileProblem]:
    """What stands against the new texts in the gym: logged tries of another measure, a number used twice."""
    for change in changes.changed:
        tried = "measure" in change.keys and Attempt.objects.filter(gym=gym, step__code=change.step.code).exists()
        if tried:
            yield _at(changes, change.step, "measure", "cannot change any more: tries of this step are logged.")
    labels = [step.label for step in changes.skill.steps]
    for change in (*changes.new, *changes.changed):
        if labels.count(change.step.label) > 1:
            label = change.step.label
            yield _at(changes, change.step, "label", f"another step of this skill has the number “{label}” already.")


def _named(gym: Gym, changes: SkillChanges) -> Iterator[FileProblem]:
    """What a step was like stays for good, so that nobody's name may stand in it."""
    for change in (*changes.new, *changes.changed):
        if is_named_in([json.dumps(step_json(change.step), ensure_ascii=False)], gym_id=gym.id):
            yield _at(changes, change.step, "", NO_NAME)


def _circles(book: Book) -> Iterator[FileProblem]:
    """Older criteria may name steps too, and stay in the rules."""
    try:
        _ = book.rules.order
    except CycleError as error:
        yield FileProblem("", "", circle_sentence([step_name(book, code) for code in error.cycle]))


def _unfit(book: Book, changes: SkillChanges) -> Iterator[FileProblem]:
    for change in (*changes.new, *changes.changed):
        if change.before is None or _FITTED.intersection(change.keys):
            for problem in misfits(change.step.criterion, fit_of(book, book.steps[change.step.code])):
                yield _at(changes, change.step, f"criterion.{problem.path}".rstrip("."), problem.sentence)


def _at(changes: SkillChanges, step: StepText, key: str, sentence: str) -> FileProblem:
    return FileProblem(f"{changes.skill.skill}, step {step.code}", key, sentence)


# ---- Rows -----------------------------------------------------------------------------------------------


def _write(gym: Gym, by: Membership, changes: SkillChanges, order: list[str], now: datetime) -> Skill:
    text = changes.skill
    skill, _ = Skill.objects.update_or_create(
        gym=gym, slug=text.skill, defaults={"name": text.name, "purpose": text.purpose}
    )
    _reorder(Skill.objects.filter(gym=gym), "slug", order)
    for change in changes.new:
        _create(gym, skill, by, change.step, now)
    for change in changes.changed:
        _update(gym, by, change, now)
    _connect(gym, [change.step for change in (*changes.new, *changes.changed)])
    _reorder(Step.objects.filter(gym=gym, skill=skill), "code", [step.code for step in text.steps])
    return skill


def _reorder(rows: QuerySet[Skill] | QuerySet[Step], key: str, order: list[str]) -> None:
    places = dict(rows.values_list(key, "position"))
    for position, name in enumerate(order):
        if places[name] != position:
            rows.filter(**{key: name}).update(position=position)


def _create(gym: Gym, skill: Skill, by: Membership, text: StepText, now: datetime) -> None:
    """Since ever, like those that came with the project: tries brought in from years ago meet a rule."""
    step = Step.objects.create(gym=gym, skill=skill, **columns_of(text))
    add_words(gym, step, text)
    common = {"gym": gym, "step": step, "number": 1, "adopted_by": by, "happened_at": SINCE_EVER, "recorded_at": now}
    StepVersion.objects.create(text=step_json(text), **common)
    CriterionVersion.objects.create(tree=criteria.canonical(criteria.parse(text.criterion)), **common)


def _update(gym: Gym, by: Membership, change: StepChange, now: datetime) -> None:
    text, rows = change.step, Step.objects.filter(gym=gym, code=change.step.code)
    step = rows.get()
    common = {"gym": gym, "step": step, "adopted_by": by, "happened_at": now, "recorded_at": now}
    if change.keys != ("criterion",):
        rows.update(**columns_of(text))
        for words in (step.checkpoints, step.faults, step.variants):
            words.all().delete()
        add_words(gym, step, text)
        number = _latest(StepVersion, gym.id, text.code) + 1
        StepVersion.objects.create(text=step_json(text), number=number, **common)
    if "criterion" in change.keys:
        tree = criteria.canonical(criteria.parse(text.criterion))
        CriterionVersion.objects.create(tree=tree, number=_latest(CriterionVersion, gym.id, text.code) + 1, **common)


def _latest(model: type[StepVersion | CriterionVersion], gym_id: UUID, code: str) -> int:
    rows = model._default_manager.filter(gym=gym_id, step__code=code)
    return int(rows.aggregate(latest=Max("number"))["latest"] or 0)


def _connect(gym: Gym, texts: list[StepText]) -> None:
    ids = dict(Step.objects.filter(gym=gym).values_list("code", "id"))
    for text in texts:
        kept = Prerequisite.objects.filter(gym=gym, step=ids[text.code])
        kept.exclude(requires__code__in=text.requires).delete()
        there = set(kept.values_list("requires__code", flat=True))
        Prerequisite.objects.bulk_create(
            Prerequisite(gym=gym, step_id=ids[text.code], requires_id=ids[code])
            for code in text.requires
            if code not in there
        )


def _content(gym: Gym, changes: SkillChanges) -> dict[str, object]:
    """Ids and numbers of what is now in force; no words."""
    codes = [change.step.code for change in (*changes.new, *changes.changed)]
    return {
        "steps": {code: _latest(StepVersion, gym.id, code) for code in codes},
        "criteria": {code: _latest(CriterionVersion, gym.id, code) for code in codes},
    }


# ---- Readiness ------------------------------------------------------------------------------------------


def _settle_all(gym: Gym, before: Book, after: Book, now: datetime) -> None:
    """Bring everybody up to date with the rules that changed, and with the steps that follow from them."""
    touched = followed(after, {c for c, rule in after.rules.steps.items() if before.rules.steps.get(c) != rule})
    if not touched:
        return
    shut = {
        code: after.steps[code].id
        for code, rule in before.rules.steps.items()
        if rule.always_open and not after.rules.steps[code].always_open
    }
    for athlete_id in sorted(athlete_ids(gym)):  # in one order everywhere, so that no two wait for each other
        athlete = lock_athlete(athlete_id)
        _keep_open(gym, athlete_id, [shut[code] for code in shut if not after.rules.steps[code].asks_clearance])
        settle(book=book_of(athlete.gym), athlete=athlete, touched=touched, now=now, rules_changed=True)


def _keep_open(gym: Gym, athlete_id: UUID, step_ids: list[UUID]) -> None:
    """What was open to everybody stays open, now that something must come first, to who has tried it already."""
    if not step_ids:
        return
    tried = Attempt.objects.filter(athlete=athlete_id, step__in=step_ids, void=None)
    opened = set(Opening.objects.filter(athlete=athlete_id, step__in=step_ids).values_list("step", flat=True))
    for step_id, first_at in tried.values_list("step").annotate(first_at=Min("happened_at")):
        if step_id not in opened:
            Opening.objects.create(gym=gym, athlete_id=athlete_id, step_id=step_id, happened_at=first_at)
