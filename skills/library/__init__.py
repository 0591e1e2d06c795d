"""The skills that come with the project, one YAML file each, and the reader of that form.

``shipped_skills()`` gives them as frozen values; ``read_skill`` and ``read_library`` read any text in the
same form. Lengths of time carry their unit in the name. Criteria stay raw: ``skills.core`` parses them.
"""

from functools import cache
from importlib.resources import files

from skills.core.standards import FIRST_STANDARD, FULL_STANDARD
from skills.library.reading import read_library, read_skill
from skills.library.texts import (
    CheckpointText,
    Dose,
    FaultText,
    LibraryError,
    SkillText,
    StepText,
    SwapDrill,
    VariantText,
)

__all__ = [
    "FIRST_STANDARD",
    "FULL_STANDARD",
    "SHIPPED",
    "CheckpointText",
    "Dose",
    "FaultText",
    "LibraryError",
    "SkillText",
    "StepText",
    "SwapDrill",
    "VariantText",
    "read_library",
    "read_skill",
    "shipped_skills",
]

SHIPPED = (
    "bar-pullover",
    "chest-to-bar-pull-up",
    "toes-to-bar",
    "hollow-arch-swing",
    "skin-the-cat",
    "ring-muscle-up",
    "l-hold",
    "wall-handstand",
)
"""The files that come with the project, in the order in which pages list them."""


@cache
def shipped_skills() -> tuple[SkillText, ...]:
    """Every shipped skill, in the order of ``SHIPPED``; raises LibraryError naming all that is wrong."""
    return read_library((f"{slug}.yaml", _text_of(slug)) for slug in SHIPPED)


def _text_of(slug: str) -> str:
    return files(__name__).joinpath(f"{slug}.yaml").read_text(encoding="utf-8")
