"""Two boards, one pocket and one screw, made by hand: a rail butted against a stile."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from slantbore.generators.page.assemble import built_scene
from slantbore.generators.page.scene import scene_of
from slantbore.generators.solids.solids import solidify
from slantbore.generators.telling.printed import CLOSED_FORM, Told
from slantbore.models.advice.causes import Cause
from slantbore.models.maths.geometry import Pose
from slantbore.models.piece.board import BOTTOM, FRONT, LEFT, RIGHT, TOP, Board, Stock
from slantbore.models.piece.project import (
    Bore,
    Bound,
    Drill,
    Finding,
    Joint,
    PocketId,
    Project,
    Screw,
    Window,
)
from tests.boards import blank

T = 19.05
SLOPE = 15.0
RAIL_SIZE = (406.4, 63.5)
ASH = Stock("ash", "ash, white", "white ash", T, "hardwood")
DRILL = Drill("stepped 9.5", 4.7625, 1.75, SLOPE, (150.0,), 3.2, 25.0, 180.0)
SCREW = Screw("#8", "fine", 31.75, 2.1, 4.4, 2.4, '#8 x 1-1/4" fine thread')


def bore(number: int = 1, across: float = 31.75) -> Bore:
    """A pocket in the back of the rail, through its left end."""
    t = math.radians(SLOPE)
    return Bore(
        pocket=PocketId("end of rail", number),
        board="top rail",
        pocket_face=BOTTOM,
        joint_face=LEFT,
        mate="left stile",
        mate_face=FRONT,
        exit=(0.0, across, T / 2),
        back=(math.cos(t), 0.0, -math.sin(t)),
        slope=SLOPE,
        swing=0.0,
        shoulder=16.0,
        drill=DRILL,
        screw=SCREW,
        window=Window(
            "front edge", across, 10.0, 53.5, Bound(face="outside edge"), Bound(face="inside edge")
        ),
    )


def boards() -> tuple[Board, Board]:
    """Rail and stile of one frame; their backs are hidden."""
    rail = blank(
        "top rail",
        "test frame",
        "top rail",
        ASH,
        *RAIL_SIZE,
        names={TOP: "front", BOTTOM: "back", FRONT: "inside edge", RIGHT: "right end"},
        seen={BOTTOM: "concealed", LEFT: "concealed", FRONT: "semi-exposed"},
        pose=Pose((63.5, T, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    )
    stile = blank(
        "left stile",
        "test frame",
        "stile",
        ASH,
        609.6,
        63.5,
        names={TOP: "front", BOTTOM: "back"},
        seen={BOTTOM: "concealed"},
        pose=Pose((63.5, T, -500.0), (0.0, 0.0, 1.0), (-1.0, 0.0, 0.0)),
    )
    return rail, stile


def project(name: str = "test frame", **changes: Any) -> Project:
    """The project of both boards and their joint."""
    rail, stile = boards()
    joint = Joint("end of rail", "butt", rail.name, LEFT, stile.name, FRONT, (bore(),))
    return Project(name, "inch", (rail, stile), (joint,), **changes)


def thin_wall(measured: float = 2.2) -> Finding:
    """A finding about the pocket, with a point on the bore's wall."""
    rail, _ = boards()
    return Finding(
        rule="show-wall",
        severity="fails",
        message="The pocket comes too near the front.",
        board="top rail",
        joint="end of rail",
        bore="end of rail pocket 1",
        face="front",
        measured=measured,
        needed=3.0,
        remedy="use a 1 in screw",
        point=rail.pose.point((20.0, 31.75, T - measured)),
    )


def told(found: Project, findings: Sequence[Finding] = ()) -> Told:
    """A project and findings, each with a cause of its own."""
    return Told(found, findings, [Cause((finding,)) for finding in findings], CLOSED_FORM)


def shown(found: Project, findings: Sequence[Finding] = ()) -> dict[str, Any]:
    """The page's scene of a project without its shapes."""
    return scene_of(told(found, findings))


def scene(found: Project, findings: Sequence[Finding] = ()) -> dict[str, Any]:
    """The page's scene of a project, on real solids."""
    return built_scene(told(found, findings), solidify(found))
