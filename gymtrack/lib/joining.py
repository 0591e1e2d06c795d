"""Joins ES modules into one script, so that a tablet asks once for what would be forty answers.

It knows the few forms in which our modules import and export, and raises on any other: named imports of relative
files, `export` before a declaration, `import()` of a file. Each module keeps a scope of its own and runs once, after
those that it imports, as a browser would run them; what is imported only when somebody asks goes into a second script.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from posixpath import dirname, join, normpath
from typing import Final

from gymtrack.lib.squeezing import squeezed_script

Read = Callable[[str], str]

_IMPORT: Final = re.compile(r'^import \{([^}]*)\} from "(\.[^"]+)";\n', re.MULTILINE)
_LATER: Final = re.compile(r'\bimport\("(\.[^"]+)"\)')
_EXPORT: Final = re.compile(r"^export ((?:async )?function\*?|class|const) (\w+)", re.MULTILINE)
_ELSE: Final = re.compile(r"^(?:import|export)\b.*|\bimport\.meta\b", re.MULTILINE)


class JoiningError(ValueError):
    """A module that cannot be joined; says which, and why."""


@dataclass(frozen=True, slots=True)
class Joined:
    """`first` runs the entry; `later` has the modules that it imports when somebody asks for them."""

    first: str
    later: str


@dataclass(frozen=True, slots=True)
class _Module:
    name: str
    imports: tuple[tuple[str, str], ...]  # the names as written between braces, and the module that they are from
    later: tuple[str, ...]
    exports: tuple[str, ...]
    body: str


def joined(entry: str, read: Read, *, later_address: str) -> Joined:
    """Return the entry with all that it imports; raises JoiningError. `read` gives a module's text by its path."""
    modules: dict[str, _Module] = {}
    _gather(entry, read, modules, ())
    first = [*modules]
    while missing := [name for module in modules.values() for name in module.later if name not in modules]:
        _gather(missing[0], read, modules, ())
    rest = [name for name in modules if name not in first]
    start = _START.replace("ADDRESS", later_address)
    wrapped = "".join(_wrapped(modules[name]) for name in first[:-1])
    return Joined(start + wrapped + _bare(modules[entry]), _chunk(_wrapped(modules[name]) for name in rest))


# The second script is fetched soon after the first, and again until it came: a page that cannot be kept by a service
# worker needs it when the network is gone. A browser may remember that a script did not come; asked for by another
# address it comes again.
_START: Final = """const $modules = {};
const $rest = () => import("ADDRESS").catch(() => import(`ADDRESS?${Date.now()}`));
let $defined;
const $define = () => $rest().then((rest) => rest.define($modules, $later));
const $forget = (error) => {
$defined = undefined;
throw error;
};
const $later = async (name) => {
if (!(name in $modules)) await ($defined ??= $define().catch($forget));
return $modules[name];
};
const $soon = () => void setTimeout(() => void $rest().catch($soon), 3000);
$soon();
"""


def _chunk(modules: Iterator[str]) -> str:
    return f"export function define($modules, $later) {{\n{''.join(modules)}}}\n"


def _gather(name: str, read: Read, found: dict[str, _Module], above: tuple[str, ...]) -> None:
    """Add a module after all that it imports."""
    if name in above:
        raise JoiningError(f"{' imports '.join([*above, name])}: modules in a circle cannot be joined.")
    if name in found:
        return
    module = _parsed(name, read(name))
    for _, other in module.imports:
        _gather(other, read, found, (*above, name))
    found[name] = module


def _parsed(name: str, text: str) -> _Module:
    imports = tuple((names, _resolved(name, path)) for names, path in _IMPORT.findall(text))
    later = tuple(_resolved(name, path) for path in _LATER.findall(text))
    exports = tuple(exported for _, exported in _EXPORT.findall(text))
    body = _LATER.sub(lambda found: f'$later("{_resolved(name, found[1])}")', _IMPORT.sub("", text))
    body = squeezed_script(_EXPORT.sub(r"\1 \2", body))
    if odd := _ELSE.search(body):
        raise JoiningError(f"{name} has a form that is not known here: {odd[0]}")
    return _Module(name, imports, later, exports, body)


def _resolved(name: str, path: str) -> str:
    return normpath(join(dirname(name), path))


def _wrapped(module: _Module) -> str:
    names = ", ".join(module.exports)
    return f'$modules["{module.name}"] = (() => {{\n{_needs(module)}{module.body}return {{ {names} }};\n}})();\n'


def _bare(module: _Module) -> str:
    """Return the entry, which may await at its top: in a block, and not in a function."""
    return f"{{\n{_needs(module)}{module.body}}}\n"


def _needs(module: _Module) -> str:
    return "".join(
        f'const {{{names.replace(" as ", ": ")}}} = $modules["{other}"];\n' for names, other in module.imports
    )
