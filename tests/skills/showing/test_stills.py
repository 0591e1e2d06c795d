import re
from pathlib import Path

import pytest
from django.conf import settings

from skills.showing.stills import STILL_KINDS, kind_for, still_panel

SCRIPTS = Path(settings.BASE_DIR) / "gymtrack" / "static" / "js" / "angles"


@pytest.mark.parametrize(
    ("angle", "kind"),
    [
        ("legs from straight down, 90 is level", "legs"),
        ("legs from straight down, at the highest point", "legs"),
        ("trunk against the vertical", "upright"),
        ("forearm, from level", "level"),
        ("Shoulders, 180 is in line", "shoulder"),
        ("arms against the trunk", "shoulder"),
        ("knee, 180 is straight", "knee"),
        ("hip at the top", "hip"),
        ("something nobody thought of", "shoulder"),
        ("", "shoulder"),
        ("armchair", "shoulder"),
    ],
)
def test_a_steps_words_propose_a_kind(angle: str, kind: str) -> None:
    assert kind_for(angle) == kind
    assert still_panel(angle).chosen == kind


def test_each_kind_names_as_many_points_as_its_way_reads() -> None:
    """As the script says it: WAYS = { joint: [3, …], down: [2, …], level: [2, …] }."""
    script = (SCRIPTS / "geometry.js").read_text(encoding="utf-8")
    ways = {way: int(count) for way, count in re.findall(r"(\w+): \[(\d), \w+\]", script)}
    assert ways == {"joint": 3, "down": 2, "level": 2}
    assert {kind.code: len(kind.points) for kind in STILL_KINDS} == {k.code: ways[k.way] for k in STILL_KINDS}


def test_points_stand_in_their_order_along_the_limb() -> None:
    points = {kind.code: kind.points for kind in STILL_KINDS}
    assert points["shoulder"] == ("Hip", "Shoulder", "Wrist")
    assert points["hip"] == ("Shoulder", "Hip", "Knee")
    assert points["knee"] == ("Hip", "Knee", "Ankle")
    assert not [name for names in points.values() for name in names if "|" in name]  # parts them in the page


def test_the_figure_names_a_source_and_what_its_range_is() -> None:
    panel = still_panel()
    assert panel.source.key == "plane-geometry"
    assert panel.source.standing == "ours"
    assert f"{panel.tap_px} px" in panel.interval
