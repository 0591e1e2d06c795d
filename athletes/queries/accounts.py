"""Accounts by address."""

from __future__ import annotations

from athletes.models import Account


def account_of(email: str) -> Account | None:
    """Return the account that signs in with that address, whatever the case."""
    return Account.objects.filter(email__iexact=email.strip()).first()
