"""Draws the endurance curves with a known hold and the one to expect on them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from gymtrack.lib.charts import Axis, Chart, Frame, Point, draw
from skills.core.endurance import JOINED, OTHERS
from skills.core.estimates import LEAST_S, Estimate

_SHARES: Final = tuple(percent / 100 for percent in range(20, 101, 2))
_WIDEST_FIRST: Final = 0.6  # the curve is drawn from a tenth below this, or from further down
_TOLD: Final = tuple(percent / 100 for percent in range(20, 101, 10))


def endurance_chart(known_seconds: float, told: Estimate, known_name: str, next_name: str) -> Chart:
    """Draw the joined curve in the band of the published ones, the known hold (filled) and the one to expect.

    Where the next pose asks more than there is, its mark stands at the curve's end.
    """
    least = min(told.share_known, told.share_next, _WIDEST_FIRST)
    shares = [share for share in _SHARES if share >= least - 0.1]
    marks = [(told.share_known, max(known_seconds, LEAST_S)), (min(told.share_next, 1.0), told.seconds)]
    low, high = _around(shares)
    frame = Frame(_share_axis(shares), Axis.over("seconds", [0, high[0][1], marks[0][1], told.high]))
    return draw(
        frame,
        [
            frame.band(low, high),
            frame.line([(share, JOINED.seconds(share)) for share in shares]),
            frame.line([(marks[1][0], told.low), (marks[1][0], told.high)], "estimate"),
            frame.dots(marks[:1], "dot", [known_name]),
            frame.dots(marks[1:], "dot-open", [next_name]),
        ],
        name="endurance",
        title="Estimate: how long a share of the greatest force is held",
        description=_described(known_seconds, told, known_name, next_name),
        columns=("Share of the greatest force", "By the joined curve", *(curve.name for curve in OTHERS)),
        rows=[_row(share) for share in _TOLD],
    )


def _around(shares: Sequence[float]) -> tuple[list[Point], list[Point]]:
    """Return the shortest and the longest that the published curves give."""
    all_told = [[curve.seconds(share) for curve in (JOINED, *OTHERS)] for share in shares]
    low = [(share, min(told)) for share, told in zip(shares, all_told, strict=True)]
    high = [(share, max(told)) for share, told in zip(shares, all_told, strict=True)]
    return low, high


def _share_axis(shares: Sequence[float]) -> Axis:
    first = int(shares[0] * 10) / 10
    return Axis("share of the greatest force", [tenth / 10 for tenth in range(round(first * 10), 11)], "{:.0%}".format)


def _described(known_seconds: float, told: Estimate, known_name: str, next_name: str) -> str:
    expected = "less than that" if told.seconds <= LEAST_S else f"about {told.seconds:.0f} s"
    return (
        f"{known_name}, held {known_seconds:.1f} s, asks {told.share_known:.0%}; {next_name} asks "
        f"{told.share_next:.0%}: {expected} to expect, {told.low:.0f} to {told.high:.0f} s. The band is what the "
        "published curves span; none of them is of the hip. At the whole force the joined curve ends at "
        f"{LEAST_S:.0f} s."
    )


def _row(share: float) -> tuple[str, ...]:
    return (f"{share:.0%}", *(f"{curve.seconds(share):.0f} s" for curve in (JOINED, *OTHERS)))
