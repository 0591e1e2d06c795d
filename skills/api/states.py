"""How an athlete stands at every step now."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.access.records import access_athlete
from athletes.access.rules import EVERYBODY, AccessRule
from athletes.api.base import GymView
from gymtrack.lib.bodies import MomentField
from skills.api.fields import StandingFields
from skills.core.days import moment_of, moment_us
from skills.core.timeline import Timeline
from skills.queries.books import book_of
from skills.queries.timelines import kept_timelines


class StateRow(StandingFields):
    """How it stands at one step now."""

    step = serializers.CharField(help_text="The step's code.")
    since = MomentField(allow_null=True, help_text="Since when; null for since ever.")
    next_change_at = MomentField(allow_null=True, help_text="When time alone will change it; null for never.")


class States(serializers.Serializer[Any]):
    """How an athlete stands at each step of the gym, in its order. Ask again when `next_change_at` has come."""

    athlete = serializers.UUIDField()
    as_of = MomentField()
    next_change_at = MomentField(allow_null=True, help_text="The first of the steps'.")
    steps = StateRow(many=True)


class StatesOf(GymView):
    """The states of one athlete."""

    access_rule = AccessRule(EVERYBODY)

    @extend_schema(responses=States)
    def get(self, _request: Request, athlete_id: UUID) -> Response:
        """Tell the state of each step now, from the kept timelines."""
        athlete, now = access_athlete(self.member, athlete_id), timezone.now()
        book = book_of(athlete.gym)
        kept = kept_timelines(book, [athlete.id])[athlete.id]
        steps = [_state(code, kept[code], now) for code in book.steps]
        ahead = [step["next_change_at"] for step in steps if step["next_change_at"]]
        content = {"athlete": athlete.id, "as_of": now, "next_change_at": min(ahead, default=None), "steps": steps}
        return Response(States(content).data)


def _state(code: str, timeline: Timeline, now: datetime) -> dict[str, Any]:
    us = moment_us(now)
    change, ahead = timeline.at(us), timeline.after(us)
    return {
        "step": code,
        "state": change.state,
        "base": change.base,
        "clearance": change.clearance,
        "awaits": change.awaits,
        "flags": change.flags,
        "since": moment_of(change.from_us) if change.from_us else None,
        "next_change_at": moment_of(ahead.from_us) if ahead else None,
    }
