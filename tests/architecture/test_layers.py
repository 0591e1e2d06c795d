"""The pure floor: core imports the standard library and core, and asks no clock."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
CORE = sorted([*(ROOT / "skills" / "core").rglob("*.py"), *(ROOT / "athletes" / "core").rglob("*.py")])
PURE = ("skills.core", "athletes.core")
# Numerics, inside the function that needs them, so that pages which don't never pay for the import.
NUMERICS = {
    "endurance.py": {"scipy.optimize"},
    "highs.py": {"highspy", "numpy", "numpy.typing"},
    "operating_curve.py": {"numpy", "numpy.typing"},
    "trend.py": {"scipy.stats"},
}
CLOCKS = {("datetime", "now"), ("datetime", "utcnow"), ("datetime", "today"), ("date", "today"), ("time", "time")}


def _imports(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield node.module or ""


def _at_once(tree: ast.AST) -> ast.AST:
    """The same without the bodies of functions and what is for the type checker alone."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) or (
            isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        ):
            node.body = [ast.Pass()]
    return tree


def _is_allowed(module: str) -> bool:
    return module.split(".", maxsplit=1)[0] in sys.stdlib_module_names or module.startswith(PURE)


@pytest.mark.parametrize("file", CORE, ids=lambda file: f"{file.parts[-3]}/{file.name}")
def test_core_imports_the_standard_library_and_core_alone(file: Path) -> None:
    tree = ast.parse(file.read_text())
    foreign = {module for module in _imports(tree) if not _is_allowed(module)}
    assert foreign <= NUMERICS.get(file.name, set())
    assert [module for module in _imports(_at_once(tree)) if not _is_allowed(module)] == []


@pytest.mark.parametrize("file", CORE, ids=lambda file: f"{file.parts[-3]}/{file.name}")
def test_core_asks_no_clock_and_draws_no_lots(file: Path) -> None:
    tree = ast.parse(file.read_text())
    calls = {
        (node.value.id, node.attr)
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name)
    }
    assert not calls & CLOCKS
    assert not {"random", "secrets"} & {*_imports(tree)}
    assert not {"uuid1", "uuid4", "new_id", "urandom"} & {
        node.id for node in ast.walk(tree) if isinstance(node, ast.Name)
    }


def test_people_do_not_know_skills() -> None:
    for file in (ROOT / "athletes").rglob("*.py"):
        assert not [name for name in _imports(ast.parse(file.read_text())) if name.split(".")[0] == "skills"], file


@pytest.mark.parametrize("app", ["athletes", "skills"])
def test_views_and_api_do_not_touch_tables(app: str) -> None:
    """Tables may be named in annotations (under TYPE_CHECKING), and nothing is asked of them."""
    for folder in ("views", "api"):
        for file in (ROOT / app / folder).rglob("*.py"):
            text = file.read_text()
            assert ".objects" not in text, file
            assert ".save(" not in text, file
