"""QR codes (ISO/IEC 18004), drawn here: no page asks another host for a picture."""

from __future__ import annotations

from io import BytesIO

import segno


def qr_svg(text: str, *, title: str = "") -> str:
    """Return an SVG element that holds `text`, black on white in both colour schemes, with its quiet zone.

    Error correction M: 15 % of the code may be dirty or torn. Raises segno.DataOverflowError for a text that
    no code can hold (some 2,300 bytes).
    """
    drawn = BytesIO()
    segno.make(text, error="m", micro=False).save(
        drawn,
        kind="svg",
        xmldecl=False,
        svgclass="qr",
        lineclass=None,
        omitsize=True,
        dark="#000",
        light="#fff",
        title=title or None,
    )
    return drawn.getvalue().decode("utf-8")
