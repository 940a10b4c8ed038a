"""PNG: the size asked for, the same bytes every time, and the right colours in the right places."""

from __future__ import annotations

import struct
import zlib

from modboard.view.board import board_view
from modboard.view.png import png
from tests.sample import sample_artwork
from tests.view.reading import centres


def pixels(data: bytes) -> tuple[int, int, list[bytes]]:
    """Return width, height and rows of RGBA bytes of an 8-bit PNG (ISO/IEC 15948), decoded without any library."""
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, body, header = 8, b"", b""
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kind, chunk = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        header, body = (chunk if kind == b"IHDR" else header), body + (chunk if kind == b"IDAT" else b"")
        at += 12 + length
    width, height, depth, colour = struct.unpack(">IIBB", header[:10])
    assert (depth, colour) == (8, 6)
    raw, rows, before = zlib.decompress(body), [], bytes(4 * width)
    for y in range(height):
        method, line = raw[y * (4 * width + 1)], bytearray(raw[y * (4 * width + 1) + 1 : (y + 1) * (4 * width + 1)])
        for i in range(len(line)):
            left, up = (line[i - 4] if i >= 4 else 0), before[i]
            corner = before[i - 4] if i >= 4 else 0
            line[i] = (line[i] + (0, left, up, (left + up) // 2, _paeth(left, up, corner))[method]) & 255
        before = bytes(line)
        rows.append(before)
    return width, height, rows


def _paeth(left: int, up: int, corner: int) -> int:
    guess = left + up - corner
    return min((left, up, corner), key=lambda v: abs(guess - v))


def test_size_colours_and_repeatability() -> None:
    svg = board_view(sample_artwork(), "top")
    data = png(svg, pixels_per_mm=2.0)
    assert data == png(svg, pixels_per_mm=2.0)
    width, height, rows = pixels(data)
    assert (width, height) == (594, 420), "A4 at 2 dots to the millimetre"
    x, y = centres(svg, "R1", "1")[0]
    middle, copper = (rows[int(2 * y)][4 * int(2 * u) :][:3] for u in (x, x + 0.68 * 5))
    assert middle == b"\xff\xff\xff", "the hole is white"
    assert copper == bytes.fromhex("E69F00"), "bare copper between the hole's wall (0.45) and the land's rim (0.9)"
    assert rows[2][8:11] == b"\xff\xff\xff", "white paper, not transparent"
