"""Pictures made to fill a machine."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable

from PIL import Image


def _chunk(kind: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))


def _png(wide: int, high: int, *more: bytes, rows: int = 0) -> bytes:
    """A PNG of one bit a pixel (ISO/IEC 15948), of which so many rows are there."""
    head = _chunk(b"IHDR", struct.pack(">IIBBBBB", wide, high, 1, 0, 0, 0, 0))
    body = zlib.compress(bytes(rows * (1 + -(-wide // 8))), 9)
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(more) + _chunk(b"IDAT", body) + _chunk(b"IEND", b"")


def png() -> bytes:
    """100,000 by 100,000 pixels."""
    return _png(100_000, 100_000, rows=1_000)


def png_words() -> bytes:
    """A hundred remarks of a gigabyte each, packed."""
    remark = b"Comment\0\0" + zlib.compress(bytes(100_000_000), 9)
    return _png(100, 100, *[_chunk(b"zTXt", remark)] * 100, rows=100)


def png_profile() -> bytes:
    """A colour profile of 500 megabytes, packed."""
    return _png(100, 100, _chunk(b"iCCP", b"p\0\0" + zlib.compress(bytes(500_000_000), 9)), rows=100)


def jpeg() -> bytes:
    """65,500 by 65,500 pixels by what the head of the file says."""
    held = io.BytesIO()
    Image.new("L", (16, 16)).save(held, "JPEG")
    raw = bytearray(held.getvalue())
    at = raw.find(b"\xff\xc0") + 5
    raw[at : at + 4] = struct.pack(">HH", 65_500, 65_500)
    return bytes(raw)


def webp() -> bytes:
    """The most that the form has, 16,383 by 16,383 pixels, by what the head of the file says (RFC 6386, 9.1)."""
    held = io.BytesIO()
    Image.new("RGB", (16, 16)).save(held, "WEBP")
    raw = bytearray(held.getvalue())
    at = raw.find(b"\x9d\x01\x2a") + 3
    raw[at : at + 4] = struct.pack("<HH", 16_383, 16_383)
    return bytes(raw)


def tiff() -> bytes:
    """100,000 by 100,000 pixels in packed strips."""
    return _tiff([(256, 4, 1, 100_000), (257, 4, 1, 100_000), (258, 3, 1, 8), (259, 3, 1, 1), (262, 3, 1, 1),
                  (273, 4, 1, 8), (278, 4, 1, 100_000), (279, 4, 1, 10_000_000)])  # fmt: skip


def _tiff(tags: list[tuple[int, int, int, int]]) -> bytes:
    entries = b"".join(struct.pack("<HHII", *tag) for tag in tags)
    return b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", len(tags)) + entries + bytes(4)


def exif() -> bytes:
    """A small photo whose camera left a directory of tags that each say they have four thousand million values."""
    held = io.BytesIO()
    Image.new("RGB", (64, 64)).save(held, "JPEG")
    raw = held.getvalue()
    tags = _tiff([(0x0112, 3, 1, 6), *((0x9000 + at, 5, 0xFFFFFFFF, 8) for at in range(4_000))])
    block = b"Exif\0\0" + tags
    return raw[:2] + b"\xff\xe1" + struct.pack(">H", len(block) + 2) + block + raw[2:]


PICTURES: dict[str, Callable[[], bytes]] = {
    "PNG 10^5 x 10^5": png,
    "PNG, 10 GB of remarks": png_words,
    "PNG, colour profile of 500 MB": png_profile,
    "JPEG 65,500 x 65,500": jpeg,
    "WEBP 16,383 x 16,383": webp,
    "TIFF 10^5 x 10^5": tiff,
    "EXIF, 4,000 tags of 4 x 10^9 values": exif,
}
"""What fills a machine, and who makes it. The last but for its size is a photo like any other and may be kept."""
