"""Athletes, as far as the key's member may see them."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.access.records import access_athlete, athletes_in_sight
from athletes.access.rules import EVERYBODY, AccessRule
from athletes.api.base import GymList, GymView
from gymtrack.lib.pages import PageQuery


class AthleteRow(serializers.Serializer[Any]):
    """An athlete. Minors stand by their initials."""

    id = serializers.UUIDField()
    number = serializers.IntegerField(help_text="Stands large on the class board.")
    name = serializers.CharField(source="board_name", help_text="Initials of a minor.")
    is_minor = serializers.BooleanField()
    joined_on = serializers.DateField()
    left_on = serializers.DateField(allow_null=True)


class AthleteList(GymList):
    """All athletes in sight."""

    access_rule = AccessRule(EVERYBODY)

    @extend_schema(parameters=[PageQuery], responses=AthleteRow(many=True))
    def get(self, _request: Request) -> Response:
        """List athletes by number: staff see the gym's, athletes themselves, guardians their wards."""
        return self.listed(athletes_in_sight(self.member), "number", AthleteRow, self.asked(PageQuery))


class AthleteOne(GymView):
    """One athlete."""

    access_rule = AccessRule(EVERYBODY)

    @extend_schema(responses=AthleteRow)
    def get(self, _request: Request, athlete_id: UUID) -> Response:
        """Tell one athlete's number and name."""
        return Response(AthleteRow(access_athlete(self.member, athlete_id)).data)
