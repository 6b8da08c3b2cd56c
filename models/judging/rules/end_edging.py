"""The page of what a design of shelves reports where edging hinders a panel."""

from . import Page

PAGE = Page(
    "end-edging",
    "Edging across the ends of a solid panel",
    """A solid panel swells and shrinks across its grain with the air's moisture; edging along its
ends, glued or screwed, does not move that way and splits it or comes off (common practice, no
source). Sheet goods do not move, and take edging all round.""",
    kinds=frozenset(("stock",)),
)
