"""Facts that stay for good have nobody's name in them."""

from dataclasses import replace
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from athletes.models import Athlete, Gym, Membership
from athletes.services.names_kept_out import NameWithin
from skills.core.bar_entry import BarEntry
from skills.forms.sessions import LOW_BAR_CHECKS
from skills.models import BarCheck, EquipmentCheck, StepVersion
from skills.queries.texts import skill_texts
from skills.services.authoring import NotSaved, change_step
from skills.services.bars import BarRefusedError, add_bar
from skills.services.safety import CheckEntry, check_equipment
from skills.services.sessions import check_bar
from tests.factories.skills import library, reach, start_class


@pytest.fixture(autouse=True)
def _skills(gym: Gym, owner: Membership) -> None:
    library(gym, owner)


def test_a_bar_is_not_called_after_somebody(coach: Membership, athlete: Athlete, other_coach: Membership) -> None:
    with pytest.raises(NameWithin, match="No person’s name belongs here") as refusal:
        check_bar(by=coach, session=None, bar="low bar of ada lindqvist")
    assert refusal.value.field == "bar"
    assert not BarCheck.objects.exists()
    check_bar(by=coach, session=None, bar="low bar by the window")
    check_bar(by=other_coach, session=None, bar="Ada Lindqvist")  # whom their gym does not know


def test_who_was_erased_is_not_looked_for(coach: Membership, athlete: Athlete) -> None:
    athlete.person.full_name, athlete.person.erased_at = "low bar", timezone.now()
    athlete.person.save()
    assert check_bar(by=coach, session=None, bar="low bar").bar == "low bar"


def test_nor_is_one_of_the_gyms_list_whose_name_every_check_keeps(owner: Membership, athlete: Athlete) -> None:
    entry = BarEntry("Ada Lindqvist's", "tied", 280, first_hole_mm=400, hole_pitch_tenths_mm=508, holes=30)
    with pytest.raises(BarRefusedError, match="No person’s name belongs here"):
        add_bar(by=owner, entry=entry)
    add_bar(by=owner, entry=replace(entry, name="low bar"))


def test_the_form_of_a_bar_says_so_beside_its_field(client_of: Any, coach: Membership, athlete: Athlete) -> None:
    reach(coach, athlete, "pullover-6")
    session = start_class(coach, athlete, focus="pullover-6")
    client: Client = client_of(coach)
    ticked = [code for code, _ in LOW_BAR_CHECKS]
    form = {"athlete": athlete.id, "bar": "Ada Lindqvist's", "looked_over": ticked}
    answer = client.post(f"/sessions/{session.id}/bar-check/", form)
    assert "No person’s name belongs here" in str(answer.context["bar_form"].errors["bar"])
    assert not BarCheck.objects.exists()


def test_nor_is_a_piece_of_equipment(coach: Membership, athlete: Athlete) -> None:
    with pytest.raises(NameWithin) as refusal:
        check_equipment(by=coach, entry=CheckEntry("Rings of Ada Lindqvist", fit=True))
    assert refusal.value.field == "item"
    assert not EquipmentCheck.objects.exists()
    assert check_equipment(by=coach, entry=CheckEntry("Rings by the wall", fit=True)).fit


def test_nor_stands_anybody_in_what_a_step_was_like(gym: Gym, owner: Membership, athlete: Athlete) -> None:
    steps = skill_texts(gym.id)["bar-pullover"].steps
    step = next(each for each in steps if each.code == "pullover-1")
    with pytest.raises(NotSaved, match="No person’s name belongs here") as refusal:
        change_step(by=owner, slug="bar-pullover", step=replace(step, purpose="As Ada Lindqvist does it."), seen=1)
    assert [problem.head for problem in refusal.value.found] == ["bar-pullover, step pullover-1"]
    assert not StepVersion.objects.filter(number=2).exists()
    change_step(by=owner, slug="bar-pullover", step=replace(step, purpose="As Ada does it."), seen=1)
