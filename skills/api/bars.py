"""The gym's bars: where they can stand and what is around them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.access.rules import STAFF, AccessRule
from athletes.api.base import GymView
from skills.queries.bars import bars_of, place_of

if TYPE_CHECKING:
    from skills.models import Bar


class SettingRow(serializers.Serializer[Any]):
    """One way in which a bar can stand."""

    hole = serializers.IntegerField(allow_null=True, help_text="Counted from the lowest; null for a bar at one height.")
    top_mm = serializers.IntegerField(help_text="Floor to the top of the bar, mats not counted.")


class BarRow(serializers.Serializer[Any]):
    """A bar in use. What nobody has measured is null, and is not to be taken as free."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    kind = serializers.CharField(help_text="pull_up, tied, rail or other.")
    diameter_mm = serializers.DecimalField(max_digits=4, decimal_places=1)
    settings = SettingRow(many=True)
    ceiling_mm = serializers.IntegerField(allow_null=True, help_text="Floor to what is above it.")
    clear_front_mm = serializers.IntegerField(allow_null=True, help_text="Bar to the next bar or wall.")
    clear_behind_mm = serializers.IntegerField(allow_null=True, help_text="Bar to the next bar or wall.")
    mat_mm = serializers.IntegerField(help_text="How thick the mat beneath it is; 0 for none.")


class BarList(GymView):
    """The bars in use."""

    access_rule = AccessRule(STAFF)

    @extend_schema(responses=BarRow(many=True))
    def get(self, _request: Request) -> Response:
        """List the gym's bars in its order, each with its holes."""
        return Response(BarRow([_bar(bar) for bar in bars_of(self.member.gym)], many=True).data)


def _bar(bar: Bar) -> dict[str, Any]:
    return {
        "id": bar.id,
        "name": bar.name,
        "kind": bar.kind,
        "diameter_mm": bar.diameter_tenths_mm / 10,
        "settings": [{"hole": each.hole, "top_mm": each.top_mm} for each in place_of(bar).settings],
        "ceiling_mm": bar.ceiling_mm,
        "clear_front_mm": bar.clear_front_mm,
        "clear_behind_mm": bar.clear_behind_mm,
        "mat_mm": bar.mat_mm,
    }
