"""What is kept so that people can sign in."""

from __future__ import annotations

from typing import Final

from athletes.core.kept.line import COUNT, Erasing, Kept

LOG_INS: Final = {
    "athletes.Account": Kept(
        "E-mail address and a digest of the password",
        "everybody with a log-in",
        "to sign in",
        "as long as they belong to a gym; with the last one it goes",
        Erasing.EMPTY,
        of=("memberships__person",),
        empties=("email", "password"),
    ),
    "account.EmailAddress": Kept(
        "Whether an e-mail address was confirmed",
        "everybody with a log-in",
        "to know that the address is theirs",
        "as long as the log-in",
        Erasing.DELETE,
        of=("user__memberships__person",),
        empties=("email",),
    ),
    "account.EmailConfirmation": Kept(
        "Confirmations of an address that are on their way",
        "everybody with a log-in",
        "to know that the address is theirs",
        "a few days",
        Erasing.DELETE,
        of=("email_address__user__memberships__person",),
        codes=("key",),
    ),
    "mfa.Authenticator": Kept(
        "Second factors: passkeys, one-time codes, recovery codes",
        "who has set one up",
        "to sign in safely",
        "as long as the log-in, or until it is removed",
        Erasing.DELETE,
        of=("user__memberships__person",),
        empties=("data",),
        codes=("type",),
    ),
    "usersessions.UserSession": Kept(
        "Where somebody is signed in: network address, browser, last seen",
        "everybody with a log-in",
        "so that they can end it elsewhere",
        "until the session ends",
        Erasing.DELETE,
        of=("user__memberships__person",),
        empties=("ip", "user_agent", "data"),
        codes=("session_key",),
    ),
    "sessions.Session": Kept(
        "That a browser is signed in, and what the next page is to say",
        "everybody with a log-in",
        "to stay signed in",
        "until it is ended or runs out",
        Erasing.DELETE,
        empties=("session_data",),
        codes=("session_key",),
    ),
}


# Tables without a model, by their names.
BARE_TABLES: Final = {
    "gymtrack_cache": Kept(
        "Counts of failed log-ins and of requests, against guessing",
        "who signs in",
        "so that nobody guesses a password",
        "minutes to a day",
        Erasing.DELETE,
    ),
    "django_migrations": Kept("Which changes of the tables were made", "nobody", "to upgrade", COUNT, Erasing.NONE),
}
