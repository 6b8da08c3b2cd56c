"""An output folder that is replaced whole or not at all.

    .NAME.1f3a9c02.building   being written; locked while its process lives
    .NAME.1f3a9c02.previous   the earlier folder, aside for the blink between two renames
    NAME                      always a complete one

A process that is killed leaves the first or the second behind; the next one finds them unlocked,
puts an earlier folder back where none stands, and clears the rest away.
"""

from __future__ import annotations

import glob
import json
import os
import secrets
import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath

from ..models.words.errors import SlantboreError

try:
    import fcntl
except ImportError:  # Windows: what a killed build left behind stays until somebody deletes it
    fcntl = None  # type: ignore[assignment]

_BUILDING, _PREVIOUS = ".building", ".previous"
_DESKTOP_LITTER = {".DS_Store", "Thumbs.db", "desktop.ini"}


class FolderError(SlantboreError, FileExistsError):
    """A folder that holds something else than an earlier build; it is left as it was."""


def refuse_foreign(target: Path, marker: str, format_stem: str, patterns: Sequence[str]) -> None:
    """Make sure that replacing a folder loses nothing that cannot be built again.

    Args:
        target: the folder; it may be missing or empty.
        marker: name of the JSON file that shows whose folder it is.
        format_stem: what that file's `format` begins with.
        patterns: what a build writes, such as `parts/*.step`.

    Raises:
        FolderError: the folder holds anything else; the message names it.
    """
    if not target.exists():
        return
    if not target.is_dir():
        raise FolderError(f"{target} is a file; name a folder to build into")
    if Path.cwd().resolve().is_relative_to(target):
        raise FolderError(f"{target} is the folder you are in; name a new one to build into")
    if not any(target.iterdir()):
        return
    if not _marked(target / marker, format_stem):
        raise FolderError(
            f"{target} holds files that are not from a build; name a new folder or an empty one"
        )
    for path in sorted(target.rglob("*")):
        name = PurePosixPath(path.relative_to(target).as_posix())
        known = any(
            name.match(pattern) and len(name.parts) == pattern.count("/") + 1
            for pattern in patterns
        )
        if not (path.is_dir() and not path.is_symlink()) and not known:
            if path.name not in _DESKTOP_LITTER:
                raise FolderError(
                    f"{path} is not from a build, and building would delete it; move it elsewhere"
                )


@contextmanager
def replaced(target: Path) -> Iterator[Path]:
    """Give a fresh folder beside `target` to write into, and put it in its place at the end.

    When the block raises, the fresh folder is deleted and `target` stays as it was.

    Args:
        target: where the folder goes; what stands there is deleted once the new one is in place.

    Raises:
        OSError: the folder beside it cannot be written, or not be renamed.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    _clear_leftovers(target)
    fresh = target.parent / f".{target.name}.{secrets.token_hex(4)}{_BUILDING}"
    fresh.mkdir()
    lock = _lock(fresh)
    try:
        yield fresh
        _swap(fresh, target)
    except BaseException:
        shutil.rmtree(fresh, ignore_errors=True)
        raise
    finally:
        _unlock(lock)


def _swap(fresh: Path, target: Path) -> None:
    if not target.exists():
        fresh.rename(target)
        return
    aside = fresh.with_suffix(_PREVIOUS)
    lock = _lock(target)
    try:
        target.rename(aside)
        try:
            fresh.rename(target)
        except BaseException:
            aside.rename(target)
            raise
        shutil.rmtree(aside, ignore_errors=True)
    finally:
        _unlock(lock)


def _clear_leftovers(target: Path) -> None:
    for aside in _abandoned(target, _PREVIOUS):
        if target.exists():
            shutil.rmtree(aside, ignore_errors=True)
        else:
            aside.rename(target)
    for building in _abandoned(target, _BUILDING):
        shutil.rmtree(building, ignore_errors=True)


def _abandoned(target: Path, suffix: str) -> Iterator[Path]:
    """Yield folders that an earlier process left behind, the latest first."""
    pattern = f".{glob.escape(target.name)}.{'[0-9a-f]' * 8}{suffix}"
    found = [path for path in target.parent.glob(pattern) if path.is_dir()]
    for path in sorted(found, key=lambda path: (path.stat().st_mtime_ns, path.name), reverse=True):
        lock = _lock(path)
        if lock is not None:
            try:
                yield path
            finally:
                _unlock(lock)


def _lock(folder: Path) -> int | None:
    """Lock a folder until `_unlock` or the end of this process; None when that cannot be had."""
    if fcntl is None:
        return None
    handle = None
    try:
        handle = os.open(folder, os.O_RDONLY)
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:  # locked by another, or a file system without locks
        _unlock(handle)
        return None
    return handle


def _unlock(handle: int | None) -> None:
    if handle is not None:
        with suppress(OSError):
            os.close(handle)


def _marked(marker: Path, format_stem: str) -> bool:
    try:
        found = json.loads(marker.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(found, dict) and str(found.get("format", "")).startswith(format_stem)
