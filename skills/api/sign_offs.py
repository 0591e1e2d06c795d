"""Sign-offs: coaches' decisions at the gates of steps."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, get_args
from uuid import UUID

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.access.records import access_athlete, athletes_in_sight
from athletes.access.rules import EVERYBODY, STAFF, AccessRule
from athletes.api.base import GymList
from gymtrack.lib.bodies import MomentField, StrictSerializer
from gymtrack.lib.ids import new_id
from gymtrack.lib.pages import PageQuery
from skills.api.fields import CODE_LENGTH, step_coded
from skills.api.refusals import refusals_as_problems
from skills.core import facts
from skills.queries.books import book_of
from skills.queries.records import sign_offs_of
from skills.services.sign_offs import Decision, sign_off

if TYPE_CHECKING:
    from athletes.models import Athlete

_CLEARANCES = get_args(facts.Clearance)


class SignOffQuery(PageQuery):
    """Which decisions. An athlete who is not in sight gives an empty list."""

    athlete = serializers.UUIDField(required=False)


class SignOffBody(StrictSerializer):
    """A decision to record. A pass says under what supervision; anything else has a reason."""

    id = serializers.UUIDField(required=False, help_text="Made by the caller: the same id twice is one decision.")
    athlete = serializers.UUIDField()
    step = serializers.CharField(max_length=CODE_LENGTH, help_text="The step's code.")
    gate = serializers.ChoiceField(get_args(facts.Gate), help_text="Entrance: may try it. Finish: has it.")
    decision = serializers.ChoiceField(get_args(facts.Decision))
    clearance = serializers.ChoiceField(_CLEARANCES, default="", help_text="With a pass.")
    reason = serializers.CharField(max_length=500, allow_blank=True, default="")
    risk_notes_read = serializers.BooleanField(
        default=False,
        help_text="The coach has read the risk notes of the step: needed once a version before a pass at a risky step.",
    )


class SignOffRow(serializers.Serializer[Any]):
    """A decision, with what it rested on."""

    id = serializers.UUIDField()
    athlete = serializers.UUIDField(source="athlete_id")
    step = serializers.CharField(source="step.code")
    gate = serializers.ChoiceField(get_args(facts.Gate))
    decision = serializers.ChoiceField(get_args(facts.Decision))
    clearance = serializers.ChoiceField(_CLEARANCES)
    criterion = serializers.IntegerField(source="criterion.number", help_text="The version that was in force.")
    evidence = serializers.ListField(child=serializers.UUIDField(), help_text="Ids of attempts.")
    signed_by = serializers.UUIDField(source="signed_by_id", help_text="The membership that decided.")
    signed_at = MomentField(source="happened_at")


class SignOffList(GymList):
    """The decisions."""

    access_rule = AccessRule(EVERYBODY)
    access_rules = {"POST": AccessRule(STAFF, "may_sign_off")}

    @extend_schema(parameters=[SignOffQuery], responses=SignOffRow(many=True))
    def get(self, _request: Request) -> Response:
        """List the decisions about athletes in sight, the newest first."""
        asked = self.asked(SignOffQuery)
        rows = sign_offs_of(self.member.gym, athletes_in_sight(self.member))
        if "athlete" in asked:
            rows = rows.filter(athlete=asked["athlete"])
        return self.listed(rows, "-happened_at", SignOffRow, asked)

    @extend_schema(request=SignOffBody, responses={201: SignOffRow})
    def post(self, _request: Request) -> Response:
        """Record a decision, with the evidence that it rests on; it can be revoked, never changed."""
        body = self.sent(SignOffBody)
        step = step_coded(book_of(self.member.gym), body["step"])
        decision_id = body.get("id") or new_id()
        decision = Decision(
            body["gate"],
            body["decision"],
            body["clearance"],
            body["reason"],
            decision_id,
            risk_notes_read=body["risk_notes_read"],
        )
        with refusals_as_problems():
            row = sign_off(by=self.member, athlete=self._athlete(body["athlete"]), step=step, decision=decision)
        return Response(SignOffRow(row).data, status=201)

    def _athlete(self, athlete_id: UUID) -> Athlete:
        try:
            return access_athlete(self.member, athlete_id)
        except Http404:
            raise ValidationError({"athlete": ["There is no such athlete in this gym."]}) from None
