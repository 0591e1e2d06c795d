"""Criteria in plain SQL on PostgreSQL: what every condition says, in window functions over tables of tries.

A second reading of the rules, by a program that knows nothing of ours. The database's own calendar turns moments
into days of the gym, its `numeric` does the arithmetic of the Wilson interval, and trees are joined level by level.

    tries(history, id, happened_us, zone, session, tenths, reps, unbroken, source, assistance, variant, clean, grade, angle)
    nodes(history, node, parent, depth, kind, need, ...): the conditions of a criterion, the outermost one at depth 0
    moments(history, us, local_on): when it is asked; met(history, node, us): where a condition holds

Moments are microseconds since 1970 UTC, holds tenths of a second. A hold is 2 s at least (Code of Points, men's
artistic gymnastics: a static hold), whatever is asked.
"""  # noqa: E501 (a table's columns stand on a line)

TABLES = """
CREATE TEMPORARY TABLE tries (
    history integer, id text COLLATE "C", happened_us bigint, zone text, session text, tenths integer, reps integer,
    unbroken boolean, source text, assistance text, variant text, clean boolean, grade integer, angle integer
) ON COMMIT DROP;
CREATE TEMPORARY TABLE nodes (
    history integer, node integer, parent integer, depth integer, kind text, need integer, tenths integer, reps integer,
    unbroken boolean, last integer, angle integer, at_most boolean, lower_bound numeric, z numeric, window_days integer,
    sessions integer, dates integer, clean boolean, assistance text[], variants boolean, who text[], grade integer
) ON COMMIT DROP;
CREATE TEMPORARY TABLE told (history integer, zone text, us bigint) ON COMMIT DROP;
CREATE TEMPORARY TABLE met (history integer, node integer, us bigint) ON COMMIT DROP;
"""

DATED = """
CREATE TEMPORARY TABLE dated ON COMMIT DROP AS
SELECT *, CASE session WHEN '' THEN 'on ' || local_on ELSE 'in ' || session END AS sitting
FROM tries
CROSS JOIN LATERAL (
    SELECT ((timestamptz 'epoch' + happened_us * interval '1 microsecond') AT TIME ZONE zone)::date AS local_on
) AS on_the_wall
"""

# Each try, each end of a window, and each moment at which the engine says that something changes; a microsecond
# on either side of all of them.
MOMENTS = """
CREATE TEMPORARY TABLE moments ON COMMIT DROP AS
WITH edges AS (
    SELECT history, zone, happened_us AS us FROM dated
    UNION
    SELECT d.history, d.zone,
        (extract(epoch FROM (d.local_on + n.window_days)::timestamp AT TIME ZONE d.zone) * 1000000)::bigint
    FROM dated AS d JOIN nodes AS n USING (history)
    WHERE n.window_days IS NOT NULL
    UNION
    SELECT history, zone, us FROM told
)
SELECT DISTINCT history, us + shift AS us,
    ((timestamptz 'epoch' + (us + shift) * interval '1 microsecond') AT TIME ZONE zone)::date AS local_on
FROM edges CROSS JOIN (VALUES (-1), (0), (1)) AS side (shift);
ANALYZE nodes;
ANALYZE dated;
ANALYZE moments;
"""

# A window of N days at a moment of local date D holds the tries whose local dates lie after D - N.
_LOOKED_AT = """
WITH looked_at AS (
    SELECT n.history, n.node, m.us, n.need, n.sessions, n.dates, n.last, n.lower_bound, n.z, d.reps, d.local_on,
        d.sitting, (d.clean OR NOT n.clean) AND ({reached}) AS success,
        row_number() OVER (PARTITION BY n.history, n.node, m.us ORDER BY d.happened_us DESC, d.id DESC) AS back
    FROM nodes AS n
    JOIN moments AS m USING (history)
    JOIN dated AS d USING (history)
    WHERE n.kind = '{kind}'
        AND d.happened_us <= m.us
        AND (n.window_days IS NULL OR m.local_on - d.local_on < n.window_days)
        AND d.source = ANY (n.who)
        AND d.assistance = ANY (n.assistance)
        AND (n.variants OR d.variant = '')
        AND d.grade >= n.grade
        AND ({of_kind})
),
spread AS (
    SELECT *,
        dense_rank() OVER (PARTITION BY history, node, us, success ORDER BY sitting) AS sitting_no,
        dense_rank() OVER (PARTITION BY history, node, us, success ORDER BY local_on) AS date_no
    FROM looked_at
    WHERE last IS NULL OR back <= last
)
INSERT INTO met
SELECT history, node, us FROM spread
GROUP BY history, node, us, need, sessions, dates, lower_bound, z
HAVING {enough}
    AND max(sitting_no) FILTER (WHERE success) >= sessions
    AND max(date_no) FILTER (WHERE success) >= dates
"""

_HELD = "d.tenths >= greatest(n.tenths, 20)"
_DONE = "d.tenths IS NULL AND d.reps >= n.reps AND (d.unbroken OR NOT n.unbroken)"
_EITHER = f"CASE WHEN n.tenths IS NULL THEN {_DONE} ELSE coalesce({_HELD}, false) END"
_SAME_KIND = "(d.tenths IS NULL) = (n.tenths IS NULL)"
_ANGLED = "CASE WHEN n.at_most THEN d.angle <= n.angle ELSE d.angle >= n.angle END"
_TRIES_ENOUGH = "count(*) FILTER (WHERE success) >= need"
# Wilson EB (1927), Journal of the American Statistical Association 22:209-212: the lower end of the score interval,
#   (k + z²/2 - z sqrt(k (n - k) / n + z²/4)) / (n + z²)        for k successes of n tries
_WILSON = """
    (count(*) FILTER (WHERE success) + z * z / 2 - z * sqrt(
        (count(*) FILTER (WHERE success) * count(*) FILTER (WHERE NOT success))::numeric(60, 40) / count(*) + z * z / 4
    )) / (count(*) + z * z) >= lower_bound
"""


def _condition(kind: str, *, of_kind: str, reached: str, enough: str = _TRIES_ENOUGH) -> str:
    return _LOOKED_AT.format(kind=kind, of_kind=of_kind, reached=reached, enough=enough)


CONDITIONS = {
    # an attempt of 3 x 5 s is three holds
    "holds": _condition(
        "holds", of_kind="d.tenths IS NOT NULL", reached=_HELD, enough="sum(reps) FILTER (WHERE success) >= need"
    ),
    "reps": _condition("reps", of_kind="d.tenths IS NULL", reached=_DONE),
    "best": _condition("best", of_kind=_SAME_KIND, reached=_EITHER),
    "last": _condition("last", of_kind=_SAME_KIND, reached=_EITHER),
    "angle": _condition(
        "angle", of_kind="d.angle IS NOT NULL", reached=f"{_ANGLED} AND (n.tenths = 0 OR coalesce({_HELD}, false))"
    ),
    "reliability": _condition("reliability", of_kind=_SAME_KIND, reached=_EITHER, enough=_WILSON),
}

# `all` needs as many as it has, `any` one, `at_least` what it says.
JOINED = """
INSERT INTO met
SELECT n.history, n.node, m.us
FROM nodes AS n
JOIN nodes AS child ON child.history = n.history AND child.parent = n.node
JOIN met AS m ON m.history = child.history AND m.node = child.node
WHERE n.depth = %s
GROUP BY n.history, n.node, m.us, n.need
HAVING count(*) >= n.need
"""

# For each history every moment, in order, and whether the outermost condition holds.
ANSWERS = """
SELECT o.history, o.us, m.us IS NOT NULL
FROM moments AS o
LEFT JOIN met AS m ON m.history = o.history AND m.us = o.us AND m.node = 0
ORDER BY o.history, o.us
"""

LEAVES_MET = """
SELECT n.kind, count(DISTINCT (m.history, m.node)), count(DISTINCT (n.history, n.node))
FROM nodes AS n
LEFT JOIN met AS m USING (history, node)
GROUP BY n.kind
"""
