"""What the gym teaches: skills with their steps and rules."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.access.rules import EVERYBODY, AccessRule
from athletes.api.base import GymView
from skills import rule_words, wording
from skills.core import criteria
from skills.core.days import moment_us
from skills.core.levers import MOST_KNEE_DEGREES, MOST_THIGH_DEGREES
from skills.library.texts import STATIONS
from skills.queries.books import Book, book_of
from skills.queries.teaching import skill_graph, skills_of

if TYPE_CHECKING:
    from skills.queries.teaching import SkillGraph, SkillStep

_MEASURES = ("hold", "reps")
_GATES = ("entrance", "finish")


class SkillRow(serializers.Serializer[Any]):
    """A skill in the list."""

    slug = serializers.CharField()
    name = serializers.CharField()
    purpose = serializers.CharField()
    steps = serializers.IntegerField(help_text="How many.")


class WordRow(serializers.Serializer[Any]):
    """A fault, checkpoint or accepted easier form, by the code that attempts name it with."""

    code = serializers.CharField()
    name = serializers.CharField()


class FaultRow(WordRow):
    """A fault, and the few words that mend it."""

    cue = serializers.CharField()


class CriterionRow(serializers.Serializer[Any]):
    """The rule that decides when a step is met."""

    version = serializers.IntegerField()
    rule = serializers.DictField(help_text="A tree of conditions.")
    sentence = serializers.CharField()


class PoseRow(serializers.Serializer[Any]):
    """Both legs held; angles in whole degrees."""

    thigh_degrees = serializers.IntegerField(min_value=0, max_value=MOST_THIGH_DEGREES, help_text="From straight down.")
    knee_degrees = serializers.IntegerField(min_value=0, max_value=MOST_KNEE_DEGREES, help_text="From straight.")


class StepRow(serializers.Serializer[Any]):
    """A step. `code` is its name in this API and never changes."""

    code = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment] # a field's own attribute, which the framework sets aside
    name = serializers.CharField()
    measure = serializers.ChoiceField(_MEASURES, help_text="What an attempt is: a hold or a set of reps.")
    side_drill = serializers.BooleanField(help_text="Gates nothing.")
    low_bar_check = serializers.BooleanField(help_text="Opens only with today's check of the low bar, by name.")
    gates = serializers.ListField(
        child=serializers.ChoiceField(_GATES), help_text="Where a coach decides: who may try it, who has it."
    )
    requires = serializers.ListField(child=serializers.CharField(), help_text="Codes of the steps that come first.")
    criterion = CriterionRow(allow_null=True)
    faults = FaultRow(many=True)
    checkpoints = WordRow(many=True)
    variants = WordRow(many=True)
    angle = serializers.CharField(help_text="Which angle can be measured, in words; '' for none.")
    station = serializers.ChoiceField(STATIONS, help_text="Where it is done.")
    pose = PoseRow(
        allow_null=True, help_text="What is held against gravity, trunk upright; null where no pose is held."
    )
    grades = serializers.ListField(
        child=serializers.CharField(), help_text="In order; an attempt's grade counts from 1."
    )


class SkillWhole(serializers.Serializer[Any]):
    """A skill with its steps in the gym's order."""

    slug = serializers.CharField()
    name = serializers.CharField()
    purpose = serializers.CharField()
    steps = StepRow(many=True)


class SkillList(GymView):
    """The skills."""

    access_rule = AccessRule(EVERYBODY)

    @extend_schema(responses=SkillRow(many=True))
    def get(self, _request: Request) -> Response:
        """List the gym's skills in its order."""
        return Response(SkillRow(skills_of(self.member.gym_id), many=True).data)


class SkillOne(GymView):
    """One skill."""

    access_rule = AccessRule(EVERYBODY)

    @extend_schema(responses=SkillWhole)
    def get(self, _request: Request, slug: str) -> Response:
        """Tell a skill with its steps: what each asks for, and the words for attempts at it."""
        book = book_of(self.member.gym)
        graph = skill_graph(book, self.member.gym_id, slug)
        if graph is None:
            raise Http404
        return Response(SkillWhole(_skill(book, graph)).data)


def _skill(book: Book, graph: SkillGraph) -> dict[str, Any]:
    steps = [_step(book, step) for step in graph.steps]
    return {"slug": graph.slug, "name": graph.name, "purpose": graph.purpose, "steps": steps}


def _step(book: Book, step: SkillStep) -> dict[str, Any]:
    page = step.page
    return {
        "code": page.code,
        "label": page.label,
        "name": page.name,
        "measure": _MEASURES[not page.form.is_hold],
        "side_drill": page.side_drill,
        "low_bar_check": page.form.low_bar_check,
        "gates": _gates(step),
        "requires": [required.code for required in step.requires],
        "criterion": _criterion(book, page.code),
        "faults": [{"code": code, "name": name, "cue": page.cues[code]} for code, name in page.faults],
        "checkpoints": _words(page.checkpoints),
        "variants": _words(page.variants),
        "angle": page.form.angle,
        "station": page.station,
        "pose": PoseRow(page.pose).data if page.pose else None,
        "grades": page.grades,
    }


def _gates(step: SkillStep) -> list[str]:
    asked = (step.asks_clearance, step.needs_sign_off)
    return [gate for gate, is_asked in zip(_GATES, asked, strict=True) if is_asked]


def _criterion(book: Book, code: str) -> dict[str, Any] | None:
    in_force = book.rules.steps[code].in_force_at(moment_us(timezone.now()))
    if in_force is None:
        return None
    sentence = rule_words.rule(in_force.criterion, wording.terms_of(book).of_step(book.steps[code]))
    return {"version": in_force.version, "rule": criteria.to_data(in_force.criterion), "sentence": sentence}


def _words(pairs: tuple[tuple[str, str], ...]) -> list[dict[str, str]]:
    return [{"code": code, "name": name} for code, name in pairs]
