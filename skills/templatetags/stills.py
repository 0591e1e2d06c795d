"""The reader of angles on a still picture, wherever an angle may be entered."""

from __future__ import annotations

from django import template

from skills.showing.stills import StillPanel, kind_for, still_panel

register = template.Library()


@register.inclusion_tag("skills/stills/_reader.html")
def still_reader(angle: str = "") -> dict[str, StillPanel]:
    """Show the reader, set to the kind of angle that a step's words mean."""
    return {"panel": still_panel(angle)}


@register.inclusion_tag("skills/stills/_dialog.html")
def still_dialog() -> dict[str, StillPanel]:
    """Show the reader in a dialog, which a button of `still_key` opens for its field."""
    return {"panel": still_panel()}


@register.inclusion_tag("skills/stills/_key.html")
def still_key(angle: str, field: str) -> dict[str, str]:
    """Show the button that reads a step's angle into the field with that id; hidden without script."""
    return {"kind": kind_for(angle), "field": field}
