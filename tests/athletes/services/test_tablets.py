from datetime import timedelta

import pytest

from athletes.core.tablets import LETTERS
from athletes.models import AuditEntry, CoachCode, Tablet
from athletes.services.coach_codes import BadCode, check_code, forgive, set_code
from athletes.services.tablets import BadTabletName, TabletNameTaken, add_tablet, enrol_tablet, revoke_tablet
from athletes.wording import clock_words
from tests.helpers.floor import CODE, enrolled


@pytest.mark.parametrize("name", ["", "  ", "x" * 61])
def test_a_tablet_needs_a_name(owner, name):
    with pytest.raises(BadTabletName):
        add_tablet(by=owner, name=name)


def test_a_code_is_eight_letters_in_two_halves(owner):
    code = add_tablet(by=owner, name="wall").code
    assert (len(code), code[4]) == (9, "-")
    assert {*code} - {"-"} <= {*LETTERS}
    assert code != add_tablet(by=owner, name="wall").code


def test_two_tablets_in_use_have_two_names(owner, other_coach):
    enrolled(other_coach, name="wall")
    tablet = enrolled(owner, name="wall").tablet
    with pytest.raises(TabletNameTaken, match="“wall” already"):
        add_tablet(by=owner, name=" wall ")
    revoke_tablet(by=owner, tablet=tablet)
    assert add_tablet(by=owner, name="wall").tablet != tablet


def test_a_tablet_is_shut_out_once(owner):
    tablet = enrolled(owner).tablet
    assert revoke_tablet(by=owner, tablet=tablet) is True
    assert revoke_tablet(by=owner, tablet=tablet) is False
    acts = [entry.act for entry in AuditEntry.objects.all()]
    assert acts == ["tablet_added", "tablet_enrolled", "tablet_revoked"]


def test_another_gyms_tablet_cannot_be_shut_out(owner, other_coach):
    tablet = enrolled(other_coach).tablet
    assert revoke_tablet(by=owner, tablet=tablet) is False
    assert Tablet.objects.get().revoked_at is None


def test_a_code_may_hold_longer_where_that_is_asked_for(owner):
    added = add_tablet(by=owner, name="wall", holds=timedelta(days=1))
    assert enrol_tablet(code=added.code).tablet == added.tablet


def test_nothing_secret_is_in_the_audit_chain(owner):
    added = add_tablet(by=owner, name="wall")
    key = enrol_tablet(code=added.code).key
    set_code(by=owner, code=CODE)
    told = " ".join(f"{entry.about} {entry.content}" for entry in AuditEntry.objects.all())
    assert not [secret for secret in (added.code, key, CODE, "wall") if secret in told]


@pytest.mark.parametrize("code", ["", "12345", "1234567", "12345a", "123456", "777777", "٤٠٢٩١٧"])
def test_a_weak_code_is_not_set(coach, code):
    with pytest.raises(BadCode):
        set_code(by=coach, code=code)
    assert not CoachCode.objects.exists()


def test_a_code_that_was_changed_while_the_old_one_was_looked_at_is_not_forgiven(coach):
    set_code(by=coach, code=CODE)
    kept = check_code(coach=coach, code=CODE)
    set_code(by=coach, code="730518")
    assert forgive(kept) is False
    assert forgive(check_code(coach=coach, code="730518")) is True
    assert CoachCode.objects.get().failures == 0


@pytest.mark.parametrize(
    ("offset_ms", "words"),
    [
        (0, ""),
        (29_999, ""),
        (30_000, "Its clock is 1 min behind."),
        (-7_500_000, "Its clock is 2 h 5 min ahead."),
        (86_400_000, "Its clock is 1 day behind."),
        (-2 * 86_400_000 - 3_600_000, "Its clock is 2 days 1 h ahead."),
    ],
)
def test_a_wrong_clock_is_told_in_words(offset_ms, words):
    assert clock_words(offset_ms) == words
