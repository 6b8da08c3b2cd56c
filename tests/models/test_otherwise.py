"""What a recipe bores otherwise than its design would, and that remedies are told in its keys."""

from __future__ import annotations

import json
import math

import pytest

from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.judging.rules.splitting import prebored
from slantbore.models.piece.project import Bore, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe as parse
from slantbore.models.recipe.schema import recipe_schema
from slantbore.models.words.errors import RecipeError
from tests.models.advised import advised, hold

MIRROR = """\
name: mirror
units: mm
stock:
  rails: {wood: cherry, thickness: 19.05}
build:
  - design: mitred-frame
    name: mirror
    stock: rails
    rail_width: 63.5
    sight: 300 x 450
    changes: %s
"""

SHELF = """\
name: shelf
units: mm
stock:
  board: {wood: red-oak, thickness: 19}
build:
  - design: free-form
    name: shelf
    quantity: 2
    parts:
      shelf: {stock: board, length: 400, width: 150,
              seen: {top face: semi-exposed, bottom face: concealed}}
      upright: {stock: board, length: 400, width: 150, seen: {top face: concealed}}
    joints:
      - {kind: butt, board: shelf / left end, meets: upright / bottom face, pockets_in: top face,
         flush: [{face: front edge, to: front edge},
                 {face: bottom face, to: left end, set_back: 100}]}
    changes: %s
"""


LEAF = """\
name: shelf
units: mm
stock:
  board: {wood: red-oak, thickness: 19}
  leaf: {wood: red-oak, thickness: 6}
build:
  - design: free-form
    name: shelf
    parts:
      post: {stock: leaf, length: 400, width: 150}
      shelf: {stock: board, length: 400, width: 150, seen: {top face: concealed}}
    joints:
      - {kind: butt, board: shelf / right end, meets: post / left end, pockets_in: top face,
         flush: [{face: front edge, to: front edge},
                 {face: bottom face, to: bottom face, set_back: -6}]}
    changes: %s
"""


def project(text: str, **said: object) -> Project:
    """A recipe with that under `changes`."""
    keys = {name.replace("_", " "): value for name, value in said.items()}
    return plan(parse(text % json.dumps(keys), "r.yaml", piece_models()))


def bore(found: Project, name: str) -> Bore:
    return next(b for b in found.bores if b.name == name)


def error(text: str, **said: object) -> str:
    with pytest.raises(RecipeError) as caught:
        project(text, **said)
    return str(caught.value)


PLAIN = project(MIRROR)


def test_a_pocket_takes_what_is_said_of_it_and_keeps_its_limits() -> None:
    found = project(MIRROR, corner_2_pocket={"swing": 20, "screw": 25.4, "wood_under_screw": 17})
    new = bore(found, "mirror corner 2 pocket")
    assert (new.swing, new.screw.length, new.shoulder) == (20.0, 25.4, 17.0)
    assert new.window.low < new.window.position < new.window.high
    assert not [f for f in judge(found) if f.severity == "fails" and f.bore == new.name]
    others = [b for b in found.bores if b.name != new.name]
    assert others == [b for b in PLAIN.bores if b.name != new.name]


def test_a_pocket_moves_no_further_than_its_limits_ask() -> None:
    old = bore(PLAIN, "mirror corner 1 pocket")
    new = bore(project(MIRROR, corner_1_pocket={"wood_under_screw": 16}), old.name)
    if new.window.low + 1.5 <= old.window.position <= new.window.high - 1.5:
        assert new.exit == pytest.approx(old.exit)
    turned = bore(project(MIRROR, corner_1_pocket={"swing": 30}), old.name)
    ends = (turned.window.low + 1.5, turned.window.high - 1.5)
    inside = ends[0] <= old.window.position <= ends[1]
    assert inside or turned.window.position in (pytest.approx(ends[0]), pytest.approx(ends[1]))


def test_a_stated_place_stands_and_the_rules_speak_for_it() -> None:
    found = project(MIRROR, corner_1_pocket={"position": 40})
    new = bore(found, "mirror corner 1 pocket")
    assert new.window.position == 40
    assert math.hypot(new.exit[0], new.exit[1]) == pytest.approx(40)
    told = {f.rule for f in judge(found) if f.bore == new.name}
    assert {"thin-wall", "breakout"} & told
    good = bore(project(MIRROR, corner_1_pocket={"position": 70}), new.name)
    assert good.window.low < 70 < good.window.high and good.window.position == 70


def test_a_joint_has_as_many_pockets_as_said() -> None:
    found = project(MIRROR, corner_3={"pockets": 2})
    assert [len(j.bores) for j in found.joints] == [1, 1, 2, 1]
    shelves = project(SHELF, shelf_to_upright={"pockets": 1})
    assert [len(j.bores) for j in shelves.joints] == [1, 1], "both copies"


def test_a_joint_is_bored_from_the_face_that_is_said() -> None:
    for word in ("bottom face", "any"):
        found = project(SHELF, shelf_to_upright={"pockets_in": word})
        assert {b.pocket_face for b in found.bores} == {"bottom face"}
    one = project(SHELF, shelf_to_upright_pocket_1={"pockets_in": "bottom face"})
    assert [b.pocket_face for b in one.bores] == ["bottom face", "top face"] * 2
    free = project(SHELF, shelf_to_upright_pocket_1={"pockets_in": "any"})
    assert [b.pocket_face for b in free.bores] == ["bottom face", "top face"] * 2
    back = project(MIRROR, corner_1={"pockets_in": "front"})
    assert [f.rule for f in judge(back) if f.severity == "fails"] == ["pocket-in-sight"]


def test_a_joint_is_bored_from_its_other_board() -> None:
    old, joint = bore(PLAIN, "mirror corner 1 pocket"), PLAIN.joints[0]
    role = old.mate.removeprefix("mirror ")
    found = project(MIRROR, corner_1={"pockets_in": f"{role} / back"})
    new = bore(found, old.name)
    assert (new.board, new.mate) == (old.mate, old.board)
    assert (new.joint_face, new.mate_face) == (old.mate_face, old.joint_face)
    assert (found.joints[0].first, found.joints[0].second) == (joint.first, joint.second)
    assert new.swing == old.swing == 0
    places = [found.board_named[b.board].pose.point(b.exit) for b in (old, new)]
    assert places[1] == pytest.approx(places[0]), "the same spot of the mitre"


@pytest.mark.parametrize(
    ("text", "name", "said", "thick"),
    [
        (LEAF, "shelf to post", {"pockets_in": "post / top face"}, "6 mm"),
        (MIRROR.replace("19.05", "45"), "corner 1", {"drill": "9-32-in"}, "45 mm"),
    ],
)
def test_a_way_to_bore_that_no_screw_fits_is_drawn_and_found(
    text: str, name: str, said: dict[str, object], thick: str
) -> None:
    found = project(text, **{name: said})
    (finding,) = [f for f in judge(found) if f.severity == "fails"]
    assert (finding.rule, finding.joint) == ("no-screw", f"{found.boards[0].piece} {name}")
    assert f"no stocked screw fits from {thick} stock" in finding.message
    assert finding.point is not None
    assert [b for b in found.bores if b.joint == finding.joint]


def test_pilots_go_on_into_the_mate() -> None:
    found = project(MIRROR, every_joint={"pilot": "screw"})
    assert all(prebored(b) for b in found.bores)
    assert all(b.pilot_into_mate == pytest.approx(b.engagement) for b in found.bores)
    some = project(MIRROR, every_joint={"pilot": 5}, corner_1={"pilot": 6})
    assert [b.pilot_into_mate for b in some.bores] == [6, 5, 5, 5]


def test_a_pilot_is_slotted_across_the_mates_grain() -> None:
    found = project(SHELF, shelf_to_upright={"slot": 3})
    for one in found.bores:
        way = found.board_named[one.board].pose.direction(one.slot_along)
        assert one.slot == 3 and way == pytest.approx(found.board_named[one.mate].pose.y)
    assert not [f for f in judge(found) if f.severity == "fails"]
    found = project(SHELF, shelf_to_upright={"slot": 140})
    out = [f for f in judge(found) if f.rule == "breakout" and "pilot" in f.message]
    assert out and {f.face for f in out} == {"front edge", "back edge"}
    message = error(MIRROR, corner_1={"slot": 3})
    assert "lies across the joint: no slot helps there" in message


def test_another_drill_brings_its_screw() -> None:
    found = project(MIRROR, corner_1={"drill": "9-32-in"})
    new = bore(found, "mirror corner 1 pocket")
    assert new.drill.counterbore_radius < PLAIN.bores[0].drill.counterbore_radius
    assert not [f for f in judge(found) if f.severity == "fails"]


def test_another_drill_keeps_the_stated_bit_where_no_screw_fits() -> None:
    text = MIRROR.replace("stock:", "tools: {bit_length: 260 mm}\nstock:", 1)
    thick = text.replace("thickness: 19.05", "thickness: 45")
    for one in (text, thick):
        found = project(one, corner_1={"drill": "9-32-in"})
        assert {b.drill.bits for b in found.bores} == {(260,)}


@pytest.mark.parametrize(
    ("said", "message"),
    [
        ({"corner_9": {"swing": 5}}, "no joint with screws and no pocket is called `corner 9`"),
        ({"corner_1": {"position": 5}}, "a position is that of a single pocket"),
        ({"corner_1_pocket": {"pockets": 2}}, "`corner 1 pocket` is a single pocket"),
        ({"corner_1": {"pockets": 3}}, "pockets 3: 1 or 2 per corner"),
        ({"corner_1": {"pockets_in": "bakc"}}, "`bakc` is no face of bottom rail; did you mean"),
        ({"corner_1": {"pockets_in": "outside edge"}}, "does not stand square on the joint"),
        # The other mitre looks square to this one, and is a rail's length away.
        ({"corner_1": {"pockets_in": "right end"}}, "(square: front, back)"),
        ({"corner_1_pocket": {"pockets_in": "door / back"}}, "`door` is no board of this joint"),
        ({"corner_1": {"wood_under_screw": 500}}, "never enters the wood"),
        ({"corner_1_pocket": {"position": 500}}, "the joint is 89.8 mm long"),
        ({"corner_1": {"swing": 61}}, "`61`: it must be from -60 to 60 degrees"),
        ({"corner_1": {"drill": "no"}}, "is no drill"),
        ({"corner_1": {"pilot": "deep"}}, "`deep` cannot stand here (one of: screw)"),
        ({"corner_1": {"screw": "short"}}, "`short` is not a length"),
        ({"corner_1": {"pocket": 2}}, "did you mean `pockets`"),
    ],
)
def test_a_mistake_is_told_at_its_place(said: dict[str, object], message: str) -> None:
    told = error(MIRROR, **said)
    assert message in told
    assert told.startswith("r.yaml:11:")


def test_the_schema_tells_the_keys() -> None:
    schema = recipe_schema(piece_models())
    told = json.dumps(schema)
    assert "as deep as the screw goes" in told and '"changes"' in told


FAULTS: list[tuple[str, dict[str, object]]] = [
    (MIRROR, {"corner_1_pocket": {"position": 40}}),
    (MIRROR, {"corner_2_pocket": {"position": 52}}),
    (MIRROR, {"corner_1_pocket": {"position": 88}, "corner_2_pocket": {"swing": 0}}),
    (MIRROR, {"corner_1": {"pockets_in": "front"}}),
    (MIRROR, {"every_joint": {"screw": 50.8}}),
    (MIRROR, {"every_joint": {"wood_under_screw": 30}}),
    (MIRROR, {"every_joint": {"pilot": 60}}),
    (MIRROR, {"corner_1_pocket": {"pilot": 60, "screw": 50.8}}),
    (SHELF, {"shelf_to_upright": {"pilot": 60}}),
    (SHELF, {"shelf_to_upright": {"pilot": "screw", "screw": 38.1}}),
    (MIRROR, {"every_joint": {"wood_under_screw": 8}}),
    (SHELF, {"shelf_to_upright_pocket_1": {"position": 4}}),
    (SHELF, {"shelf_to_upright_pocket_1": {"position": 60},
             "shelf_to_upright_pocket_2": {"position": 66}}),
    (SHELF, {"shelf_to_upright": {"screw": 38.1}}),
    (SHELF, {"shelf_to_upright": {"pockets": 12}}),
    (SHELF.replace("top face: semi-exposed", "top face: exposed"), {}),
    (SHELF.replace("top face: semi-exposed", "top face: exposed"),
     {"shelf_to_upright_pocket_2": {"position": 30}}),
    (SHELF.replace("red-oak", "hard-maple").replace("set_back: 100", "set_back: 0"), {}),
]  # fmt: skip


@pytest.mark.parametrize(("text", "said"), FAULTS, ids=range(len(FAULTS)))
def test_every_remedy_is_told_in_keys_and_works(text: str, said: dict[str, object]) -> None:
    keys = {name.replace("_", " "): value for name, value in said.items()}
    recipe, _, findings = advised(text % json.dumps(keys))
    assert hold(recipe, findings), [f.message for f in findings]
