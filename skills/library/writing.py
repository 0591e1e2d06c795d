"""Steps and skills back into text: the canonical JSON that is kept of a step, and the YAML of a skill file.

A skill that is written and read again is the same skill, and written a second time it is the same bytes.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict
from textwrap import indent

import yaml

from skills.core import criteria
from skills.core.conditions import Counting
from skills.library.documents import reads_as_text
from skills.library.reading import read_step
from skills.library.texts import SkillText, StepText

_ELSEWHERE = ("angle", "station", "pose")  # optional keys, which stand beside what they belong to
_WIDTH = 106
_FOLD_FROM = 104  # a text at least this long is folded over several lines


# ---- JSON -----------------------------------------------------------------------------------------------


def step_data(step: StepText) -> dict[str, object]:
    """What a skill file says of a step, but for its criterion, in the order of the file."""
    data = asdict(step)
    for key in ("criterion", *_ELSEWHERE):
        del data[key]
    for fault in data["faults"]:
        if not fault["dangerous"]:
            del fault["dangerous"]
    named: dict[str, object] = {}
    for key, value in data.items():
        named[key] = list(value) if isinstance(value, tuple) else value
        if key == "set_up":
            named["station"] = step.station
        if key == "measure" and step.angle:
            named["angle"] = step.angle
        if key == "measure" and step.pose:
            named["pose"] = {"thigh": step.pose.thigh_degrees, "knee": step.pose.knee_degrees}
    return named | {"requires": sorted(step.requires)}


def step_json(step: StepText) -> str:
    """The one text of a step without its criterion: JSON with sorted keys, no blanks, ASCII."""
    return json.dumps(step_data(step), sort_keys=True, separators=(",", ":"), ensure_ascii=True)


def step_of_json(text: str, criterion: Mapping[str, object]) -> StepText:
    """The step whose `step_json` is ``text``, with that criterion; raises LibraryError for any other text."""
    return read_step({**json.loads(text), "criterion": criterion})


# ---- YAML -----------------------------------------------------------------------------------------------


def skill_yaml(skill: SkillText) -> str:
    """The skill file of a skill, in the form of those that come with the project."""
    heading = {"skill": skill.skill, "name": skill.name, "purpose": skill.purpose}
    if not skill.steps:
        return _dumped(_block(heading)) + "steps: []\n"
    steps = [indent(_dumped(_listed([_step(step)], flow=False)), "  ") for step in skill.steps]
    return _dumped(_block(heading)) + "steps:\n" + "\n".join(steps)


def brief(criterion: Mapping[str, object]) -> Mapping[str, object]:
    """A written criterion without what goes without saying; it reads as the same one."""
    whole = criteria.parse(criterion)
    short = _short(criteria.to_data(whole))
    return short if not criteria.problems(short) and criteria.parse(short) == whole else criteria.to_data(whole)


def _short(data: Mapping[str, object]) -> dict[str, object]:
    [(word, body)] = data.items()
    if word in ("all", "any") and isinstance(body, list):
        return {word: [_short(part) for part in body]}
    if word == "at_least" and isinstance(body, Mapping):
        return {word: {**body, "of": [_short(part) for part in body["of"]]}}
    if isinstance(body, Mapping):
        return {word: {key: value for key, value in body.items() if not _is_usual(key, value)}}
    return dict(data)


_USUAL = criteria.to_data(criteria.BestOf(criteria.RepsTarget(1, unbroken=False), Counting()))["best"]


def _is_usual(key: str, value: object) -> bool:
    """Whether a condition says it anyway. The type counts, since 1 is no true here."""
    usual = _USUAL if isinstance(_USUAL, Mapping) else {}
    return key != "reps" and key in usual and type(value) is type(usual[key]) and value == usual[key]


def _step(step: StepText) -> yaml.Node:
    nodes = []
    for key, value in {**step_data(step), "criterion": brief(step.criterion)}.items():
        nodes.append((_scalar(key), _value(key, value)))
    return yaml.MappingNode("tag:yaml.org,2002:map", nodes, flow_style=False)


def _value(key: str, value: object) -> yaml.Node:
    if key in ("checkpoints", "faults", "variants") and isinstance(value, list):
        return _listed([_flow(row) for row in value], flow=not value)
    if key in ("set_up", "cautions") and isinstance(value, list):
        return _listed([_text(line) for line in value], flow=False)
    if key == "swap_drill" and isinstance(value, Mapping):
        return _block(value)
    if key == "label":
        return _scalar(value, '"')
    return _text(value) if isinstance(value, str) else _flow(value)


def _flow(value: object, key: str = "") -> yaml.Node:
    """One line; what a checkpoint shows and a cue says stands between quotes."""
    if isinstance(value, Mapping):
        pairs = [(_scalar(name), _flow(part, name)) for name, part in value.items()]
        return yaml.MappingNode("tag:yaml.org,2002:map", pairs, flow_style=True)
    if isinstance(value, list | tuple):
        return _listed([_flow(part) for part in value], flow=True)
    return _scalar(value, '"' if key in ("text", "cue") else None)


def _block(values: Mapping[str, object]) -> yaml.Node:
    pairs = [(_scalar(name), _text(value)) for name, value in values.items()]
    return yaml.MappingNode("tag:yaml.org,2002:map", pairs, flow_style=False)


def _listed(nodes: list[yaml.Node], *, flow: bool) -> yaml.Node:
    return yaml.SequenceNode("tag:yaml.org,2002:seq", nodes, flow_style=flow)


def _text(value: object) -> yaml.Node:
    return _scalar(value, ">" if isinstance(value, str) and len(value) >= _FOLD_FROM else None)


def _scalar(value: object, style: str | None = None) -> yaml.Node:
    match value:
        case None:
            return yaml.ScalarNode("tag:yaml.org,2002:null", "null")
        case bool():
            return yaml.ScalarNode("tag:yaml.org,2002:bool", "true" if value else "false")
        case int():
            return yaml.ScalarNode("tag:yaml.org,2002:int", str(value))
    text = str(value)
    # The writer's YAML has other numbers: to it 08 is a text.
    return yaml.ScalarNode("tag:yaml.org,2002:str", text, style=style or (None if reads_as_text(text) else "'"))


class _Dumper(yaml.SafeDumper):
    """Lists stand two blanks in from their key, as in the files by hand."""

    def increase_indent(self, flow: bool = False, indentless: bool = False) -> None:  # noqa: ARG002, FBT001, FBT002 (PyYAML's)
        super().increase_indent(flow, False)  # noqa: FBT003 (PyYAML's)


def _dumped(node: yaml.Node) -> str:
    return str(yaml.serialize(node, Dumper=_Dumper, width=_WIDTH, allow_unicode=True))
