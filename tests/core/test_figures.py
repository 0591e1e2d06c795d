"""A figure stands with what is behind it, or not at all."""

import pytest

from skills.core.figures import Figure
from skills.core.sources import SOURCES


def figure(**change):
    given = {
        "label": "Hip moment",
        "value": "82 N·m",
        "kind": "estimate",
        "inputs": (("stature", "1.75 m"),),
        "formula": "mass of each segment times its lever",
        "sources": ("winter-2009",),
        "interval": "78 to 86 N·m",
    }
    return Figure(**(given | change))


def test_a_figure_names_its_sources_in_full():
    assert figure().cited == (SOURCES["winter-2009"],)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"interval": ""}, "without its interval"),
        ({"sources": ()}, "without a source"),
        ({"sources": ("nowhere",)}, "nowhere"),
    ],
)
def test_a_figure_with_nothing_behind_it_is_refused(change, words):
    with pytest.raises(ValueError, match=words):
        figure(**change)


def test_a_measured_figure_needs_no_interval():
    assert figure(kind="measured", interval="").interval == ""


@pytest.mark.parametrize("key", ["de-leva-1996", "rohmert-1960", "lum-barbosa-2019", "acsm-2009", "mcmaster-2013"])
def test_what_could_not_be_looked_up_is_said_to_be_from_memory(key):
    """Lengths of women, one form of Rohmert's curve, seconds a session, a year, and the three weeks."""
    assert "from memory" in SOURCES[key].taken
