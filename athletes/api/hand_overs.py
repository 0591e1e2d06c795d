"""How a tablet is let in by a code, says hello, is handed over to a coach, and is left again."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any, NoReturn

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, Throttled
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.throttling import SimpleRateThrottle
from rest_framework.views import APIView

from athletes.access.rules import AccessRule, holds
from athletes.api.base import GymView
from athletes.api.tablets import ENROLLED, FloorView, check_form, refusals_as_problems
from athletes.models import Gym, HandOver
from athletes.queries.tablets import holders_of, loggers_with_codes
from athletes.services.hand_overs import leave, take_over
from athletes.services.tablets import enrol_tablet
from gymtrack.lib.bodies import MomentField, StrictSerializer


class EnrolBody(StrictSerializer):
    """What somebody typed on the tablet."""

    code = serializers.CharField(max_length=40, help_text="As the owner's page shows it, like ABCD-EFGH.")


class Named(serializers.Serializer[Any]):
    """Something with a name."""

    id = serializers.UUIDField()
    name = serializers.CharField()


class GymNamed(Named):
    """The gym."""

    time_zone = serializers.CharField()


class EnrolAnswer(serializers.Serializer[Any]):
    """The tablet's key, told this once."""

    tablet = Named()
    gym = Named()
    key = serializers.CharField()


class CoachRow(Named):
    """Somebody who may take over."""

    has_code = serializers.BooleanField(help_text="Whether a code of six digits is set.")


class HoldingRow(serializers.Serializer[Any]):
    """Who holds the tablet."""

    hand_over = serializers.UUIDField()
    coach = serializers.UUIDField()
    name = serializers.CharField()
    until = MomentField()


class HelloAnswer(serializers.Serializer[Any]):
    """What a tablet knows before anybody holds it: nothing about athletes."""

    at = MomentField()
    gym = GymNamed()
    tablet = Named()
    coaches = CoachRow(many=True)
    holding = HoldingRow(many=True)


class HandOverBody(StrictSerializer):
    """A coach's code, typed on the tablet."""

    id = serializers.UUIDField(help_text="Made on the device; the same id twice is one hand-over.")
    coach = serializers.UUIDField()
    code = serializers.RegexField(r"^[0-9]{6}$", error_messages={"invalid": "Type six digits."})
    claimed_at = MomentField(
        allow_null=True, default=None, help_text="By the device's clock: when the coach took over without a network."
    )
    sent_at = MomentField(help_text="By the device's clock.")


class HandOverAnswer(HoldingRow):
    """Who holds the tablet now, and until when."""

    at = MomentField()
    may_sign_off = serializers.BooleanField()


class LeaveBody(StrictSerializer):
    """Nothing."""


class LeaveAnswer(serializers.Serializer[Any]):
    """When everybody let go of the tablet."""

    at = MomentField()


class EnrolThrottle(SimpleRateThrottle):
    """Thirty codes a minute from one address: guessing one of 31^8 in its quarter of an hour is hopeless."""

    scope = "enrol"
    rate = "30/min"

    def get_cache_key(self, request: Request, view: APIView) -> str:  # noqa: ARG002 (the library's signature)
        """Return what the tries of an address are counted under."""
        return self.cache_format % {"scope": self.scope, "ident": self.get_ident(request)}


class Enrol(GymView):
    """The door for a tablet."""

    access_rule = AccessRule(())
    authentication_classes = ()
    throttle_classes = (EnrolThrottle,)

    def throttled(self, request: Request, wait: float | None) -> NoReturn:  # noqa: ARG002 (the library's signature)
        """Say so in words; raises Throttled."""
        error = Throttled(wait)
        error.detail = ErrorDetail("Too many codes were tried from here: wait a minute.")
        raise error

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (the library's)
        """Ask for the form of the call."""
        super().initial(request, *args, **kwargs)
        check_form(request)

    @extend_schema(request=EnrolBody, responses={201: EnrolAnswer, 429: None})
    def post(self, _request: Request) -> Response:
        """Exchange an owner's code for the key of this tablet.

        403 with `code` "unknown_code": not known, used, or run out. 429 after thirty tries within a minute.
        """
        with refusals_as_problems():
            tablet, key = enrol_tablet(code=self.sent(EnrolBody)["code"])
        return Response(EnrolAnswer({"tablet": tablet, "gym": tablet.gym, "key": key}).data, status=HTTPStatus.CREATED)


class Hello(FloorView):
    """The door for a coach."""

    access_rule = ENROLLED

    @extend_schema(responses=HelloAnswer)
    def get(self, _request: Request) -> Response:
        """Tell the gym, who may take over, and who holds the tablet."""
        now, tablet = timezone.now(), self.tablet
        coaches = [
            {"id": coach.id, "name": coach.board_name(tablet.gym), "has_code": has_code}
            for coach, has_code in loggers_with_codes(tablet.gym)
        ]
        holding = [_holding(tablet.gym, row) for row in holders_of(tablet, now)]
        told = {"at": now, "gym": tablet.gym, "tablet": tablet, "coaches": coaches, "holding": holding}
        return Response(HelloAnswer(told).data)


class TakeOver(FloorView):
    """The hand-over to a coach."""

    access_rule = ENROLLED

    @extend_schema(request=HandOverBody, responses={200: HandOverAnswer, 409: None})
    def post(self, _request: Request) -> Response:
        """Let a coach hold the tablet for twelve hours.

        403 with `code`: "wrong_code", "locked" (five wrong ones, for five minutes), "no_code" (none was set), "right".
        409 for the id of another hand-over.
        """
        received_at, body = timezone.now(), self.sent(HandOverBody)
        self.heard(body["sent_at"])
        claimed_at, late = body["claimed_at"], received_at - body["sent_at"]
        with refusals_as_problems():
            row = take_over(
                tablet=self.tablet,
                hand_over_id=body["id"],
                coach_id=body["coach"],
                code=body["code"],
                claimed_at=claimed_at and claimed_at + late,
            )
        told = {
            **_holding(self.tablet.gym, row),
            "at": timezone.now(),
            "may_sign_off": holds(row.coach, "may_sign_off"),
        }
        return Response(HandOverAnswer(told).data)


class Leave(FloorView):
    """The end of all hand-overs."""

    access_rule = ENROLLED

    @extend_schema(request=LeaveBody, responses=LeaveAnswer)
    def post(self, _request: Request) -> Response:
        """Take the tablet out of everybody's hands."""
        self.sent(LeaveBody)
        self.heard()
        leave(tablet=self.tablet)
        return Response(LeaveAnswer({"at": timezone.now()}).data)


def _holding(gym: Gym, row: HandOver) -> dict[str, object]:
    return {
        "hand_over": row.id,
        "coach": row.coach_id,
        "name": row.coach.board_name(gym),
        "until": row.ended_at or row.until_at,
    }
