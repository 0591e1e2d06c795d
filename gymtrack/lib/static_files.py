"""Static files under names that hold a hash of their contents, compressed once."""

from __future__ import annotations

from whitenoise.storage import CompressedManifestStaticFilesStorage


class HashedStaticFilesStorage(CompressedManifestStaticFilesStorage):  # type: ignore[misc] # ships no types
    """Hashed names, also where one of our modules imports another: a page never mixes modules of two versions."""

    support_js_module_import_aggregation = True
    # Ours alone: libraries come with scripts that import what they do not bring.
    _js_module_import_aggregation_patterns = (
        "js/*.js",
        CompressedManifestStaticFilesStorage._js_module_import_aggregation_patterns[1],  # noqa: SLF001
    )
