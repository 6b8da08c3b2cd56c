"""Project, meshes and findings as the plain data that the page shows: mm beside printed text."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Iterator, Mapping
from functools import partial
from itertools import islice
from typing import Any

from ...models.advice.causes import Cause
from ...models.maths.geometry import Vec, along, dot, unit
from ...models.piece.board import Board, Face
from ...models.piece.bored import told
from ...models.piece.groups import shape_key
from ...models.piece.markout import fraction, mark_out
from ...models.piece.project import Bore, Finding, Project
from ...models.words.lengths import Unit, format_length
from ...models.work.end_cut import end_cuts
from ..cutting import wood_list
from ..drawing.colours import stock_colour
from ..drawing.wood import grain, seed
from ..telling import hardware_list
from ..telling.cause import HEADINGS, cure_said, paste_said, place_said, said_of
from ..telling.document import change_data, finding_data
from ..telling.printed import PLACES, Told, closing, more_causes, worst
from ..telling.report import SEVERITIES, length, looked_at, outcome, without_piece
from ..telling.steps import stages
from .apart import gap, openings, travel

_KEY_LENGTH = 16
_MOST = 60  # causes of one severity, and places of one, that the page lists


def scene_of(told: Told, shapes: Mapping[str, Any] | None = None) -> dict[str, Any]:
    """Everything that the page shows.

    Args:
        told: the project, placed, with all that was found by its cause.
        shapes: what `shape_json` gives, by shape name; a live page asks for them as it needs them.
    """
    project = told.project
    shown: list[dict[str, Any]] = []
    return {
        "name": project.name,
        "unit": project.unit,
        "boards": [_board(board, project) for board in project.boards],
        "joints": _joints(project),
        "bores": [_bore(bore, project) for bore in project.bores],
        "verdict": {
            "worst": worst(told.findings),
            "said": outcome(told.findings),
            "looked": looked_at(project, told.how),
        },
        "causes": list(_causes(told, shown)),
        "findings": shown,
        "closing": closing(told),
        "apart": _apart(project),
        "buy": _buy(project),
        "reports": list(project.reports),
        "shapes": dict(sorted((shapes or {}).items())),
    }


def shape_name(project: Project, board: Board) -> str:
    """A short name for a board's shape; like boards have one name, whatever the run.

    Sides are part of it beside the geometry, since the page colours faces by them.
    """
    sides = [face.side for face in _faces(board)]
    text = repr((shape_key(project, board), sides))
    return hashlib.sha256(text.encode("utf-8")).hexdigest()[:_KEY_LENGTH]


def _faces(board: Board) -> list[Face]:
    return [*board.faces, *(face for cut in board.cuts for face in cut.left)]


def _board(board: Board, project: Project) -> dict[str, Any]:
    sizes = (board.length, board.width, board.thickness)
    return {
        "name": board.name,
        "piece": board.piece,
        "role": board.role,
        "hand": board.hand,
        "stock": board.stock.title,
        "stockLabel": board.stock.label,
        "kind": board.stock.kind,
        "colour": [*stock_colour(board.stock)],
        "grain": {"kind": grain(board), "seed": seed(board)},
        "sizes": list(sizes),
        "size": [format_length(size, project.unit) for size in sizes],
        "ends": end_cuts(board),
        "work": told(project, board, partial(format_length, unit=project.unit)),
        "shape": shape_name(project, board),
        "pose": {"origin": board.pose.origin, "x": board.pose.x, "y": board.pose.y},
        "faces": [{"side": f.side, "name": f.name, "seen": f.seen} for f in _faces(board)],
        "joints": [j.name for j in project.joints if board.name in (j.first, j.second)],
    }


def _joints(project: Project) -> list[dict[str, Any]]:
    return [
        {
            "name": joint.name,
            "kind": joint.kind,
            "first": joint.first,
            "second": joint.second,
            "faces": [
                project.board_named[joint.first].face(joint.first_face).name,
                project.board_named[joint.second].face(joint.second_face).name,
            ],
            "bores": [bore.name for bore in joint.bores],
        }
        for joint in project.joints
    ]


def _bore(bore: Bore, project: Project) -> dict[str, Any]:
    board, unit_ = project.board_named[bore.board], project.unit
    mark = mark_out(board, bore)
    pocket = board.face(bore.pocket_face)
    screw = bore.screw
    return {
        "name": bore.name,
        "joint": bore.joint,
        "board": bore.board,
        "mate": bore.mate,
        "face": pocket.name,
        "pocketNormal": pocket.plane.normal,
        "slope": bore.slope,
        "swing": bore.swing,
        "leans": mark.leans,
        "exit": bore.exit,
        "back": bore.back,
        "shoulder": bore.shoulder,
        "counterbore": bore.drill.counterbore_radius,
        "mouth": mark.mouth,
        "travel": travel(project, bore),
        "drill": bore.drill.name,
        "depth": format_length(mark.depth, unit_),
        "screw": {
            "title": screw.title,
            "length": screw.length,
            "radius": screw.radius,
            "headRadius": screw.head_radius,
            "headHeight": screw.head_height,
        },
        "marks": _marks(board, bore, unit_),
    }


def _marks(board: Board, bore: Bore, unit_: Unit) -> list[dict[str, Any]]:
    """The two marking-out distances as lines on the pocket face, board frame."""
    mark = mark_out(board, bore)
    fine = fraction(board, bore, mark, unit_)
    up, normal = board.face(bore.pocket_face).plane.normal, mark.line.plane.normal
    line = unit(along(normal, up, -dot(normal, up)))
    foot = along(mark.mouth, line, mark.square)
    sides = (
        (mark.corner, foot, mark.run, mark.run_from),
        (foot, mark.mouth, mark.square, mark.square_from),
    )
    return [
        {
            "a": a,
            "b": b,
            "up": up,
            "out": line,
            "mm": mm,
            "text": format_length(mm, unit_, fine),
            "from": said,
        }
        for a, b, mm, said in sides
    ]


def _causes(told: Told, shown: list[dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """The causes under their headings, in the words of the terminal.

    Args:
        told: all of it.
        shown: is given the findings that a place of a cause shows; the place has their number.
    """
    for severity in SEVERITIES:
        some = [cause for cause in told.causes if cause.severity == severity]
        left = len(some) - _MOST
        if some:
            yield {
                "severity": severity,
                "heading": HEADINGS[severity],
                "causes": [_cause(told.project, cause, shown) for cause in some[:_MOST]],
                "more": f"{more_causes(left)}; `slantbore check --full` tells all" * (left > 0),
            }


def _cause(project: Project, cause: Cause, shown: list[dict[str, Any]]) -> dict[str, Any]:
    def spot(name: str, joint: str, finding: Finding) -> dict[str, Any]:
        shown.append(_finding(finding, project))
        short = name.removeprefix(f"{joint} pocket ") if joint else without_piece(project, name)
        return {"name": name, "short": short, "finding": len(shown) - 1}

    def place(name: str, pockets: Mapping[str, Finding]) -> dict[str, Any]:
        several = len(pockets) > 1
        return {
            "says": place_said(project, name, pockets) if several else "",
            "spots": [spot(p or name, name if several else "", f) for p, f in pockets.items()],
        }

    return {
        "said": [
            {
                "lines": [
                    {"severity": finding.severity, "rule": finding.rule, "says": says}
                    for finding, says in said.lines
                ],
                "places": [place(*one) for one in islice(said.places.items(), _MOST) if one[0]],
                "first": PLACES,
                "left": max(0, len(said.places) - _MOST),
            }
            for said in said_of(project, cause)
        ],
        "cure": cure_said(cause),
        "keys": change_data(cause.cure)["keys"] if cause.cure and cause.paste else [],
        "paste": [{"says": says, "lines": lines} for says, lines in paste_said(cause)],
    }


def _finding(finding: Finding, project: Project) -> dict[str, Any]:
    """What the document says of it, with the boards that it is about and its mark."""
    board = project.board_named.get(finding.board)
    bores = [bore for bore in project.bores if bore.name == finding.bore]
    joint = project.joint_named.get(finding.joint)
    boards = {finding.board} if board else set()
    boards |= {name for bore in bores for name in (bore.board, bore.mate)}
    boards |= {joint.first, joint.second} if joint else set()
    mark = _mark(finding, board, project.unit)
    return {**finding_data(finding), "boards": sorted(boards), "mark": mark}


def _mark(finding: Finding, board: Board | None, unit_: Unit) -> dict[str, Any] | None:
    """The short line across what was measured, in the project's frame.

    It runs square to the face, from the point to the face's plane, or into the wood where the point
    lies on that plane.
    """
    if finding.point is None:
        return None
    start, end = finding.point, finding.point
    face = next((f for f in _faces(board) if f.name == finding.face), None) if board else None
    if board is not None and face is not None and finding.measured is not None:
        way, gap, into = _towards(board, face, board.pose.local_point(finding.point))
        reach = gap if abs(gap) > 1e-3 else into * finding.measured
        end = along(finding.point, board.pose.direction(way), reach)
    label = "" if finding.measured is None else length(finding.measured, unit_)
    return {"a": start, "b": end, "text": label or "here"}


def _towards(board: Board, face: Face, p: Vec) -> tuple[Vec, float, float]:
    """The way square to a face, how far along it the face is (mm), and 1 if it enters wood."""
    cut = next((cut for cut in board.cuts if face in cut.left), None)
    if cut is None:
        return face.plane.normal, face.plane.gap(p), -1.0
    if cut.round is None:  # the plane of a cut's region faces the wood
        return face.plane.normal, face.plane.gap(p), 1.0
    off = cut.round.off(p)
    return unit(off), cut.round.radius - math.hypot(*off), 1.0 if cut.round.hollow else -1.0


def _buy(project: Project) -> dict[str, Any]:
    """What is bought: screws and other things as on the hardware list, and wood by its stock."""
    return {
        "things": [
            {
                "kind": row.kind, "item": row.item, "detail": row.detail,
                "takes": row.quantity, "buy": row.to_buy,
            }
            for row in hardware_list.rows(project)
        ],
        "wood": [
            {"stock": row.title, "boards": len(row.boards), "amount": row.amount()}
            for row in wood_list.rows(project)
        ],
    }  # fmt: skip


def _apart(project: Project) -> dict[str, Any]:
    """The steps of the assembly, and by how much (mm) each opens when it is undone."""
    steps = [
        {
            "number": step.number,
            "text": step.text,
            "boards": step.boards,
            "onto": step.onto,
            "way": step.way,
            "joints": step.joints,
        }
        for step in openings(project)
    ]
    return {"gap": gap(project), "steps": steps, "last": len(stages(project))}
