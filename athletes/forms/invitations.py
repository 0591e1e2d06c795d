"""Who is invited, and how somebody joins by an invitation."""

from __future__ import annotations

from typing import Any

from django import forms

from athletes.core.roster import EMAIL_LENGTH, NAME_LENGTH
from athletes.forms.base import RefusableForm
from athletes.forms.people import RightsForm
from athletes.models import Membership

Role = Membership.Role
CODE_SIGNS = 30  # the code with whatever is put between its groups


def _name_field() -> forms.CharField:
    return forms.CharField(label="Name", max_length=NAME_LENGTH, widget=forms.TextInput(attrs={"autocomplete": "off"}))


def _their_address_field() -> forms.CharField:
    return forms.CharField(
        label="E-mail address",
        required=False,
        max_length=EMAIL_LENGTH,
        help_text="The invitation is sent there. Without one you print it or read the code out.",
        widget=forms.EmailInput(attrs={"autocomplete": "off"}),
    )


def _own_address_field() -> forms.CharField:
    return forms.CharField(
        label="Your e-mail address", max_length=EMAIL_LENGTH, widget=forms.EmailInput(attrs={"autocomplete": "email"})
    )


def _password_field() -> forms.CharField:
    return forms.CharField(
        label="Password",
        strip=False,
        help_text="One of your own, of at least ten characters. Nobody at the gym gets to know it.",
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )


class StaffInvitationForm(RightsForm):
    """A coach's or an owner's name, address, role and rights, as `invite_staff` asks for."""

    full_name = _name_field()
    email = _their_address_field()
    role = forms.ChoiceField(
        label="Role",
        choices=(
            (Role.COACH, "coach, who may do what is ticked below"),
            (Role.OWNER, "owner, who may do everything in this gym"),
        ),
        widget=forms.RadioSelect,
        initial=Role.COACH,
    )
    field_order = ("full_name", "email", "role", "rights", "scope", "sign_off_skills")

    def __init__(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (Django's signature)
        super().__init__(*args, **kwargs)
        self.fields["rights"].label = "A coach may"

    @property
    def wish(self) -> dict[str, Any]:
        """Return what a valid form says, by the names of `invite_staff`."""
        told = {name: self.cleaned_data[name] for name in ("full_name", "email", "role", "rights")}
        return {**told, "sign_off_skills": self.sign_off_skills_given}


class AthleteInvitationForm(RefusableForm):
    """The address of an athlete, as `invite_athlete` asks for."""

    email = _their_address_field()


class GuardianInvitationForm(RefusableForm):
    """A guardian's name and address, as `invite_guardian` asks for."""

    full_name = _name_field()
    email = _their_address_field()


class CodeForm(RefusableForm):
    """The code of an invitation."""

    code = forms.CharField(
        label="Code",
        max_length=CODE_SIGNS,
        help_text="Twelve letters and digits, like ABCD-EFGH-JKMN.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )


class PasswordForm(RefusableForm):
    """The password of a new account, whose address is known to be the person's own."""

    password = _password_field()


class AddressForm(RefusableForm):
    """An address, to which the way on is mailed."""

    email = _own_address_field()


class AccountForm(PasswordForm):
    """Address and password of a new account, where no mail can be waited for."""

    email = _own_address_field()
    field_order = ("email", "password")
