"""An output folder that is replaced whole or not at all, and never with a file of somebody else's.

    .NAME.lock                held by the one process that builds into NAME
    .NAME.1f3a9c02.building   being written
    .NAME.1f3a9c02.previous   the earlier folder, aside while the new one takes its place
    NAME                      always a complete one
    NAME/written.json         what a build wrote there, each file with its digest

A process that is killed leaves the second or the third behind; the next one puts an earlier folder
back where none stands, and clears the rest away. Of an earlier folder only what `written.json`
lists, unchanged, is deleted; everything else moves over into the new one.
"""

from __future__ import annotations

import errno
import glob
import hashlib
import json
import os
import secrets
import shutil
import stat
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from ...models.words.errors import SlantboreError

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

MANIFEST = "written.json"
_FORMAT = "slantbore/written/1"
_BUILDING, _PREVIOUS = ".building", ".previous"
FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO}
_DESKTOP_LITTER = {".DS_Store", "Thumbs.db", "desktop.ini"}


class FolderError(SlantboreError, FileExistsError):
    """A folder that cannot be built into; it is left as it was."""


@dataclass
class Fresh:
    """The folder to write into.

    Attributes:
        path: it exists and is empty.
        files: what was written, relative to it, sorted; known once it is in its place.
        kept: what the earlier folder held beside a build's own files: where it was, and where it
            is now, relative to the folder.
    """

    path: Path
    files: tuple[str, ...] = ()
    kept: dict[str, str] = field(default_factory=dict)


@contextmanager
def replaced(target: Path) -> Iterator[Fresh]:
    """Give a fresh folder beside `target` to write into, and put it in its place at the end.

    When the block raises, the fresh folder is deleted and `target` stays as it was.

    Args:
        target: where the folder goes, resolved: missing, empty, or an earlier build.

    Raises:
        FolderError: it holds something else, or another process builds into it.
        OSError: the folder beside it cannot be written, or not be renamed.
    """
    _refuse_place(target)
    with _naming(target):
        target.parent.mkdir(parents=True, exist_ok=True)
    with _claimed(target):
        _refuse_strangers(target)
        kept = _recovered(target)
        fresh = Fresh(target.parent / f".{target.name}.{secrets.token_hex(4)}{_BUILDING}")
        try:
            with _naming(target, fresh.path):
                fresh.path.mkdir()
                yield fresh
                fresh.files = _listed(fresh.path)
                fresh.kept = kept | _swapped(fresh.path, target)
        except BaseException:
            shutil.rmtree(fresh.path, ignore_errors=True)
            raise


def recover(target: Path) -> None:
    """Put right what a killed process left beside a folder; nothing when there is nothing.

    Raises:
        FolderError: another process builds into the folder.
    """
    if any(_leftovers(target, suffix) for suffix in (_PREVIOUS, _BUILDING)):
        with _claimed(target):
            _recovered(target)


def _refuse_place(target: Path) -> None:
    """Make sure that no file is in the way, and that it is not the folder one is in.

    Raises:
        FolderError: it is not so; the message names it.
    """
    for above in (target, *target.parents):
        # Asked once: another build may be renaming the folder at this instant.
        with suppress(FileNotFoundError, NotADirectoryError):
            if not stat.S_ISDIR(above.stat().st_mode):
                raise FolderError(f"{above} is a file; name a folder to build into")
            break
    here = Path.cwd().resolve()
    if target.exists() and here.is_relative_to(target):
        what = "is" if here == target else "holds"
        raise FolderError(f"{target} {what} the folder you are in; name a new one to build into")


def _refuse_strangers(target: Path) -> None:
    """Make sure that a folder is missing, empty or an earlier build; needs the claim.

    Raises:
        FolderError: it is anything else; the message names it.
    """
    if not target.exists():
        return
    held = {entry.name for entry in target.iterdir()} - _DESKTOP_LITTER
    if held and _written(target) is None:
        raise FolderError(
            f"{target} holds files that are not from a build; name a new folder or an empty one"
        )


# --- what was written ----------------------------------------------------------------------------


def _listed(folder: Path) -> tuple[str, ...]:
    """Write the list of what a folder holds into it; return the names."""
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    files = {path.relative_to(folder).as_posix(): _digest(path) for path in paths}
    whole = json.dumps({"format": _FORMAT, "files": files}, indent=2, ensure_ascii=True)
    (folder / MANIFEST).write_text(whole + "\n", encoding="utf-8", newline="\n")
    return tuple(sorted([*files, MANIFEST]))


def _written(folder: Path) -> Mapping[str, str] | None:
    """What a build wrote into a folder, as the folder says; None where it says nothing."""
    try:
        found = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        files = found["files"] if found["format"] == _FORMAT else None
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return None
    return files if isinstance(files, dict) else None


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


# --- one in the place of the other ---------------------------------------------------------------


def _swapped(fresh: Path, target: Path) -> dict[str, str]:
    """Put the fresh folder in its place; return what was kept of the earlier one."""
    aside = fresh.with_suffix(_PREVIOUS)
    if not target.exists():
        fresh.rename(target)
        return {}
    target.rename(aside)
    try:
        fresh.rename(target)
    except BaseException:
        aside.rename(target)
        raise
    return _carried(aside, target)


def _carried(aside: Path, target: Path) -> dict[str, str]:
    """Move what no build wrote, and what was changed since, over into a folder; delete the rest.

    What cannot be moved stays where it is, and is tried again by the next build.

    Returns:
        Where each such file was and where it is, relative to the folder.
    """
    ours, kept = _written(aside) or {}, {}
    for here, folders, files in os.walk(aside, topdown=False):
        links = [name for name in folders if os.path.islink(os.path.join(here, name))]
        for path in (Path(here, name) for name in sorted([*files, *links])):
            name = path.relative_to(aside).as_posix()
            if path == aside / MANIFEST:
                continue  # the last to go: whoever comes after a killed process needs it
            with suppress(OSError):
                if path.name in _DESKTOP_LITTER or _unchanged(path, ours.get(name)):
                    path.unlink()
                    continue
            kept[name] = _moved(path, target, name)
        if here != str(aside):
            with suppress(OSError):
                os.rmdir(here)
    if not any(entry.name != MANIFEST for entry in aside.iterdir()):
        shutil.rmtree(aside, ignore_errors=True)
    return kept


def _unchanged(path: Path, digest: str | None) -> bool:
    ordinary = path.is_file() and not path.is_symlink()
    return digest is not None and ordinary and _digest(path) == digest


def _moved(path: Path, target: Path, name: str) -> str:
    """Move a file to its name in a folder, or where that is taken into a folder `kept` there."""
    for number in range(1, 1000):
        into = "" if number == 1 else "kept/" if number == 2 else f"kept-{number - 1}/"
        place = target / (into + name)
        with suppress(OSError):  # a part of the way is a file
            place.parent.mkdir(parents=True, exist_ok=True)
            if not os.path.lexists(place):
                path.rename(place)
                return into + name
    return str(path)


# --- after a killed process ----------------------------------------------------------------------


def _recovered(target: Path) -> dict[str, str]:
    """Put an earlier folder back where none stands, and clear the rest away; needs the claim."""
    kept: dict[str, str] = {}
    for aside in _leftovers(target, _PREVIOUS):
        if target.exists():
            kept |= _carried(aside, target)
        else:
            aside.rename(target)
    for building in _leftovers(target, _BUILDING):
        shutil.rmtree(building, ignore_errors=True)
    return kept


def _leftovers(target: Path, suffix: str) -> list[Path]:
    """What builds have left beside a folder, the latest first."""
    pattern = f".{glob.escape(target.name)}.{'[0-9a-f]' * 8}{suffix}"
    found = [path for path in target.parent.glob(pattern) if path.is_dir()]
    return sorted(found, key=lambda path: (path.stat().st_mtime_ns, path.name), reverse=True)


# --- one process at a time -----------------------------------------------------------------------


@contextmanager
def _claimed(target: Path) -> Iterator[None]:
    """Hold a folder's lock, which ends with this process in any case.

    Raises:
        FolderError: another process holds it.
    """
    path = target.with_name(f".{target.name}.lock")
    with _naming(target, path):
        handle = _lock_file(path, target)
    try:
        yield
    finally:
        # Deleted while it is held, or another process may hold a file that is no longer there;
        # Windows deletes no open file, and nobody can have it once it is deleted.
        if sys.platform != "win32":
            path.unlink(missing_ok=True)
        os.close(handle)
        if sys.platform == "win32":
            with suppress(OSError):
                path.unlink()


def _lock_file(path: Path, target: Path) -> int:
    while True:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        try:
            _lock(handle)
            with suppress(FileNotFoundError):
                # It may have been deleted by its holder between the two calls.
                if os.path.samestat(os.fstat(handle), path.stat()):
                    return handle
        except BlockingIOError:
            os.close(handle)
            raise FolderError(
                f"another build into {target} is running; wait for it, or name another folder"
            ) from None
        os.close(handle)


def _lock(handle: int) -> None:
    """Lock a file until it is closed.

    Raises:
        BlockingIOError: another process has it locked.
    """
    if sys.platform == "win32":
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            raise BlockingIOError(*error.args) from None
    else:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)


@contextmanager
def _naming(target: Path, scratch: Path | None = None) -> Iterator[None]:
    """Let an error of a file that has no name, or one that only we know, name the user's own."""
    try:
        yield
    except SlantboreError:
        raise
    except OSError as error:
        name = None if error.filename is None else Path(os.fsdecode(error.filename))
        if name is None and scratch and error.errno in FULL:
            # Raised while a file was written that had been opened before.
            files = [path for path in scratch.rglob("*") if path.is_file()]
            name = max(files, key=lambda path: path.stat().st_mtime_ns, default=None)
        if name is None or name == scratch:
            error.filename = str(target)
        elif scratch and name.is_relative_to(scratch):
            error.filename = str(target / name.relative_to(scratch))
        error.filename2 = None
        raise
