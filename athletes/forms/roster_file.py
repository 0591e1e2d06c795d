"""A roster to import: a file, or its text to paste or to mend."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from athletes.core.roster_file import MOST_BYTES
from athletes.forms.base import RefusableForm

# More than this does not go back onto the page to be mended there.
MENDABLE_BYTES = 200_000


class RosterFileForm(RefusableForm):
    """A file or a text; the file wins. `content` is its bytes."""

    file = forms.FileField(
        label="CSV file",
        required=False,
        allow_empty_file=True,
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv"}),
    )
    text = forms.CharField(
        label="Or its text",
        required=False,
        strip=False,
        widget=forms.Textarea(attrs={"rows": 8, "spellcheck": "false"}),
    )
    skip_bad = forms.BooleanField(label="Leave bad lines out and store the others", required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for one of the two."""
        cleaned = super().clean() or self.cleaned_data
        file = cleaned.get("file")
        if file is None and not (cleaned.get("text") or "").strip() and not self.errors:
            self.add_error("file", "Choose a file, or paste its text.")
        if file is not None and file.size > MOST_BYTES:
            self.add_error("file", f"The file has more than {MOST_BYTES // 1024 // 1024} MB.")
        return cleaned

    def content(self) -> bytes:
        """Return the bytes of the file, or of the text."""
        file: UploadedFile[bytes] | None = self.cleaned_data["file"]
        if file is None:
            return str(self.cleaned_data["text"]).encode()
        return bytes(file.read())

    @classmethod
    def to_mend(cls, content: bytes, *, skip_bad: bool) -> RosterFileForm:
        """Return a form that holds the text of a file with mistakes, where it is short enough to mend here."""
        text = content.decode("utf-8-sig", errors="replace") if len(content) <= MENDABLE_BYTES else ""
        return cls(initial={"text": text.replace("\0", "�"), "skip_bad": skip_bad})
