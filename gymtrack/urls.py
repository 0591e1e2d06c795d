"""All addresses: the top floor."""

from allauth.account import views as account
from django.urls import include, path, re_path

# The account library's pages that we use, one by one: whoever adds a page adds it knowingly.
account_patterns = [
    path("sign-in/", account.login, name="account_login"),
    path("sign-out/", account.logout, name="account_logout"),
    path("sign-up/", account.signup, name="account_signup"),
    path("inactive/", account.account_inactive, name="account_inactive"),
    path("confirm/", account.reauthenticate, name="account_reauthenticate"),
    path("password/", account.password_change, name="account_change_password"),
    path("password/first/", account.password_set, name="account_set_password"),
    path("password/forgotten/", account.password_reset, name="account_reset_password"),
    path("password/forgotten/sent/", account.password_reset_done, name="account_reset_password_done"),
    re_path(
        r"^password/new/(?P<uidb36>[0-9A-Za-z]+)-(?P<key>[^/]+)/$",
        account.password_reset_from_key,
        name="account_reset_password_from_key",
    ),
    path(
        "password/new/done/",
        account.password_reset_from_key_done,
        name="account_reset_password_from_key_done",
    ),
]

urlpatterns = [
    path("account/", include(account_patterns)),
    path("api/v1/", include("skills.api.urls")),
    path("", include("athletes.urls")),
    path("", include("skills.urls")),
]
