"""The book of a gym: its rules for the engine, and what logging and pages must know of each step.

Read once and kept in the process until the gym's `rules_stamp` changes, so that logging an attempt asks the
database nothing about rules.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from json import loads
from uuid import UUID

from athletes.models import Gym
from skills.core import criteria
from skills.core.days import moment_of, moment_us
from skills.core.entries import StepForm
from skills.core.levers import Pose
from skills.core.steps import CriterionInForce, Rules, StepRule
from skills.library.texts import StepText
from skills.library.writing import step_of_json
from skills.models import Checkpoint, CriterionVersion, Fault, Prerequisite, Step, StepVersion, Variant
from skills.queries.texts import named_things, pose_of

# A version of a step says nothing of its criterion; this stands in its place while the text is read.
_ANY: Mapping[str, object] = {"best": {"reps": 1}}


@dataclass(frozen=True, slots=True)
class StepPage:
    """What pages and logging know of a step. Words are (code, text) pairs in the gym's order.

    `station` is a word of `Step.Station`; `pose` the one that is held, None where none is.

    `former` has the names of those taken off it, by their kind ("faults") and code: old attempts still speak of them.
    """

    id: UUID
    code: str
    label: str
    name: str
    skill_slug: str
    skill_name: str
    side_drill: bool
    form: StepForm
    checkpoints: tuple[tuple[str, str], ...]
    faults: tuple[tuple[str, str], ...]
    cues: Mapping[str, str]
    variants: tuple[tuple[str, str], ...]
    grades: tuple[str, ...]
    criterion_ids: Mapping[int, UUID]
    former: Mapping[str, Mapping[str, str]]
    over_bar: bool
    station: str
    pose: Pose | None

    @property
    def fault_names(self) -> dict[str, str]:
        """The names of all faults that an attempt may speak of, by code."""
        return {**self.former.get("faults", {}), **dict(self.faults)}

    @property
    def checkpoint_names(self) -> dict[str, str]:
        """The texts of all checkpoints that an attempt may speak of, by code."""
        return {**self.former.get("checkpoints", {}), **dict(self.checkpoints)}

    @property
    def variant_names(self) -> dict[str, str]:
        """The names of all variants that an attempt may speak of, by code."""
        return {**self.former.get("variants", {}), **dict(self.variants)}


@dataclass(frozen=True, slots=True)
class Book:
    """A gym's rules, and its steps by code in the order of its skills."""

    gym_id: UUID
    rules: Rules
    steps: Mapping[str, StepPage]
    codes: Mapping[UUID, str]

    def step(self, step_id: UUID) -> StepPage | None:
        """Return the step with that id, or None."""
        code = self.codes.get(step_id)
        return None if code is None else self.steps[code]


def book_of(gym: Gym) -> Book:
    """Return the book of a gym as of its `rules_stamp`; seven queries the first time, none after."""
    return _book(gym.id, gym.time_zone, gym.rules_stamp)


def book_known_at(gym: Gym, known_us: int) -> Book:
    """Return the book as it was known at a moment: criteria and versions of steps recorded until then.

    Steps that were not there yet are left out, and with them the prerequisites and criteria that name them. Words
    stand as they were taught then. Two queries besides those of `book_of`.
    """
    book, known_at = book_of(gym), moment_of(known_us)
    rows = StepVersion.objects.filter(gym=gym.id, recorded_at__lte=known_at).order_by("number")
    latest = {row.step_id: row.text for row in rows}
    versions = _versions(gym.id, known_at)
    texts = {page.code: step_of_json(latest[page.id], _ANY) for page in book.steps.values() if page.id in latest}
    pages = {code: _page_as_taught(book.steps[code], text, versions) for code, text in texts.items()}
    rules = {code: _rule_as_taught(text, versions[pages[code].id], {*texts}) for code, text in texts.items()}
    return Book(gym.id, Rules(rules, gym.time_zone), pages, {page.id: code for code, page in pages.items()})


@lru_cache(maxsize=256)
def _book(gym_id: UUID, zone: str, _stamp: UUID) -> Book:
    steps = list(Step.objects.filter(gym=gym_id).select_related("skill"))
    codes = {step.id: step.code for step in steps}
    requires = _grouped(Prerequisite.objects.filter(gym=gym_id).values_list("step_id", "requires_id"))
    versions = _versions(gym_id)
    former = _former_words(gym_id)
    words = _Words(gym_id)
    rules = {
        step.code: _rule(step, tuple(sorted(codes[r] for r in requires[step.id])), versions[step.id]) for step in steps
    }
    pages = {step.code: _page(step, words, versions[step.id], former.get(step.id, {})) for step in steps}
    return Book(gym_id, Rules(rules, zone), pages, codes)


def _grouped(pairs: object) -> defaultdict[UUID, list[UUID]]:
    groups: defaultdict[UUID, list[UUID]] = defaultdict(list)
    for key, value in pairs:  # type: ignore[attr-defined]
        groups[key].append(value)
    return groups


def _versions(gym_id: UUID, known_at: datetime | None = None) -> defaultdict[UUID, list[CriterionVersion]]:
    groups: defaultdict[UUID, list[CriterionVersion]] = defaultdict(list)
    rows = CriterionVersion.objects.filter(gym=gym_id).order_by("happened_at", "number")
    for version in rows if known_at is None else rows.filter(recorded_at__lte=known_at):
        groups[version.step_id].append(version)
    return groups


def _former_words(gym_id: UUID) -> dict[UUID, dict[str, dict[str, str]]]:
    """Return the names that steps of more than one version have had, the latest of each code."""
    changed = StepVersion.objects.filter(gym=gym_id, number__gt=1).values("step")
    found: dict[UUID, dict[str, dict[str, str]]] = {}
    for version in StepVersion.objects.filter(gym=gym_id, step__in=changed).order_by("number"):
        kinds = found.setdefault(version.step_id, {})
        for kind, names in named_things(loads(version.text)).items():
            kinds[kind] = {**kinds.get(kind, {}), **names}
    return found


def _in_force(versions: Iterable[CriterionVersion]) -> tuple[CriterionInForce, ...]:
    return tuple(
        CriterionInForce(v.number, moment_us(v.happened_at), criteria.parse(loads(v.tree), stored=True))
        for v in versions
    )


def _rule(step: Step, requires: tuple[str, ...], versions: list[CriterionVersion]) -> StepRule:
    return StepRule(
        code=step.code,
        requires=requires,
        asks_clearance=step.asks_clearance,
        needs_sign_off=step.needs_sign_off,
        recheck_days=step.recheck_days,
        loads=frozenset(step.loads),
        inverted=step.inverted,
        criteria=_in_force(versions),
    )


def _rule_as_taught(text: StepText, versions: Iterable[CriterionVersion], known: set[str]) -> StepRule:
    in_force = tuple(version for version in _in_force(versions) if criteria.steps_named(version.criterion) <= known)
    return StepRule(
        code=text.code,
        requires=tuple(code for code in text.requires if code in known),
        asks_clearance=text.asks_clearance,
        needs_sign_off=text.needs_sign_off,
        recheck_days=text.recheck_days,
        loads=frozenset(text.loads),
        inverted=text.inverted,
        criteria=in_force,
    )


class _Words:
    """The named things of all steps of a gym, read with three queries."""

    def __init__(self, gym_id: UUID) -> None:
        self.checkpoints = self._read(Checkpoint, gym_id)
        self.variants = self._read(Variant, gym_id)
        self.faults: defaultdict[UUID, list[tuple[str, str]]] = defaultdict(list)
        self.cues: defaultdict[UUID, dict[str, str]] = defaultdict(dict)
        for fault in Fault.objects.filter(gym=gym_id):
            self.faults[fault.step_id].append((fault.code, fault.name))
            self.cues[fault.step_id][fault.code] = fault.cue

    @staticmethod
    def _read(model: type[Checkpoint | Variant], gym_id: UUID) -> defaultdict[UUID, list[tuple[str, str]]]:
        groups: defaultdict[UUID, list[tuple[str, str]]] = defaultdict(list)
        for word in model._default_manager.filter(gym=gym_id):
            groups[word.step_id].append((word.code, word.name))
        return groups


def _page_as_taught(page: StepPage, text: StepText, versions: Mapping[UUID, list[CriterionVersion]]) -> StepPage:
    form = replace(
        page.form,
        is_hold=text.measure == "hold",
        faults=frozenset(fault.code for fault in text.faults),
        checkpoints=frozenset(checkpoint.code for checkpoint in text.checkpoints),
        variants=frozenset(variant.code for variant in text.variants),
        grades=len(text.grades),
        low_bar_check=text.low_bar_check,
        angle=text.angle,
    )
    return replace(
        page,
        label=text.label,
        name=text.name,
        side_drill=text.side_drill,
        form=form,
        checkpoints=tuple((checkpoint.code, checkpoint.text) for checkpoint in text.checkpoints),
        faults=tuple((fault.code, fault.name) for fault in text.faults),
        cues={fault.code: fault.cue for fault in text.faults},
        variants=tuple((variant.code, variant.name) for variant in text.variants),
        grades=text.grades,
        criterion_ids={version.number: version.id for version in versions[page.id]},
        over_bar=text.over_bar,
        station=text.station,
        pose=text.pose,
    )


def _page(
    step: Step, words: _Words, versions: list[CriterionVersion], former: Mapping[str, Mapping[str, str]]
) -> StepPage:
    checkpoints, faults = tuple(words.checkpoints[step.id]), tuple(words.faults[step.id])
    variants = tuple(words.variants[step.id])
    form = StepForm(
        is_hold=step.measure == Step.Measure.HOLD,
        faults=frozenset(code for code, _ in faults),
        checkpoints=frozenset(code for code, _ in checkpoints),
        variants=frozenset(code for code, _ in variants),
        grades=len(step.grades),
        low_bar_check=step.low_bar_check,
        angle=step.angle,
    )
    return StepPage(
        id=step.id,
        code=step.code,
        label=step.label,
        name=step.name,
        skill_slug=step.skill.slug,
        skill_name=step.skill.name,
        side_drill=step.side_drill,
        form=form,
        checkpoints=checkpoints,
        faults=faults,
        cues=words.cues[step.id],
        variants=variants,
        grades=tuple(step.grades),
        criterion_ids={version.number: version.id for version in versions},
        former=former,
        over_bar=step.over_bar,
        station=step.station,
        pose=pose_of(step),
    )
