"""The kernel and what it makes: solids, meshes, measures, the proof, STEP.

Imports models, telling, drawing; the only room that imports the kernel.
"""

from collections.abc import Callable

Progress = Callable[[str, int, int], None]
"""Called with what is being done, how many are done, and how many there are."""
