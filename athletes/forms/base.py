"""What our forms share: a service's refusal stands beside the field, and what was typed stays."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms

from athletes.core.refusal import Refusal


class RefusableForm(forms.Form):
    """A form that can take the answer no from a service, and that names what is missing."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (Django's signature)
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.error_messages["required"] = f"{field.label} is missing."

    def refuse(self, refusal: Refusal) -> None:
        """Put a service's sentence beside the field that it is about, or above the form."""
        field = self.field_of(refusal)
        self.add_error(field if field in self.fields else None, str(refusal))

    def field_of(self, refusal: Refusal) -> str:
        """Return the field that a refusal is about, by the name that it has here."""
        return refusal.field

    @property
    def status(self) -> HTTPStatus:
        """422 for a form with mistakes, 200 for one that is empty or good."""
        return HTTPStatus.UNPROCESSABLE_ENTITY if self.errors else HTTPStatus.OK
