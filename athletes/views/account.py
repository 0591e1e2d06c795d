"""Pages of the account library that go further here than there: another address, the end of a passkey."""

from __future__ import annotations

from allauth.account.views import EmailView
from allauth.mfa.webauthn.views import remove_webauthn
from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.views.decorators.http import require_POST

from athletes.access.rules import signed_in
from athletes.access.second_factor import SecondFactorAdapter, is_needed_passkey
from athletes.access.session_limits import end_sign_in
from gymtrack.lib.http import kept_nowhere, redirect_to


class _AddressView(EmailView):  # type: ignore[misc]
    """The library's page, but an address becomes one's own by the link that is mailed to it and in no other way."""

    def _action_primary(self, request: HttpRequest, *_args: object, **_kwargs: object) -> None:
        """Do nothing: an address that waits would pass for one's own, even another account's."""


_address_view = _AddressView.as_view()


@signed_in
def email_address(request: HttpRequest) -> HttpResponseBase:
    """Show one's address, ask for another one, have the mail sent again, give up on it."""
    answer: HttpResponseBase = _address_view(request)
    return kept_nowhere(answer)


@require_POST
@signed_in
def sign_in_end(request: HttpRequest, pk: int) -> HttpResponseBase:
    """End one of one's own sign-ins, in whichever browser; one that has ended meanwhile is as well."""
    if request.user.is_authenticated:
        end_sign_in(request.user.pk, pk)
    messages.success(request, "That browser is signed out.")
    return redirect_to("usersessions_list")


@signed_in
def passkey_remove(request: HttpRequest, pk: int) -> HttpResponseBase:
    """Ask, then take a passkey away, unless it is the last factor of somebody whose gym asks for one."""
    if is_needed_passkey(request.user.pk, pk):
        messages.error(request, SecondFactorAdapter.error_messages["cannot_delete_authenticator"])
        return redirect_to("mfa_index")
    answer: HttpResponseBase = remove_webauthn(request, pk=pk)
    return kept_nowhere(answer)
