"""The drawing of a skill: what stands in a box, and the paths of the lines."""

from skills.library import shipped_skills
from skills.queries.books import book_of
from skills.queries.teaching import skill_graph as read_graph
from skills.templatetags.skill_graph import arrow, curve, skill_graph
from tests.factories.skills import library


def test_a_line_goes_straight_through_layers_and_bends_between_them():
    points = [(50, 10), (50, 20), (90, 60), (90, 100), (70, 140), (70, 145)]
    assert curve(points) == "M50 10V20C50 40 90 40 90 60V100C90 120 70 120 70 140V145"


def test_the_head_of_a_line_stands_on_its_end():
    assert arrow([(50, 10), (50, 20)]) == "M50 20l-7 -10h14z"


def test_every_shipped_skill_fits_a_tablet_upright(gym):
    book = library(gym)
    for skill in shipped_skills():
        graph = read_graph(book, gym.id, skill.skill)
        assert graph
        drawing = skill_graph(graph, {})["drawing"]
        assert drawing.width <= 734  # 768 less the margins of the page


def test_rows_stand_inside_their_box_from_top_to_bottom(gym):
    graph = read_graph(library(gym), gym.id, "bar-pullover")
    assert graph
    states = {step.page.code: "closed" for step in graph.steps}
    for drawn in skill_graph(graph, states)["steps"]:
        heights = [row.y for row in drawn.rows]
        assert heights == sorted(heights)
        assert drawn.box.top < heights[0] < heights[-1] < drawn.box.bottom
        assert drawn.rows[-1].words == "closed"


def test_what_a_screen_reader_says_of_a_box_is_all_that_stands_in_it(gym):
    graph = read_graph(library(gym), gym.id, "bar-pullover")
    assert graph
    spoken = [drawn.spoken for drawn in skill_graph(graph, {"pullover-3a": "working"})["steps"]]
    assert spoken[3] == "3a Tucked inverted hang with the floor in reach asks clearance working on it"


def test_no_state_is_drawn_of_steps_of_other_skills(gym):
    graph = read_graph(library(gym), gym.id, "toes-to-bar")
    assert graph
    states = dict.fromkeys(book_of(gym).steps, "passed")
    outside = [drawn for drawn in skill_graph(graph, states)["steps"] if drawn.step.outside]
    assert [drawn.spoken for drawn in outside] == [
        "Bar pullover 1: Tucked hold in a long-arm hang",
        "Bar pullover 2: Straight legs up and held at the bar",
    ]


def test_the_edges_of_the_drawing_are_the_prerequisites_of_the_files(gym):
    book = library(gym)
    for skill in shipped_skills():
        graph = read_graph(book, gym.id, skill.skill)
        assert graph
        assert {*graph.edges} == {(before, step.code) for step in skill.steps for before in step.requires}
