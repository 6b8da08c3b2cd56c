"""Writing one file whole or not at all, and never over a change that nobody has seen."""

from __future__ import annotations

import hashlib
import os
import secrets
import stat
from contextlib import suppress
from pathlib import Path

from ...models.words.errors import SlantboreError


class ChangedOnDisk(SlantboreError, RuntimeError):
    """The file is no longer what it was when its text was taken."""


def fingerprint(data: bytes) -> str:
    """What tells one content of a file from another."""
    return hashlib.sha256(data).hexdigest()


def write_whole(path: Path, data: bytes, expected: str | None = None) -> None:
    """Replace a file's content in one step; its mode stays.

    Args:
        path: the file; of a link, the file that it points to.
        data: new content.
        expected: fingerprint that the old content must have.

    Raises:
        ChangedOnDisk: the old content is another; nothing is written.
        OSError: it cannot be read or written.
    """
    target = path.resolve()
    mode = stat.S_IMODE(target.stat().st_mode) if target.exists() else None
    fresh = target.with_name(f".{target.name}.{secrets.token_hex(4)}.writing")
    try:
        fresh.write_bytes(data)
        if mode is not None:
            fresh.chmod(mode)
        # As late as can be: the gap that remains is one system call.
        if expected is not None and fingerprint(target.read_bytes()) != expected:
            raise ChangedOnDisk(f"{path} was changed meanwhile; nothing was written")
        os.replace(fresh, target)
    finally:
        with suppress(FileNotFoundError):
            fresh.unlink()
