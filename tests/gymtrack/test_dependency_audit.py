"""What is said of an answer of pip-audit."""

import runpy
from pathlib import Path
from typing import Any

import pytest

AUDIT = Path(__file__).resolve().parents[2] / ".ci" / "audit"
SOUND = {"name": "segno", "version": "1.6.6", "vulns": []}
SKIPPED = {"name": "django", "skip_reason": "Dependency not found on PyPI and could not be audited: django (5.2.0)"}
KNOWN = {
    "name": "pyyaml",
    "version": "5.3",
    "vulns": [{"id": "PYSEC-2021-142", "fix_versions": ["5.4"]}, {"id": "X-1", "fix_versions": []}],
}


@pytest.fixture(scope="module")
def told() -> Any:
    return runpy.run_path(str(AUDIT))["told"]


def test_an_advisory_fails_and_is_named_with_what_mends_it(told: Any) -> None:
    failed, lines = told({"dependencies": [SOUND, KNOWN]})
    assert failed
    assert lines == [
        "pyyaml 5.3: PYSEC-2021-142 (mended in 5.4), X-1 (mended in none yet)",
        "2 of 2 packages audited, 1 with advisories.",
    ]


def test_no_advisory_passes(told: Any) -> None:
    assert told({"dependencies": [SOUND]}) == (False, ["1 of 1 packages audited, 0 with advisories."])


def test_packages_that_could_not_be_looked_up_are_no_clean_answer(told: Any) -> None:
    assert told({"dependencies": [SOUND, SKIPPED]}) == (False, ["1 of 2 packages audited, 0 with advisories."])
    failed, (line,) = told({"dependencies": [SKIPPED, SKIPPED]})
    assert not failed
    assert line.startswith("NOT AUDITED: no advisory data could be reached for any of 2 packages")
