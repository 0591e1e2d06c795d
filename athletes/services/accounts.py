"""Accounts: one for each person who signs in, whatever number of gyms they belong to."""

from __future__ import annotations

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from athletes.core.refusal import Refusal
from athletes.core.roster import email_problem
from athletes.models import Account, Gym, Membership, Person


class BadEmail(Refusal):
    """The address cannot be one."""

    field = "email"


class WeakPassword(Refusal):
    """The password breaks the rules for passwords."""

    field = "password"


def draft_account(*, email: str, password: str) -> Account:
    """Return an account with that address and password, not stored yet.

    Hashing is slow on purpose, so it is done here, before a transaction holds everybody else up.
    Raises BadEmail, WeakPassword.
    """
    address = email.strip().lower()
    if problem := email_problem(address):
        raise BadEmail(problem)
    draft = Account(email=address)
    _check_password(password, draft)
    draft.set_password(password)
    return draft


def stored_account(draft: Account) -> Account:
    """Return the account with the draft's address, made of the draft where there is none.

    An account that exists keeps its password: it may be another gym's too. The caller cannot tell the two
    apart, so nobody learns here who has an account elsewhere.
    """
    found, _ = Account.objects.get_or_create(email=draft.email, defaults={"id": draft.id, "password": draft.password})
    return found


def person_of(*, gym: Gym, account: Account, full_name: str) -> Person:
    """Return the person that the account is in this gym, whatever the role; made where there is none."""
    member = Membership.objects.filter(gym=gym, account=account).select_related("person").first()
    if member:
        return member.person
    return Person.objects.create(gym=gym, full_name=full_name, email=account.email)


def _check_password(password: str, account: Account) -> None:
    try:
        validate_password(password, account)
    except ValidationError as error:
        raise WeakPassword(" ".join(error.messages)) from error
