"""What the API reads: small JSON bodies, no unknown fields, moments that say their offset."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from http import HTTPStatus
from io import BytesIO
from typing import IO, Any, Final

from rest_framework import serializers
from rest_framework.exceptions import APIException, ParseError
from rest_framework.parsers import JSONParser

MOST_BYTES: Final = 64 * 1024
FIRST_YEAR, LAST_YEAR = 1970, 2199  # whatever zone a moment is shown in, it stays inside the calendar


class BodyTooLarge(APIException):
    """The body is larger than anything that a route takes."""

    status_code = HTTPStatus.REQUEST_ENTITY_TOO_LARGE
    default_detail = f"The body has more than {MOST_BYTES} bytes, which is more than any route takes."


class SmallJSONParser(JSONParser):
    """Reads a JSON body of at most MOST_BYTES, whose texts can be stored and sent back as UTF-8."""

    def parse(
        self, stream: IO[Any], media_type: str | None = None, parser_context: Mapping[str, Any] | None = None
    ) -> Any:  # noqa: ANN401 (whatever the body holds)
        """Return what the body holds; raises BodyTooLarge, ParseError."""
        body = stream.read(MOST_BYTES + 1)
        if len(body) > MOST_BYTES:
            raise BodyTooLarge
        try:
            data = super().parse(BytesIO(body), media_type, parser_context)
            json.dumps(data, ensure_ascii=False).encode()
        except RecursionError:
            raise ParseError("The body is nested too deeply.") from None
        except UnicodeEncodeError:
            raise ParseError("A text in the body holds half a character (a lone surrogate).") from None
        return data


class StrictSerializer(serializers.Serializer[Any]):
    """Fields of a request; a name that is not among them is refused, with the other mistakes, all at once."""

    def to_internal_value(self, data: Any) -> Any:  # noqa: ANN401 (whatever was sent)
        """Return the checked values; raises ValidationError naming each field and each unknown name."""
        names = set(data) - set(self.fields) if isinstance(data, Mapping) else set()
        unknown = {name: ["There is no such field."] for name in sorted(names)}
        try:
            values = super().to_internal_value(data)
        except serializers.ValidationError as error:
            raise serializers.ValidationError({**error.detail, **unknown}) from None  # type: ignore[dict-item]
        if unknown:
            raise serializers.ValidationError(unknown)
        return values


class MomentField(serializers.DateTimeField):
    """A moment as in RFC 3339, with its offset; answered in UTC."""

    _WRITTEN = re.compile(r"\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d+)?([Zz]|[+-]\d\d:\d\d)", re.ASCII)

    def to_internal_value(self, value: Any) -> datetime:  # noqa: ANN401 (whatever was sent)
        """Return an aware moment in UTC; a naive one is refused, since nobody knows what it means."""
        if not isinstance(value, str) or not self._WRITTEN.fullmatch(value):
            raise serializers.ValidationError(
                "Write the moment with its offset, like 2026-03-02T18:05:00+01:00 or 2026-03-02T17:05:00Z."
            )
        moment = self._read(value)
        if not FIRST_YEAR <= moment.year <= LAST_YEAR:
            raise serializers.ValidationError(f"The year lies between {FIRST_YEAR} and {LAST_YEAR}.")
        return moment.astimezone(UTC)

    def to_representation(self, value: datetime) -> str:
        """Return the moment in UTC, like 2026-03-02T17:05:00Z."""
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")

    @staticmethod
    def _read(text: str) -> datetime:
        try:
            return datetime.fromisoformat(text.upper())
        except ValueError:
            raise serializers.ValidationError("There is no such moment in the calendar.") from None
