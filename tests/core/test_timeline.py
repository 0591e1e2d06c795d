import json

import pytest

from skills.core.spans import FOREVER, Span, Spans
from skills.core.timeline import Change, Timeline

CLOSED = Change(0, "closed", "closed", "", "entrance", (), trouble=False)
PASSED = Change(10, "paused", "passed", "spotted", "", ("evidence_voided", "prerequisite_fell"), trouble=True)
AGAIN = Change(20, "passed", "passed", "alone", "", (), trouble=False)
LINE = Timeline((CLOSED, PASSED, AGAIN))
TEXT = (
    '[[0,"closed","closed","","entrance",[],false],'
    '[10,"paused","passed","spotted","",["evidence_voided","prerequisite_fell"],true],'
    '[20,"passed","passed","alone","",[],false]]'
)


def test_standing_at_a_moment_is_the_latest_change_begun():
    assert [LINE.at(us) for us in (-1, 0, 9, 10, 19, 20, 10**18)] == [
        *(CLOSED, CLOSED, CLOSED),
        *(PASSED, PASSED),
        *(AGAIN, AGAIN),
    ]


def test_next_change_is_strictly_later():
    assert [LINE.after(us) for us in (-1, 0, 9, 10, 20)] == [CLOSED, PASSED, PASSED, AGAIN, None]


def test_changes_that_change_nothing_are_left_out():
    same = Change(5, "closed", "closed", "", "entrance", (), trouble=False)
    assert Timeline.of([CLOSED, same, PASSED, AGAIN]) == LINE


def test_spans_where_something_holds():
    assert LINE.spans_where(lambda change: change.base == "passed") == Spans((Span(10, FOREVER),))
    assert LINE.spans_where(lambda change: change.trouble) == Spans((Span(10, 20),))


def test_canonical_text_goes_round():
    assert LINE.to_json() == TEXT
    assert Timeline.from_json(TEXT) == LINE


@pytest.mark.parametrize(
    "text",
    [
        "",
        "7",
        "[]",
        "[7]",
        "{}",
        json.dumps(json.loads(TEXT)[1:]),
        json.dumps(json.loads(TEXT)[::-1]),
        json.dumps([json.loads(TEXT)[0]] * 2),
        json.dumps([row[:-1] for row in json.loads(TEXT)]),
    ],
)
def test_text_that_is_no_timeline_is_refused(text):
    with pytest.raises(ValueError, match=r"^A timeline "):
        Timeline.from_json(text)
