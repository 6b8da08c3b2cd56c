"""Writing one file whole or not at all, and never over what nobody has seen."""

from __future__ import annotations

import hashlib
import os
import secrets
import stat
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from ...models.words.errors import SlantboreError


class NotWritten(SlantboreError, RuntimeError):
    """A file that is left as it is; the message says why."""


class ChangedOnDisk(NotWritten):
    """The file is no longer what it was when it was seen."""


@dataclass(frozen=True)
class Seen:
    """A file as it was when it was read.

    Attributes:
        target: the file itself, where links lead.
        digest: of its content.
    """

    target: Path
    digest: str

    @classmethod
    def of(cls, path: Path, data: bytes) -> Seen:
        """What was seen at a path."""
        return cls(path.resolve(), hashlib.sha256(data).hexdigest())


def write_whole(path: Path, data: bytes, seen: Seen | None = None) -> None:
    """Replace a file's content in one step; its mode stays.

    Args:
        path: the file; of a link, the file that it leads to.
        data: new content.
        seen: what must still stand there.

    Raises:
        ChangedOnDisk: another file or content stands there.
        NotWritten: it is read-only, or has a second name that would keep the old content.
        OSError: it cannot be read or written; the error names it.
    """
    target = path.resolve()
    mode = _mode(target)
    fresh = target.with_name(f".{target.name}.{secrets.token_hex(4)}.writing")
    try:
        fresh.write_bytes(data)
        if mode is not None:
            fresh.chmod(mode)
        # As late as can be: the gap that remains is one system call.
        if seen is not None and (target.is_symlink() or Seen.of(path, target.read_bytes()) != seen):
            raise ChangedOnDisk(f"{path} was changed meanwhile; nothing was written")
        os.replace(fresh, target)
    except OSError as error:
        error.filename, error.filename2 = str(path), None
        raise
    finally:
        with suppress(OSError):
            fresh.unlink()


def write_new(path: Path, data: bytes) -> None:
    """Write a file where none stands, whole or not at all.

    Raises:
        FileExistsError: something stands there.
        OSError: it cannot be written; the error names it.
    """
    stream = path.open("xb")
    try:
        with stream:
            stream.write(data)
    except OSError as error:
        path.unlink(missing_ok=True)
        error.filename = str(path)
        raise


def _mode(target: Path) -> int | None:
    """Permissions of a file that may be replaced; None where there is none yet."""
    try:
        about = target.stat()
    except FileNotFoundError:
        return None
    if not about.st_mode & stat.S_IWUSR or not os.access(target, os.W_OK):
        raise NotWritten(f"{target} is read-only; nothing was written")
    if about.st_nlink > 1:
        raise NotWritten(
            f"{target} has a second name (a hard link), which would keep the old text; "
            "nothing was written: change it in an editor"
        )
    return stat.S_IMODE(about.st_mode)
