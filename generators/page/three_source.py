"""The 3D library inside the page: three.js r140, as trimesh carries it for its own viewer."""

from __future__ import annotations

import importlib.util
import zipfile
import zlib
from pathlib import Path

from ...models.words.errors import SlantboreError

REVISION = "140"
_MEMBER = "viewer.html.template"
_UNREADABLE = (
    OSError, KeyError, ValueError, RuntimeError, EOFError, zipfile.BadZipFile, zlib.error,
)  # fmt: skip
_START, _END = "<script>", "\n(function(){const _changeEvent"


class ThreeSourceError(SlantboreError, RuntimeError):
    """The installed trimesh does not carry the library in the form that is read here."""


def three_source() -> str:
    """Return three.js as a classic script that defines `THREE`, with its licence in front (MIT).

    Read from trimesh's files without importing trimesh. To use another build of the library,
    replace this one function; the page uses three's core only.

    Raises:
        ThreeSourceError: trimesh, its viewer or the library in it is not there.
    """
    found = importlib.util.find_spec("trimesh")
    if found is None or found.origin is None:
        raise ThreeSourceError("the preview needs the package trimesh, which carries three.js")
    archive = Path(found.origin).parent / "resources" / "templates" / "viewer.zip"
    try:
        with zipfile.ZipFile(archive) as viewer:
            template = viewer.read(_MEMBER).decode("utf-8")
    except _UNREADABLE as error:
        raise ThreeSourceError(f"cannot read three.js from {archive}: {error}") from None
    start, end = template.find(_START), template.find(_END)
    library = template[start + len(_START) : end]
    if start < 0 or end < start or f'const e="{REVISION}"' not in library:
        raise ThreeSourceError(
            f"the preview expects three.js r{REVISION} in {archive}, and it is not there: "
            "install trimesh 5"
        )
    if "Three.js Authors" not in library[:400]:
        raise ThreeSourceError(f"three.js in {archive} has lost its licence")
    return library
