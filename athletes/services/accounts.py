"""Accounts: one for each person who signs in, whatever number of gyms they belong to."""

from __future__ import annotations

from allauth.account.models import EmailAddress
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from athletes.core.refusal import Refusal
from athletes.core.roster import email_problem
from athletes.models import Account


class BadEmail(Refusal):
    """The address cannot be one."""

    field = "email"


class WeakPassword(Refusal):
    """The password breaks the rules for passwords."""

    field = "password"


def checked_address(email: str) -> str:
    """Return an address in lower case, without blanks around it. Raises BadEmail."""
    address = email.strip().lower()
    if problem := email_problem(address):
        raise BadEmail(problem)
    return address


def draft_account(*, email: str, password: str, gym_name: str = "") -> Account:
    """Return an account with that address and password, not stored yet; `gym_name` is of the gym that it is for.

    Hashing is slow on purpose, so it is done here, before a transaction holds everybody else up.
    Raises BadEmail, WeakPassword.
    """
    draft = Account(email=checked_address(email))
    draft.near_words = (gym_name,)
    _check_password(password, draft)
    draft.set_password(password)
    return draft


def stored_account(draft: Account) -> Account:
    """Return the account with the draft's address, made of the draft where there is none.

    An account that exists keeps its password: it may be another gym's too.
    """
    found, _ = Account.objects.get_or_create(email=draft.email, defaults={"id": draft.id, "password": draft.password})
    return found


def is_taken(email: str) -> bool:
    """Whether somebody signs in with that address, or has shown it to be theirs."""
    shown = EmailAddress.objects.filter(email__iexact=email, verified=True)
    return Account.objects.filter(email__iexact=email).exists() or shown.exists()


def _check_password(password: str, account: Account) -> None:
    try:
        validate_password(password, account)
    except ValidationError as error:
        raise WeakPassword(" ".join(error.messages)) from error
