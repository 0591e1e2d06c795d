"""A sheet as values: figures with the numbers of their sources, charts with their looks, nothing empty."""

from dataclasses import dataclass
from datetime import date
from xml.etree import ElementTree as ET

from gymtrack.lib.charts import Axis, Frame, draw
from skills.core.figures import Figure
from skills.core.sources import SOURCES
from skills.showing.sheet import Part, Sheet, figures_in, sheet_values, table_rows


def figure(label: str, *sources: str, kind: str = "count") -> Figure:
    interval = "1 to 3" if kind == "estimate" else ""
    return Figure(label, "2", kind, (), "Counted.", sources, interval)  # type: ignore[arg-type]


def values(*parts: Part) -> dict:
    return sheet_values(Sheet("Progress of 7", "Harbour Hall", date(2026, 11, 3), "http://gym.example/", parts))


def test_sources_are_numbered_as_figures_name_them_and_each_is_told_once():
    one, two = figure("a", "practice", "sen-1968"), figure("b", "ours", "practice")
    told = values(Part("First", figures=[one]), Part("Second", figures=[two]))
    assert [each["sources"] for part in told["parts"] for each in part["figures"]] == [[1, 2], [3, 1]]
    assert [line.split(":")[0] for line in told["sources"]] == [
        SOURCES[key].cited.split(":")[0] for key in ("practice", "sen-1968", "ours")
    ]


def test_what_kind_of_figure_it_is_stands_beside_it_unless_it_was_counted():
    told = values(Part("Kinds", figures=[figure("a", "ours"), figure("b", "ours", kind="estimate")]))
    assert [(each["kind"], each["interval"]) for each in told["parts"][0]["figures"]] == [
        ("", ""),
        ("estimate", "1 to 3"),
    ]


def test_an_empty_part_is_left_out():
    assert [part["title"] for part in values(Part("Nothing"), Part("Something", ["A line."]))["parts"]] == ["Something"]


def test_the_day_is_told_in_words_and_as_a_date():
    told = values()
    assert (told["day"], told["on"]) == ([2026, 11, 3], "3 November 2026")


def test_a_chart_brings_its_looks_and_tells_what_it_shows():
    frame = Frame(Axis.over("day", [0, 1]), Axis.over("seconds", [0, 5]))
    chart = draw(
        frame,
        [frame.squares([(0, 1)])],
        name="tries",
        title="Last holds",
        description="Ada's & Bo's",
        columns=["Day"],
        rows=[["3 Nov"]],
    )
    (part,) = values(Part("Curve", chart=chart))["parts"]
    assert part["chart"]["told"] == "Last holds. Ada's & Bo's"
    drawn = ET.fromstring(part["chart"]["svg"])  # noqa: S314 (our own)
    assert drawn.tag == "{http://www.w3.org/2000/svg}svg"
    assert ".tick-y" in (drawn[0].text or "")


def test_figures_are_found_wherever_they_stand_in_a_panel():
    @dataclass(frozen=True)
    class Line:
        figure: Figure
        words: str = ""

    @dataclass(frozen=True)
    class Panel:
        first: Figure | None
        lines: tuple[Line, ...]
        last: list[Figure]

    a, b, c = (figure(label, "ours") for label in "abc")
    assert [*figures_in(Panel(None, (Line(a), Line(b)), [c]))] == [a, b, c]


def test_a_table_ends_where_its_room_does():
    assert table_rows([("a", "b"), ("c", "d"), ("e", "f")], 2) == [["a", "b"], ["c", "d"]]
