"""A gym's settings."""

from __future__ import annotations

from functools import cache

from django import forms

from athletes.core.roster import NAME_LENGTH
from athletes.core.zones import zone_names
from athletes.forms.base import RefusableForm
from athletes.models import Gym

Zones = list[tuple[str, list[tuple[str, str]]]]


@cache
def time_zone_choices() -> Zones:
    """Return the IANA time zones, in groups by continent or ocean."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for name in sorted(zone_names()):
        region, _, city = name.partition("/")
        label = city.replace("_", " ").replace("/", ", ") or region
        groups.setdefault(region if city else "Other", []).append((name, label))
    return [("", [("", "Choose one")]), *groups.items()]


class _KeptNumber(forms.IntegerField):
    """A number that the gym has in any case: left empty, it stays."""

    unsaid = "left empty, it stays as it is"

    def __init__(self, label: str, help_text: str) -> None:
        super().__init__(required=False, label=label, help_text=help_text)


class GymForm(RefusableForm):
    """Name, time zone, units, and whether consents are asked for."""

    name = forms.CharField(label="Name of the gym", max_length=NAME_LENGTH)
    time_zone = forms.ChoiceField(
        choices=time_zone_choices, help_text="Decides where a day and a month begin.", label="Time zone"
    )
    units = forms.ChoiceField(choices=Gym.Units.choices, initial=Gym.Units.METRIC, label="Units on pages")
    asks_consent = forms.BooleanField(
        required=False,
        label="Ask for consents",
        help_text=(
            "Without consent nobody goes upside down or is spotted: these steps are stopped on every board and tablet, "
            "and nobody is passed there."
        ),
    )
    staff_need_second_factor = forms.BooleanField(
        required=False,
        label="Ask the staff for a second factor",
        help_text=(
            "Owners and coaches then sign in with a passkey, or a code from an app beside the password; who has none "
            "gets to nothing here but the page where it is set up. The floor tablets go on with the coaches' codes, "
            "and so do keys for programs."
        ),
    )
    own_data_age_years = _KeptNumber(
        label="Age from which minors decide about their own data",
        help_text="A link or log-in, their name on the board and in reports; until then a guardian decides. 13 to 18.",
    )
    keep_months_after_leaving = _KeptNumber(
        label="Months to keep what is known about somebody after they left",
        help_text="Then they are erased; what was trained, by whom and signed off stays without the name. 1 to 120.",
    )
    keep_pain_notes_days = _KeptNumber(
        label="Days to keep notes on pain",
        help_text="Notes on attempts that hurt, and on cautions since they ended. 7 to 730.",
    )
