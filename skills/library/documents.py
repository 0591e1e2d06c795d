"""YAML text to plain values that know their lines, with its errors as sentences.

A skill file needs little of YAML: mappings, lists, texts, whole numbers and decimals, true, false and null, as the core
words of YAML 1.2 have them. So ``no`` and ``2026-01-01`` are texts here, no tag makes anything of its own, nothing
is used twice through an alias, and no file is large or deep.
"""

import re
from collections.abc import Mapping

import yaml

from skills.library.texts import FileProblem, LibraryError

MOST_BYTES = 200_000
MOST_LEVELS = 24  # a condition six deep in a criterion of a step ends on level 22
MOST_PARTS = 15_000  # a shipped step has about 150

_TAG = "tag:yaml.org,2002:"
_MOST_DIGITS = 18  # more is no number that a skill file needs, and may be slow to read


class Mapped(dict[object, object]):
    """A mapping of a file; ``line`` is where it begins, ``lines`` where each key stands, from 1."""

    def __init__(self, line: int) -> None:
        super().__init__()
        self.line = line
        self.lines: dict[object, int] = {}


class Listed(list[object]):
    """A list of a file; ``lines`` tells where each item begins, from 1."""

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[int] = []


class _RefusedError(yaml.YAMLError):
    """YAML that may be right and that a skill file does not need."""

    def __init__(self, event: yaml.Event, sentence: str) -> None:
        super().__init__(sentence)
        self.line = event.start_mark.line + 1 if event.start_mark else 1
        self.sentence = sentence


class _Loader(yaml.SafeLoader):
    """Composes nodes, and stops at the first alias, tag, or step too deep."""

    yaml_implicit_resolvers = {}

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.levels = self.parts = 0

    def compose_node(self, parent: yaml.Node | None, index: int) -> yaml.Node | None:
        """Compose one node and all in it, counting."""
        event: yaml.Event = self.peek_event()  # type: ignore[no-untyped-call]
        _refuse(event)
        self.levels += 1
        self.parts += 1
        if self.levels > MOST_LEVELS:
            raise _RefusedError(event, f"things stand more than {MOST_LEVELS} deep in one another.")
        if self.parts > MOST_PARTS:
            raise _RefusedError(event, f"the file has more than {MOST_PARTS} parts.")
        node = super().compose_node(parent, index)
        self.levels -= 1
        return node


def _refuse(event: yaml.Event) -> None:
    if isinstance(event, yaml.AliasEvent):
        raise _RefusedError(event, "a part marked with & is used again; write it out instead.")
    if getattr(event, "tag", None) not in (None, "!"):
        raise _RefusedError(event, "tags (words after !) have no place in a skill file.")


for _name, _words, _first in (
    ("bool", r"true|True|TRUE|false|False|FALSE", "tTfF"),
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("int", rf"[-+]?[0-9]{{1,{_MOST_DIGITS}}}", "-+0123456789"),
    ("float", rf"[-+]?[0-9]{{1,{_MOST_DIGITS}}}\.[0-9]{{1,{_MOST_DIGITS}}}", "-+0123456789"),
):
    _Loader.add_implicit_resolver(_TAG + _name, re.compile(rf"(?:{_words})\Z"), list(_first))


def reads_as_text(word: str) -> bool:
    """Whether a word without quotes is a text to this reader, and no number, true, false or null."""
    return str(_Loader("").resolve(yaml.ScalarNode, word, (True, False))) == _TAG + "str"  # type: ignore[no-untyped-call]


def read_mapping(text: str, *, where: str) -> Mapped:
    """The one mapping that ``text`` holds.

    Raises LibraryError for text that is not YAML, for a key written twice (YAML would keep the last in silence),
    and for what could make a small file large or slow.
    """
    if len(text.encode(errors="replace")) > MOST_BYTES:
        raise LibraryError((FileProblem(where, "", f"the file is larger than {MOST_BYTES // 1000} kB."),))
    found: list[FileProblem] = []
    data = _plain(_composed(text, where), where, found)
    if found:
        raise LibraryError(tuple(found))
    if not isinstance(data, Mapped):
        raise LibraryError((FileProblem(where, "", "the file must be a mapping that begins with “skill:”."),))
    return data


def line_of(data: object, path: str) -> int | None:
    """The line of the last part of ``path`` ("faults[2].cue") that is there, None for what came from no file."""
    line = data.line if isinstance(data, Mapped) else None
    for name in re.findall(r"[^.\[\]]+", path):
        if isinstance(data, Mapped) and name in data:
            line, data = data.lines[name], data[name]
        elif isinstance(data, Listed) and name.isdecimal() and int(name) < len(data):
            line, data = data.lines[int(name)], data[int(name)]
        else:
            break
    return line


def without_lines(value: object) -> object:
    """The same in plain mappings and lists."""
    if isinstance(value, Mapping):
        return {str(key): without_lines(part) for key, part in value.items()}
    return [without_lines(part) for part in value] if isinstance(value, list) else value


def _composed(text: str, where: str) -> yaml.Node | None:
    try:
        return yaml.compose(text, Loader=_Loader)
    except yaml.YAMLError as error:
        raise LibraryError((_problem(error, text, where),)) from error


def _plain(node: yaml.Node | None, where: str, found: list[FileProblem]) -> object:
    if isinstance(node, yaml.MappingNode):
        return _mapped(node, where, found)
    if isinstance(node, yaml.SequenceNode):
        listed = Listed()
        for child in node.value:
            listed.lines.append(_line(child))
            listed.append(_plain(child, where, found))
        return listed
    return _scalar(node) if isinstance(node, yaml.ScalarNode) else None


def _mapped(node: yaml.MappingNode, where: str, found: list[FileProblem]) -> Mapped:
    mapped = Mapped(_line(node))
    for key, value in node.value:
        line = _line(key)
        if not isinstance(key, yaml.ScalarNode):
            found.append(FileProblem(f"{where}, line {line}", "", "a key must be a single word.", line))
            continue
        if key.value in mapped:
            found.append(FileProblem(f"{where}, line {line}", "", f"the key “{key.value}” is written twice.", line))
        mapped.lines[key.value] = line
        mapped[key.value] = _plain(value, where, found)
    return mapped


def _scalar(node: yaml.ScalarNode) -> object:
    match node.tag.removeprefix(_TAG):
        case "bool":
            return node.value.lower() == "true"
        case "int":
            return int(node.value)
        case "float":
            return float(node.value)
        case "null":
            return None
    return str(node.value)


def _line(node: yaml.Node) -> int:
    return int(node.start_mark.line) + 1


def _problem(error: yaml.YAMLError, text: str, where: str) -> FileProblem:
    if isinstance(error, _RefusedError):
        return FileProblem(f"{where}, line {error.line}", "", error.sentence, error.line)
    if isinstance(error, yaml.MarkedYAMLError) and error.problem_mark is not None:
        line, column = error.problem_mark.line + 1, error.problem_mark.column + 1
        place = f"{where}, line {line}, column {column}"
        if isinstance(error, yaml.composer.ComposerError):
            return FileProblem(place, "", "a second document begins here; a file has one skill.", line)
        return FileProblem(place, "", f"this is not YAML ({error.problem}).", line)
    line = text.count("\n", 0, getattr(error, "position", 0)) + 1
    return FileProblem(f"{where}, line {line}", "", "a character stands here that YAML does not allow.", line)
