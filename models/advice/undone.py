"""What a recipe says beside its design, left to design and usual practice again."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ..designs import piece_models
from ..piece.lever import Edit, Lever, RecipePath, Setting
from ..piece.project import Joint
from ..recipe.edits import written
from ..recipe.recipe import fields_of
from ..recipe.stated import EVERY_JOINT, Recipe

_SHARED = ("limits", "tools")
"""What all pieces share."""


def bored_as_designed(recipe: Recipe, index: int, joints: Sequence[Joint]) -> Iterator[Lever]:
    """What is bored otherwise at some joints, left to the design: a key, a joint, or all of it."""
    above: RecipePath = ("build", index, "changes")
    places: dict[RecipePath, None] = {}
    for joint in (joint for joint in joints if joint.key):
        places |= {(*above, EVERY_JOINT): None, joint.key: None}
        places |= {joint.pocket_key(bore): None for bore in joint.bores}
    told = [(place, node) for place in places if isinstance(node := written(recipe, place), dict)]
    keys = dict.fromkeys(key for _, node in told for key in node)
    edits: list[Edit] = [
        tuple(_away((*place, key)) for place, node in told if key in node) for key in keys
    ]
    if len(keys) > 1:
        edits.append(tuple(_away((*place, key)) for place, node in told for key in node))
    whole = written(recipe, above)
    if isinstance(whole, dict) and whole:
        edits.append((_away(above, "leave all joints to the design"),))
    yield Lever("undo", edits, resort=True)


def usual_again(recipe: Recipe, index: int, shared: Sequence[str]) -> Iterator[Lever]:
    """Limits or tools of its own left at the usual: one, all of them, and joints with them."""
    read = ((place, written(recipe, (place,))) for place in shared)
    stated = {place: node for place, node in read if isinstance(node, dict)}
    edits: list[Edit] = [(_away((place, key)),) for place, node in stated.items() for key in node]
    whole = [_away((place,), f"leave {place} at the usual") for place in stated]
    joints = ("build", index, "changes")
    own = [_away(joints, "leave all joints to the design")] if written(recipe, joints) else []
    edits += [(one,) for one, node in zip(whole, stated.values(), strict=True) if len(node) > 1]
    edits += [tuple(whole)] if len(whole) > 1 else []
    edits += [(one, *own) for one in whole] if own else []
    edits += [(*whole, *own)] if own and len(whole) > 1 else []
    yield Lever(f"usual {' '.join(shared)}", edits, resort=True)


def unsaid(recipe: Recipe, index: int) -> Iterator[Lever]:
    """What the piece may leave unsaid, left unsaid: each key that has a default."""
    known = fields_of(recipe.document.tree, piece_models())
    piece = written(recipe, ("build", index))
    keys = [key for key in piece if isinstance(piece[key], str)] if isinstance(piece, dict) else []
    paths = [("build", index, key) for key in keys if key not in ("design", "name", "quantity")]
    yield Lever(
        "unsaid", [(_away(p),) for p in paths if p in known and not known[p].required], resort=True
    )


def _away(path: RecipePath, says: str = "") -> Setting:
    to = "at the usual" if path[0] in _SHARED else "to the design"
    return Setting(path, None, says or f"leave the {str(path[-1]).replace('_', ' ')} {to}")
