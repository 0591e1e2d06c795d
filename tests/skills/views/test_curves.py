"""The page that shows what a rule lets through."""

import re

import pytest
from django.urls import reverse

from skills.core.criteria import Counting, HoldsOf, HoldTarget, LastOf
from skills.core.operating_curve import SAMPLES
from skills.core.plans import Plan
from skills.queries.books import book_of
from skills.services.criteria import adopt_criterion
from skills.views.curves import beside_others, curves_of
from skills.wording import terms_of
from tests.factories.skills import library, page_of

AT = ["bar-pullover", "pullover-1"]
CURVE = reverse("criterion_curve", args=AT)
THREE_IN_A_ROW = LastOf(3, 3, HoldTarget(50))


@pytest.fixture(autouse=True)
def _library(gym, owner):
    library(gym, owner)


def words(html: str) -> str:
    """The text of a page, on one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def adopt(owner, criterion):
    owner.gym.refresh_from_db()
    adopt_criterion(by=owner, step=page_of(owner.gym, "pullover-1"), criterion=criterion)


def test_three_in_a_row_stand_beside_three_in_any_order_and_the_difference_is_told_at_once(client_of, owner):
    adopt(owner, THREE_IN_A_ROW)
    page = words(client_of(owner).get(CURVE).text)
    weak = "Of 100 athletes who do this clean three times in ten , within 20 tries,"
    assert f"{weak} 31 would pass by this rule 96 would pass by the same in any order" in page
    strong = "Of 100 athletes who do this clean eight times in ten , within 20 tries,"
    assert f"{strong} more than 99 would pass by this rule more than 99 would pass by the same in any order" in page
    assert "Criterion: three clean of the last three judged tries, each a hold of 5 s or longer." in page
    assert "These figures are exact under these assumptions." in page


def test_the_table_has_a_row_for_each_rate_and_a_column_for_each_rule(client_of, owner):
    adopt(owner, HoldsOf(3, 50))
    html = client_of(owner).get(CURVE).text
    head, *rows = re.findall(r"<tr>(.*?)</tr>", html, re.DOTALL)
    assert words(head) == "Clean in the long run This rule The same in a row"
    assert len(rows) == 18
    assert words(rows[4]) == "30 % 96.5 % 31.0 %"  # the same figures as in the table of rules and runs


def test_the_plan_is_asked_for_in_the_address(client_of, owner):
    adopt(owner, THREE_IN_A_ROW)
    asked = {"tries": "10", "tries_a_session": "5", "days_between_sessions": "1"}
    page = words(client_of(owner).get(CURVE, asked).text)
    assert "within 10 tries, 16 would pass by this rule" in page
    assert "5 a session, one session a day, a session every day." in page


def test_a_plan_changes_what_a_window_sees(client_of, owner):
    adopt(owner, HoldsOf(3, 50, Counting(window_days=7)))
    often = {"tries": "6", "tries_a_session": "1", "days_between_sessions": "1"}
    seldom = often | {"days_between_sessions": "7"}
    assert "26 would pass by this rule" in words(client_of(owner).get(CURVE, often).text)
    assert " 0 would pass by this rule" in words(client_of(owner).get(CURVE, seldom).text)


@pytest.mark.parametrize(
    ("field", "typed", "most"),
    [
        ("tries", "0", 200),
        ("tries", "201", 200),
        ("tries_a_session", "a few", 200),
        ("days_between_sessions", "", 90),
        ("days_between_sessions", "1.5", 90),
    ],
)
def test_a_bad_plan_is_explained_beside_its_field_and_nothing_typed_is_lost(client_of, coach, field, typed, most):
    asked = {"tries": "30", "tries_a_session": "3", "days_between_sessions": "2"} | {field: typed}
    page = client_of(coach).get(CURVE, asked)
    assert page.status_code == 422
    assert page.text.count(f"Write a whole number from 1 to {most}.") == 2  # in the summary and beside the field
    assert "There is no curve for this yet." in page.text
    for name, value in asked.items():
        assert re.search(rf'name="{name}"( value="{re.escape(value)}")', page.text) or not value
    assert '<svg class="chart"' not in page.text


def test_what_the_address_leaves_out_is_as_usual(client_of, coach):
    page = client_of(coach).get(CURVE, {"tries": "7"})
    assert page.status_code == 200
    assert "within 7 tries" in words(page.text)
    assert "4 a session, one session a day, a session every 3 days." in words(page.text)


def test_a_rule_that_remembers_too_much_says_that_it_was_tried_out_and_how_sure_that_is(gym, owner):
    library_terms = terms_of(book_of(gym))
    curves = curves_of(beside_others(LastOf(15, 20, HoldTarget(50))), Plan(60, 4, 3), library_terms)
    [simulated] = curves.simulated
    assert simulated.name == "this rule"
    assert re.fullmatch(r"0\.\d %", simulated.standard_error)
    assert curves.samples == SAMPLES


def test_a_rule_of_one_try_stands_alone(gym):
    assert [name for name, _ in beside_others(HoldsOf(1, 50))] == ["this rule"]
    assert [name for name, _ in beside_others(LastOf(3, 5, HoldTarget(50)))] == [
        "this rule",
        "the same in a row",
        "the same in any order",
    ]


def test_the_step_page_leads_there_for_staff_alone(client_of, coach, athlete_member, guardian):
    step = reverse("step", args=AT)
    assert CURVE in client_of(coach).get(step).text
    for member in (athlete_member, guardian):
        assert CURVE not in client_of(member).get(step).text
        assert client_of(member).get(CURVE).status_code == 403


def test_a_step_of_another_skill_or_gym_is_not_there(client_of, coach, other_coach):
    assert client_of(coach).get(reverse("criterion_curve", args=["l-hold", "pullover-1"])).status_code == 404
    assert client_of(coach).get(reverse("criterion_curve", args=["bar-pullover", "nothing"])).status_code == 404
    assert client_of(other_coach).get(CURVE).status_code == 404


def test_it_is_read_from_the_book_alone(client_of, coach, django_assert_num_queries):
    client = client_of(coach)
    client.get(CURVE)
    with django_assert_num_queries(3):
        client.get(CURVE)


def test_nothing_stands_inline_and_no_word_of_risk(client_of, coach):
    html = client_of(coach).get(CURVE).text
    assert "style=" not in html
    assert "<script>" not in html
    assert "Estimate" in html
    assert "risk" not in words(html.split("<main")[1].split("</main>")[0])
