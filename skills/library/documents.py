"""YAML text to a plain mapping, with its errors as sentences."""

from collections.abc import Iterator, Mapping

import yaml
from yaml.constructor import SafeConstructor

from skills.library.texts import LibraryError


def read_mapping(text: str, *, where: str) -> Mapping[object, object]:
    """The one mapping that ``text`` holds.

    Raises LibraryError for text that is not YAML, for a key written twice (YAML would keep the last in
    silence) and for aliases (which can nest without end).
    """
    try:
        root = yaml.compose(text, Loader=yaml.SafeLoader)
        repeats = tuple(_repeats(root, set())) if root else ()
        data = None if repeats or root is None else SafeConstructor().construct_document(root)
    except yaml.YAMLError as error:
        raise LibraryError((f"{where}{_sentence(error)}",)) from error
    except (ValueError, RecursionError) as error:
        raise LibraryError((f"{where}: a value cannot be read ({error}).",)) from error
    if repeats:
        raise LibraryError(tuple(f"{where}, {repeat}" for repeat in repeats))
    if not isinstance(data, dict):
        raise LibraryError((f"{where}: the file must be a mapping that begins with “skill:”.",))
    return data


def _repeats(node: yaml.Node, seen: set[int]) -> Iterator[str]:
    if id(node) in seen:
        yield f"{_line(node)}: a part marked with & is used again; write it out instead."
        return
    seen.add(id(node))
    if isinstance(node, yaml.MappingNode):
        yield from _keys_twice(node)
    for child in _children(node):
        yield from _repeats(child, seen)


def _keys_twice(node: yaml.MappingNode) -> Iterator[str]:
    met: set[str] = set()
    for key, _ in node.value:
        name = str(key.value)
        if name in met:
            yield f"{_line(key)}: the key “{name}” is written twice."
        met.add(name)


def _children(node: yaml.Node) -> Iterator[yaml.Node]:
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            yield from (key, value)
    elif isinstance(node, yaml.SequenceNode):
        yield from node.value


def _line(node: yaml.Node) -> str:
    return f"line {node.start_mark.line + 1}"


def _sentence(error: yaml.YAMLError) -> str:
    if isinstance(error, yaml.MarkedYAMLError) and error.problem_mark is not None:
        mark = error.problem_mark
        return f", line {mark.line + 1}, column {mark.column + 1}: this is not YAML ({error.problem})."
    return ": this is not YAML (it holds a character that YAML does not allow)."
