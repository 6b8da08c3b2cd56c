"""From a recipe to a project: each piece planned by its design, then set in its place."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Hashable
from dataclasses import replace

from pydantic import ValidationError

from .designs import designs
from .maths.geometry import Pose
from .piece.names import Named, names
from .piece.project import Hardware, Project
from .placing.likeness import Known
from .placing.otherwise import bored_otherwise
from .placing.shop import Piece, Shop
from .recipe.fields import LARGEST_COUNT
from .recipe.stated import PieceParams, Recipe
from .words.errors import RecipeError
from .words.lengths import Usual, quoted
from .words.names import folded, nearest, numbered

_AISLE = Usual(300, "12")  # between pieces that the recipe gives no place
# Pockets of a piece, and of all its copies: more is a slip of the pen.
_MOST, _MOST_IN_ALL = 5_000, 20_000


def plan(
    recipe: Recipe,
    known: Known | None = None,
    only: int | None = None,
    stop: Callable[[], bool] = lambda: False,
    needed: Collection[str] = (),
) -> Project:
    """Plan every piece of a recipe.

    Args:
        recipe: as read.
        known: what was found along joints, by all that it depends on; it is added to.
        only: index of a piece, of which the first copy alone is planned.
        stop: asked now and then whether to give up.
        needed: names of joints without whose pockets in place the plan is of no use.

    Raises:
        NoPlace: one of these has none.
        Stopped: it was given up.
        RecipeError: what the recipe asks for cannot be, at its place.
    """
    pieces: list[Piece] = []
    stands: dict[str, Pose] = {}
    right, aisle = 0.0, _AISLE.of(recipe.unit)
    known = {} if known is None else known
    taken: dict[Hashable, tuple[int, Named]] = {}
    for index, params in enumerate(recipe.pieces):
        shop = replace(Shop.of(recipe, index, params, known), needed=frozenset(needed), stop=stop)
        copies = params.copies
        if only is not None:
            copies = copies[:1] if index == only else ()
        first: Piece | None = None
        for number, name in enumerate(copies, start=1):
            shop.go_on()
            if first is None:
                named = replace(shop, name=name)
                first = _planned(params, named)
                _known_faces(params, first, named)
                _refuse_many(params, first, named)
            piece = first.copied(copies[0], name)
            _told_apart(recipe, index, piece, taken)
            left, width = _extent(piece)
            pose = _place(params, number, width, aisle) or Pose((right - left, 0.0, 0.0))
            pieces.append(piece.placed(pose))
            stands[name] = pose
            right = max(right, pose.origin[0] + left + width + aisle)
    return Project(
        recipe.name,
        recipe.unit,
        tuple(b for p in pieces for b in p.boards),
        tuple(j for p in pieces for j in p.joints),
        tuple(h for p in pieces for h in p.hardware),
        recipe.limits,
        tuple(f for p in pieces for f in p.findings),
        tuple(r for p in pieces for r in p.reports),
        recipe.router,
        recipe.cutting,
        stands,
        tuple(one.copies for one in recipe.pieces if one.quantity > 1 and only is None),
    )


def _planned(params: PieceParams, shop: Shop) -> Piece:
    """The piece as its design lays it out.

    Raises:
        RecipeError: it cannot be; also where the geometry finds that out before the design does.
    """
    try:
        piece = designs()[params.design].plan(params, shop)
        piece = replace(piece, hardware=piece.hardware + _fixings(params, shop))
        return bored_otherwise(shop, params.changes, piece)
    except RecipeError:
        raise
    except ValidationError as error:  # of work that a design states
        first = error.errors()[0]
        what, said = str(first["loc"][-1]), first["msg"].removeprefix("Value error, ")
        raise shop.error(f"{shop.name} cannot be made in these sizes: {what} {said}") from error
    except (ValueError, ArithmeticError) as error:
        raise shop.error(f"{shop.name} cannot be made in these sizes: {error}") from error


def _fixings(params: PieceParams, shop: Shop) -> tuple[Hardware, ...]:
    return tuple(
        Hardware(f.name, f.detail or f"to the {f.to}", f.quantity, shop.name, f.to)
        for f in params.fixings
    )


def _told_apart(
    recipe: Recipe, index: int, piece: Piece, taken: dict[Hashable, tuple[int, Named]]
) -> None:
    """Note every name of a piece; boards name files, joints and pockets are named in recipes.

    Raises:
        RecipeError: a name is taken, by another piece or by this one.
    """
    for one in names(piece.boards, piece.joints):
        where, first = taken.setdefault(one.key, (index, one))
        if first is not one:
            raise _called_twice(recipe, (where, first), (index, one), taken)


def _called_twice(
    recipe: Recipe,
    first: tuple[int, Named],
    second: tuple[int, Named],
    taken: Collection[Hashable],
) -> RecipeError:
    """What to say of a name that two things would have, at the later one."""
    (where, earlier), (index, one) = first, second
    line = recipe.location("build", where, "name").line
    said = f"{quoted(one.name)} would be the name of a {one.kind} here and of a {earlier.kind} of "
    said += "the same piece" if where == index else f"the piece in line {line}"
    if one.name != earlier.name:
        said += f" ({quoted(earlier.name)}; file names may not tell capitals apart)"
    if where == index and one.own:
        stem = one.name.removesuffix(one.own)
        free = numbered(one.own, lambda own: replace(one, name=stem + own).key not in taken)
        said += f"; call this part {quoted(free)}, say"
        return recipe.error(said, "build", index, "parts", one.own)
    known = {folded(params.name) for params in recipe.pieces}
    free = numbered(recipe.pieces[index].name, lambda name: folded(name) not in known)
    return recipe.error(f"{said}; call this piece {quoted(free)}, say", "build", index, "name")


def _known_faces(params: PieceParams, piece: Piece, shop: Shop) -> None:
    known = {f.name for b in piece.boards for f in b.faces}
    known |= {f"{b.role} {f.name}" for b in piece.boards for f in b.faces}
    for word in params.seen:
        if word not in known:
            faces = ", ".join(sorted({f.name for b in piece.boards for f in b.faces}))
            raise shop.error(
                f"no board has a face {word!r}{nearest(word, known)} (faces: {faces}; or with "
                "the board's role before it)",
                "seen",
                word,
            )


def _refuse_many(params: PieceParams, piece: Piece, shop: Shop) -> None:
    """Refuse more pockets than anybody would bore.

    Raises:
        RecipeError: there are so many.
    """
    for joint in piece.joints:
        if len(joint.bores) > LARGEST_COUNT:
            said = f"{joint.name} would have {len(joint.bores)} pockets, and {LARGEST_COUNT} is "
            raise shop.error(f"{said}the most in one joint: are the sizes as they should be?")
    each = sum(len(joint.bores) for joint in piece.joints)
    if each > _MOST:
        said = f"{shop.name} would have {each:,} pockets, and {_MOST:,} is the most: "
        raise shop.error(f"{said}are the sizes as they should be?")
    if each * params.quantity > _MOST_IN_ALL:
        said = f"{params.quantity} pieces with {each:,} pockets each: {_MOST_IN_ALL:,} is the most"
        raise shop.error(said, "quantity")


def _extent(piece: Piece) -> tuple[float, float]:
    """Least x and width of a piece (mm)."""
    xs = [
        b.pose.point((x, y, z))[0]
        for b in piece.boards
        for x in (0.0, b.length)
        for y in (0.0, b.width)
        for z in (0.0, b.thickness)
    ]
    return min(xs), max(xs) - min(xs)


def _place(params: PieceParams, number: int, width: float, aisle: float) -> Pose | None:
    """The pose that the recipe states; further copies stand beside the first one."""
    if params.at is None:
        return None
    turn = math.radians(params.at.turn)
    c, s = math.cos(turn), math.sin(turn)
    step = (number - 1) * (width + aisle)
    origin = (params.at.x + step * c, params.at.y + step * s, params.at.up)
    return Pose(origin, (c, s, 0.0), (-s, c, 0.0))
