"""The document of the API, and what drf-spectacular has to be told about our keys and bodies."""

from __future__ import annotations

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension, OpenApiSerializerExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import build_bearer_security_scheme_object
from drf_spectacular.views import SpectacularAPIView

from athletes.access.rules import AccessRule
from athletes.api.tokens import DenyUnlessRuled


class KeyScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """`Authorization: Bearer KEY`."""

    target_class = "athletes.api.tokens.TokenAuthentication"
    name = "key"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:  # noqa: ARG002 (the library's)
        """Return the scheme as the document has it."""
        scheme: dict[str, Any] = build_bearer_security_scheme_object("Authorization", "Bearer")
        return {**scheme, "description": "A key that the gym's owner made; it does what its member may."}


class TabletScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """`Authorization: Tablet KEY`."""

    target_class = "athletes.api.tablets.TabletAuthentication"
    name = "tablet"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, Any]:  # noqa: ARG002 (the library's)
        """Return the scheme as the document has it."""
        told = "`Tablet KEY`: the key that an enrolled tablet got. No coach is signed in by it."
        return {"type": "apiKey", "in": "header", "name": "Authorization", "description": told}


class StrictBody(OpenApiSerializerExtension):  # type: ignore[no-untyped-call]
    """Says that a body with other fields is refused."""

    target_class = "gymtrack.lib.bodies.StrictSerializer"
    match_subclasses = True

    def map_serializer(self, auto_schema: AutoSchema, direction: Any) -> dict[str, Any]:  # noqa: ANN401 (the library's)
        """Return the schema of a body."""
        # What the base class calls, for this serializer in place of the one named above.
        mapped: dict[str, Any] = auto_schema._map_serializer(  # type: ignore[no-untyped-call] # noqa: SLF001
            self.target, direction, bypass_extensions=True
        )
        return {**mapped, "additionalProperties": False}


class Schema(SpectacularAPIView):
    """The OpenAPI document, as YAML or, by `?format=json`, as JSON. Open to all: it tells nothing about a gym."""

    access_rule = AccessRule(())
    authentication_classes = ()
    permission_classes = (DenyUnlessRuled,)
