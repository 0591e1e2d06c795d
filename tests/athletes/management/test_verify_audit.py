"""The audit chains are verified from a shell."""

import pytest
from django.core.management import CommandError, call_command
from django.test import override_settings

from athletes.models import Gym, Membership
from athletes.services.gyms import change_gym


def test_a_whole_chain_is_said_to_be_whole(
    owner: Membership, gym: Gym, other_gym: Gym, capsys: pytest.CaptureFixture[str]
) -> None:
    change_gym(member=owner, name="Harbour Hall", time_zone="Europe/Berlin", units="imperial")
    call_command("verify_audit")
    assert capsys.readouterr().out.splitlines() == [f"{gym.slug}: whole", f"{other_gym.slug}: whole"]


def test_another_key_breaks_the_chain_at_its_first_entry(
    owner: Membership, gym: Gym, capsys: pytest.CaptureFixture[str]
) -> None:
    change_gym(member=owner, name="Harbour Hall", time_zone="Europe/Berlin", units="imperial")
    with override_settings(AUDIT_KEY="another"), pytest.raises(CommandError, match="broken"):
        call_command("verify_audit", gym=gym.slug)
    assert capsys.readouterr().out == f"{gym.slug}: broken at entry 1\n"
