"""Who looks at a page without figures does not pay for numerical libraries."""

import subprocess
import sys

import pytest

from gymtrack.bootstrap import ROOT
from tests.factories.holds import ago, hold
from tests.factories.skills import library, start_class, step_of

HEAVY = ("numpy", "scipy")
_LOADED = (
    "import sys, django; django.setup(); import gymtrack.urls; print(*sorted({'numpy', 'scipy'} & {*sys.modules}))"
)


def test_all_addresses_are_there_without_them():
    told = subprocess.run([sys.executable, "-c", _LOADED], capture_output=True, text=True, cwd=ROOT, check=True)
    assert told.stdout.strip() == ""


@pytest.fixture
def without(monkeypatch):
    for module in [name for name in sys.modules if name.split(".")[0] in HEAVY]:
        monkeypatch.delitem(sys.modules, module)


@pytest.mark.usefixtures("without")
def test_the_board_and_the_queue_do_not_load_them(client_of, gym, coach, athlete):
    library(gym)
    session = start_class(coach, athlete)
    for address in (f"/sessions/{session.id}/", "/sign-offs/", "/today/", f"/athletes/{athlete.id}/"):
        assert client_of(coach).get(address, follow=True).status_code == 200
    assert not {*HEAVY} & {*sys.modules}


@pytest.mark.usefixtures("without")
def test_a_decision_about_who_has_held_nothing_does_not_load_them(client_of, gym, coach, athlete, minor):
    library(gym)
    hold(coach, minor, "l-hold-2", 100, at=ago(3))
    for person in (athlete, minor):
        address = f"/sign-offs/{person.id}/{step_of(gym, 'l-hold-4').id}/finish/"
        assert client_of(coach).get(address).status_code == 200
    assert not {*HEAVY} & {*sys.modules}
