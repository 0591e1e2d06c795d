"""The helper's codes are those that RFC 6238 publishes (appendix B, SHA-1)."""

import base64

import pytest

from tests.helpers.totp import code_at

SECRET = base64.b32encode(b"12345678901234567890").decode()


@pytest.mark.parametrize(
    ("seconds", "code"),
    [
        (59, "94287082"),
        (1111111109, "07081804"),
        (1111111111, "14050471"),
        (1234567890, "89005924"),
        (2000000000, "69279037"),
        (20000000000, "65353130"),
    ],
)
def test_published_codes(seconds: int, code: str):
    assert code_at(SECRET, seconds, digits=8) == code
