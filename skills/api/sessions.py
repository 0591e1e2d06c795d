"""Training sessions: start, who is present, end."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.urls import reverse
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.access.records import access_athlete
from athletes.access.rules import STAFF, AccessRule
from athletes.api.base import GymList, GymView, created
from gymtrack.lib.bodies import MomentField, StrictSerializer
from gymtrack.lib.pages import PageQuery
from skills.access import access_session, access_step
from skills.api.fields import CODE_LENGTH, step_coded
from skills.api.refusals import refusals_as_problems
from skills.queries.boards import attendances_of
from skills.queries.books import book_of
from skills.queries.records import sessions_of
from skills.services.sessions import end_session, mark_present, start_session, unmark_present

READING, LOGGING = AccessRule(STAFF), AccessRule(STAFF, "may_log")


class SessionBody(StrictSerializer):
    """A session to start."""

    name = serializers.CharField(max_length=80)
    focus = serializers.CharField(
        max_length=CODE_LENGTH, allow_null=True, default=None, help_text="The code of the step that the class is about."
    )
    starts_at = MomentField(allow_null=True, default=None, help_text="Now where none is given.")


class SessionRow(serializers.Serializer[Any]):
    """A training session."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    coach = serializers.UUIDField(source="coach_id", help_text="The membership that runs it.")
    coach_name = serializers.CharField(source="coach.person.full_name")
    starts_at = MomentField()
    ended_at = MomentField(allow_null=True)
    focus = serializers.CharField(source="focus.code", allow_null=True, default=None)


class PresentRow(serializers.Serializer[Any]):
    """An athlete on the board."""

    athlete = serializers.UUIDField(source="athlete_id")
    step = serializers.CharField(
        source="step.code", allow_null=True, default=None, help_text="The step in hand, where a coach chose one."
    )


class SessionWhole(SessionRow):
    """A training session with who is present, by their numbers."""

    present = PresentRow(many=True)


class SessionList(GymList):
    """The sessions."""

    access_rule = READING
    access_rules = {"POST": LOGGING}

    @extend_schema(parameters=[PageQuery], responses=SessionRow(many=True))
    def get(self, _request: Request) -> Response:
        """List the gym's sessions, the newest first."""
        return self.listed(sessions_of(self.member.gym), "-starts_at", SessionRow, self.asked(PageQuery))

    @extend_schema(request=SessionBody, responses={201: SessionWhole})
    def post(self, _request: Request) -> Response:
        """Start a session."""
        body = self.sent(SessionBody)
        code = body.pop("focus")
        focus = access_step(self.member, step_coded(book_of(self.member.gym), code, "focus").id) if code else None
        session = start_session(by=self.member, focus=focus, **body)
        address = reverse("api_session", args=[session.id])
        return created(_whole(self, session.id), self.request.build_absolute_uri(address))


class SessionOne(GymView):
    """One session."""

    access_rule = READING

    @extend_schema(responses=SessionWhole)
    def get(self, _request: Request, session_id: UUID) -> Response:
        """Tell a session and who is present."""
        return Response(_whole(self, session_id))


class SessionEnd(GymView):
    """The end of a session."""

    access_rule = LOGGING

    @extend_schema(request=None, responses=SessionWhole)
    def post(self, _request: Request, session_id: UUID) -> Response:
        """End a session; the second time changes nothing."""
        end_session(by=self.member, session=access_session(self.member, session_id))
        return Response(_whole(self, session_id))


class Presence(GymView):
    """An athlete's presence in a session."""

    access_rule = LOGGING

    @extend_schema(request=None, responses={204: None})
    def put(self, _request: Request, session_id: UUID, athlete_id: UUID) -> Response:
        """Put an athlete on the board; the second time changes nothing."""
        session, athlete = access_session(self.member, session_id), access_athlete(self.member, athlete_id)
        with refusals_as_problems():
            mark_present(by=self.member, session=session, athlete=athlete)
        return Response(status=204)

    @extend_schema(responses={204: None})
    def delete(self, _request: Request, session_id: UUID, athlete_id: UUID) -> Response:
        """Take an athlete off the board; their attempts stay."""
        session, athlete = access_session(self.member, session_id), access_athlete(self.member, athlete_id)
        with refusals_as_problems():
            unmark_present(by=self.member, session=session, athlete=athlete)
        return Response(status=204)


def _whole(view: GymView, session_id: UUID) -> dict[str, Any]:
    session = access_session(view.member, session_id)
    present = PresentRow(attendances_of(session), many=True).data
    return {**SessionRow(session).data, "present": present}
