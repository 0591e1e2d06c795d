import math
import re
import xml.etree.ElementTree as ET

import pytest
from django.template.loader import render_to_string
from hypothesis import given
from hypothesis import strategies as st

from gymtrack.lib.charts import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, Axis, Chart, Frame, draw, nice_number, ticks

# Ten units across, a hundred up: one unit of x is 54 of the picture's, one of y 2.4.
FRAME = Frame(Axis("day", [0, 5, 10]), Axis("hold, s", [0, 50, 100]))
RIGHT_END, FOOT = WIDTH - RIGHT, HEIGHT - BOTTOM


def a_chart(**changes: object) -> Chart:
    words = {"name": "holds", "title": "Holds", "description": "They grow.", "columns": ["day"], "rows": [["1"]]}
    return draw(FRAME, [FRAME.line([(0, 0), (10, 100)])], **{**words, **changes})  # type: ignore[arg-type]


# ---- Heckbert, "Nice Numbers for Graph Labels", Graphics Gems (1990), pp. 61-63: the limits 1.5, 3 and 7
# between nearest ones; 1, 2 and 5 for the ones that are not below.
@pytest.mark.parametrize(
    ("size", "nearest", "not_below"),
    [
        (1, 1, 1),
        (1.49, 1, 2),
        (1.5, 2, 2),
        (2, 2, 2),
        (2.99, 2, 5),
        (3, 5, 5),
        (5, 5, 5),
        (6.99, 5, 10),
        (7, 10, 10),
        (0.03, 0.05, 0.05),
        (420, 500, 500),
    ],
)
def test_nice_number_follows_the_published_limits(size: float, nearest: float, not_below: float):
    assert nice_number(size, nearest=True) == pytest.approx(nearest)
    assert nice_number(size, nearest=False) == pytest.approx(not_below)


@pytest.mark.parametrize("size", [0, -1, math.nan])
def test_nice_number_of_nothing_is_refused(size: float):
    with pytest.raises(ValueError, match="above 0"):
        nice_number(size, nearest=True)


# The example that the chapter opens with: data from 105 to 543 get the labels 100, 200, … 600.
def test_ticks_of_the_published_example():
    assert ticks(105, 543) == [100, 200, 300, 400, 500, 600]


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0, 20, [0, 5, 10, 15, 20]),
        (0.1, 0.3, [0.1, 0.15, 0.2, 0.25, 0.3]),
        (-3, 3, [-4, -2, 0, 2, 4]),
        (7, 7, [7, 7.2, 7.4, 7.6, 7.8, 8]),
    ],
)
def test_ticks_by_hand(low: float, high: float, expected: list[float]):
    assert ticks(low, high) == expected


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_ticks_hold_both_ends_and_are_few(low: float, span: float):
    found = ticks(low, low + span)
    step = found[1] - found[0]
    assert found[0] <= low + step * 1e-6
    assert found[-1] >= low + span - step * 1e-6
    assert 3 <= len(found) <= 12


# ---- Coordinates
@pytest.mark.parametrize(
    ("point", "place"),
    [((0, 0), (LEFT, FOOT)), ((10, 100), (RIGHT_END, TOP)), ((5, 25), (334.0, 224.0))],
)
def test_points_lie_where_the_scales_say(point: tuple[float, float], place: tuple[float, float]):
    assert FRAME.place(point) == place


def test_inset_leaves_room_on_both_sides():
    frame = Frame(Axis("week", [1, 2, 3], inset=1), FRAME.y)
    assert [frame.place((at, 0))[0] for at in (0, 2, 4)] == [LEFT, (LEFT + RIGHT_END) / 2, RIGHT_END]


def test_single_tick_with_an_inset_stands_in_the_middle():
    assert Axis("month", [3], inset=0.5).share(3) == 0.5


def test_axis_over_values_holds_them():
    assert Axis.over("holds", [3.2, 17, 9]).at == [0, 5, 10, 15, 20]


def test_line_joins_its_points():
    assert 'd="M64,284L334,224L604,44"' in FRAME.line([(0, 0), (5, 25), (10, 100)])


def test_step_holds_each_value_until_the_next():
    assert 'd="M64,284H334V224H604V44"' in FRAME.step([(0, 0), (5, 25), (10, 100)])


def test_band_runs_along_the_top_and_back_along_the_foot():
    band = FRAME.band([(0, 0), (10, 50)], [(0, 50), (10, 100)])
    assert 'd="M64,164L604,44L604,164L64,284Z"' in band


def test_bar_stands_on_zero_around_its_value():
    assert '<rect class="bar" x="307.0" y="224.0" width="54.0" height="60.0"/>' in FRAME.bars([(5, 25)], breadth=1)


def test_bar_below_zero_hangs_from_it():
    frame = Frame(FRAME.x, Axis("change", [-50, 0, 50]))
    assert 'y="164.0" width="54.0" height="60.0"' in frame.bars([(5, -25)], breadth=1)


def test_dots_have_their_names():
    assert FRAME.dots([(5, 25)], "dot-open", ["25 s"]) == (
        '<circle class="dot-open" cx="334.0" cy="224.0" r="4"><title>25 s</title></circle>'
    )


def test_dots_without_names_have_no_titles():
    assert FRAME.dots([(0, 0)]) == '<circle class="dot" cx="64.0" cy="284.0" r="4"></circle>'


def test_squares_stand_with_their_middle_where_dots_would():
    assert FRAME.squares([(5, 25)], "dot-open") == '<rect class="dot-open" x="330.0" y="220.0" width="8" height="8"/>'


# ---- The whole picture
def test_picture_is_one_well_formed_image_with_a_title_and_a_description():
    root = ET.fromstring(a_chart().svg)  # noqa: S314 (our own output)
    assert (root.get("role"), root.get("aria-labelledby")) == ("img", "holds-title holds-desc")
    assert [root.find(f"*[@id='holds-{part}']").text for part in ("title", "desc")] == ["Holds", "They grow."]  # type: ignore[union-attr]


def test_ticks_and_names_of_axes_stand_in_the_picture():
    texts = re.findall(r'<text class="([\w-]+)"[^>]*>([^<]*)</text>', a_chart().svg)
    assert texts == [
        ("tick-y", "0"),
        ("tick-y", "50"),
        ("tick-y", "100"),
        ("tick-x", "0"),
        ("tick-x", "5"),
        ("tick-x", "10"),
        ("axis-x", "day"),
        ("axis-y", "hold, s"),
    ]


def test_picture_has_no_style_and_no_script():
    assert not re.search(r"style|<script|\son\w+=|javascript:", a_chart().svg)


HOSTILE = "<script>\"'&"
ESCAPED = "&lt;script&gt;&quot;&#x27;&amp;"


def test_every_word_of_the_picture_is_escaped():
    frame = Frame(Axis(HOSTILE, [0, 1], lambda _: HOSTILE), Axis(HOSTILE, [0, 1], lambda _: HOSTILE))
    marks = [frame.dots([(0, 0)], kind=HOSTILE, names=[HOSTILE]), frame.line([(0, 0)], HOSTILE)]
    svg = draw(frame, marks, name=HOSTILE, title=HOSTILE, description=HOSTILE, columns=[], rows=[]).svg
    assert "<script" not in svg
    assert svg.count(ESCAPED) == 16


def test_marks_that_are_plain_text_are_escaped_too():
    svg = draw(FRAME, ["<b>"], name="x", title="", description="", columns=[], rows=[]).svg  # type: ignore[list-item]
    assert "<b>" not in svg
    assert "&lt;b&gt;" in svg


def test_page_shows_the_same_values_as_a_table():
    page = render_to_string("includes/chart.html", {"chart": a_chart(columns=["day", "s"], rows=[["1 Sep", HOSTILE]])})
    assert re.findall(r"<th scope=\"col\">(.*?)</th>", page) == ["day", "s"]
    assert re.findall(r"<td>(.*?)</td>", page) == ["1 Sep", ESCAPED]
    assert page.count("<svg") == 1
