"""How the account library behaves here: nobody signs up by themselves."""

from __future__ import annotations

from allauth.account.adapter import DefaultAccountAdapter
from django.http import HttpRequest


class AccountAdapter(DefaultAccountAdapter):  # type: ignore[misc]
    """Accounts are made by an owner, so the sign-up page is shut."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:  # noqa: ARG002 (the library's signature)
        """Say no."""
        return False
