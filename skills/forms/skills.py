"""A skill's heading, and a skill file to bring in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.text import capfirst, slugify

from athletes.forms.base import RefusableForm
from skills.forms.steps import TypedField
from skills.library.documents import MOST_BYTES
from skills.library.reading import read_heading
from skills.library.texts import MOST_CODE, FileProblem, LibraryError, SkillText


class SkillForm(RefusableForm):
    """The name of a skill, what it is for, its place in the list; with `slug`, of one that is there."""

    name = TypedField(label="Name")
    purpose = TypedField(label="What it is for", widget=forms.Textarea({"rows": 3}))
    skill = TypedField(
        required=False,
        label="Code",
        help_text="Small letters, digits and hyphens; it stands in addresses and files and never changes. "
        "Left empty, it is made of the name.",
    )
    place = forms.TypedChoiceField(coerce=int, label="Stands in the list")

    def __init__(self, data: Mapping[str, Any] | None, *, known: Mapping[str, SkillText], slug: str = "") -> None:
        others = [skill.name for code, skill in known.items() if code != slug]
        own = known.get(slug)
        initial: dict[str, object] = {"place": [*known].index(slug) if own else len(others)}
        initial |= {"name": own.name, "purpose": own.purpose} if own else {}
        super().__init__(data, initial=initial, auto_id="skill_%s", use_required_attribute=False)
        self._slug = slug
        places = [(0, "first"), *((number, f"after {name}") for number, name in enumerate(others, 1))]
        self.fields["place"].choices = places  # type: ignore[attr-defined]
        if own:
            del self.fields["skill"]

    def read(self) -> SkillText | None:
        """Return the heading of a form without mistakes, None with every problem beside its field."""
        if not self.is_valid():
            return None
        typed = self.cleaned_data
        code = self._slug or typed["skill"].strip() or slugify(typed["name"])[:MOST_CODE].strip("-_").replace("_", "-")
        try:
            return read_heading({"skill": code or "skill", "name": typed["name"], "purpose": typed["purpose"]})
        except LibraryError as error:
            self.put(error.found)
            return None

    def put(self, found: tuple[FileProblem, ...]) -> None:
        """Put problems beside the fields that they are about."""
        for problem in found:
            self.add_error(problem.path if problem.path in self.fields else None, capfirst(problem.sentence))


class SkillFileForm(RefusableForm):
    """A file or a text; the file wins."""

    file = forms.FileField(
        label="YAML file",
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".yaml,.yml,application/yaml"}),
    )
    text = TypedField(
        label="Or its text", required=False, widget=forms.Textarea(attrs={"rows": 12, "spellcheck": "false"})
    )

    def content(self) -> str | None:
        """Return the text, None with a sentence where there is none that can be read."""
        if not self.is_valid():
            return None
        file = self.cleaned_data["file"]
        if file is None and not self.cleaned_data["text"].strip():
            self.add_error("file", "Choose a file, or paste its text.")
            return None
        if file is None:
            return str(self.cleaned_data["text"])
        if file.size > MOST_BYTES:
            self.add_error("file", f"The file is larger than {MOST_BYTES // 1000} kB.")
            return None
        try:
            return bytes(file.read()).decode("utf-8-sig")
        except UnicodeDecodeError as error:
            self.add_error("file", f"The file is not in UTF-8: byte {error.start + 1} belongs to no character.")
            return None
