"""All addresses: the top floor."""

from allauth.account import views as account
from allauth.mfa.base import views as factor
from allauth.mfa.recovery_codes import views as recovery
from allauth.mfa.totp import views as app
from allauth.mfa.webauthn import views as passkey
from allauth.usersessions import views as sessions
from django.urls import include, path, re_path

from athletes.views.account import email_address, passkey_remove, sign_in_end

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
    path("address/", email_address, name="account_email"),
    path("address/sent/", account.email_verification_sent, name="account_email_verification_sent"),
    re_path(r"^address/confirm/(?P<key>[-:\w]+)/$", account.confirm_email, name="account_confirm_email"),
    path("sessions/", sessions.list_usersessions, name="usersessions_list"),
    path("sessions/<int:pk>/end/", sign_in_end, name="sign_in_end"),
]

# The second factor: an app for one-time codes, passkeys, recovery codes.
factor_patterns = [
    path("", factor.index, name="mfa_index"),
    path("code/", factor.authenticate, name="mfa_authenticate"),
    path("code/again/", factor.reauthenticate, name="mfa_reauthenticate"),
    path("app/add/", app.activate_totp, name="mfa_activate_totp"),
    path("app/remove/", app.deactivate_totp, name="mfa_deactivate_totp"),
    path("recovery-codes/", recovery.view_recovery_codes, name="mfa_view_recovery_codes"),
    path("recovery-codes/new/", recovery.generate_recovery_codes, name="mfa_generate_recovery_codes"),
    path("passkeys/", passkey.list_webauthn, name="mfa_list_webauthn"),
    path("passkeys/add/", passkey.add_webauthn, name="mfa_add_webauthn"),
    path("passkeys/sign-in/", passkey.login_webauthn, name="mfa_login_webauthn"),
    path("passkeys/again/", passkey.reauthenticate_webauthn, name="mfa_reauthenticate_webauthn"),
    path("passkeys/<int:pk>/rename/", passkey.edit_webauthn, name="mfa_edit_webauthn"),
    path("passkeys/<int:pk>/remove/", passkey_remove, name="mfa_remove_webauthn"),
]

handler400, handler500 = "gymtrack.lib.problems.bad_request", "gymtrack.lib.problems.server_error"

urlpatterns = [
    path("account/", include(account_patterns)),
    path("account/safety/", include(factor_patterns)),
    path("api/v1/", include("skills.api.urls")),
    path("", include("athletes.urls")),
    path("", include("skills.urls")),
]
