"""What a coach may do. And a name for a key."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms

from athletes.core.rights import RIGHTS
from athletes.forms.base import RefusableForm
from athletes.models import Membership

RIGHT_WORDS = (
    ("may_log", "log attempts"),
    ("may_sign_off", "sign off steps and give clearance"),
    ("may_edit_skills", "edit skills"),
    ("may_read_reports", "read the month's report"),
)


class RightsForm(RefusableForm):
    """A coach's rights, and for which of the gym's skills (names by slug) the one to sign off holds."""

    rights = forms.MultipleChoiceField(
        choices=RIGHT_WORDS, required=False, label="May", widget=forms.CheckboxSelectMultiple
    )
    scope = forms.ChoiceField(
        label="Sign off",
        choices=(("every", "every skill"), ("chosen", "only the skills chosen below")),
        widget=forms.RadioSelect,
        initial="every",
    )
    sign_off_skills = forms.MultipleChoiceField(
        label="Skills to sign off",
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text="They count with the right to sign off, and with “only the skills chosen below”.",
    )

    def __init__(self, *args: Any, skills: Mapping[str, str], **kwargs: Any) -> None:  # noqa: ANN401 (Django's)
        super().__init__(*args, **kwargs)
        self.fields["sign_off_skills"].choices = [*skills.items()]  # type: ignore[attr-defined]
        self.fields["sign_off_skills"].error_messages["invalid_choice"] = "This gym teaches no skill “%(value)s”."
        self.fields["scope"].error_messages["required"] = "Choose every skill, or only the skills chosen below."
        if not skills:
            del self.fields["scope"], self.fields["sign_off_skills"]

    @staticmethod
    def stored(coach: Membership) -> dict[str, object]:
        """Return what the form begins with: the rights that a coach holds."""
        return {
            "rights": [right for right in RIGHTS if getattr(coach, right)],
            "scope": "every" if coach.sign_off_skills is None else "chosen",
            "sign_off_skills": coach.sign_off_skills or [],
        }

    def clean_rights(self) -> frozenset[str]:
        """Return a set of rights."""
        return frozenset(self.cleaned_data["rights"])

    @property
    def sign_off_skills_given(self) -> list[str] | None:
        """What a valid form says of the skills to sign off: their slugs, None for every skill."""
        return self.cleaned_data["sign_off_skills"] if self.cleaned_data.get("scope") == "chosen" else None


class KeyForm(RefusableForm):
    """The name of a key."""

    name = forms.CharField(
        label="Name of the new key",
        max_length=60,
        help_text="What it is for, so that you know it again.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


def held_words(member: Membership, skills: Mapping[str, str]) -> list[str]:
    """Return what a coach may do, in words; the skills of the right to sign off by name, where they are not all."""
    words = dict(RIGHT_WORDS)
    if member.sign_off_skills is not None:
        names = [name for slug, name in skills.items() if slug in member.sign_off_skills]
        words["may_sign_off"] += f" ({', '.join(names)} only)"
    return [words[right] for right in RIGHTS if getattr(member, right)]
