"""The settings that are shipped, read by a process of their own with the environment of docker-compose.yml.

Django's own deployment check must find nothing: https://docs.djangoproject.com/en/5.2/howto/deployment/checklist/
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

PRINT = """
import json, django; django.setup()
from django.conf import settings as s
names = "DEBUG ALLOWED_HOSTS SECURE_HSTS_SECONDS SECURE_HSTS_INCLUDE_SUBDOMAINS SILENCED_SYSTEM_CHECKS \
SECURE_SSL_REDIRECT SESSION_COOKIE_SECURE CSRF_COOKIE_SECURE \
SESSION_COOKIE_HTTPONLY SESSION_COOKIE_SAMESITE SESSION_COOKIE_NAME CSRF_COOKIE_NAME CSRF_TRUSTED_ORIGINS \
SECURE_PROXY_SSL_HEADER USE_X_FORWARDED_HOST ACCOUNT_EMAIL_VERIFICATION".split()
print(json.dumps({name: getattr(s, name) for name in names} | {"hasher": s.PASSWORD_HASHERS[0]}))
"""
LONG = "".join(chr(33 + (7 * place) % 90) for place in range(64))


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    """What docker-compose.yml hands to the site behind HTTPS; the database is a file, so that none need run."""
    return {
        "PATH": os.environ["PATH"],
        "VIRTUAL_ENV": sys.prefix,
        "PYTHONPATH": str(settings.BASE_DIR),
        "DJANGO_SETTINGS_MODULE": "gymtrack.settings",
        "GYMTRACK_DATA": str(tmp_path),
        "SECRET_KEY": LONG,
        "GYMTRACK_AUDIT_KEY": LONG[::-1],
        "GYMTRACK_HOSTS": "gym.example",
        "GYMTRACK_ORIGINS": "https://gym.example",
        "GYMTRACK_HTTPS": "yes",
        "GYMTRACK_BEHIND_PROXY": "yes",
    }


def ran(environment: dict[str, str], *command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, *command], cwd=settings.BASE_DIR, env=environment, capture_output=True, text=True, check=False
    )


def settings_of(environment: dict[str, str]) -> dict[str, object]:
    done = ran(environment, "-c", PRINT)
    assert done.returncode == 0, done.stderr
    found: dict[str, object] = json.loads(done.stdout)
    return found


def test_djangos_deployment_check_finds_nothing(environment: dict[str, str]) -> None:
    done = ran(environment, "manage.py", "check", "--deploy", "--fail-level", "WARNING")
    assert (done.returncode, done.stderr) == (0, "")
    assert "no issues" in done.stdout


def test_the_check_that_finds_nothing_would_find_something(environment: dict[str, str]) -> None:
    done = ran({**environment, "GYMTRACK_HTTPS": "no"}, "manage.py", "check", "--deploy", "--fail-level", "WARNING")
    assert done.returncode == 1
    assert "security.W012" in done.stderr


def test_what_the_shipped_settings_are(environment: dict[str, str]) -> None:
    assert settings_of(environment) == {
        "DEBUG": False,
        "ALLOWED_HOSTS": ["gym.example"],
        "SECURE_HSTS_SECONDS": 365 * 24 * 3600,
        "SECURE_HSTS_INCLUDE_SUBDOMAINS": True,
        "SILENCED_SYSTEM_CHECKS": ["security.W021"],  # the browsers' preload lists, and nothing else
        "SECURE_SSL_REDIRECT": True,
        "SESSION_COOKIE_SECURE": True,
        "CSRF_COOKIE_SECURE": True,
        "SESSION_COOKIE_HTTPONLY": True,
        "SESSION_COOKIE_SAMESITE": "Lax",
        "SESSION_COOKIE_NAME": "__Host-sessionid",
        "CSRF_COOKIE_NAME": "__Host-csrftoken",
        "CSRF_TRUSTED_ORIGINS": ["https://gym.example"],
        "SECURE_PROXY_SSL_HEADER": ["HTTP_X_FORWARDED_PROTO", "https"],
        "USE_X_FORWARDED_HOST": False,
        "ACCOUNT_EMAIL_VERIFICATION": "mandatory",
        "hasher": "django.contrib.auth.hashers.Argon2PasswordHasher",
    }


def test_without_a_proxy_nobody_says_by_a_header_that_it_was_https(environment: dict[str, str]) -> None:
    assert settings_of({**environment, "GYMTRACK_BEHIND_PROXY": "no"})["SECURE_PROXY_SSL_HEADER"] is None


def test_compose_hands_over_just_what_the_settings_read() -> None:
    compose = Path(settings.BASE_DIR, "docker-compose.yml").read_text("utf-8")
    for name in ("SECRET_KEY", "GYMTRACK_AUDIT_KEY", "GYMTRACK_HOSTS", "GYMTRACK_HTTPS", "GYMTRACK_BEHIND_PROXY"):
        assert f"{name}:" in compose
    assert "DEBUG" not in compose
    assert '"127.0.0.1:' in compose  # the plain HTTP port is this machine's alone
