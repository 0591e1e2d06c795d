"""What all views of the API share: who asks, what was sent, lists by pages, nothing kept by caches."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import TYPE_CHECKING, Any, ClassVar

from django.db.models import Model, QuerySet
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.serializers import BaseSerializer
from rest_framework.views import APIView

from athletes.access.rules import AccessRule
from athletes.api.tokens import member_of
from gymtrack.lib.bodies import StrictSerializer
from gymtrack.lib.pages import Pages

if TYPE_CHECKING:
    from athletes.models import Membership


class GymView(APIView):
    """A view that somebody's key opens. It states its `access_rule`, or nobody gets in.

    No answer may outlive the next change of what it tells, so none is kept by a cache.
    """

    access_rules: ClassVar[Mapping[str, AccessRule]] = {}

    @property
    def member(self) -> Membership:
        """The membership as which the key acts."""
        return member_of(self.request)

    def sent(self, serializer: type[StrictSerializer]) -> dict[str, Any]:
        """Return the checked body; raises ValidationError."""
        return _checked(serializer(data=self.request.data))

    def asked(self, serializer: type[StrictSerializer]) -> dict[str, Any]:
        """Return the checked query; raises ValidationError."""
        return _checked(serializer(data=self.request.query_params.dict()))

    def finalize_response(self, request: Request, response: Any, *args: Any, **kwargs: Any) -> Any:  # noqa: ANN401 (the library's)
        """Keep what is personal out of every cache."""
        answer = super().finalize_response(request, response, *args, **kwargs)
        answer["Cache-Control"] = "private, no-store"
        return answer


class GymList(GymView):
    """A view that lists rows by pages."""

    pagination_class = Pages

    def listed(
        self, rows: QuerySet[Model], column: str, serializer: type[BaseSerializer[Any]], asked: Mapping[str, Any]
    ) -> Response:
        """Return a page of rows in the order of a column (`-column` for falling) and the id."""
        pages = self.pagination_class()
        return pages.answer(self.request, serializer(pages.page(rows, column, asked), many=True).data)


def created(data: Any, address: str) -> Response:  # noqa: ANN401 (serialized)
    """Return 201 with what was made and where it is to be found."""
    return Response(data, status=HTTPStatus.CREATED, headers={"Location": address})


def _checked(serializer: StrictSerializer) -> dict[str, Any]:
    serializer.is_valid(raise_exception=True)
    values: dict[str, Any] = serializer.validated_data
    return values
