"""The one-file page: library, scene and script in one HTML text that asks for nothing else."""

from __future__ import annotations

import base64
import hashlib
import html
import json
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from ..drawing.wood import SHADING
from .three_source import three_source

_FOLDER = files("slantbore") / "generators" / "page" / "view"


def page(scene: Mapping[str, Any], *, live: bool = False) -> str:
    """Return the page.

    Scripts are allowed by their hash alone, so that nothing in a recipe could ever run.

    Args:
        scene: what `scene_of` gives.
        live: whether the page listens to the server that it came from.

    Raises:
        ThreeSourceError: the 3D library is not where it should be.
        ValueError: the scene holds a number that is not finite.
    """
    library, script = three_source(), page_script()
    scripts = " ".join(f"'sha256-{_digest(text)}'" for text in (library, script))
    connect = "'self'" if live else "'none'"
    policy = (
        f"default-src 'none'; script-src {scripts}; style-src 'unsafe-inline'; "
        f"img-src data: blob:; connect-src {connect}; base-uri 'none'; form-action 'none'"
    )
    parts = {
        "@@LIVE@@": "yes" if live else "no",
        "@@POLICY@@": html.escape(policy, quote=True).replace("&#x27;", "'"),
        "@@TITLE@@": html.escape(str(scene["name"])),
        "@@STYLE@@": _read("page.css"),
        "@@THREE@@": library,
        "@@SCENE@@": embedded(scene),
        "@@SCRIPT@@": script,
    }
    text = _read("page.html")
    pieces = []
    # One pass from left to right, so that what a recipe says is never itself a placeholder.
    for mark, value in parts.items():
        before, _, text = text.partition(mark)
        pieces += [before, value]
    return "".join([*pieces, text])


def embedded(data: Any) -> str:
    """JSON for a script element: no character in it can end that element."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def page_script() -> str:
    """The page's own script: its parts in the order of their names, in one function."""
    parts = sorted(
        (entry for entry in _FOLDER.iterdir() if entry.name.endswith(".js")), key=lambda e: e.name
    )
    body = "\n".join(part.read_text("utf-8") for part in parts)
    return f'(() => {{\n"use strict";\nconst WOOD = {json.dumps(SHADING)};\n{body}\n}})();'


def _read(name: str) -> str:
    return (_FOLDER / name).read_text("utf-8")


def _digest(script: str) -> str:
    # Browsers hash a script's text with its line ends as plain newlines.
    plain = script.replace("\r\n", "\n").replace("\r", "\n")
    return base64.b64encode(hashlib.sha256(plain.encode("utf-8")).digest()).decode("ascii")
