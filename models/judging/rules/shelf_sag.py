"""The page of what a design of shelves reports where one sags too much."""

from . import Page

PAGE = Page(
    "shelf-sag",
    "A shelf sags more than is allowed",
    """Deflection under an even load by the beam formula of the Wood Handbook, eq. 9-2 with
Table 9-1, bending and shear, with the mean modulus of elasticity of the wood; the edging counts
with its own height. The limit, span/144, and the loads are those of the Architectural Woodwork
Standards (1st edition, 2009), section 10. A shelf that stays loaded goes on sagging, about as
much again (from memory). It is a reckoning of stiffness, not of strength: where a shelf could
fall on somebody, load a trial shelf and follow the local code.""",
    kinds=frozenset(("stock",)),
)
