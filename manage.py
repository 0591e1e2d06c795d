#!/usr/bin/env python3
"""Start here: `python3 manage.py demo`, `python3 manage.py test`, `python3 manage.py help`."""

import os
import sys

if __name__ == "__main__":
    if sys.version_info < (3, 11):
        sys.exit("gymtrack needs Python 3.11 or newer, and this is Python %d.%d." % sys.version_info[:2])
    if os.name != "posix":
        sys.exit("gymtrack starts on Linux and macOS; on Windows, start it under WSL or in a container.")

    from gymtrack import bootstrap

    bootstrap.enter(sys.argv)
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gymtrack.settings")
    try:
        from django.core.exceptions import ImproperlyConfigured
        from django.core.management import execute_from_command_line
    except ImportError as error:
        sys.exit(
            "This environment lacks a package (%s): install requirements.txt into it, or leave it "
            "(deactivate) and manage.py makes its own." % error
        )
    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as error:
        sys.exit("gymtrack cannot start: %s" % error)
