"""The colours of css/base.css against WCAG 2.2: text 4.5 : 1 (1.4.3), edges of controls and marks 3 : 1 (1.4.11)."""

import re
from pathlib import Path

import pytest
from django.conf import settings

CSS = (Path(settings.BASE_DIR) / "gymtrack/static/css/base.css").read_text("utf-8")
TOKENS = [dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6});", block)) for block in CSS.split("color-scheme: dark")[:2]]
PALETTES = dict(zip(("light", "dark"), TOKENS, strict=True))
GROUNDS = ("ground", "card", "accent-wash")
WORDS = ("ink", "quiet", "accent", "accent-strong", "good", "rope", "stop")
BUTTONS = ("pico-primary-background", "pico-primary-hover-background")
PAIRS = [
    *((word, ground) for word in WORDS for ground in GROUNDS),
    ("rope", "rope-wash"),
    ("stop", "stop-wash"),
    ("ink", "stop-wash"),
]


def luminance(colour: str) -> float:
    """WCAG 2.2, definition of relative luminance."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, definition of contrast ratio."""
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


# The ends of the scale by definition, and the grey that technique G18's tools name as the lightest on white.
@pytest.mark.parametrize(("one", "other", "ratio"), [("#000000", "#ffffff", 21), ("#767676", "#ffffff", 4.54)])
def test_contrast_of_known_pairs(one: str, other: str, ratio: float):
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize("scheme", PALETTES)
@pytest.mark.parametrize(("word", "ground"), PAIRS)
def test_words_can_be_read_on_every_ground(scheme: str, word: str, ground: str):
    palette = PALETTES[scheme]
    assert contrast(palette[word], palette[ground]) >= 4.5


@pytest.mark.parametrize("scheme", PALETTES)
@pytest.mark.parametrize("edge", ["control-line", "rope-line"])
def test_edges_of_controls_can_be_seen(scheme: str, edge: str):
    palette = PALETTES[scheme]
    assert min(contrast(palette[edge], palette[ground]) for ground in ("ground", "card")) >= 3


@pytest.mark.parametrize("scheme", PALETTES)
def test_white_words_can_be_read_on_buttons(scheme: str):
    palette = PALETTES[scheme]
    grounds = [palette[name] if name in palette else palette["accent"] for name in BUTTONS]
    assert min(contrast("#ffffff", ground) for ground in grounds) >= 4.5
