from datetime import date

import pytest

from skills.core.counted import Counted, counted_attempts, open_spans, pauses
from skills.core.facts import History
from skills.core.spans import ALWAYS, FOREVER, NEVER, Span, Spans
from tests.core.notebook import BERLIN, at, attempt, attempts, caution, lift, opening, sign_off, step, void


def test_step_that_nobody_opens_is_always_open():
    assert open_spans(step(), [], [sign_off("2 Mar 18:00", "entrance revoked")]) == ALWAYS
    assert open_spans(step(requires=("b",)), [], []) == NEVER
    assert open_spans(step(asks_clearance=True), [], []) == NEVER


def test_step_is_open_from_openings_until_the_next_revocation():
    openings = [opening("5 Mar 18:00"), opening("2 Mar 18:00"), opening("3 Mar 18:00")]
    entrance = [sign_off("4 Mar 18:00", "entrance revoked"), sign_off("2 Mar 19:00", "entrance passed alone")]
    assert open_spans(step(asks_clearance=True), openings, entrance) == Spans(
        (Span(at("2 Mar 18:00"), at("4 Mar 18:00")), Span(at("5 Mar 18:00"), FOREVER))
    )


def test_pause_holds_what_the_caution_says_and_how_long_it_really_lasts():
    history = History(
        cautions=(caution("2 Mar 18:00", "5 Mar 18:00", "hang landing"), caution("2 Mar 18:00", loads="pull", id="c2")),
        lifts=(lift("3 Mar 18:00"),),
    )
    [pause] = pauses(step(loads="hang support"), history)
    assert (pause.loads, pause.until_us) == (frozenset({"hang"}), at("5 Mar 18:00"))
    assert pause.lasting == Span(at("2 Mar 18:00"), at("3 Mar 18:00"))


@pytest.mark.parametrize(
    ("note", "gated", "counts"),
    [
        ("2 Mar 18:00, 5 s", False, True),
        ("2 Mar 18:00, 5 s, fault", False, True),
        ("2 Mar 18:00, 5 s, own", False, True),
        ("2 Mar 18:00, 5 s, own", True, False),
        ("2 Mar 18:00, 5 s, counted", True, False),
        ("2 Mar 18:00, 5 s, timed only", True, False),
        ("2 Mar 18:00, 5 s", True, True),
        ("2 Mar 18:00, 5 s, closed try", False, False),
    ],
)
def test_attempt_counts_unless_closed_or_not_judged_where_a_coach_opens(note, gated, counts):
    found = counted_attempts(step(asks_clearance=gated), History(attempts=attempts(note)), BERLIN, ALWAYS, NEVER)
    assert len(found) == counts


def test_attempt_of_another_step_voided_while_closed_or_while_paused_does_not_count():
    history = History(attempts=attempts("2 Mar 18:00, 5 s", "3 Mar 18:00, 5 s"), voids=void("n1"))
    on_third = Spans((Span(at("3 Mar 00:00"), at("4 Mar 00:00")),))
    assert [each.attempt.id for each in counted_attempts(step(), history, BERLIN, ALWAYS, NEVER)] == ["n2"]
    assert [each.attempt.id for each in counted_attempts(step(), history, BERLIN, on_third, NEVER)] == ["n2"]
    assert counted_attempts(step(), history, BERLIN, NEVER, NEVER) == ()
    assert counted_attempts(step(), history, BERLIN, ALWAYS, on_third) == ()
    assert counted_attempts(step("b"), history, BERLIN, ALWAYS, NEVER) == ()


def test_counted_attempts_come_by_moment_and_id_with_their_day_and_session():
    one, two = attempt("2 Mar 18:00, 5 s", id="x"), attempt("2 Mar 18:00, 5 s, session A", id="b")
    early = attempt("1 Mar 23:30Z, 5 s", id="z")
    assert counted_attempts(step(), History(attempts=(one, two, early)), BERLIN, ALWAYS, NEVER) == (
        Counted(early, date(2026, 3, 2), "day:2026-03-02"),
        Counted(two, date(2026, 3, 2), "session A"),
        Counted(one, date(2026, 3, 2), "day:2026-03-02"),
    )
