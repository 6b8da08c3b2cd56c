"""Joints as a free-form piece states them, and what each is called."""

from __future__ import annotations

import re
from collections.abc import Sequence

from pydantic import Field, model_validator

from ..piece.project import JointKind
from ..placing.shop import Shop
from ..recipe.params import Count, Name, Params, SignedLength
from ..words.lengths import quoted
from ..words.names import folded, numbered

UNSCREWED = ("housed", "loose")
_POCKET = re.compile(r"(.+) pocket(?: [0-9]+)?")


class Flush(Params):
    """A face of the joint's first board that is flush with one of the second, or set back."""

    face: str = Field(description="of the first board")
    to: str = Field(description="face of the second board, that looks the same way")
    set_back: SignedLength = Field(0.0, description="behind it; negative: proud of it")


class FreeJoint(Params):
    """Two boards, the faces by which they meet, and how they are pulled together."""

    kind: JointKind = Field(description="the trade's word for it")
    board: str = Field(description="first board and its face that meets the other: `rail / back`")
    meets: str = Field(description="second board and its face, likewise")
    name: Name | None = Field(None, description="of the joint; without it the two boards'")
    pockets_in: str | None = Field(
        None,
        description="face of the first board that is bored; any: the one least in sight that "
        "serves; without it no screws: glue",
    )
    pockets: Count | None = Field(None, description="how many; without it as practice asks")
    flush: list[Flush] = Field(default_factory=list, description="what else of place it settles")

    @model_validator(mode="after")
    def _screwed(self) -> FreeJoint:
        if self.pockets is not None and self.pockets_in is None:
            raise ValueError("pockets: say which face they are bored in (`pockets_in`)")
        if self.kind in UNSCREWED and self.pockets_in is not None:
            raise ValueError(f"pockets_in: a {self.kind} joint has no pockets")
        return self

    @property
    def called(self) -> str:
        """Its name, or its two boards'."""
        return self.name or " to ".join(
            text.partition("/")[0].strip() for text in (self.board, self.meets)
        )


def joint_names(joints: Sequence[FreeJoint], shop: Shop) -> list[str]:
    """The joints' full names, each once; none is that of another joint's pocket.

    Raises:
        RecipeError: the recipe gives a name that is taken, at its place.
    """
    given = {folded(joint.name) for joint in joints if joint.name}
    bored = {folded(joint.called) for joint in joints if joint.pockets_in is not None}
    taken: set[str] = set()
    names: list[str] = []

    def is_pocket(name: str) -> bool:
        found = _POCKET.fullmatch(folded(name))
        return found is not None and found[1] in bored

    def is_free(name: str) -> bool:
        return folded(name) not in taken | given and not is_pocket(name)

    for index, joint in enumerate(joints):
        name = joint.called
        base = f"{name} joint" if is_pocket(name) else name
        free = base if is_free(base) else numbered(base, is_free)
        if joint.name is None:
            name = free
        elif folded(name) in taken or is_pocket(name):
            what = "two joints are" if folded(name) in taken else "a joint and a pocket would be"
            message = f"{what} called {quoted(name)}; call this one {quoted(free)}, say"
            raise shop.error(message, "joints", index, "name")
        taken.add(folded(name))
        names.append(shop.label(name))
    return names
