"""A second evaluation of windows and distinct local dates: SQL window functions on SQLite in memory.

It checks, for ``HoldsOf`` and ``LastOf`` alone: which attempts lie inside a window of N local dates at a
moment (date arithmetic by ``julianday``), how many repetitions they add up to, in how many training sessions
and on how many local dates (``DENSE_RANK``), and which are the last n (``ROW_NUMBER``). Local dates come in
as a column; they are computed by ``zoneinfo`` from the IANA time zone database.
"""

import json
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from datetime import UTC, datetime, timedelta

from skills.core.criteria import Counting, HoldsOf, HoldTarget, LastOf
from skills.core.facts import Attempt
from tests.core.zones import pinned_zone

TABLES = """
CREATE TABLE attempts (
    id TEXT PRIMARY KEY, happened_us INTEGER, local_on TEXT, session TEXT, tenths INTEGER, reps INTEGER,
    unbroken INTEGER, source TEXT, assistance TEXT, variant TEXT, grade INTEGER, clean INTEGER
);
CREATE TABLE moments (us INTEGER PRIMARY KEY, local_on TEXT);
"""

QUERY = """
WITH inside AS (
    SELECT
        m.us, a.*,
        CASE a.session WHEN '' THEN 'on ' || a.local_on ELSE 'in ' || a.session END AS sitting
    FROM moments AS m
    JOIN attempts AS a
        ON a.happened_us <= m.us
        AND (:window_days IS NULL OR julianday(m.local_on) - julianday(a.local_on) < :window_days)
    WHERE a.source IN (SELECT value FROM json_each(:who))
        AND a.assistance IN (SELECT value FROM json_each(:assistance))
        AND (a.variant = '' OR :variants)
        AND a.grade >= :grade_at_least
        AND (a.tenths IS NULL) = (:tenths IS NULL)
),
numbered AS (
    SELECT *, ROW_NUMBER() OVER (PARTITION BY us ORDER BY happened_us DESC, id DESC) AS back
    FROM inside
),
good AS (
    SELECT * FROM numbered
    WHERE (:of IS NULL OR back <= :of)
        AND (clean OR NOT :clean)
        AND (tenths >= MAX(:tenths, 20) OR (reps >= :reps AND (unbroken OR NOT :unbroken)))
),
ranked AS (
    SELECT
        us,
        SUM(CASE WHEN :by_reps THEN reps ELSE 1 END) OVER (PARTITION BY us) AS amount,
        DENSE_RANK() OVER (PARTITION BY us ORDER BY sitting) AS sitting,
        DENSE_RANK() OVER (PARTITION BY us ORDER BY local_on) AS local_date
    FROM good
)
SELECT us FROM ranked
GROUP BY us
HAVING MAX(amount) >= :needed AND MAX(sitting) >= :sessions AND MAX(local_date) >= :dates
"""


def moments_met(
    criterion: HoldsOf | LastOf, attempts: Iterable[Attempt], moments: Iterable[int], zone: str
) -> set[int]:
    """Those of the ``moments`` (µs since 1970 UTC) at which the attempts of one step meet the criterion."""
    with closing(sqlite3.connect(":memory:")) as database:
        database.executescript(TABLES)
        database.executemany(
            "INSERT INTO attempts VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [row(a, zone) for a in attempts],
        )
        database.executemany("INSERT INTO moments VALUES (?, ?)", [(us, local_on(us, zone)) for us in moments])
        return {us for (us,) in database.execute(QUERY, asked_by(criterion))}


def local_on(us: int, zone: str) -> str:
    """ISO date on the wall."""
    moment = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(microseconds=us)
    return moment.astimezone(pinned_zone(zone)).date().isoformat()


def row(attempt: Attempt, zone: str) -> tuple[str | int | None, ...]:
    """One attempt as the table holds it."""
    return (
        attempt.id,
        attempt.happened_us,
        local_on(attempt.happened_us, zone),
        attempt.session,
        attempt.hold_tenths,
        attempt.reps,
        attempt.unbroken,
        attempt.source,
        attempt.assistance,
        attempt.variant,
        attempt.grade,
        not (attempt.faults or attempt.missed or attempt.pain),
    )


def asked_by(criterion: HoldsOf | LastOf) -> dict[str, str | int | None]:
    """The parameters of the query; what the criterion does not ask is NULL."""
    asked = {**asked_of_all(criterion.counting), "of": None, "reps": None, "unbroken": None}
    if isinstance(criterion, HoldsOf):
        return asked | {"needed": criterion.count, "by_reps": True, "tenths": criterion.tenths}
    asked |= {"needed": criterion.clean, "by_reps": False, "of": criterion.of, "clean": True}
    if isinstance(criterion.target, HoldTarget):
        return asked | {"tenths": criterion.target.tenths}
    return asked | {"tenths": None, "reps": criterion.target.reps, "unbroken": criterion.target.unbroken}


def asked_of_all(counting: Counting) -> dict[str, str | int | None]:
    """The conditions on every attempt."""
    return {
        "window_days": counting.window_days,
        "sessions": counting.sessions,
        "dates": counting.dates,
        "clean": counting.clean,
        "assistance": json.dumps(sorted(counting.assistance)),
        "variants": counting.variants,
        "who": json.dumps(sorted(counting.who)),
        "grade_at_least": counting.grade_at_least,
    }
