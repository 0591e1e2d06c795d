"""The audit chains are verified from a shell."""

import pytest
from django.core.management import CommandError, call_command
from django.test import override_settings

from athletes.management.commands.verify_audit import LIMITS
from athletes.models import AuditEntry, AuditHead, Gym, Membership
from athletes.services.anchors import anchors_path
from athletes.services.audit import first_broken_link, record_act
from athletes.services.gyms import change_gym
from tests.helpers.flush import guards_lifted


@pytest.fixture(autouse=True)
def data_folder(tmp_path, settings):
    """Anchors of each test's own."""
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture
def anchored(owner: Membership) -> Membership:
    """The owner of a gym with three acts, anchored, and two more."""
    for number in range(1, 6):
        record_act(gym=owner.gym, actor=owner, act="counted", about=owner.id, content={"number": number})
        if number == 3:
            call_command("anchor_audit")
    return owner


def verified(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[bool, str, str]:
    """Whether all holds, and what was said on both ways out since."""
    capsys.readouterr()
    try:
        call_command("verify_audit", *arguments)
        holds = True
    except CommandError as error:
        holds = "An audit chain is broken" not in str(error)
    said = capsys.readouterr()
    return holds, said.out, said.err


def test_a_whole_chain_is_said_to_be_whole(
    owner: Membership, gym: Gym, other_gym: Gym, capsys: pytest.CaptureFixture[str]
) -> None:
    change_gym(member=owner, name="Harbour Hall", time_zone="Europe/Berlin", units="imperial")
    call_command("verify_audit")
    words = "whole, and never anchored: run anchor_audit"
    assert capsys.readouterr().out.splitlines() == [f"{gym.slug}: {words}", f"{other_gym.slug}: {words}", LIMITS]


def test_another_key_breaks_the_chain_at_its_first_entry(
    owner: Membership, gym: Gym, capsys: pytest.CaptureFixture[str]
) -> None:
    change_gym(member=owner, name="Harbour Hall", time_zone="Europe/Berlin", units="imperial")
    with override_settings(AUDIT_KEY="another"), pytest.raises(CommandError, match="broken"):
        call_command("verify_audit", gym=gym.slug)
    assert capsys.readouterr().err == f"{gym.slug}: broken at entry 1\n"


def test_what_was_anchored_is_said(anchored, gym, capsys):
    assert verified(capsys) == (True, f"{gym.slug}: whole, anchored up to entry 3\n{LIMITS}\n", "")
    assert "can write another chain" in LIMITS


def test_the_anchor_is_printed_as_it_is_kept(anchored, gym, capsys):
    call_command("anchor_audit", gym=gym.slug)
    printed = capsys.readouterr().out
    assert printed == anchors_path().read_text().splitlines(keepends=True)[-1]
    assert '"length":5' in printed


def cut_after(gym: Gym, length: int) -> None:
    """Take the last acts away and make the head fit, as somebody without the key can."""
    with guards_lifted():
        AuditEntry.objects.filter(gym=gym, position__gt=length).delete()
    seal = AuditEntry.objects.filter(gym=gym, position=length).values_list("seal", flat=True).first() or ""
    AuditHead.objects.filter(gym=gym).update(length=length, seal=seal)


@pytest.mark.parametrize("left", [2, 0])
def test_a_tail_that_was_removed_head_and_all_shows_beside_the_anchor(anchored, gym, capsys, left):
    cut_after(gym, left)
    assert first_broken_link(gym) is None  # alone it would not show
    holds, _, said = verified(capsys)
    assert not holds
    assert said.startswith(f"{gym.slug}: entry 3 is missing or another than on ")


def test_a_tail_that_was_removed_and_grown_again_shows(anchored, gym, capsys):
    cut_after(gym, 2)
    record_act(gym=gym, actor=anchored, act="uncounted", about=gym.id, content={})
    assert first_broken_link(gym) is None
    assert verified(capsys)[0] is False


def test_acts_after_the_last_anchor_can_be_taken_away_unseen_and_that_is_said(anchored, gym, capsys):
    cut_after(gym, 3)
    holds, said, _ = verified(capsys)
    assert holds
    assert "since the last anchor" in said


def test_anchors_that_were_kept_elsewhere_are_compared(anchored, gym, capsys, tmp_path):
    elsewhere = tmp_path / "kept elsewhere.jsonl"
    elsewhere.write_bytes(anchors_path().read_bytes())
    anchors_path().unlink()
    cut_after(gym, 2)
    assert verified(capsys)[0] is True
    assert verified(capsys, "--anchors", str(elsewhere))[0] is False
    with pytest.raises(CommandError, match="There is no file"):
        call_command("verify_audit", "--anchors", str(tmp_path / "nowhere"))


@pytest.mark.parametrize(
    "forge",
    [
        lambda text: text.replace('"length":3', '"length":2'),
        lambda text: "no JSON\n" + text,
        lambda text: text + "[1]\n",
        lambda text: text[: len(text) // 2],
    ],
    ids=["changed", "garbage", "a list", "torn"],
)
def test_an_anchor_that_is_not_ours_shows(anchored, capsys, forge):
    anchors_path().write_text(forge(anchors_path().read_text()))
    holds, _, said = verified(capsys)
    assert not holds
    assert "not sealed by this key" in said


def test_an_anchor_after_a_torn_line_stands_alone(anchored, capsys):
    anchors_path().write_text(anchors_path().read_text() + '{"at":"20')
    call_command("anchor_audit")
    assert "line 2" in verified(capsys)[2]
    assert len(anchors_path().read_text().splitlines()) == 3


def test_a_gym_that_is_gone_shows(anchored, other_gym, capsys):
    call_command("anchor_audit")
    AuditHead.objects.filter(gym=other_gym).delete()
    gym_id = other_gym.pk
    other_gym.delete()
    assert f"gym {gym_id}: was anchored" in verified(capsys)[2]
    assert verified(capsys, "--gym", anchored.gym.slug)[0] is True


def test_where_anchors_cannot_be_written_is_said(anchored, data_folder):
    anchors_path().unlink()
    anchors_path().mkdir()
    with pytest.raises(CommandError, match=r"anchors\.jsonl cannot be written"):
        call_command("anchor_audit")
