"""What is looked at when a piece of equipment is checked. Common practice, no source; the maker's instructions lead."""

from collections.abc import Mapping
from typing import Final

LOOKED_AT: Final[Mapping[str, str]] = {
    "bar": "The bar is secured.",
    "hooks": "The hooks are locked.",
    "mats": "Mats lie where people come down.",
    "straps": "Straps and ropes are whole.",
    "holes": "The holes left and right are the same.",
}
