"""The page of what placement reports where a joint has no place for its pockets."""

from . import BORED, Page

PAGE = Page(
    "no-window",
    "No place along the joint keeps every limit",
    """Along a joint every wall is a convex function of the pocket's position, so the positions that
keep every limit are intervals, the windows. They are found exactly (ends within 0.00001 mm): walls
to every face and cut in both boards, the screw's cover, the distance to other joints' bores and
screws. Where no window is left, or not one for every pocket, the least bad place is shown, with the
wall that lacks most.""",
    kinds=BORED,
    joint=True,
)
