"""Choosing a standard on a step's page."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from athletes.models import Gym, Membership
from skills.models import CriterionVersion
from tests.factories.athletes import Role, make_member
from tests.factories.skills import library

STEP = reverse("step", args=["bar-pullover", "pullover-1"])
ADOPT = reverse("step_standard", args=["bar-pullover", "pullover-1"])


@pytest.fixture(autouse=True)
def _library(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def test_the_full_standard_is_one_choice_away(client_of: Callable[..., Client], owner: Membership) -> None:
    client = client_of(owner)
    assert "Three clean judged holds of 20 s or longer, on two days" in client.get(STEP).content.decode()
    answer = client.post(ADOPT, {"standard": "full"}, follow=True)
    assert "Criterion: three clean judged holds of 20 s or longer, on two days." in answer.content.decode()
    assert CriterionVersion.objects.filter(step__code="pullover-1").count() == 2


def test_an_unknown_choice_is_a_sentence_and_changes_nothing(
    client_of: Callable[..., Client], owner: Membership
) -> None:
    answer = client_of(owner).post(ADOPT, {"standard": "whatever"}, follow=True)
    assert "Choose one of the standards" in answer.content.decode()
    assert CriterionVersion.objects.filter(step__code="pullover-1").count() == 1


def test_a_step_of_another_skill_is_not_there(client_of: Callable[..., Client], owner: Membership) -> None:
    wrong = reverse("step_standard", args=["l-hold", "pullover-1"])
    assert client_of(owner).post(wrong, {"standard": "full"}).status_code == 404


def test_only_who_may_edit_skills_is_offered_and_may_adopt(
    client_of: Callable[..., Client], coach: Membership, gym: Gym
) -> None:
    client = client_of(coach)
    assert "Choose another standard" not in client.get(STEP).content.decode()
    assert client.post(ADOPT, {"standard": "full"}).status_code == 403
    editor = client_of(make_member(gym, Role.COACH, "Edda Roy", rights=("may_edit_skills",)))
    assert editor.post(ADOPT, {"standard": "full"}).status_code == 303
