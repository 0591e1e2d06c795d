"""A coach's decision at a gate."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from django import forms

from gymtrack.lib.ids import new_id
from skills.core.entries import Mistake
from skills.models import SignOff
from skills.services.sign_offs import Decision

_WORDS = {
    SignOff.Gate.ENTRANCE: {"passed": "May try it", "not_yet": "Not yet", "revoked": "May no longer try it"},
    SignOff.Gate.FINISH: {"passed": "Has it", "not_yet": "Not yet", "revoked": "Taken back: no longer has it"},
}
_CLEARANCES = (
    ("spotted", "spotted: hands on or at arm's length"),
    ("present", "coach present: in the room, watching"),
    ("alone", "alone"),
)


class SignOffForm(forms.Form):
    """The decision, under what supervision from now on, and why. Nothing is chosen beforehand."""

    decision = forms.ChoiceField(widget=forms.RadioSelect, label="Decision")
    clearance = forms.ChoiceField(
        choices=_CLEARANCES,
        required=False,
        widget=forms.RadioSelect,
        label="From now on",
        help_text="Only with a pass, and then needed.",
    )
    reason = forms.CharField(
        required=False,
        max_length=500,
        widget=forms.Textarea({"rows": 3}),
        label="Reason",
        help_text="Needed unless it is a pass. Kept with the decision; write nothing about health here.",
    )
    risk_notes_read = forms.BooleanField(
        required=False,
        label="I have read the risk notes of this step",
        help_text="Needed once, and again when they change, before a pass.",
    )
    next = forms.CharField(required=False, widget=forms.HiddenInput)
    id = forms.UUIDField(required=False, widget=forms.HiddenInput, initial=new_id)

    def __init__(
        self,
        gate: str,
        possible: Collection[str],
        data: Mapping[str, Any] | None = None,
        initial: dict[str, Any] | None = None,
        *,
        asks_reading: bool = False,
    ) -> None:
        super().__init__(data, initial=initial, auto_id="sign_%s")
        self._gate = SignOff.Gate(gate)
        if not asks_reading:
            del self.fields["risk_notes_read"]
        words = _WORDS[self._gate]
        self.fields["decision"].choices = [(code, words[code]) for code in possible]  # type: ignore[attr-defined]
        self.fields["decision"].error_messages |= {
            "required": "Choose a decision.",
            "invalid_choice": "This decision does not fit how the athlete stands now: see above what is missing.",
        }

    def as_decision(self) -> Decision:
        """Return what a valid form says, as the service takes it."""
        said = self.cleaned_data
        decision, form_id = SignOff.Decision(said["decision"]), said["id"] or new_id()
        read = bool(said.get("risk_notes_read"))
        return Decision(self._gate, decision, said["clearance"], said["reason"], form_id, risk_notes_read=read)

    def refuse(self, *mistakes: Mistake) -> None:
        """Put the service's sentences beside the fields that they are about."""
        for mistake in mistakes:
            self.add_error(mistake.field if mistake.field in self.fields else None, mistake.sentence)
