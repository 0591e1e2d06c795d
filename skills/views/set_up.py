"""The founding page: open only as long as there is no gym."""

from __future__ import annotations

from typing import TYPE_CHECKING

from allauth.account.internal.flows.login import perform_password_login
from allauth.account.models import Login
from django.contrib import messages
from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters

from athletes.access.rules import open_to_all
from athletes.core.refusal import Refusal
from gymtrack.lib.http import kept_nowhere, redirect_to, render_page
from skills.forms.set_up import SetUpForm
from skills.queries.founding import is_founded
from skills.services.founding import AlreadyFounded, found_first_gym

if TYPE_CHECKING:
    from athletes.models import Account

NEXT = "Your gym stands, with its skills. Next: add your athletes here, add coaches under Gym, then open Today."


@open_to_all
@sensitive_post_parameters("password", "password_again")
def set_up(request: HttpRequest) -> HttpResponseBase:
    """Found the first gym and sign its owner in."""
    if is_founded():
        return redirect_to("home")
    form = SetUpForm(request.POST or None)
    if form.is_valid():
        try:
            owner = found_first_gym(**form.cleaned_data)
        except AlreadyFounded as refusal:
            messages.warning(request, str(refusal))
            return redirect_to("home")
        except Refusal as refusal:
            form.refuse(refusal)
        else:
            return _welcome(request, owner.account, form.cleaned_data["password"])
    return render_page(request, "skills/set_up/set_up.html", {"form": form}, status=form.status)


def _welcome(request: HttpRequest, account: Account, password: str) -> HttpResponseBase:
    """Sign the owner in and say what comes next. An account that was there before keeps its own password.

    A link to confirm the address is mailed; where that is a must, the owner is in once it was opened.
    """
    if not account.check_password(password):
        messages.success(request, "Your gym stands. Sign in with the password that you already have.")
        return redirect_to("account_login")
    messages.success(request, NEXT)
    first = Login(user=account, email=account.email, signup=True, redirect_url=reverse("roster"))
    answer: HttpResponseBase = perform_password_login(request, {"email": account.email}, first)
    return kept_nowhere(answer)
