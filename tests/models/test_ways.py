"""From which face, at which height and how many: what placement chooses by itself."""

from __future__ import annotations

import pytest

from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.board import BOTTOM, FRONT
from slantbore.models.piece.project import Project
from slantbore.models.placing.spacing import least_width, most_pockets
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from tests.models.advised import advised

RAIL = """\
name: frame
units: mm
%(more)s
stock:
  board: {wood: cherry, thickness: %(thickness)s}
build:
  - design: free-form
    name: frame
    parts:
      rail: {stock: board, length: 200, width: %(width)s,
             faces: {bottom face: back}, seen: {back: %(back)s, front edge: %(edge)s}}
      stile: {stock: board, length: 300, width: 40,
              faces: {bottom face: back}, seen: {back: concealed}}
    joints:
      - {kind: frame, board: rail / left end, meets: stile / front edge, pockets_in: %(face)s,
         flush: [{face: back, to: back}, {face: front edge, to: left end, set_back: 90}]}
"""

FRAME = """\
name: m
units: mm
stock:
  rails: {wood: cherry, thickness: 19.05}
build:
  - {design: mitred-frame, name: m, stock: rails, rail_width: %s, sight: %s, sides: %s,
     bored: %s, pockets: %s}
"""


def rail(
    thickness: float = 19.0,
    width: float = 40.0,
    face: str = "back",
    back: str = "concealed",
    edge: str = "exposed",
    more: str = "",
) -> Project:
    keys = {
        "thickness": thickness, "width": width, "face": face, "back": back, "edge": edge,
        "more": more,
    }  # fmt: skip
    return plan(parse_recipe(RAIL % keys, "f.yaml", piece_models()))


def faults(project: Project) -> list[str]:
    return [f.rule for f in judge(project) if f.severity != "notes"]


def depths(project: Project) -> set[float]:
    boards = project.board_named
    return {round(boards[b.board].face(b.pocket_face).plane.gap(b.exit), 6) for b in project.bores}


def test_exits_leave_at_mid_thickness_where_that_serves() -> None:
    assert depths(rail(19.0)) == {9.5} and not faults(rail(19.0))


@pytest.mark.parametrize("thickness", [14.0, 14.5, 15.0])
def test_exits_move_up_as_far_as_the_tip_needs(thickness: float) -> None:
    """At mid thickness the tip would come out at the front of a stile as thin as the rail."""
    project = rail(thickness)
    (depth,) = depths(project)
    assert thickness / 3 < depth < thickness / 2
    # So high an exit leaves the head no room to sink.
    assert set(faults(project)) == {"proud-head"} and {b.swing for b in project.bores} == {0.0}
    bore = project.bores[0]
    tip = project.board_named["frame rail"].pose.point(bore.tip)
    sunk = thickness - tip[2]
    # The front is z = T: 3 mm below it ends the tip's rim.
    assert min(sunk, tip[2]) > 3.0 + bore.screw.radius * 0.9


def test_the_face_least_in_sight_is_bored() -> None:
    assert {b.pocket_face for b in rail(face="any").bores} == {BOTTOM}
    edge = rail(25.0, 25.0, "any", back="semi-exposed", edge="concealed")
    assert {b.pocket_face for b in edge.bores} == {FRONT}
    back = rail(25.0, 25.0, "any", back="concealed", edge="semi-exposed")
    assert {b.pocket_face for b in back.bores} == {BOTTOM}
    shows = rail(face="any", back="exposed")
    assert "pocket-in-sight" in faults(shows), "where all faces show, one of them must do"


def test_another_face_is_bored_where_the_hidden_one_has_no_place() -> None:
    """A rail too slim for a pocket in its back; its upper edge is as wide as the stock."""
    slim = rail(22.0, 15.0, "any", back="concealed", edge="semi-exposed")
    assert {b.pocket_face for b in slim.bores} == {FRONT}
    assert not faults(slim)
    assert "no-window" in faults(rail(22.0, 15.0, "back"))


@pytest.mark.parametrize(
    ("width", "count"), [(19.0, 1), (33.0, 1), (33.4, 2), (38.0, 2), (140.0, 2), (175.0, 2)]
)
def test_placement_takes_no_more_pockets_than_the_board_has_wood_for(
    width: float, count: int
) -> None:
    project = rail(width=width, edge="concealed")
    assert len(project.bores) == count
    assert ("narrow-board" in faults(project)) is (width < 19.05)


def test_least_width_and_most_pockets_are_one_rule() -> None:
    for count in range(1, 9):
        width = least_width(count, 9.525)
        assert most_pockets(width, 9.525) == count
        assert most_pockets(width - 1e-3, 9.525) == count - 1
        # Half a pocket beside and between: n pockets and n + 1 halves.
        assert width == pytest.approx(count * 9.525 + (count + 1) * 9.525 / 2)


@pytest.mark.parametrize(
    ("width", "sight", "sides", "bored", "pockets"),
    [
        (40, "20 x 100", 4, "turn", 1),
        (40, "5 x 300", 4, "turn", 1),
        (63, "10 x 10", 3, "turn", 2),
        (63, "30 x 200", 4, "stiles", 2),
    ],
)
def test_the_two_ends_of_a_short_rail_keep_clear(
    width: float, sight: str, sides: int, bored: str, pockets: int
) -> None:
    text = FRAME % (width, sight, sides, bored, pockets)
    project = plan(parse_recipe(text, "m.yaml", piece_models()))
    assert len(project.bores) == sides * pockets
    assert not faults(project)


def test_a_frame_that_is_too_short_says_how_to_bore_it() -> None:
    text = FRAME % (40, "40 x 40", 4, "alternate", 1)
    (change, *_) = next(f.changes for f in advised(text)[2] if f.rule == "no-window")
    assert [(s.path, s.value) for s in change.edit] == [(("build", 0, "bored"), "turn")]
    turned = FRAME % (40, "40 x 40", 4, "turn", 1)
    assert not faults(plan(parse_recipe(turned, "m.yaml", piece_models())))
