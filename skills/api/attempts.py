"""Attempts: lists, storing one under the device's own id, taking one back."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any, get_args
from uuid import UUID

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.access.records import athletes_in_sight
from athletes.access.rules import EVERYBODY, STAFF, AccessRule
from athletes.api.base import GymList, GymView
from gymtrack.lib.bodies import MomentField, StrictSerializer
from gymtrack.lib.pages import PageQuery
from skills import wording
from skills.access import access_attempt
from skills.api.fields import CODE_LENGTH, SecondsField, StandingFields, codes_field, step_coded
from skills.api.refusals import refusals_as_problems
from skills.core.entries import ASSISTANCES, MOST_DEGREES, MOST_EFFORT, MOST_REPS, Result
from skills.core.facts import UNASSISTED, Source
from skills.queries.books import Book, StepPage, book_of
from skills.queries.records import attempts_of, opened_with
from skills.queries.standings import standings_at
from skills.services.attempts import AttemptEntry, Logged, log_attempt, void_attempt

LOGGING = AccessRule(STAFF, "may_log")


class AttemptQuery(PageQuery):
    """Which attempts. A filter that nothing in sight fits gives an empty list."""

    athlete = serializers.UUIDField(required=False)
    step = serializers.CharField(required=False, max_length=CODE_LENGTH, help_text="The step's code.")
    session = serializers.UUIDField(required=False)
    since = MomentField(required=False, help_text="Those that happened at that moment or later.")


class AttemptBody(StrictSerializer):
    """One try: a hold (`hold_seconds`, `reps` times over) or a set of reps."""

    athlete = serializers.UUIDField()
    step = serializers.CharField(max_length=CODE_LENGTH, help_text="The step's code.")
    session = serializers.UUIDField(allow_null=True, default=None)
    happened_at = MomentField()
    # A field's own attribute has this name too; the framework sets it aside.
    source = serializers.ChoiceField(get_args(Source), help_text="What vouches for it.")  # type: ignore[assignment]
    hold_seconds = SecondsField(allow_null=True, default=None, help_text="For a step that is held.")
    reps = serializers.IntegerField(default=1, min_value=1, max_value=MOST_REPS)
    unbroken = serializers.BooleanField(default=True)
    assistance = serializers.ChoiceField(ASSISTANCES, default=UNASSISTED)
    variant = serializers.CharField(max_length=CODE_LENGTH, allow_blank=True, default="")
    faults = codes_field(default=list, help_text="Codes of the step's faults; none for a clean attempt.")
    missed = codes_field(default=list, help_text="Codes of the checkpoints that were not shown.")
    effort = serializers.IntegerField(allow_null=True, default=None, min_value=0, max_value=MOST_EFFORT)
    pain = serializers.BooleanField(default=False, help_text="Pauses each step with the same load at once.")
    grade = serializers.IntegerField(default=0, min_value=0, max_value=99, help_text="From 1; 0 for none.")
    angle_degrees = serializers.IntegerField(
        allow_null=True,
        default=None,
        min_value=0,
        max_value=MOST_DEGREES,
        help_text="At a step that says which angle is measured.",
    )
    closed_reason = serializers.CharField(
        max_length=200, allow_blank=True, default="", help_text="Why a step is tried that is not open."
    )
    note = serializers.CharField(max_length=500, allow_blank=True, default="")


class AttemptRow(serializers.Serializer[Any]):
    """A stored attempt. One that was taken back has `voided_at`, and counts for nothing."""

    id = serializers.UUIDField()
    athlete = serializers.UUIDField(source="athlete_id")
    step = serializers.CharField(source="step.code")
    session = serializers.UUIDField(source="session_id", allow_null=True)
    happened_at = MomentField()
    recorded_at = MomentField()
    logged_by = serializers.UUIDField(source="logged_by_id", help_text="The membership that logged it.")
    source = serializers.ChoiceField(get_args(Source))  # type: ignore[assignment]
    hold_seconds = SecondsField(source="hold_tenths", allow_null=True)
    reps = serializers.IntegerField()
    unbroken = serializers.BooleanField()
    assistance = serializers.ChoiceField(ASSISTANCES)
    variant = serializers.CharField()
    faults = codes_field()
    missed = codes_field()
    effort = serializers.IntegerField(allow_null=True)
    pain = serializers.BooleanField()
    grade = serializers.IntegerField()
    angle_degrees = serializers.IntegerField(allow_null=True)
    closed_try = serializers.BooleanField(help_text="Tried while the step was not open: never counted.")
    doubt = serializers.CharField(help_text="Why the device's own time may be wrong: slept, hidden; '' for no doubt.")
    clean = serializers.BooleanField(source="is_clean")
    voided_at = MomentField(source="void.happened_at", allow_null=True, default=None)


class ReceiptStanding(StandingFields):
    """How the athlete stands at the step as the receipt is written."""

    missing = serializers.CharField(help_text="What is missing, as a sentence.")


class Receipt(serializers.Serializer[Any]):
    """What the server has. Keep an attempt on the device until a receipt names its id."""

    id = serializers.UUIDField()
    athlete = serializers.UUIDField()
    step = serializers.CharField()
    recorded_at = MomentField()
    closed_try = serializers.BooleanField(help_text="Tried while the step was not open: never counted.")
    standing = ReceiptStanding()
    opened = serializers.ListField(child=serializers.CharField(), help_text="Codes of the steps that it opened.")


class VoidBody(StrictSerializer):
    """Why an attempt is taken back."""

    reason = serializers.CharField(max_length=200)


class AttemptList(GymList):
    """The attempts."""

    access_rule = AccessRule(EVERYBODY)

    @extend_schema(parameters=[AttemptQuery], responses=AttemptRow(many=True))
    def get(self, _request: Request) -> Response:
        """List the attempts in sight, the newest first."""
        asked = self.asked(AttemptQuery)
        names = {"athlete": "athlete", "step": "step__code", "session": "session", "since": "happened_at__gte"}
        wanted = {name: asked[key] for key, name in names.items() if key in asked}
        rows = attempts_of(self.member.gym, athletes_in_sight(self.member)).filter(**wanted)
        return self.listed(rows, "-happened_at", AttemptRow, asked)


class AttemptOne(GymView):
    """One attempt, under the id that the device made."""

    access_rule = AccessRule(EVERYBODY)
    access_rules = {"PUT": LOGGING}

    @extend_schema(responses=AttemptRow)
    def get(self, _request: Request, attempt_id: UUID) -> Response:
        """Tell one attempt."""
        return Response(_attempt(self, attempt_id))

    @extend_schema(request=AttemptBody, responses={200: Receipt, 201: Receipt})
    def put(self, _request: Request, attempt_id: UUID) -> Response:
        """Store an attempt, once however often it is sent.

        201 the first time; 200 with the same receipt for the same content again; 409 for the id with other content,
        which changes nothing.
        """
        body, book = self.sent(AttemptBody), book_of(self.member.gym)
        page = step_coded(book, body["step"])
        with refusals_as_problems():
            logged = log_attempt(by=self.member, entry=_entry(attempt_id, page, body))
        status = HTTPStatus.CREATED if logged.created else HTTPStatus.OK
        return Response(Receipt(_receipt(book, page, logged)).data, status=status)


class AttemptVoid(GymView):
    """The taking back of an attempt."""

    access_rule = LOGGING

    @extend_schema(request=VoidBody, responses=AttemptRow)
    def post(self, _request: Request, attempt_id: UUID) -> Response:
        """Take an attempt back: it stays in the history with the reason, and counts for nothing."""
        body, attempt = self.sent(VoidBody), access_attempt(self.member, attempt_id)
        with refusals_as_problems():
            void_attempt(by=self.member, attempt=attempt, reason=body["reason"])
        return Response(_attempt(self, attempt_id))


def _attempt(view: GymView, attempt_id: UUID) -> dict[str, Any]:
    row = attempts_of(view.member.gym, athletes_in_sight(view.member)).filter(pk=attempt_id).first()
    if row is None:
        raise Http404
    return AttemptRow(row).data


def _entry(attempt_id: UUID, page: StepPage, body: dict[str, Any]) -> AttemptEntry:
    return AttemptEntry(
        id=attempt_id,
        athlete_id=body["athlete"],
        step_id=page.id,
        session_id=body["session"],
        happened_at=body["happened_at"],
        source=body["source"],
        result=Result(
            hold_tenths=body["hold_seconds"],
            reps=body["reps"],
            unbroken=body["unbroken"],
            assistance=body["assistance"],
            variant=body["variant"],
            faults=tuple(body["faults"]),
            missed=tuple(body["missed"]),
            effort=body["effort"],
            pain=body["pain"],
            grade=body["grade"],
            angle_degrees=body["angle_degrees"],
        ),
        closed_reason=body["closed_reason"],
        note=body["note"],
    )


def _receipt(book: Book, page: StepPage, logged: Logged) -> dict[str, Any]:
    attempt = logged.attempt
    standing = standings_at(book, {attempt.athlete_id: page.code}, timezone.now())[attempt.athlete_id]
    opened = logged.settled.opened if logged.created else opened_with(book, attempt)
    now = standing.now
    return {
        "id": attempt.id,
        "athlete": attempt.athlete_id,
        "step": page.code,
        "recorded_at": attempt.recorded_at,
        "closed_try": attempt.closed_try,
        "standing": {
            "state": now.state,
            "base": now.base,
            "clearance": now.clearance,
            "awaits": now.awaits,
            "flags": now.flags,
            "missing": wording.missing_sentence(standing.missing, wording.terms_of(book)),
        },
        "opened": sorted(opened),
    }
