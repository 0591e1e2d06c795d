"""Where figures come from. Every figure on a page names one of these; a page prints them as they stand here.

`standing` says how sure the project is of what it took: *read* in the source or in data that the source published,
*second hand* as others quote it, *practice* for what coaches commonly do without a source, *ours* for a choice or a
derivation of this project. What of it could not be looked up is said to be from memory, in `taken`.
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
        "masses, centres of mass and radii of gyration of segments, after Zatsiorsky; lengths of women from memory",
        "second hand",
    ),
    Source(
        "tozeren-2000",
        "Tözeren A, Human Body Dynamics, 2000, table A.2.1",
        "moments of inertia measured on three men, straight and compact",
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
        "frey-law-2012",
        "Frey-Law LA and others, Journal of Biomechanics 45:1803, 2012",
        "how far people lie from such a power law: 29 to 47 % of it on either side for 95 of 100",
        "second hand",
    ),
    Source(
        "rohmert-1960",
        "Rohmert W, Internationale Zeitschrift für angewandte Physiologie 18:123-164, 1960",
        "how long a share of the greatest force is held, as others print the curve; one form of it from memory, within "
        "9 % of the other",
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
    Source(
        "lum-barbosa-2019",
        "Lum D, Barbosa TM, International Journal of Sports Medicine 40:363-375, 2019",
        "isometric practice: 30 to 90 s a session for greatest strength (from memory), more than 80 to 150 s for "
        "growth",
        "second hand",
    ),
    Source(
        "acsm-2009",
        "American College of Sports Medicine, position stand on resistance training, 2009",
        "2 to 3 min of rest between sets of many joints; of lifting, since no study of hangs was found; the year from "
        "memory",
        "second hand",
    ),
    Source(
        "faigenbaum-2009",
        "Faigenbaum AD and others, Journal of Strength and Conditioning Research 23(5 Suppl):S60-S79, 2009",
        "youths: qualified supervision is the main safeguard",
        "second hand",
    ),
    Source(
        "lloyd-2014",
        "Lloyd RS and others, British Journal of Sports Medicine 48:498-505, 2014, as summaries tell it",
        "youths: two or three sessions a week on days that do not follow one another, one or two sets to begin with, 5 "
        "to 10 % more once it is done well",
        "second hand",
    ),
    Source(
        "mcmaster-2013",
        "McMaster DT and others, Sports Medicine 43:367-384, 2013",
        "strength is kept for about three weeks without practice, from memory",
        "second hand",
    ),
    Source(
        "lolli-2019",
        "Lolli L and others, British Journal of Sports Medicine 53:921-922, 2019",
        "why no ratio of this week to the last ones is shown: the part is in the whole, so they go together by chance",
        "second hand",
    ),
    Source(
        "plane-geometry",
        "Plane geometry, worked out by this project",
        "the angle between two lines, and the farthest that it turns when their points move",
        "ours",
    ),
    Source(
        "pommel-2024",
        "Scientific Reports 2024, s41598-024-70698-8, table 1 (pommel horse)",
        "the tip of pointed toes lies 0.091 of the stature below where the sole would stand",
        "read",
    ),
    Source(
        "bodyspace-2006",
        "Pheasant S, Haslegrave CM, Bodyspace, 3rd ed., 2006, British adults",
        "grip reach standing, in an easy stretch: 1.184 of the stature",
        "second hand",
    ),
    Source("practice", "Common practice, no source", "what coaches commonly do", "practice"),
    Source("ours", "Worked out or chosen by this project", "said where it is used", "ours"),
)

SOURCES: Final = {source.key: source for source in _ALL}
