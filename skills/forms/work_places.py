"""Writing down a station."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms

from athletes.forms.base import RefusableForm
from gymtrack.lib.ids import new_id
from skills.models import Bar, Step, WorkPlace
from skills.services.work_places import NAME_LENGTH, SPOT_LENGTH, PlaceEntry, PlaceProblem


class WorkPlaceForm(RefusableForm):
    """A station of the gym. `bars` are those in use; `steps` all of the gym's, of which it may serve only some."""

    name = forms.CharField(
        max_length=NAME_LENGTH,
        label="Name",
        help_text="As it is called in your gym.",
        widget=forms.TextInput({"autocomplete": "off"}),
    )
    kind = forms.ChoiceField(choices=Step.Station.choices, label="Kind")
    capacity = forms.IntegerField(
        label="How many can work there at a time",
        widget=forms.NumberInput({"inputmode": "numeric", "autocomplete": "off"}),
    )
    bar = forms.ChoiceField(
        required=False,
        label="Which bar of the list",
        help_text="A low bar in holes is set to people’s height when a class is planned.",
    )
    spot_from = forms.CharField(
        required=False,
        max_length=SPOT_LENGTH,
        label="Where a spotter stands",
        help_text="Like: on a box at the side, left of the bar.",
        widget=forms.TextInput({"autocomplete": "off"}),
    )
    steps = forms.MultipleChoiceField(
        required=False,
        label="Only these steps",
        help_text="Tick none for all steps of its kind.",
        widget=forms.CheckboxSelectMultiple,
    )
    id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        bars: Sequence[Bar],
        steps: Sequence[Step],
        place: WorkPlace | None = None,
    ) -> None:
        super().__init__(data, initial=_stored(place) if place else None)
        self._bars, self._steps = {str(bar.id): bar for bar in bars}, {str(step.id): step for step in steps}
        self.fields["bar"].choices = [("", "none"), *((str(bar.id), bar.name) for bar in bars)]  # type: ignore[attr-defined]
        self.fields["steps"].choices = _by_kind(steps)  # type: ignore[attr-defined]

    @property
    def entry(self) -> PlaceEntry:
        """What a good form says."""
        said = self.cleaned_data
        return PlaceEntry(
            name=" ".join(said["name"].split()),
            kind=said["kind"],
            capacity=said["capacity"],
            bar=self._bars.get(said["bar"]),
            spot_from=" ".join(said["spot_from"].split()),
            steps=[self._steps[key] for key in said["steps"]],
        )

    def refuse_all(self, problems: Iterable[PlaceProblem]) -> None:
        """Put the service's sentences beside the fields that they are about."""
        for problem in problems:
            self.add_error(problem.field, problem.sentence)


def _by_kind(steps: Sequence[Step]) -> list[tuple[str, list[tuple[str, str]]]]:
    return [
        (str(label), found)
        for kind, label in Step.Station.choices
        if (found := [(str(step.id), f"{step.label} {step.name}") for step in steps if step.station == kind])
    ]


def _stored(place: WorkPlace) -> dict[str, Any]:
    return {
        "name": place.name,
        "kind": place.kind,
        "capacity": place.capacity,
        "bar": str(place.bar_id or ""),
        "spot_from": place.spot_from,
        "steps": [str(link.step_id) for link in place.served.all()],
    }
