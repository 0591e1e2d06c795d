"""How the API writes what skills are about: lengths of holds, codes of steps, how it stands at a step."""

from __future__ import annotations

from typing import Any, Final, get_args

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from skills.core.facts import Clearance
from skills.core.holds import HoldLengthError, cut_to_tenths
from skills.core.timeline import Awaits, Base, State
from skills.queries.books import Book, StepPage

CODE_LENGTH: Final = 60
_LONGEST_TEXT: Final = 40
_MOST_CODES: Final = 40


@extend_schema_field({"type": "string", "pattern": r"^[0-9]{1,4}(\.[0-9]{1,9})?$", "example": "5.2"})
class SecondsField(serializers.Field[Any, Any, Any, Any]):
    """A length in seconds as decimal text with one digit at most; kept in tenths. More digits are cut, not rounded."""

    def to_internal_value(self, data: Any) -> int:  # noqa: ANN401 (whatever was sent)
        """Return whole tenths."""
        if not isinstance(data, str) or len(data) > _LONGEST_TEXT:
            raise ValidationError('Write the seconds as short text, like "5.2": a JSON number may be a rounded one.')
        try:
            return cut_to_tenths(data)
        except HoldLengthError as error:
            raise ValidationError(str(error)) from None

    def to_representation(self, value: int) -> str:
        """Return tenths as "5.2", or as "5" where they are whole seconds."""
        whole, tenth = divmod(value, 10)
        return f"{whole}.{tenth}" if tenth else str(whole)


def codes_field(**more: Any) -> serializers.ListField:  # noqa: ANN401 (arguments of a field)
    """Return a field of codes, such as those of faults."""
    return serializers.ListField(child=serializers.CharField(max_length=CODE_LENGTH), max_length=_MOST_CODES, **more)


def step_coded(book: Book, code: str, field: str = "step") -> StepPage:
    """Return the step that a field of a request names; ValidationError where the gym has none."""
    if code not in book.steps:
        raise ValidationError({field: ["There is no such step in this gym."]})
    return book.steps[code]


class StandingFields(serializers.Serializer[Any]):
    """How it stands at a step, read from a `skills.core.timeline.Change`."""

    state = serializers.ChoiceField(get_args(State), help_text="With the mask of a caution.")
    base = serializers.ChoiceField(get_args(Base), help_text="Without that mask.")
    clearance = serializers.ChoiceField(get_args(Clearance), help_text="In effect; '' for none.")
    awaits = serializers.ChoiceField(get_args(Awaits), help_text="The gate that waits for a coach; '' for none.")
    flags = serializers.ListField(child=serializers.CharField(), help_text="What a coach should look at.")
