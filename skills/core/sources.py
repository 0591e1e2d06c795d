"""Where figures come from. Every figure on a page names one of these; a page prints them as they stand here.

`standing` says how sure the project is of what it took: *read* in the source or in data that the source published,
*second hand* as others quote it, *practice* for what coaches commonly do without a source, *ours* for a choice or a
derivation of this project.
"""

from dataclasses import dataclass
from typing import Final, Literal

Standing = Literal["read", "second hand", "practice", "ours"]


@dataclass(frozen=True, slots=True)
class Source:
    """One source: its key, how it is cited, what was taken from it, and how sure that is."""

    key: str
    cited: str
    taken: str
    standing: Standing


_ALL: Final = (
    Source(
        "winter-2009",
        "Winter DA, Biomechanics and Motor Control of Human Movement, 4th ed., 2009, table 4.1 and figure 4.1",
        "masses, centres of mass and radii of gyration of segments, after Dempster 1955; lengths after Drillis and "
        "Contini 1966",
        "second hand",
    ),
    Source(
        "de-leva-1996",
        "de Leva P, Journal of Biomechanics 29:1223-1230, 1996, table 4",
        "masses, centres of mass and radii of gyration of segments, after Zatsiorsky",
        "second hand",
    ),
    Source(
        "ansur-ii",
        "Gordon CC and others, 2012 Anthropometric Survey of U.S. Army Personnel, NATICK/TR-15/007, 2014",
        "proportions of stature with their spread, from the published measurements of 6,068 adults",
        "read",
    ),
    Source(
        "frey-law-avin-2010",
        "Frey Law LA, Avin KG, Ergonomics 53(1):109-129, 2010, table 2",
        "how long a share of the greatest force is held, as power laws by joint, from 194 publications",
        "second hand",
    ),
    Source(
        "rohmert-1960",
        "Rohmert W, Internationale Zeitschrift für angewandte Physiologie 18:123-164, 1960",
        "how long a share of the greatest force is held, as others print the curve",
        "second hand",
    ),
    Source(
        "sen-1968",
        "Sen PK, Journal of the American Statistical Association 63:1379-1389, 1968",
        "the median of the slopes between pairs, and its interval",
        "second hand",
    ),
    Source(
        "faux-godolphin-2019",
        "Faux DA, Godolphin J, American Journal of Physics 87(2):110, 2019",
        "how far a person with a stopwatch is off: 0.10 s as a standard deviation of start to stop",
        "read",
    ),
    Source("practice", "Common practice, no source", "what coaches commonly do", "practice"),
    Source("ours", "Worked out or chosen by this project", "said where it is used", "ours"),
)

SOURCES: Final = {source.key: source for source in _ALL}
