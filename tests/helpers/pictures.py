"""Pictures drawn here, of nobody: a figure of lines with its joints at known places, and files that hold a canary."""

import math
import random
import struct
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

Place = tuple[float, float]
_GROUND, _LIMB, _JOINT = (205, 210, 200), (60, 70, 110), (180, 40, 30)
_LIMB_PX, _JOINT_PX = 14, 20


@dataclass(frozen=True, slots=True)
class Still:
    """A picture of so many pixels with the joints of a figure that holds its legs up at `legs_degrees`."""

    width: int = 1200
    height: int = 1600
    legs_degrees: float = 80.0

    @property
    def joints(self) -> Mapping[str, Place]:
        """Where they are, from the left and from the top: a trunk that hangs straight, arms up, legs as said."""
        unit = self.height / 16
        hip = (self.width * 0.4, unit * 10)
        turned = math.radians(self.legs_degrees)
        along = (math.sin(turned), math.cos(turned))
        knee, ankle = ((hip[0] + far * unit * along[0], hip[1] + far * unit * along[1]) for far in (2.5, 5))
        shoulder = (hip[0], unit * 6)
        return {"Wrist": (hip[0], unit * 1.5), "Shoulder": shoulder, "Hip": hip, "Knee": knee, "Ankle": ankle}

    def png(self, canary: str = "", padding: int = 0) -> bytes:
        """The file, with the canary in a comment and so many bytes of noise behind it."""
        rows = [bytearray(bytes(_GROUND) * self.width) for _ in range(self.height)]
        places = [*self.joints.values()]
        for start, end in pairwise(places):
            for share in range(201):
                at = [a + (b - a) * share / 200 for a, b in zip(start, end, strict=True)]
                _dot(rows, at[0], at[1], _LIMB_PX, _LIMB)
        for x, y in places:
            _dot(rows, x, y, _JOINT_PX, _JOINT)
        head = struct.pack(">IIBBBBB", self.width, self.height, 8, 2, 0, 0, 0)
        noise = random.Random(canary).randbytes(padding)
        parts = [
            (b"IHDR", head),
            (b"tEXt", b"Comment\0" + canary.encode()),
            (b"IDAT", zlib.compress(b"".join(b"\0" + bytes(row) for row in rows))),
            (b"noIs", noise),
            (b"IEND", b""),
        ]
        return b"\x89PNG\r\n\x1a\n" + b"".join(_chunk(kind, body) for kind, body in parts)


def _dot(rows: list[bytearray], x: float, y: float, radius: int, colour: tuple[int, int, int]) -> None:
    for row in range(max(0, round(y) - radius), min(len(rows), round(y) + radius + 1)):
        left, right = max(0, round(x) - radius), min(len(rows[row]) // 3, round(x) + radius + 1)
        if right > left:
            rows[row][3 * left : 3 * right] = bytes(colour) * (right - left)


def _chunk(kind: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def turned_by_camera(jpeg: bytes, orientation: int, note: str) -> bytes:
    """The JPEG with what a camera writes beside it (EXIF 2.3, tags 274 and 270): its orientation and a description."""
    words = note.encode() + b"\0"
    entries = struct.pack("<HHIHH", 274, 3, 1, orientation, 0) + struct.pack(
        "<HHII", 270, 2, len(words), 8 + 2 + 24 + 4
    )
    tiff = b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", 2) + entries + struct.pack("<I", 0) + words
    body = b"Exif\0\0" + tiff
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + jpeg[2:]
