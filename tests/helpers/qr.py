"""Reading QR codes back, by another library than the one that draws them."""

import re

import numpy as np
import zxingcpp


def read_back(svg: str) -> str:
    """What the other library reads off the SVG's own lines: each runs right, one module high."""
    side = int(re.search(r'viewBox="0 0 (\d+) \d+"', svg)[1])  # type: ignore[index]
    lines = re.search(r'stroke="#000" d="([^"]+)"', svg)[1]  # type: ignore[index]
    picture = np.full((side, side), 255, dtype=np.uint8)
    x, y = 0, 0.0
    for step, first, second in re.findall(r"([Mmh])(-?[\d.]+)(?: ?(-?[\d.]+))?", lines):
        if step == "h":
            picture[int(y), x : x + int(first)] = 0
            x += int(first)
        elif step == "M":
            x, y = int(first), float(second)
        else:
            x, y = x + int(first), y + float(second)
    (found,) = zxingcpp.read_barcodes(np.kron(picture, np.ones((6, 6), dtype=np.uint8)))
    return str(found.text)
