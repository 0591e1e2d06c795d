"""What a tablet reads: the day whole, to work offline, and one class as it stands."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any
from uuid import UUID

from django.utils import timezone
from django.utils.http import parse_etags
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.access.tablets import MAY_LOG
from athletes.api.hand_overs import GymNamed, Named
from athletes.api.tablets import COACH, FloorView
from gymtrack.lib.bodies import MomentField
from skills.access import access_session
from skills.floor_words import board_json, today_json
from skills.queries.floor import stamp_of


class FloorSessionRow(Named):
    """A class with its people, as ids by their numbers."""

    starts_at = MomentField()
    ended_at = MomentField(allow_null=True)
    coach = serializers.CharField()
    focus = serializers.UUIDField(allow_null=True)
    present = serializers.ListField(child=serializers.UUIDField())
    usual = serializers.ListField(child=serializers.UUIDField(), help_text="Who was there the last time.")


class FloorCoach(Named):
    """The coach who holds the tablet."""

    may_sign_off = serializers.BooleanField(help_text="Of any skill.")


class FloorGym(GymNamed):
    """The gym, and whether nobody goes upside down there without a consent."""

    asks_consent = serializers.BooleanField()


class FloorAthlete(Named):
    """Who may be marked as here; the name is as agreed, a minor's initials, or empty where the number stands alone."""

    number = serializers.IntegerField()
    guest = serializers.BooleanField()
    upside_down = serializers.BooleanField(help_text="False where consent to going upside down is lacking.")


class CodedWord(serializers.Serializer[Any]):
    """A named thing of a step."""

    code = serializers.CharField()
    name = serializers.CharField()


class FloorFault(CodedWord):
    """A fault, the cue that mends it, and whether it puts the athlete at risk."""

    cue = serializers.CharField()
    dangerous = serializers.BooleanField()


class FloorCheckpoint(serializers.Serializer[Any]):
    """What a correct attempt shows."""

    code = serializers.CharField()
    text = serializers.CharField()


class FloorStep(Named):
    """A step with all that is needed to log at it."""

    code = serializers.CharField()
    label = serializers.CharField()  # type: ignore[assignment] # a field of that name is not the library's
    skill = serializers.CharField()
    is_hold = serializers.BooleanField()
    faults = FloorFault(many=True)
    checkpoints = FloorCheckpoint(many=True)
    variants = CodedWord(many=True)
    grades = serializers.ListField(child=serializers.CharField())
    angle = serializers.CharField(help_text="Which angle can be measured; empty for none.")
    low_bar = serializers.BooleanField(help_text="Whether a bar has to be looked over first, each day.")
    inverted = serializers.BooleanField()
    over_bar = serializers.BooleanField()
    loads = serializers.ListField(child=serializers.CharField())
    cautions = serializers.ListField(child=serializers.CharField())
    getting_down = serializers.CharField()
    may_sign_off = serializers.BooleanField(help_text="Whether this coach may sign off the steps of its skill.")


class Pair(serializers.ListField):
    """A code and its words."""

    child = serializers.CharField()
    min_length = max_length = 2


class FloorWords(serializers.Serializer[Any]):
    """Words for codes."""

    assistances = serializers.ListField(child=Pair())
    sources = serializers.DictField(child=serializers.CharField())
    states = serializers.DictField(child=serializers.CharField())
    void_reasons = serializers.ListField(child=Pair())
    pain_choices = serializers.ListField(child=serializers.CharField())
    bar_lines = serializers.ListField(child=Pair())
    risk_notes = serializers.ListField(
        child=Pair(), help_text="For which steps (risky, or a flag of the step), and the note, by its place."
    )


class FloorBarCheck(serializers.Serializer[Any]):
    """A low bar looked over today."""

    bar = serializers.CharField()
    at = MomentField()
    by = serializers.CharField()


class FloorToday(serializers.Serializer[Any]):
    """All that a tablet keeps for the day."""

    at = MomentField()
    stamp = serializers.CharField(help_text="Another one whenever something may have changed.")
    gym = FloorGym()
    coach = FloorCoach()
    sessions = FloorSessionRow(many=True)
    usual_name = serializers.CharField()
    athletes = FloorAthlete(many=True)
    steps = FloorStep(many=True)
    words = FloorWords()
    bars = serializers.ListField(child=serializers.CharField())
    bar_checks = FloorBarCheck(many=True)


class HelpWords(serializers.Serializer[Any]):
    """Help and form of the last judged try."""

    assistance = serializers.CharField()
    variant = serializers.CharField()


class FloorOpenStep(HelpWords):
    """A step that is open to the athlete."""

    step = serializers.UUIDField()
    state = serializers.CharField()
    missing = serializers.CharField()


class FloorGate(serializers.Serializer[Any]):
    """A gate that waits for a coach."""

    step = serializers.UUIDField()
    gate = serializers.CharField()
    words = serializers.CharField()


class FloorTileRow(Named):
    """An athlete on the board; `step` is the one in hand, `with` the help and form remembered there."""

    number = serializers.IntegerField()
    step = serializers.UUIDField(allow_null=True)
    chosen = serializers.BooleanField(help_text="Whether a coach chose the step in hand.")
    state = serializers.CharField()
    word = serializers.CharField()
    missing = serializers.CharField()
    back = serializers.CharField()
    instead_of = serializers.UUIDField(
        allow_null=True, help_text="The next step, where the one before it is in hand after weeks away."
    )
    cue = serializers.CharField()
    note = serializers.CharField()
    last = serializers.CharField()
    cautions = serializers.ListField(child=serializers.CharField())
    no_consent = serializers.ListField(child=serializers.CharField())
    stopped = serializers.ListField(
        child=serializers.UUIDField(), help_text="Steps, open or not, that ask for a consent which is lacking."
    )
    skin = serializers.CharField(help_text="Torn skin, and until when it is shown; empty for none. It pauses nothing.")
    open = FloorOpenStep(many=True)
    paused = serializers.ListField(child=serializers.UUIDField(), help_text="By a caution, or for want of consent.")
    waiting = FloorGate(many=True)

    def get_fields(self) -> dict[str, serializers.Field[Any, Any, Any, Any]]:
        """Add the one whose name is a keyword of the language."""
        return {**super().get_fields(), "with": HelpWords()}


class FloorTurn(serializers.Serializer[Any]):
    """When a rotation begins, numbered from 0; their number is the end, and -1 the warm-up."""

    at = MomentField()
    rotation = serializers.IntegerField()


class FloorDoing(serializers.Serializer[Any]):
    """What somebody does in a rotation, and where, in words."""

    place = serializers.CharField()
    step = serializers.UUIDField(allow_null=True)


class FloorPlan(serializers.Serializer[Any]):
    """The plan of a class, with all times that a tablet needs to go on by it without a network.

    `turns` are from the one that the last tap began, `rotation` the one in which the tiles were told.
    """

    number = serializers.IntegerField()
    rotation = serializers.IntegerField()
    minutes = serializers.ListField(child=serializers.IntegerField(), help_text="How long each rotation lasts.")
    turns = FloorTurn(many=True)
    sets = serializers.ListField(
        child=serializers.ListField(child=serializers.CharField()), help_text="Bars to be set, by rotation."
    )
    people = serializers.DictField(
        child=serializers.ListField(child=FloorDoing(allow_null=True)), help_text="By athlete, then by rotation."
    )


class FloorLogRow(HelpWords):
    """An attempt of the class, taken back or not."""

    id = serializers.UUIDField()
    athlete = serializers.UUIDField()
    step = serializers.UUIDField()
    at = MomentField()
    words = serializers.CharField()
    source = serializers.CharField()  # type: ignore[assignment] # the same
    is_clean = serializers.BooleanField()
    faults = serializers.ListField(child=serializers.CharField())
    missed = serializers.ListField(child=serializers.CharField())
    hold_tenths = serializers.IntegerField(allow_null=True)
    reps = serializers.IntegerField()
    unbroken = serializers.BooleanField()
    effort = serializers.IntegerField(allow_null=True)
    pain = serializers.BooleanField()
    grade = serializers.IntegerField()
    angle_degrees = serializers.IntegerField(allow_null=True)
    by = serializers.CharField()
    is_void = serializers.BooleanField()
    doubt = serializers.CharField(help_text="Why the device's own time may be wrong; empty for no doubt.")


class FloorBoard(serializers.Serializer[Any]):
    """A class as it stands."""

    at = MomentField()
    stamp = serializers.CharField()
    session = FloorSessionRow()
    plan = FloorPlan(allow_null=True)
    tiles = FloorTileRow(many=True)
    log = FloorLogRow(many=True, help_text="The last 200 attempts, the newest first.")


_KNOWN = OpenApiParameter("If-None-Match", str, OpenApiParameter.HEADER, description="The ETag of what is kept.")
_SAME = OpenApiResponse(description="Nothing has changed.")


class FloorDay(FloorView):
    """The day of a gym, for who holds the tablet."""

    access_rule = MAY_LOG

    @extend_schema(parameters=[COACH, _KNOWN], responses={200: FloorToday, 304: _SAME})
    def get(self, request: Request) -> Response:
        """Tell sessions, athletes, steps and words. `If-None-Match` with the ETag gives 304 while nothing changed."""
        now, coach = timezone.now(), self.member
        # The answer names the coach: another one's tag must not stand for it.
        tag = f'"{stamp_of(coach.gym, now)}-{coach.id.hex[-8:]}"'
        return unchanged(request, tag) or Response(today_json(coach, now), headers={"ETag": tag})


class FloorClass(FloorView):
    """One class."""

    access_rule = MAY_LOG

    @extend_schema(parameters=[COACH, _KNOWN], responses={200: FloorBoard, 304: _SAME})
    def get(self, request: Request, session_id: UUID) -> Response:
        """Tell the tiles and the log. `If-None-Match` with the ETag gives 304 while nothing changed."""
        now, coach = timezone.now(), self.member
        tag = f'"{stamp_of(coach.gym, now)}"'
        same = unchanged(request, tag)
        if same:
            return same
        return Response(board_json(access_session(coach, session_id), now), headers={"ETag": tag})


def unchanged(request: Request, tag: str) -> Response | None:
    """Return 304 where the device has the answer with that tag, also where it went compressed (a weak tag)."""
    known = (each.removeprefix("W/") for each in parse_etags(request.headers.get("If-None-Match", "")))
    return Response(status=HTTPStatus.NOT_MODIFIED, headers={"ETag": tag}) if tag in known else None
