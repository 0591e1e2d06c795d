"""`manage.py reset_second_factor`: for an owner who has lost phone, key and recovery codes."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from athletes.core.refusal import Refusal
from athletes.queries.accounts import account_of
from athletes.services.second_factors import reset_second_factor_by_hand


class Command(BaseCommand):
    help = "Take the second factor of an account away: its owner then signs in with the password and sets up a new one."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("email", help="the address that the account signs in with")

    def handle(self, *, email: str, **_options: Any) -> None:  # noqa: ANN401 (Django's signature)
        account = account_of(email)
        if account is None:
            raise CommandError("No account signs in with that address.")
        try:
            reset_second_factor_by_hand(account=account)
        except Refusal as refusal:
            raise CommandError(str(refusal)) from refusal
        self.stdout.write("Done: passkeys, app and recovery codes are gone, every sign-in has ended, a mail is out.")
