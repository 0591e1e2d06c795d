"""Joining a gym by an invitation: its code is exchanged for a page without it, where whoever holds it decides."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import Final, cast

from allauth.account.internal.flows.login import perform_password_login
from allauth.account.models import Login
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils.http import urlencode

from athletes.access.members import choose_member
from athletes.access.rates import spent, too_often
from athletes.access.rules import open_to_all
from athletes.access.security_log import note_refused
from athletes.core.refusal import Refusal
from athletes.forms.base import RefusableForm
from athletes.forms.invitations import AccountForm, AddressForm, CodeForm, PasswordForm
from athletes.models import Account, Invitation, Membership
from athletes.services.accounts import checked_address, is_taken
from athletes.services.invitation_mails import mail_way_on
from athletes.services.joining import (
    Offer,
    UnknownInvitation,
    join,
    join_anew,
    joined_by,
    offer_of_code,
    offer_of_letter,
    open_invitation,
)
from gymtrack.lib.http import SeeOther, redirect_to, render_page, see_other

_SESSION_KEY: Final = "joining"


@open_to_all
def join_page(request: HttpRequest) -> HttpResponseBase:
    """Ask for the code of an invitation."""
    form = CodeForm(request.POST or None)
    if form.is_valid():
        if limited := spent(request, "join_wrong"):
            return limited
        try:
            request.session[_SESSION_KEY] = offer_of_code(form.cleaned_data["code"])
        except UnknownInvitation as refusal:
            _note_wrong(request)
            form.refuse(refusal)
        else:
            return redirect_to("join_accept")
    return render_page(request, "athletes/join.html", {"form": form}, status=form.status)


@open_to_all
def join_code(request: HttpRequest, code: str) -> HttpResponseBase:
    """Exchange the code of a printed sheet, or the token of a mail, for a page without it in its address."""
    if limited := spent(request, "join_wrong"):
        return limited
    try:
        request.session[_SESSION_KEY] = offer_of_letter(code) if ":" in code else offer_of_code(code)
        answer = redirect_to("join_accept")
    except UnknownInvitation as refusal:
        _note_wrong(request)
        messages.error(request, str(refusal))
        answer = redirect_to("join")
    answer["Referrer-Policy"] = "no-referrer"
    return answer


def _note_wrong(request: HttpRequest) -> None:
    too_often(request, "join_wrong")
    note_refused("code of an invitation refused", request)


@open_to_all
def join_accept(request: HttpRequest) -> HttpResponseBase:
    """Show what the invitation in hand leads to; join with one's account, or with a new one."""
    offer = _offer(request)
    if offer is None:
        return redirect_to("join")
    if request.user.is_authenticated and (member := joined_by(offer, request.user)):
        return _home_as(request, member)
    try:
        invitation = open_invitation(offer)
    except UnknownInvitation as refusal:
        messages.error(request, str(refusal))
        return redirect_to("join")
    if request.user.is_authenticated:
        return _with_own_account(request, offer, invitation)
    if offer.address and is_taken(offer.address):
        return _page(request, invitation, None, offer.address)
    return _with_new_account(request, offer, invitation)


@open_to_all
def join_sent(request: HttpRequest) -> HttpResponseBase:
    """Say that a mail is on its way, whoever has the address."""
    return render_page(request, "athletes/join_sent.html")


def link_of(request: HttpRequest) -> Callable[[str], str]:
    """Return what makes the absolute address that opens a code or a token."""
    return lambda token: request.build_absolute_uri(reverse("join_code", args=[token]))


def _offer(request: HttpRequest) -> Offer | None:
    kept = request.session.get(_SESSION_KEY)
    return Offer(*kept) if kept else None


def _with_own_account(request: HttpRequest, offer: Offer, invitation: Invitation) -> HttpResponseBase:
    form = RefusableForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            return _home_as(request, join(offer=offer, account=_signed_in(request)))
        except Refusal as refusal:
            form.refuse(refusal)
    return _page(request, invitation, form)


def _with_new_account(request: HttpRequest, offer: Offer, invitation: Invitation) -> HttpResponseBase:
    """Ask for what is missing: a password where the address is known to be theirs, else the address first.

    Where no mail has to be waited for, both at once.
    """
    form = _form_class(offer)(request.POST or None)
    if form.is_valid():
        if limited := too_often(request, "join", key=offer.invitation):
            return limited
        told: dict[str, str] = form.cleaned_data
        try:
            if "password" not in told:
                return _mailed(request, invitation, told["email"])
            return _joined_anew(request, offer, invitation, told.get("email", offer.address), told["password"])
        except Refusal as refusal:
            form.refuse(refusal)
    return _page(request, invitation, form, offer.address)


def _form_class(offer: Offer) -> type[PasswordForm | AddressForm | AccountForm]:
    if offer.address:
        return PasswordForm
    return AddressForm if settings.ACCOUNT_EMAIL_VERIFICATION == "mandatory" else AccountForm


def _mailed(request: HttpRequest, invitation: Invitation, email: str) -> HttpResponseBase:
    """Mail the way on: the same for who has an account as for who has none, so that nobody learns which it is."""
    address = checked_address(email)
    if limited := too_often(request, "join_mail", key=address):
        return limited
    mail_way_on(invitation=invitation, address=address, link_of=link_of(request))
    return redirect_to("join_sent")


def _joined_anew(
    request: HttpRequest, offer: Offer, invitation: Invitation, email: str, password: str
) -> HttpResponseBase:
    member = join_anew(offer=offer, email=email, password=password)
    if member and offer.address:
        choose_member(request, member)
        return _signed_in_as(request, member.account, password)
    if member is None and not too_often(request, "join_mail", key=email.lower()):
        mail_way_on(invitation=invitation, address=checked_address(email), link_of=link_of(request))
    # The same answer whoever has the address: with the new password, or with the one from before.
    messages.info(request, "Sign in to go on: with the password that you chose, or your own if you had an account.")
    return see_other(_sign_in_address())


def _signed_in_as(request: HttpRequest, account: Account, password: str) -> HttpResponseBase:
    credentials = {"email": account.email, "password": password}
    answer: HttpResponseBase = perform_password_login(
        request, credentials, Login(user=account, redirect_url=reverse("home"))
    )
    return answer


def _sign_in_address() -> str:
    return f"{reverse('account_login')}?{urlencode({'next': reverse('join_accept')})}"


def _home_as(request: HttpRequest, member: Membership) -> SeeOther:
    choose_member(request, member)
    return redirect_to("home")


def _signed_in(request: HttpRequest) -> Account:
    return cast("Account", request.user)


def _page(
    request: HttpRequest, invitation: Invitation, form: RefusableForm | None, address: str = ""
) -> HttpResponseBase:
    """Show the page. Without a form there is nothing to do but to sign in."""
    context = {
        "invitation": invitation,
        "form": form,
        "address": address,
        "send": _send_words(request, invitation, form),
        "sign_in_and_back": _sign_in_address(),
    }
    return render_page(request, "athletes/join_accept.html", context, status=form.status if form else HTTPStatus.OK)


def _send_words(request: HttpRequest, invitation: Invitation, form: RefusableForm | None) -> str:
    if request.user.is_authenticated:
        return f"Join {invitation.gym.name} as {invitation.role}, with the account {_signed_in(request).email}"
    return "Send me the way on" if isinstance(form, AddressForm) else "Join with a new account"
