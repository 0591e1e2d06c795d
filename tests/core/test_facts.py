from dataclasses import replace

import pytest

from skills.core.facts import History
from tests.core.notebook import attempt, attempts, caution, lift, opening, sign_off, void


@pytest.mark.parametrize(
    ("note", "clean"),
    [
        ("2 Mar 18:00, 5 s", True),
        ("2 Mar 18:00, 5 s, fault", False),
        ("2 Mar 18:00, 5 s, missed", False),
        ("2 Mar 18:00, 5 s, pain", False),
        ("2 Mar 18:00, 5 s, band", True),
        ("2 Mar 18:00, 5 s, bent", True),
    ],
)
def test_clean_is_without_fault_missed_checkpoint_and_pain(note, clean):
    assert attempt(note).clean is clean


def test_known_at_leaves_out_what_was_recorded_later_whenever_it_happened():
    early = History(
        attempts=attempts("2 Mar 18:00, 5 s"),
        voids=(replace(void("n1")[0], recorded_us=7),),
        openings=(replace(opening("2 Mar 18:00"), recorded_us=7),),
        sign_offs=(replace(sign_off("2 Mar 18:00", "finish passed"), recorded_us=7),),
        cautions=(replace(caution("2 Mar 18:00"), recorded_us=7),),
        lifts=(replace(lift("2 Mar 18:00"), recorded_us=7),),
    )
    early = replace(early, attempts=(replace(early.attempts[0], recorded_us=7),))
    assert early.known_at(7) == early
    assert early.known_at(6) == History()


def test_history_splits_by_step_and_keeps_what_concerns_all_steps_with_each():
    both = History(
        attempts=(attempt("2 Mar 18:00, 5 s", id="x"), attempt("2 Mar 18:00, 5 s", id="y", step="b")),
        voids=void("x"),
        openings=(opening("2 Mar 18:00", "c"),),
        sign_offs=(sign_off("2 Mar 18:00", "finish passed", "b"),),
        cautions=(caution("2 Mar 18:00"),),
        lifts=(lift("3 Mar 18:00"),),
    )
    split = both.by_step()
    assert sorted(split) == ["a", "b", "c"]
    assert split["a"] == replace(both, attempts=both.attempts[:1], openings=(), sign_offs=())
    assert split["b"] == replace(both, attempts=both.attempts[1:], openings=())
    assert split["c"] == replace(both, attempts=(), sign_offs=())
