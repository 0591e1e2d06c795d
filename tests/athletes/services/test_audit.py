"""The chain shows what was done to it, even by somebody who can write into the database."""

from datetime import UTC, datetime
from uuid import UUID

import pytest

from athletes.models import AuditEntry, AuditHead
from athletes.services.audit import canonical_json, first_broken_link, record_act
from athletes.services.tokens import make_token
from tests.helpers.flush import guards_lifted


@pytest.fixture
def chain(owner):
    """Five acts."""
    for number in range(1, 6):
        record_act(gym=owner.gym, actor=owner, act="counted", about=owner.id, content={"number": number})
    return AuditEntry.objects.filter(gym=owner.gym).order_by("position")


def test_a_chain_that_nobody_touched_is_whole(gym, chain):
    assert [entry.position for entry in chain] == [1, 2, 3, 4, 5]
    assert first_broken_link(gym) is None


def test_an_empty_chain_is_whole(gym):
    assert first_broken_link(gym) is None


@pytest.mark.parametrize(
    "change",
    [
        {"content": '{"number":7}'},
        {"act": "uncounted"},
        {"actor": None},
        {"about": UUID(int=1)},
        {"recorded_at": datetime(2026, 1, 1, tzinfo=UTC)},
        {"seal": "0" * 64},
    ],
    ids=lambda change: next(iter(change)),
)
def test_a_changed_entry_shows(gym, chain, change):
    with guards_lifted():
        chain.filter(position=3).update(**change)
    assert first_broken_link(gym) == 3


@pytest.mark.parametrize("position", [1, 3])
def test_a_missing_entry_shows(gym, chain, position):
    with guards_lifted():
        chain.filter(position=position).delete()
    assert first_broken_link(gym) == position


def test_a_chain_cut_short_shows(gym, chain):
    with guards_lifted():
        chain.filter(position__gt=3).delete()
    assert first_broken_link(gym) == 4


def test_a_chain_cut_short_shows_even_where_the_head_was_made_to_fit(gym, chain):
    with guards_lifted():
        chain.filter(position=5).delete()
    AuditHead.objects.filter(gym=gym).update(length=4)
    assert first_broken_link(gym) == 5


def test_entries_in_another_order_show(gym, chain):
    with guards_lifted():
        for old, new in ((2, 20), (3, 2), (20, 3)):
            chain.filter(position=old).update(position=new)
    assert first_broken_link(gym) == 2


def test_an_entry_that_was_put_in_between_shows(gym, chain):
    forged = chain.get(position=2)
    with guards_lifted():
        for position in (5, 4, 3):
            chain.filter(position=position).update(position=position + 1)
    AuditEntry.objects.create(
        gym=gym,
        position=3,
        recorded_at=forged.recorded_at,
        actor=forged.actor,
        act=forged.act,
        about=forged.about,
        content=forged.content,
        seal=forged.seal,
    )
    AuditHead.objects.filter(gym=gym).update(length=6)
    assert first_broken_link(gym) == 3


def test_an_entry_that_was_added_at_the_end_without_the_key_shows(gym, chain):
    last = chain.get(position=5)
    AuditEntry.objects.create(
        gym=gym, position=6, recorded_at=last.recorded_at, act="forged", about=gym.id, content="{}", seal="0" * 64
    )
    AuditHead.objects.filter(gym=gym).update(length=6, seal="0" * 64)
    assert first_broken_link(gym) == 6


def test_a_head_that_was_set_back_shows(gym, chain):
    AuditHead.objects.filter(gym=gym).update(length=4, seal=chain.get(position=4).seal)
    assert first_broken_link(gym) == 6  # acts that the head does not know of


def test_an_entry_of_another_gym_does_not_fit_in(gym, chain, other_coach):
    record_act(gym=other_coach.gym, actor=other_coach, act="counted", about=other_coach.id, content={"number": 1})
    stranger = AuditEntry.objects.get(gym=other_coach.gym)
    mine = chain.get(position=1)
    assert stranger.seal != mine.seal
    assert first_broken_link(other_coach.gym) is None


def test_a_seal_made_with_another_key_shows(gym, chain, settings):
    settings.AUDIT_KEY = "what somebody guessed"
    assert first_broken_link(gym) == 1


def test_an_act_that_fails_leaves_no_gap(owner, monkeypatch):
    make_token(by=owner, name="first")
    monkeypatch.setattr("athletes.services.tokens.record_act", lambda **_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        make_token(by=owner, name="second")
    assert owner.tokens.count() == 1
    assert first_broken_link(owner.gym) is None


def test_one_content_has_one_spelling(owner):
    assert canonical_json({"b": {"z", "a"}, "a": owner.id}) == f'{{"a":"{owner.id}","b":["a","z"]}}'
    with pytest.raises(TypeError, match="object has no canonical form"):
        canonical_json({"a": object()})
