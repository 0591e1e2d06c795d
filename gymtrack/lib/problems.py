"""Errors of the API as problem details (RFC 9457)."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus

from django.core.exceptions import PermissionDenied
from django.http import Http404
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler

Place = Mapping[str, object]


def problem_details(error: Exception, context: dict[str, object]) -> Response | None:
    """Turn an exception into `application/problem+json`; None for what is no API error.

    Validation errors list each place and its sentence under `errors`.
    """
    response = exception_handler(error, context)
    if response is None:
        return None
    body: dict[str, object] = {
        "type": "about:blank",
        "title": HTTPStatus(response.status_code).phrase,
        "status": response.status_code,
    }
    if isinstance(error, exceptions.ValidationError):
        body["detail"] = "The request has mistakes; `errors` names each place."
        body["errors"] = list(_places(response.data, ""))
    elif isinstance(error, (Http404, PermissionDenied)):
        body["detail"] = (
            "There is no such record here." if isinstance(error, Http404) else "You may not do this."
        )
    else:
        body["detail"] = str(getattr(error, "detail", error))
    problem = Response(body, status=response.status_code, content_type="application/problem+json")
    for header, value in response.headers.items():
        if header.lower() not in {"content-type", "content-length"}:
            problem[header] = value
    return problem


def _places(data: object, place: str) -> list[dict[str, str]]:
    if isinstance(data, Mapping):
        return [
            found for key, value in data.items() for found in _places(value, f"{place}.{key}".lstrip("."))
        ]
    if isinstance(data, list):
        return [found for value in data for found in _places(value, place)]
    return [{"place": place, "sentence": str(data)}]
