"""Skills through the API: what each step asks for, in data and in words."""

from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from athletes.models import Gym, Membership
from skills.core import criteria
from skills.queries.books import book_of
from tests.helpers.api import Api, api_of


@pytest.fixture
def api(gym: Gym, athlete_member: Membership) -> Api:
    return api_of(athlete_member)


def steps(api: Api, slug: str = "bar-pullover") -> dict[str, Any]:
    return {step["code"]: step for step in api.get(f"skills/{slug}/").json()["steps"]}


def test_the_list_is_the_gyms_in_its_order(api: Api, gym: Gym) -> None:
    rows = api.get("skills/").json()
    assert rows[0]["slug"] == "bar-pullover"
    pages = book_of(gym).steps.values()
    assert {row["slug"]: row["steps"] for row in rows} == {
        slug: sum(page.skill_slug == slug for page in pages)
        for slug in dict.fromkeys(page.skill_slug for page in pages)
    }


def test_a_step_says_its_rule_as_data_and_as_a_sentence(api: Api) -> None:
    step = steps(api)["pullover-1"]
    assert (step["label"], step["measure"], step["gates"], step["requires"]) == ("1", "hold", [], [])
    assert step["criterion"]["sentence"] == "three clean judged holds of 5 s or longer, on two days"
    assert criteria.parse(step["criterion"]["rule"]) == criteria.parse(
        {"holds": {"count": 3, "seconds": 5, "dates": 2}}
    )
    assert {fault.keys() == {"code", "name", "cue"} for fault in step["faults"]} == {True}


def test_gates_and_requirements_are_those_of_the_graph(api: Api) -> None:
    told = {code: (step["gates"], sorted(step["requires"])) for code, step in steps(api).items()}
    both = ["entrance", "finish"]
    assert told["pullover-3"] == ([], ["pullover-1"])
    assert told["pullover-3a"] == (both, ["pullover-3"])
    assert told["pullover-4"] == (both, ["pullover-3a"])
    assert told["pullover-8"] == (both, ["pullover-2", "pullover-5", "pullover-7"])


def test_a_step_says_where_it_is_done_and_which_pose_it_holds(api: Api) -> None:
    told = steps(api)
    assert (told["pullover-6"]["station"], told["pullover-6"]["pose"]) == ("low_bar", None)
    assert told["pullover-1"]["pose"] == {"thigh_degrees": 90, "knee_degrees": 120}


def test_a_step_counted_in_reps_with_grades_and_a_low_bar(api: Api) -> None:
    told = steps(api)
    assert (told["pullover-3"]["measure"], told["pullover-3"]["grades"]) == ("reps", ["chin", "collarbone", "chest"])
    assert [code for code, step in told.items() if step["low_bar_check"]] == ["pullover-6"]
    assert [code for code, step in told.items() if step["side_drill"]] == ["pullover-5"]


def test_a_skill_costs_two_queries_once_the_book_is_read(
    api: Api, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    steps(api)
    with django_assert_num_queries(2):
        steps(api)
    with django_assert_num_queries(2):
        steps(api, "l-hold")
