"""The one door to the CAD kernel: imports CadQuery, or says which system library is missing."""

from __future__ import annotations

import re

from ..models.errors import SlantboreError

# What a bare Linux lacks, by shared library; Debian and Ubuntu package names.
DEBIAN_PACKAGES = {
    "libGL.so.1": "libgl1",
    "libEGL.so.1": "libegl1",
    "libX11.so.6": "libx11-6",
    "libXrender.so.1": "libxrender1",
    "libXext.so.6": "libxext6",
    "libXcursor.so.1": "libxcursor1",
    "libXfixes.so.3": "libxfixes3",
    "libXi.so.6": "libxi6",
    "libSM.so.6": "libsm6",
    "libICE.so.6": "libice6",
    "libGLU.so.1": "libglu1-mesa",
    "libfontconfig.so.1": "libfontconfig1",
    "libexpat.so.1": "libexpat1",
    "libgomp.so.1": "libgomp1",
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
    import cadquery as cq
except ImportError as error:
    raise KernelMissing(explain(str(error))) from error

__all__ = ["DEBIAN_PACKAGES", "KernelMissing", "cq", "explain"]
