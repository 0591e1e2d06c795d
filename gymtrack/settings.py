"""All settings, in one file; the environment is read through `gymtrack.env`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from gymtrack import env
from gymtrack.lib.keys import kept_secret

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = env.folder("GYMTRACK_DATA", BASE_DIR / ".data")

DEBUG = env.flag("GYMTRACK_DEBUG")
SECRET_KEY = env.text("SECRET_KEY") or kept_secret(DATA_DIR / "secret_key")
# The audit chain's key lives outside the database, so that who can write there cannot forge the chain.
AUDIT_KEY = env.text("GYMTRACK_AUDIT_KEY") or kept_secret(DATA_DIR / "audit_key")
ALLOWED_HOSTS = env.words("GYMTRACK_HOSTS", "localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = env.words("GYMTRACK_ORIGINS")
HTTPS = env.flag("GYMTRACK_HTTPS")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "django_htmx",
    "template_partials.apps.SimpleAppConfig",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "allauth.usersessions",
    "rest_framework",
    "drf_spectacular",
    "athletes",
    "skills",
]

MIDDLEWARE = [
    "athletes.access.security_log.SecurityLogMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "gymtrack.lib.isolation.PlainApiMiddleware",
    "gymtrack.lib.isolation.IsolationMiddleware",
    "gymtrack.lib.compressing.FloorGZipMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "gymtrack.lib.methods.MethodsMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "athletes.access.session_limits.SessionLimitsMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "athletes.access.middleware.MemberMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "allauth.account.middleware.AccountMiddleware",
]

ROOT_URLCONF = "gymtrack.urls"
WSGI_APPLICATION = "gymtrack.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "OPTIONS": {
            # Named loaders instead of APP_DIRS, so that a template can be asked for as page.html#fragment.
            "loaders": [
                (
                    "template_partials.loader.Loader",
                    [
                        (
                            "django.template.loaders.cached.Loader",
                            [
                                "django.template.loaders.filesystem.Loader",
                                "django.template.loaders.app_directories.Loader",
                            ],
                        )
                    ],
                )
            ],
            "builtins": ["template_partials.templatetags.partials"],
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "athletes.access.context.member",
            ],
        },
    }
]


def _sqlite(config: dict[str, Any]) -> dict[str, Any]:
    """Full durability: nothing that was acknowledged may be lost, even when the power goes.

    A thread keeps its connection: opening the file, reading its schema and, at the last one's end, emptying
    the log took longer than a page that does nothing.
    """
    config["CONN_MAX_AGE"] = None
    config["OPTIONS"] = {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": (
            "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA recursive_triggers=ON; PRAGMA foreign_keys=ON;"
            # What is deleted is overwritten, so that an erased name is not found in the file either.
            "PRAGMA secure_delete=ON;"
        ),
    }
    return config


def _postgresql(config: dict[str, Any]) -> dict[str, Any]:
    """A pool in each process; Django's own persistent connections must then be off."""
    config["CONN_MAX_AGE"] = 0
    config["OPTIONS"] = {
        **config.get("OPTIONS", {}),
        "pool": {"min_size": 1, "max_size": 8, "timeout": 10},
        "server_side_binding": True,
    }
    return config


def _database() -> dict[str, Any]:
    url = env.text("DATABASE_URL") or f"sqlite:///{DATA_DIR / 'gym.sqlite3'}"
    config: dict[str, Any] = dict(dj_database_url.parse(url, disable_server_side_cursors=True))
    engines = {"django.db.backends.sqlite3": _sqlite, "django.db.backends.postgresql": _postgresql}
    if config.get("ENGINE") not in engines:
        message = "DATABASE_URL must begin with sqlite:/// or postgresql://."
        raise ImproperlyConfigured(message)
    return engines[config["ENGINE"]](config)


DATABASES = {"default": _database()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# The counts of failed log-ins must be shared by all processes, so they live in the database.
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.db.DatabaseCache",
        "LOCATION": "gymtrack_cache",
        # Django's 300 would let whoever tries many addresses push the counts of the others out.
        "OPTIONS": {"MAX_ENTRIES": 100_000},
    },
}

AUTH_USER_MODEL = "athletes.Account"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
# One rule for everybody, after OWASP ASVS 5.0 chapter 6.2: 10 to 128 characters of any kind, not one of the 20,000
# commonest or of a list of known leaks, not made of the gym's name, this product's or one's own address.
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "athletes.access.passwords.LengthLimit"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "athletes.access.passwords.NoNearWords"},
    {"NAME": "athletes.access.passwords.NotLeaked"},
]
# A sorted file of SHA-1 digests of leaked passwords, one a line, on this machine; none is asked for over the network.
BREACHED_PASSWORDS = env.text("GYMTRACK_BREACHED_PASSWORDS")
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "home"
ACCOUNT_ADAPTER = "athletes.access.adapter.AccountAdapter"
ACCOUNT_FORMS = {
    "login": "athletes.forms.account.SignInForm",
    "reset_password": "athletes.forms.account.ForgottenPasswordForm",
    "add_email": "athletes.forms.account.NewAddressForm",
    "change_password": "athletes.forms.account.ChangedPasswordForm",
    "set_password": "athletes.forms.account.FirstPasswordForm",
    "reset_password_from_key": "athletes.forms.account.NewPasswordForm",
    "reauthenticate": "athletes.forms.account.PasswordAgainForm",
}
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*", "password2*"]
# On a laptop mail goes to files, where nobody looks; over HTTPS an address must be shown to be one's own.
ACCOUNT_EMAIL_VERIFICATION = env.choice(
    "GYMTRACK_EMAIL_VERIFICATION", "mandatory" if HTTPS else "optional", "mandatory", "optional"
)
ACCOUNT_CHANGE_EMAIL = True
ACCOUNT_EMAIL_NOTIFICATIONS = True
ACCOUNT_REAUTHENTICATION_REQUIRED = True
ACCOUNT_SESSION_REMEMBER = False
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
ACCOUNT_PREVENT_ENUMERATION = True
# Tries per address (ip), per account (user) and per what was typed (key), counted in the cache.
ACCOUNT_RATE_LIMITS = {
    "login": "30/m/ip",
    "login_failed": "10/m/ip,5/5m/key",  # passwords and codes of a second factor
    "reset_password": "20/m/ip,5/m/key",
    "reset_password_from_key": "20/m/ip",
    "reauthenticate": "10/m/user",
    "change_password": "5/m/user",
    "manage_email": "10/m/user",
    "confirm_email": "1/3m/key",
    "invite": "60/h/user",
    "join_wrong": "20/m/ip,100/h/ip",  # codes that open nothing
    "join": "300/h/ip,20/h/key",  # a whole gym behind one address; by the invitation
    "join_mail": "5/h/key",  # by the address
    "link_wrong": "20/m/ip,100/h/ip",  # private links that open nothing
    "archive": "10/h/user",
}
# How long the code of an invitation holds.
INVITATION_DAYS = env.whole("GYMTRACK_INVITATION_DAYS", 14)
# How long a private link to an athlete's own page holds, unless it is taken back before.
PRIVATE_LINK_DAYS = env.whole("GYMTRACK_PRIVATE_LINK_DAYS", 90)

# ---- Second factor: passkeys, one-time codes, recovery codes ------------------------------------------------
MFA_ADAPTER = "athletes.access.second_factor.SecondFactorAdapter"
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_RECOVERY_CODES_SHOW_ONCE = True
# Clocks of phones are off by some seconds; a code is good for its own half minute and the one before and after.
MFA_TOTP_TOLERANCE = 1
# Nobody signs up here by themselves, and a password chosen anew by mail takes away what was set up before the address
# was shown (athletes/services/reclaiming.py): nobody can shut the owner of an address out by a factor of their own.
MFA_ALLOW_UNVERIFIED_EMAIL = True
MFA_FORMS = {
    "authenticate": "athletes.forms.second_factor.CodeForm",
    "reauthenticate": "athletes.forms.second_factor.CodeAgainForm",
    "activate_totp": "athletes.forms.second_factor.FirstCodeForm",
    "add_webauthn": "athletes.forms.second_factor.PasskeyForm",
    "edit_webauthn": "athletes.forms.second_factor.PasskeyNameForm",
    "authenticate_webauthn": "athletes.forms.second_factor.PasskeyAnswerForm",
    "reauthenticate_webauthn": "athletes.forms.second_factor.PasskeyAgainForm",
    "login_webauthn": "athletes.forms.second_factor.PasskeySignInForm",
}

LANGUAGE_CODE = "en"
TIME_ZONE = "UTC"  # the store's; pages use the gym's own zone
USE_I18N = True
USE_TZ = True

# Mail goes to files, unless a mail server is named; to that one over TLS, with its certificate looked at.
EMAIL_HOST = env.text("GYMTRACK_SMTP_HOST")
EMAIL_PORT = env.whole("GYMTRACK_SMTP_PORT", 587)
EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = env.text("GYMTRACK_SMTP_USER"), env.text("GYMTRACK_SMTP_PASSWORD")
EMAIL_USE_SSL = EMAIL_PORT == 465  # noqa: PLR2004 (the port of SMTP within TLS, RFC 8314)
EMAIL_USE_TLS = not EMAIL_USE_SSL
EMAIL_TIMEOUT = 10  # seconds; a page waits for it
EMAIL_BACKEND = env.text("GYMTRACK_EMAIL_BACKEND") or (
    f"django.core.mail.backends.{'smtp' if EMAIL_HOST else 'filebased'}.EmailBackend"
)
EMAIL_FILE_PATH = DATA_DIR / "mail"
DEFAULT_FROM_EMAIL = env.text("GYMTRACK_EMAIL_FROM") or "gym@localhost"

STATIC_URL = "static/"
STATICFILES_DIRS = [BASE_DIR / "gymtrack" / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "gymtrack.lib.static_files.HashedStaticFilesStorage"},
}
# Serving straight from the source folders needs no collectstatic: the laptop's way, and the tests'.
WHITENOISE_USE_FINDERS = True
STATIC_ROOT = DATA_DIR / "static" if env.flag("GYMTRACK_HASHED_STATIC") else None
if not STATIC_ROOT:
    STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "manifest-src": [SELF],
        "worker-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
    }
}
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True  # pages carry the token themselves
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_SSL_REDIRECT = HTTPS
# A program that is led on sends its key in plain text again and again, and nobody notices: it is refused instead.
SECURE_REDIRECT_EXEMPT = [r"^api/"]
# A browser takes a cookie with this prefix only over HTTPS, for this host alone and the whole of it.
SESSION_COOKIE_NAME = "__Host-sessionid" if HTTPS else "sessionid"
CSRF_COOKIE_NAME = "__Host-csrftoken" if HTTPS else "csrftoken"
# How long a sign-in lasts without a page asked for, and at most. Who coaches or owns a gym sees many people's data.
STAFF_IDLE_HOURS = env.whole("GYMTRACK_STAFF_IDLE_HOURS", 12)
STAFF_DAYS = env.whole("GYMTRACK_STAFF_DAYS", 7)
MEMBER_IDLE_DAYS = env.whole("GYMTRACK_MEMBER_IDLE_DAYS", 14)
MEMBER_DAYS = env.whole("GYMTRACK_MEMBER_DAYS", 30)
SESSION_COOKIE_AGE = (max(MEMBER_IDLE_DAYS * 24, STAFF_IDLE_HOURS) + 1) * 3600  # more, so that the page says why
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
# To have a whole domain entered in the browsers' own lists, for years, is for its owner to decide, not for a site.
SILENCED_SYSTEM_CHECKS = ["security.W021"]
BEHIND_PROXY = env.flag("GYMTRACK_BEHIND_PROXY")
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if BEHIND_PROXY else None
# Without it everybody behind the proxy has one address, and one who guesses passwords locks all others out.
ALLAUTH_TRUSTED_PROXY_COUNT = int(BEHIND_PROXY)

DATA_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024  # a roster's file comes back with what was shown of it
DATA_UPLOAD_MAX_NUMBER_FILES = 1
FILE_UPLOAD_HANDLERS = ["gymtrack.lib.uploads.MemoryUploads"]  # nothing that is uploaded touches the disk
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000  # a criterion of forty conditions travels whole in its form
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["athletes.api.tokens.TokenAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["athletes.api.tokens.DenyUnlessRuled"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["gymtrack.lib.bodies.SmallJSONParser"],
    "DEFAULT_METADATA_CLASS": None,  # what there is stands in the document; OPTIONS tells nothing
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "gymtrack.lib.problems.problem_details",
    "UNAUTHENTICATED_USER": None,
    "NUM_PROXIES": int(BEHIND_PROXY),
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Gym skills API",
    "DESCRIPTION": "Athletes, skills, training sessions, attempts, step states, sign-offs and months of one gym.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "ENUM_NAME_OVERRIDES": {
        "GateEnum": ["entrance", "finish"],
        "SourceEnum": ["judged", "counted", "timed_only", "own"],
        "WatchedSourceEnum": ["judged", "counted", "timed_only"],
    },
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "gymtrack.lib.problems.document_problems",
    ],
}

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "()": "gymtrack.lib.redaction.RedactingFormatter",
            "format": "{asctime} {levelname} {name} {message}",
            "style": "{",
        }
    },
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": "WARNING"},
    "loggers": {
        # Django's own handlers would write what is hidden here, and mail what a page was sent.
        "django": {"handlers": ["console"], "level": "WARNING", "propagate": False},
        "django.server": {"handlers": ["console"], "level": "INFO", "propagate": False},
        "gymtrack.security": {"level": "INFO"},
    },
}
