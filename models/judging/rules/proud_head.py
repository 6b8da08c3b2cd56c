"""A screw's head that stands out of its pocket where that is seen, or where something may lie."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from ...maths.geometry import dot
from ...piece.board import Board
from ...piece.convex import Convex
from ...piece.project import Bore, Finding
from ...words.lengths import format_length
from ..study import Study
from . import BORED, Number, Rule

CODE = "proud-head"
_CLOSE = 1e-6


def proud(board: Board, bore: Bore) -> float:
    """How far the head's rim stands above the pocket face (mm); negative is below it.

    The highest point of a disc of the head's radius, square to the axis (textbook).
    """
    plane = board.face(bore.pocket_face).plane
    sine = dot(plane.normal, bore.back)
    top = plane.gap(bore.seat) - bore.screw.head_height * sine
    return bore.screw.head_radius * math.sqrt(1 - sine * sine) - top


def check(study: Study) -> Iterator[Finding]:
    """Warn of heads that stand out of a face in sight, or of one that bounds the whole piece."""
    for bore in study.project.bores:
        board = study.project.board_named[bore.board]
        above, face = proud(board, bore), board.face(bore.pocket_face)
        if above <= _CLOSE:
            continue
        if face.seen == "exposed":
            where = "where it is seen"
        elif _outermost(study, board, bore):
            where = "where the piece meets a wall, a floor or a top"
        else:
            continue
        yield Finding(
            CODE,
            "warns",
            f"the head stands {format_length(above, study.project.unit)} out of the {face.name}, "
            f"{where}",
            board=bore.board,
            joint=bore.joint,
            bore=bore.name,
            measured=-above,
            needed=0.0,
            point=board.pose.point(bore.seat),
        )


def _outermost(study: Study, board: Board, bore: Bore) -> bool:
    """Whether no board of the piece reaches past the pocket face."""
    plane = board.pose.plane(board.face(bore.pocket_face).plane)
    corners = np.concatenate([piece.corners for piece in _pieces(study, board.piece)])
    return bool((corners @ np.array(plane.normal) <= plane.offset + _CLOSE).all())


def _pieces(study: Study, name: str) -> Iterator[Convex]:
    boards = (board for board in study.project.boards if board.piece == name)
    return (piece for board in boards for piece in study.convex[board.name])


def numbers(study: Study, bore: Bore) -> Iterator[Number]:
    """How deep the head lies."""
    board = study.project.board_named[bore.board]
    yield Number("head below the pocket face", -proud(board, bore))


RULE = Rule(
    CODE,
    "A screw's head stands out of its pocket",
    """The head's rim is the highest point of a disc of the head's radius, square to the axis
(textbook), as far above its seat as the head is high. The stop is set so that it lies 0.2 mm below
the pocket face, as far as the tip's cover in the mate allows; where that is not enough the exit
goes lower. In thin stock neither may do, and a head that stands out is common practice, no source.
It warns where the pocket face is in sight, and where the face bounds the whole piece: a worktop
laid on it would not lie flat, nor a frame against a wall. A board of the project on the head itself
is a stray-screw.""",
    check,
    numbers,
    # Wherever the pocket sits and however it is swung, the head stands as high.
    kinds=BORED - {"move", "pockets", "swing"},
    hint="take thicker stock, in which the head sinks, or screws with smaller heads",
)
