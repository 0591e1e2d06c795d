"""Lists of the API, page by page in a stable order: `after` names the last row of the page before."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet
from rest_framework import serializers
from rest_framework.pagination import BasePagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param
from rest_framework.views import APIView

from gymtrack.lib.bodies import StrictSerializer

Row = TypeVar("Row", bound=Model)

USUAL_LIMIT: Final = 50
MOST_ROWS: Final = 200


class PageQuery(StrictSerializer):
    """Which page of a list."""

    after = serializers.UUIDField(required=False, help_text="The id of the last row of the page before.")
    limit = serializers.IntegerField(
        default=USUAL_LIMIT, min_value=1, max_value=MOST_ROWS, help_text="How many rows at most."
    )


class Pages(BasePagination):
    """Pages by a column and the id, up or (`-column`) down; rows that are added meanwhile shift nothing."""

    def page(self, rows: QuerySet[Row], column: str, asked: Mapping[str, Any]) -> list[Row]:
        """Return the rows of a checked PageQuery; ValidationError for an `after` that is not in the list."""
        down = column.startswith("-")
        ordered = rows.order_by(column, "-pk" if down else "pk")
        if after := asked.get("after"):
            ordered = self._behind(ordered, column.lstrip("-"), after, "lt" if down else "gt")
        found = list(ordered[: asked["limit"] + 1])
        self._more = len(found) > asked["limit"]
        self._shown = found[: asked["limit"]]
        return self._shown

    @staticmethod
    def _behind(rows: QuerySet[Row], name: str, after: UUID, way: str) -> QuerySet[Row]:
        last = rows.filter(pk=after).values_list(name, flat=True).first()
        if last is None:
            raise serializers.ValidationError({"after": ["There is no such row in this list."]})
        # Written so that an index on the column serves it.
        return rows.filter(**{f"{name}__{way}e": last}).exclude(**{name: last, f"pk__{_OTHER_WAY[way]}e": after})

    def answer(self, request: Request, results: Any) -> Response:  # noqa: ANN401 (serialized rows)
        """Return the page with the address of the next one, null on the last."""
        address = request.build_absolute_uri()
        more = replace_query_param(address, "after", str(self._shown[-1].pk)) if self._more else None
        return Response({"next": more, "results": results})

    def get_schema_operation_parameters(self, view: APIView) -> list[dict[str, Any]]:  # noqa: ARG002 (the library's)
        """Add none: each list's own query says them."""
        return []

    def get_paginated_response_schema(self, schema: dict[str, Any]) -> dict[str, Any]:
        """Return the schema of a page."""
        address = {"type": "string", "format": "uri", "nullable": True}
        return {
            "type": "object",
            "required": ["next", "results"],
            "properties": {"next": address, "results": schema},
        }


_OTHER_WAY: Final = {"lt": "gt", "gt": "lt"}
