"""A joint for which no stocked screw is short enough; placement reports it."""

from . import BORED, Page

PAGE = Page(
    "no-screw",
    "No stocked screw fits a joint",
    """A screw seats on its shoulder, as deep in the bored board as is common practice, and its tip
keeps `tip_cover` of wood in the mate. Of the lengths that are stocked (common practice, no source)
the longest that does is taken; where even the shortest, with the shoulder drawn back as far as
three quarters of it bear, comes too near the far face of the mate, or bites less than one and a
half diameters, none fits. The shortest is shown in its place, so that the walls tell how far off it
is. A thicker mate, a smaller drill or less `tip_cover` may help.""",
    # Wherever the pocket sits and however it is swung, the same screws are too long.
    kinds=BORED - {"move", "pockets", "swing", "stop"},
    joint=True,
)
