"""The settings of the site, with an address more and the bench's own commands."""

from gymtrack.settings import *  # noqa: F403 (settings are made to be taken over whole)
from gymtrack.settings import INSTALLED_APPS

INSTALLED_APPS = [*INSTALLED_APPS, "tests.bench"]
ROOT_URLCONF = "tests.bench.urls"
