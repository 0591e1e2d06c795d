"""Errors of the API as problem details (RFC 9457), and their part of its document."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from http import HTTPStatus
from typing import Any, Final

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.views import defaults
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler

from gymtrack.lib.http import kept_nowhere

API: Final = "/api/"  # where the answers are for programs
MEDIA_TYPE: Final = "application/problem+json"


class Conflict(exceptions.APIException):
    """What was asked does not go with what is stored; its sentence says why."""

    status_code = HTTPStatus.CONFLICT


class Refused(exceptions.PermissionDenied):
    """403 with a `code`, by which a program tells one no from another."""

    def __init__(self, code: str, sentence: str) -> None:
        super().__init__(sentence)
        self.problem_code = code


def problem_details(error: Exception, context: dict[str, Any]) -> Response | None:
    """Turn an exception into `application/problem+json`; None for what is no API error.

    What cannot be read at all (no JSON) is 400. What was read and holds mistakes is 422, with each place and
    its sentence under `errors`.
    """
    response = exception_handler(error, context)
    if response is None:
        return None
    invalid = isinstance(error, exceptions.ValidationError)
    status = HTTPStatus.UNPROCESSABLE_ENTITY if invalid else HTTPStatus(response.status_code)
    body: dict[str, object] = {"type": "about:blank", "title": status.phrase, "status": status.value}
    body["detail"] = _detail(error)
    if code := getattr(error, "problem_code", ""):
        body["code"] = code
    if invalid:
        body["errors"] = list(places(response.data))
    problem = Response(body, status=status.value, content_type=MEDIA_TYPE)
    for header, value in response.headers.items():
        if header.lower() not in {"content-type", "content-length"}:
            problem[header] = value
    return problem


def _detail(error: Exception) -> str:
    if isinstance(error, exceptions.ValidationError):
        return "The request has mistakes; `errors` names each place."
    if isinstance(error, Http404):
        return "There is no such record here."
    if isinstance(error, PermissionDenied):
        return "You may not do this."
    return str(getattr(error, "detail", error))


def places(data: object, place: str = "") -> Iterator[dict[str, str]]:
    """Yield each sentence with its place: names and list positions joined by dots, '' for the whole."""
    if isinstance(data, Mapping):
        for key, value in data.items():
            name = "" if key == "non_field_errors" else str(key)
            yield from places(value, ".".join(part for part in (place, name) if part))
    elif isinstance(data, list):
        for value in data:
            yield from places(value, place)
    else:
        yield {"place": place, "sentence": str(data)}


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer what went wrong unforeseen: as a problem to a program, as a page to a person. It is in the log."""
    if request.path.startswith(API):
        said = "Something went wrong here; it is noted. The same request may be sent again."
        return bare_problem(HTTPStatus.INTERNAL_SERVER_ERROR, said)
    return kept_nowhere(defaults.server_error(request))


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """Answer what cannot be read at all, before any view saw it, in the same two ways."""
    if request.path.startswith(API):
        return bare_problem(HTTPStatus.BAD_REQUEST, "The request cannot be read.")
    return kept_nowhere(defaults.bad_request(request, exception))


def bare_problem(status: HTTPStatus, said: str) -> HttpResponse:
    """Return a problem from where no view is in sight."""
    body = {"type": "about:blank", "title": status.phrase, "status": status.value, "detail": said}
    return kept_nowhere(JsonResponse(body, status=status.value, content_type=MEDIA_TYPE))


# --- The document ---------------------------------------------------------------------------------------

_ERROR: Final = {
    "type": "object",
    "required": ["place", "sentence"],
    "properties": {
        "place": {"type": "string", "description": "The field, '' for the request as a whole."},
        "sentence": {"type": "string"},
    },
}
_PROBLEM: Final = {
    "type": "object",
    "description": "Problem details (RFC 9457).",
    "required": ["type", "title", "status", "detail"],
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string", "description": "A sentence for people."},
        "code": {"type": "string", "description": "For a program, where one status has several reasons."},
        "errors": {"type": "array", "items": _ERROR, "description": "With 422: each mistake with its place."},
    },
}
_SAID: Final = {
    400: "The body is no JSON.",
    401: "No key, or one that is not known.",
    403: "The key's role or rights do not go so far.",
    404: "There is no such record, or none for this key.",
    409: "It does not go with what is stored.",
    413: "The body is too large.",
    415: "The body is not sent as application/json.",
    422: "Mistakes, each named with its place.",
    429: "Too many tries: later.",
}


def document_problems(result: dict[str, Any], **_generator: object) -> dict[str, Any]:
    """Post-process the OpenAPI document: the error answers of each operation (a hook of drf-spectacular)."""
    result["components"].setdefault("schemas", {})["Problem"] = _PROBLEM
    for path in result["paths"].values():
        for method, operation in path.items():
            for status in _statuses(method, operation):
                operation["responses"][str(status)] = _response(status)
    return result


def _statuses(method: str, operation: Mapping[str, Any]) -> Iterator[int]:
    parameters = {parameter["in"] for parameter in operation.get("parameters", ())}
    yield from [int(status) for status in operation["responses"] if int(status) >= HTTPStatus.BAD_REQUEST]
    yield from (401, 403)
    if "path" in parameters:
        yield 404
        if method != "get":
            yield 409
    if "requestBody" in operation:
        yield from (400, 413, 415)
    if "requestBody" in operation or "query" in parameters:
        yield 422


def _response(status: int) -> dict[str, Any]:
    schema = {"$ref": "#/components/schemas/Problem"}
    return {"description": _SAID[status], "content": {MEDIA_TYPE: {"schema": schema}}}
