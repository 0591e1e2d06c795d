"""The floor board's part of Pico CSS is made from the whole, and has all that the board uses."""

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest
from django.conf import settings

from tests.helpers.html import elements, text_of
from tests.helpers.whole import whole


@pytest.fixture(scope="module")
def tool() -> ModuleType:
    spec = importlib.util.spec_from_file_location("trim_pico", Path(settings.BASE_DIR, ".ci/trim_pico.py"))
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_file_is_what_the_tool_makes(tool: ModuleType) -> None:
    assert tool.TRIMMED.read_text() == tool.trimmed(tool.WHOLE.read_text())


@pytest.mark.parametrize(
    ("whole", "left"),
    [
        ("button,nav a{x:1}", "button{x:1}"),
        ("dialog{x:1}p{y:2}", "p{y:2}"),
        ("input:not([type=file],[type=range]),:is(select,[type=date]){x:1}", None),
        ("@media (a:b){table{x:1}p{y:2}}", "@media (a:b){p{y:2}}"),
        ("@media (a:b){table{x:1}}", ""),
        ("@keyframes spin{to{x:1}}", ""),
        ("@supports selector(:has(*)){table{x:1}p{y:2}}", "@supports selector(:has(*)){p{y:2}}"),
        ("@-moz-document url-prefix(){[type=date]{x:1}}", ""),
        ("select:not([multiple]){x:1}select[multiple]{y:2}", "select:not([multiple]){x:1}"),
        (":host(:not([data-theme])),:root:not([data-theme]){x:1}", ":root:not([data-theme]){x:1}"),
        (".navigation,th-wide{x:1}", None),
    ],
)
def test_a_rule_goes_with_all_that_it_is_for(tool: ModuleType, whole: str, left: str | None) -> None:
    assert tool.trimmed(whole).strip() == (whole if left is None else left)


def test_the_licence_stays(tool: ModuleType) -> None:
    assert "Licensed under MIT" in tool.TRIMMED.read_text().splitlines()[2]


def test_the_board_has_nothing_that_was_trimmed_away(tool: ModuleType) -> None:
    page = text_of(whole("/floor/")[0])
    used = {
        *(found.tag for found in elements(page)),
        *(f".{name}" for found in elements(page) for name in found.attrs.get("class", "").split()),
        *(f"[role={found.attrs['role']}]" for found in elements(page) if "role" in found.attrs),
        *(f"[type={found.attrs['type']}]" for found in elements(page) if "type" in found.attrs),
    }
    assert len(used) > 20
    assert [each for each in used if tool.ABSENT.search(each)] == []
