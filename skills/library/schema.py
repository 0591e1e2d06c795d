"""The JSON Schema (draft 2020-12) of a skill file, made of the constants that the reader goes by.

What a schema cannot say stays with the reader: codes used twice, numbers that do not fit each other, steps in a circle.
"""

from collections.abc import Mapping
from typing import Final, get_args

from skills.core.conditions import Confidence
from skills.core.criterion_form import MOST_LEVELS, MOST_WINDOW_DAYS, WORDS
from skills.core.entries import MOST_DEGREES
from skills.core.facts import Source
from skills.core.form_fields import MOST_TENTHS
from skills.core.levers import MOST_KNEE_DEGREES, MOST_THIGH_DEGREES
from skills.core.reliability import MOST_PERCENT
from skills.library.entries import CODE
from skills.library.texts import (
    LOADS,
    MEASURES,
    MOST_ANGLE,
    MOST_CODE,
    MOST_LABEL,
    MOST_NAME,
    MOST_OF_DOSE,
    MOST_RECHECK_DAYS,
    MOST_ROWS,
    MOST_SKILL_NAME,
    MOST_STEPS,
    MOST_TEXT,
    MOST_WORD,
    RESERVED_CODES,
    STATIONS,
    TRADE_PRACTICE,
)

Schema = Mapping[str, object]
SCHEMA_ID: Final = "urn:gymtrack:skill-file:1"
_FLAG: Final[Schema] = {"type": "boolean"}


def skill_schema() -> Schema:
    """The schema of a skill file; YAML is read as the core words of YAML 1.2 say."""
    skill = {
        "skill": _ref("freeCode"),
        "name": _text(MOST_SKILL_NAME),
        "purpose": _text(),
        "steps": {"type": "array", "maxItems": MOST_STEPS, "items": _ref("step")},
    }
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": SCHEMA_ID,
        "title": "Skill file",
        "description": "A skill and its steps, in the order in which they are taught.",
        **_object(skill),
        "$defs": {
            "code": {"type": "string", "pattern": f"^{CODE}$", "maxLength": MOST_CODE},
            "freeCode": {"allOf": [_ref("code"), {"not": {"enum": list(RESERVED_CODES)}}]},
            "step": _step(),
            **{f"condition{level}": _condition(level) for level in range(1, MOST_LEVELS + 1)},
            **_leaves(),
        },
    }


# ---- Parts ----------------------------------------------------------------------------------------------


def _ref(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def _text(most: int = MOST_TEXT) -> Schema:
    # What is blank to the eye, and control characters, are no text.
    return {"type": "string", "pattern": r"\S", "minLength": 1, "maxLength": most}


def _whole(most: int, least: int = 1) -> Schema:
    return {"type": "integer", "minimum": least, "maximum": most}


def _or_null(schema: Schema) -> Schema:
    return {"anyOf": [schema, {"type": "null"}]}


def _rows(items: Schema, least: int = 0) -> Schema:
    return {"type": "array", "minItems": least, "maxItems": MOST_ROWS, "items": items}


def _different(items: Schema) -> Schema:
    return {**_rows(items), "uniqueItems": True}


def _object(properties: Schema, optional: tuple[str, ...] = ()) -> Schema:
    return {
        "type": "object",
        "additionalProperties": False,
        "required": [name for name in properties if name not in optional],
        "properties": properties,
    }


# ---- A step ---------------------------------------------------------------------------------------------


def _step() -> Schema:
    fault = {"code": _ref("code"), "name": _text(MOST_WORD), "cue": _text(MOST_WORD), "dangerous": _FLAG}
    dose = {name: _whole(most) for name, most in MOST_OF_DOSE.items()}
    keys = {
        "code": _ref("freeCode"),
        "label": _text(MOST_LABEL),
        "name": _text(MOST_NAME),
        "purpose": _text(),
        "set_up": _rows(_text(), 1),
        "station": {"enum": list(STATIONS)},
        "measure": {"enum": list(MEASURES)},
        "angle": _text(MOST_ANGLE),
        "pose": _object({"thigh": _whole(MOST_THIGH_DEGREES, 0), "knee": _whole(MOST_KNEE_DEGREES, 0)}),
        "loads": _different({"enum": list(LOADS)}),
        **dict.fromkeys(("inverted", "over_bar", "low_bar_check", "side_drill"), _FLAG),
        "requires": _different(_text()),
        **dict.fromkeys(("asks_clearance", "needs_sign_off"), _FLAG),
        "recheck_days": _or_null(_whole(MOST_RECHECK_DAYS)),
        "grades": _different(_text(MOST_WORD)),
        "checkpoints": _rows(_object({"code": _ref("code"), "text": _text(MOST_WORD)}), 1),
        "faults": _rows(_object(fault, ("dangerous",)), 1),
        "variants": _rows(_object({"code": _ref("code"), "name": _text(MOST_WORD)})),
        "cautions": _rows(_text(), 1),
        "getting_down": _or_null(_text()),
        "dose": _object({**dose, "hold_seconds": _or_null(dose["hold_seconds"])}),
        "swap_drill": _object({"name": _text(MOST_NAME), "text": _text()}),
        "trade_practice": _different({"enum": list(TRADE_PRACTICE)}),
        "criterion": _ref("condition1"),
    }
    return {**_object(keys, ("angle", "station", "pose")), "allOf": [*_safety(), *_measures()]}


def _safety() -> list[Schema]:
    """Upside down and over the bar: a coach at both ends, and a way down."""
    risky = {"anyOf": [_is("inverted", value=True), _is("over_bar", value=True)]}
    safe = {
        "asks_clearance": {"const": True},
        "needs_sign_off": {"const": True},
        "getting_down": {"type": "string"},
    }
    return [
        {"if": risky, "then": {"properties": safe}},
        {"if": _is("inverted", value=True), "then": {"properties": {"loads": {"contains": {"const": "inversion"}}}}},
        {"if": _is("inverted", value=True), "then": {"not": {"required": ["pose"]}}},
    ]


def _measures() -> list[Schema]:
    seconds = {"hold": "integer", "reps": "null"}
    return [
        {
            "if": _is("measure", value=measure),
            "then": {"properties": {"dose": {"properties": {"hold_seconds": {"type": kind}}}}},
        }
        for measure, kind in seconds.items()
    ]


def _is(key: str, *, value: object) -> Schema:
    return {"properties": {key: {"const": value}}, "required": [key]}


# ---- A criterion ----------------------------------------------------------------------------------------

_GROUPS: Final = ("all", "any", "at_least")
LEAVES: Final = tuple(word for word in WORDS if word not in ("step", *_GROUPS))
_SECONDS: Final[Schema] = {
    "description": "Seconds with at most one decimal.",
    "anyOf": [
        {"type": "number", "minimum": 0.1, "maximum": MOST_TENTHS // 10},
        {"type": "string", "pattern": r"^[0-9]{1,5}(\.[0-9]0*)?$"},
    ],
}


def _condition(level: int) -> Schema:
    """One condition, `level` deep; groups hold conditions one deeper, and the deepest are no groups."""
    single = [_object({name: _ref(name)}) for name in LEAVES]
    single.append(_object({"step": {"type": "string", "pattern": r"^\S(.*\S)?$"}}))
    if level == MOST_LEVELS:
        return {"oneOf": single}
    several = {"type": "array", "minItems": 1, "items": _ref(f"condition{level + 1}")}
    groups = [
        *(_object({name: several}) for name in ("all", "any")),
        _object({"at_least": _object({"count": _whole(1000), "of": several})}),
    ]
    return {"oneOf": [*single, *groups]}


def _leaves() -> dict[str, Schema]:
    count = _whole(1000)
    target = {"seconds": _SECONDS, "reps": count, "unbroken": _FLAG}
    return {
        "holds": _leaf({"count": count, "seconds": _SECONDS}, ("count", "seconds")),
        "reps": _leaf({"count": count, "reps": count, "unbroken": _FLAG}, ("count", "reps")),
        "best": _of_two(_leaf(target, ()), "seconds", "reps"),
        "last": _of_two(_leaf({"of": count, **target}, ("of", "clean"), clean=count), "seconds", "reps"),
        "angle": _of_two(
            _leaf(
                {
                    "count": count,
                    "at_least_degrees": _whole(MOST_DEGREES, 0),
                    "at_most_degrees": _whole(MOST_DEGREES, 0),
                    "seconds": _or_null(_SECONDS),
                },
                ("count",),
            ),
            "at_least_degrees",
            "at_most_degrees",
        ),
        "reliability": _of_two(
            _leaf(
                {
                    "percent": _whole(MOST_PERCENT),
                    "confidence": {"enum": list(get_args(Confidence))},
                    "of": _or_null(count),
                    **target,
                },
                ("percent",),
            ),
            "seconds",
            "reps",
        ),
    }


def _leaf(own: Schema, required: tuple[str, ...], clean: Schema = _FLAG) -> Schema:
    counting = {
        "window_days": _or_null(_whole(MOST_WINDOW_DAYS)),
        "sessions": _whole(1000),
        "dates": _whole(1000),
        "clean": clean,
        "assistance": {"type": "array", "minItems": 1, "items": {"type": "string", "minLength": 1}},
        "variants": _FLAG,
        "who": {"type": "array", "minItems": 1, "items": {"enum": list(get_args(Source))}},
        "grade_at_least": _whole(1000, 0),
    }
    return {
        "type": "object",
        "additionalProperties": False,
        "required": list(required),
        "properties": {**own, **counting},
    }


def _of_two(leaf: Schema, first: str, second: str) -> Schema:
    # Whether reps are unbroken is a question of reps alone.
    return {
        **leaf,
        "oneOf": [{"required": [first]}, {"required": [second]}],
        "dependentRequired": {"unbroken": ["reps"]},
    }
