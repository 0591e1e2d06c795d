"""A roster to import: a file, or its text; then what the file would do, and who its doubtful lines are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from athletes.core.refusal import Refusal
from athletes.core.roster_file import MOST_BYTES
from athletes.core.roster_plan import Choice, DoubtfulLine, RosterPlan
from athletes.forms.base import RefusableForm
from athletes.services.roster_import import LineRefused
from athletes.wording import choice_words, line_words, resemblance_words
from gymtrack.lib.packing import packed, unpacked

# More than this does not go back onto the page to be mended there.
MENDABLE_BYTES = 200_000
# What comes back with a preview has to fit a form: DATA_UPLOAD_MAX_MEMORY_SIZE less the other fields.
MOST_PACKED = 11 * 1024 * 1024
# So many lines are decided at a time; the others stay out, and the same file brings them again.
MOST_DOUBTFUL = 300


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
    def to_mend(cls, content: bytes) -> RosterFileForm:
        """Return a form that holds the text of a file, where it is short enough to mend here."""
        text = content.decode("utf-8-sig", errors="replace") if len(content) <= MENDABLE_BYTES else ""
        return cls(initial={"text": text.replace("\0", "�")})


class PreviewForm(RefusableForm):
    """Who each doubtful line is; nothing is chosen beforehand."""

    def __init__(self, plan: RosterPlan, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data)
        self._doubtful, self._others = plan.doubtful[:MOST_DOUBTFUL], plan.doubtful[MOST_DOUBTFUL:]
        for doubt in self._doubtful:
            field = forms.ChoiceField(
                label=line_words(doubt.line),
                choices=[*_choices(doubt)],
                widget=forms.RadioSelect,
                help_text="; ".join(resemblance_words(doubt.line, each) for each in doubt.resembles),
            )
            field.error_messages |= dict.fromkeys(
                ("required", "invalid_choice"), f"Choose who line {doubt.line.line} is."
            )
            self.fields[line_field(doubt.line.line)] = field

    def choices(self) -> dict[int, Choice]:
        """Return what a valid form says, by line; lines beyond MOST_DOUBTFUL are left for another time."""
        said = {each.line.line: _choice(self.cleaned_data[line_field(each.line.line)]) for each in self._doubtful}
        return said | {each.line.line: Choice("leave", each.resembles[0].who.number) for each in self._others}

    def field_of(self, refusal: Refusal) -> str:
        """Return the choice that a refusal is about."""
        return line_field(refusal.line) if isinstance(refusal, LineRefused) else super().field_of(refusal)

    @property
    def more(self) -> int:
        """How many doubtful lines are left for another time."""
        return len(self._others)


def line_field(line: int) -> str:
    """Return the name of the choice about a line."""
    return f"line-{line}"


def seen_fields(content: bytes, plan: RosterPlan) -> dict[str, str]:
    """Return what travels with a preview: the file itself, and the digest of what was shown."""
    return {"packed": packed(content), "seen": plan.digest}


def seen_content(posted: Mapping[str, str]) -> bytes | None:
    """Return the bytes of the file that was shown, None where they did not come back whole."""
    return unpacked(posted.get("packed", ""), most_bytes=MOST_BYTES)


def _choices(doubt: DoubtfulLine) -> list[tuple[str, str]]:
    found = []
    for each in doubt.resembles:
        found.append((f"leave:{each.who.number}", choice_words("leave", doubt.line, each.who)))
        if each.who.number:
            found.append((f"take:{each.who.number}", choice_words("take", doubt.line, each.who)))
    return [*dict(found).items(), ("add", "somebody else: add")]


def _choice(value: str) -> Choice:
    what, _, number = value.partition(":")
    match what:
        case "leave":
            return Choice("leave", int(number))
        case "take":
            return Choice("take", int(number))
        case _:
            return Choice("add")
