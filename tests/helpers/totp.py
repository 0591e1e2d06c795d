"""One-time codes as an app on a phone makes them: RFC 6238 (and 4226), written down here once more."""

import base64
import hashlib
import hmac


def code_at(secret: str, seconds: float, *, digits: int = 6) -> str:
    """The code of a base32 secret at a moment in seconds since 1970, with the usual half minutes and SHA-1."""
    counter = int(seconds) // 30
    digest = hmac.digest(base64.b32decode(secret), counter.to_bytes(8, "big"), hashlib.sha1)
    place = digest[19] % 16
    number = int.from_bytes(digest[place : place + 4], "big") % 2**31
    return str(number % 10**digits).zfill(digits)
