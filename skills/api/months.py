"""A month of the gym in figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.response import Response

from athletes.access.rules import STAFF, AccessRule
from athletes.api.base import GymView
from skills.api.fields import SecondsField
from skills.core.month import Month, NoSuchMonthError, month_named, percent
from skills.queries.months import month_report

if TYPE_CHECKING:
    from skills.core.month import Line


class FiguresRow(serializers.Serializer[Any]):
    """What happened, in the whole gym, at one skill or with one coach."""

    name = serializers.CharField()
    active_athletes = serializers.IntegerField()
    sessions = serializers.IntegerField()
    attempts = serializers.IntegerField()
    hold_seconds = SecondsField(help_text="All holds together, each as often as it was held.")
    clean_attempts = serializers.IntegerField()
    clean_rate_percent = serializers.DecimalField(
        max_digits=4, decimal_places=1, allow_null=True, help_text="Of all attempts; null where there are none."
    )
    steps_opened = serializers.IntegerField()
    signed_off = serializers.IntegerField()
    not_yet = serializers.IntegerField()
    revoked = serializers.IntegerField()


class MonthWhole(serializers.Serializer[Any]):
    """A month. No athlete is named in it."""

    month = serializers.CharField()
    gym = FiguresRow()
    skills = FiguresRow(many=True)
    coaches = FiguresRow(many=True)


class MonthOne(GymView):
    """One month."""

    access_rule = AccessRule(STAFF, "may_read_reports")

    @extend_schema(responses=MonthWhole)
    def get(self, _request: Request, month: str) -> Response:
        """Tell a month in the gym's time zone, such as 2026-10: the gym, its skills, its coaches."""
        gym = self.member.gym
        try:
            named = month_named(month, this=Month.at(timezone.now(), gym.time_zone))
        except NoSuchMonthError as error:
            raise NotFound(str(error)) from None
        report = month_report(gym, named)
        content = {
            "month": str(report.month),
            "gym": _figures(report.gym),
            "skills": [_figures(line) for line in report.skills],
            "coaches": [_figures(line) for line in report.coaches],
        }
        return Response(MonthWhole(content).data)


def _figures(line: Line) -> dict[str, Any]:
    figures, counts = line.figures, line.figures.counts
    return {
        "name": line.name,
        "active_athletes": figures.active_athletes,
        "sessions": figures.sessions,
        "attempts": counts.attempts,
        "hold_seconds": counts.hold_tenths,
        "clean_attempts": counts.clean_attempts,
        "clean_rate_percent": None if figures.clean_rate is None else percent(figures.clean_rate),
        "steps_opened": counts.steps_opened,
        "signed_off": counts.signed_off,
        "not_yet": counts.not_yet,
        "revoked": counts.revoked,
    }
