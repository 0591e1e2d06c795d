"""QR codes: another library reads back what was drawn."""

import pytest

from gymtrack.lib.qr import qr_svg
from tests.helpers.qr import read_back


@pytest.mark.parametrize(
    "text",
    ["https://gym.example/link/" + "a1B2-_" * 8 + "/", "otpauth://totp/c%40gym.example?secret=MZXW6YTB", "ü 体操"],
)
def test_another_library_reads_the_same_text(text: str):
    assert read_back(qr_svg(text)) == text


def test_title_is_escaped():
    assert "<title>Ada &amp; Bo</title>" in qr_svg("x", title="Ada & Bo")
