"""The one door to the CAD kernel: imports CadQuery, or says which system library is missing."""

from __future__ import annotations

import re

from ...models.words.errors import SlantboreError
from .loading import unstopped

# What the kernel's wheels want of the system, by shared library; Debian and Ubuntu package names.
DEBIAN_PACKAGES = {
    "libGL.so.1": "libgl1",
    "libGLX.so.0": "libglx0",
    "libX11.so.6": "libx11-6",
    "libXext.so.6": "libxext6",
    "libXrender.so.1": "libxrender1",
    "libxcb.so.1": "libxcb1",
    "libexpat.so.1": "libexpat1",
    "libz.so.1": "zlib1g",
}


class KernelMissing(SlantboreError):
    """The CAD kernel cannot be loaded on this machine."""


def explain(reason: str) -> str:
    """What to do about a failed import of the kernel.

    Args:
        reason: text of the ImportError, which names the shared library that was not found.
    """
    library = re.search(r"(lib[\w+.-]+\.so[\w.]*)", reason)
    if library is None:
        return f"the CAD kernel cannot be loaded: {reason}; install it with: pip install cadquery"
    name = library.group(1)
    package = DEBIAN_PACKAGES.get(name)
    if package is None:
        return f"the CAD kernel cannot be loaded: {reason}"
    return (
        f"the CAD kernel cannot be loaded: the system library {name} is missing; "
        f"on Debian or Ubuntu: sudo apt-get install {package}"
    )


try:
    with unstopped():
        import cadquery as cq
except ImportError as error:
    raise KernelMissing(explain(str(error))) from error

__all__ = ["DEBIAN_PACKAGES", "KernelMissing", "cq", "explain"]
