"""A file on its way through a form: short enough for a hidden field, and the same bytes when it comes back."""

from __future__ import annotations

import binascii
import zlib
from base64 import b64decode, b64encode


def packed(content: bytes) -> str:
    """Return the bytes as text for a form: deflated (RFC 1950), in Base64 (RFC 4648)."""
    return b64encode(zlib.compress(content, level=6)).decode()


def unpacked(text: str, *, most_bytes: int) -> bytes | None:
    """Return the bytes again; None for what was not packed whole, or would be more than `most_bytes`.

    Nothing is unpacked beyond that limit, whatever a sender claims.
    """
    unzip = zlib.decompressobj()
    try:
        content = unzip.decompress(b64decode(text, validate=True), most_bytes + 1)
    except (binascii.Error, zlib.error, ValueError):
        return None
    return content if unzip.eof and not unzip.unused_data and len(content) <= most_bytes else None
