"""Single files that say of themselves whether they are as slantbore wrote them.

A seal is the digest of all the rest: a comment at the end of a page, in a picture a text chunk
before the last one (PNG, W3C recommendation, chunk tEXt; the keyword Software is its own).
"""

from __future__ import annotations

import hashlib
import zlib

_PNG = b"\x89PNG\r\n\x1a\n"
_PNG_END = b"\0\0\0\0IEND\xaeB`\x82"


def sealed(data: bytes) -> bytes:
    """A page or picture with its seal."""
    end = _end(data)
    return data[: len(data) - len(end)] + _seal(data, end) + end


def intact(data: bytes) -> bool:
    """Whether a file is one that was sealed, with not a byte changed since."""
    end = _end(data)
    start = len(data) - len(end) - len(_seal(b"", end))
    rest = data[: max(0, start)] + end
    return sealed(rest) == data


def _end(data: bytes) -> bytes:
    """What comes after the seal."""
    return _PNG_END if data.startswith(_PNG) and data.endswith(_PNG_END) else b""


def _seal(data: bytes, end: bytes) -> bytes:
    text = f"slantbore {hashlib.sha256(data).hexdigest()}".encode()
    if not end:
        return b"<!-- " + text + b" -->\n"
    chunk = b"tEXtSoftware\0" + text
    return (len(chunk) - 4).to_bytes(4, "big") + chunk + zlib.crc32(chunk).to_bytes(4, "big")
