"""How the account library behaves here: who may have an account, where it leads, what it mails."""

from __future__ import annotations

import logging
from smtplib import SMTPException
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.models import EmailAddress
from allauth.account.stages import EmailVerificationStage, LoginStageController
from allauth.core import context
from django.contrib import messages
from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme

from athletes.access.security_log import TOO_MANY, note_refused
from athletes.models import Account

logger = logging.getLogger(__name__)
_LIBRARYS_MAILS = ("account/", "mfa/")
_SIGN_IN_FIRST = (
    "Nothing was confirmed: sign in with that account in this browser first, then open the link of the mail again. "
    "If you never chose its password, choose one by “Forgotten”: that confirms the address as well."
)
_AGAIN_BY = {
    "reauthenticate": "Type your password",
    "mfa_reauthenticate": "Type a code of your app, or a recovery code",
    "mfa_reauthenticate:webauthn": "Use a passkey",
}


class AccountAdapter(DefaultAccountAdapter):  # type: ignore[misc]
    """Accounts are made by an owner or an invitation, so the sign-up page is shut."""

    error_messages = {
        **DefaultAccountAdapter.error_messages,
        "email_password_mismatch": "The e-mail address and the password do not fit together.",
        "too_many_login_attempts": "That was wrong too often. Nothing more is looked at for five minutes.",
        "rate_limited": "That was too often in a short time. Please wait some minutes.",
        "incorrect_password": "That is not your password.",
        "enter_current_password": "That is not your password of until now.",
        "duplicate_email": "This is your address already, or it waits to be confirmed.",
        "incorrect_code": "That is not the code.",
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:  # noqa: ARG002 (the library's signature)
        """Say no."""
        return False

    def validation_error(self, code: str, *args: Any) -> Any:  # noqa: ANN401 (the library's)
        """Return the sentence of a mistake; that somebody tried too often is noted, since its page is a usual one."""
        if code == "too_many_login_attempts":
            note_refused(TOO_MANY, context.request)
        return super().validation_error(code, *args)

    def is_safe_url(self, url: str | None) -> bool:
        """Whether a sign-in may lead there: to this host alone, and never from HTTPS to HTTP."""
        request = context.request
        return url_has_allowed_host_and_scheme(
            url, allowed_hosts={request.get_host()}, require_https=request.is_secure()
        )

    def get_reauthentication_methods(self, user: Account) -> list[dict[str, Any]]:
        """Return the ways to show that it is still oneself, the password first, in our words."""
        return [
            method | {"description": _AGAIN_BY[method["id"]]} for method in super().get_reauthentication_methods(user)
        ]

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Send a mail. One of the library's own follows an act that is done, so that it fails stops nothing.

        The page says the same whether it went out or not: it must not tell who has an account.
        """
        try:
            super().send_mail(template_prefix, email, context)
        except (OSError, SMTPException) as error:
            if not template_prefix.startswith(_LIBRARYS_MAILS):
                raise
            logger.error("A mail could not be sent: %s", type(error).__name__)  # noqa: TRY400 (a line without addresses)

    def send_confirmation_mail(self, request: HttpRequest, emailconfirmation: Any, signup: bool) -> None:  # noqa: ANN401, FBT001 (the library's signature)
        """Mail a link that shows an address to be one's own.

        Whoever asks for an address that is another account's sees the same page; its owner is told by mail.
        """
        address = emailconfirmation.email_address
        if is_taken(address):
            self.send_mail("account/email/address_taken", address.email, {})
        else:
            super().send_confirmation_mail(request, emailconfirmation, signup)

    def confirm_email(self, request: HttpRequest, email_address: EmailAddress) -> bool:
        """Take the address as shown; return whether it was, and not another account's meanwhile.

        Only for who knows the account's password: whoever reads the mail did not necessarily make the account, and
        must not vouch with one click for somebody who made it under their address.
        """
        if not _knows_password(request, email_address):
            messages.error(request, _SIGN_IN_FIRST)
            return False
        return not is_taken(email_address) and bool(super().confirm_email(request, email_address))


def _knows_password(request: HttpRequest, address: EmailAddress) -> bool:
    """Whether that account is signed in here, or waits at the sign-in for its address alone."""
    waiting = LoginStageController.enter(request, EmailVerificationStage.key)
    return address.user_id in {request.user.pk, waiting and waiting.login.user and waiting.login.user.pk}


def is_taken(address: EmailAddress) -> bool:
    """Whether another account has the address, or has asked for it and shown it to be theirs."""
    others = Account.objects.exclude(pk=address.user_id)
    return (
        others.filter(email__iexact=address.email).exists()
        or EmailAddress.objects.exclude(user=address.user_id).filter(email=address.email, verified=True).exists()
    )
