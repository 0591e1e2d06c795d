"""Addresses under the API that lead nowhere: a program gets a problem, not a page."""

from __future__ import annotations

from typing import NoReturn

from django.http import Http404
from drf_spectacular.utils import extend_schema

from athletes.access.rules import AccessRule
from athletes.api.base import GymView


@extend_schema(exclude=True)
class Nowhere(GymView):
    """Whatever is asked for, it is not here."""

    access_rule = AccessRule(())

    def initial(self, *_args: object, **_kwargs: object) -> NoReturn:
        """Raise Http404, whatever the method."""
        raise Http404
