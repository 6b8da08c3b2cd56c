"""From a recipe to a placed project: copies, places on the floor, faces by name."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from typing import Any

import pytest

from slantbore.models import planning
from slantbore.models.designs import _drawer_screws, designs, piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.project import Limits, Project, Window
from slantbore.models.placing import likeness
from slantbore.models.placing.joints import Placed, place
from slantbore.models.placing.shop import Piece, Shop
from slantbore.models.placing.site import Site
from slantbore.models.placing.windows import windows
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError
from slantbore.models.work.end_cut import sawn

HEAD = """\
name: cabin mirrors
units: mm
stock:
  rails: {wood: red-oak, thickness: 19.05}
build:
"""
PIECE = "  - {design: mitred-frame, stock: rails, rail_width: 63.5, sight: 300 x 450"


def planned(*pieces: str) -> Project:
    text = HEAD + "".join(f"{PIECE}{more}}}\n" for more in pieces)
    return plan(parse_recipe(text, "cabin.yaml", piece_models()))


def across(project: Project, piece: str) -> tuple[float, float]:
    """Least and greatest x of the corners of a piece's boards."""
    xs = [
        board.pose.point((x, y, 0.0))[0]
        for board in project.boards
        if board.piece == piece
        for x in (0.0, board.length)
        for y in (0.0, board.width)
    ]
    return min(xs), max(xs)


def test_copies_are_whole_pieces_with_names_of_their_own() -> None:
    project = planned(", name: mirror, quantity: 3")
    pieces = list(dict.fromkeys(board.piece for board in project.boards))
    assert len(pieces) == 3
    assert len(project.boards) == len({board.name for board in project.boards}) == 12
    assert len(project.joints) == len({joint.name for joint in project.joints}) == 12
    assert len(project.bores) == len({bore.name for bore in project.bores}) == 12
    for joint in project.joints:
        assert project.board_named[joint.first].piece == project.board_named[joint.second].piece


def test_pieces_without_a_place_stand_side_by_side() -> None:
    project = planned(", name: one", ", name: two, quantity: 2", ", name: three")
    pieces = list(dict.fromkeys(board.piece for board in project.boards))
    spans = [across(project, piece) for piece in pieces]
    assert len(spans) == 4
    for (_, end), (start, _) in zip(spans, spans[1:], strict=False):
        assert start > end


def test_a_stated_place_is_kept() -> None:
    project = planned(", name: one, at: {x: 1200, y: 300, turn: 90}")
    origin = project.boards[0].pose.point((0.0, 0.0, 19.05))
    assert origin == pytest.approx((1200.0, 300.0, 0.0))
    # Turned to the left: what ran to the right now runs to the back.
    assert project.boards[0].pose.x == pytest.approx((0.0, 1.0, 0.0))


def test_copies_are_judged_alike() -> None:
    single, double = planned(", name: m, swing: 45"), planned(", name: m, swing: 45, quantity: 2")
    about = [(f.rule, f.severity) for f in judge(single) if f.bore]
    assert sorted([*about, *about]) == sorted((f.rule, f.severity) for f in judge(double) if f.bore)


def test_the_recipe_says_how_a_face_is_seen() -> None:
    project = planned(", seen: {inside edge: concealed, bottom rail back: exposed}")
    for board in project.boards:
        seen = {face.name: face.seen for face in board.faces}
        assert seen["inside edge"] == "concealed"
        assert seen["back"] == ("exposed" if board.role == "bottom rail" else "concealed")


def test_a_face_that_no_board_has_is_told_with_the_nearest_name() -> None:
    with pytest.raises(RecipeError) as caught:
        planned(", seen: {insid edge: concealed}")
    (problem,) = caught.value.problems
    assert problem.location.line == 6
    assert "inside edge" in problem.message


def test_what_the_geometry_finds_out_is_told_at_the_piece(monkeypatch: pytest.MonkeyPatch) -> None:
    def mitres(params: object, shop: Shop) -> Piece:
        stock = shop.stock("rails", "stock")
        rail = shop.board("rail", stock, 50, 90, work=sawn(45, 45))
        return Piece((rail,), ())

    design = replace(designs()["mitred-frame"], plan=mitres)
    monkeypatch.setattr(planning, "designs", lambda: {"mitred-frame": design})
    with pytest.raises(RecipeError) as caught:
        planned(", name: mirror")
    (problem,) = caught.value.problems
    assert problem.location.line == 6
    assert "mirror cannot be made in these sizes" in problem.message
    assert "mirror rail: the mitres meet" in problem.message


def test_what_finds_no_place_is_in_nobodys_way() -> None:
    """All eight corners fail alike: pockets that stand where they may not crowd no others."""
    wide = PIECE.replace("300 x 450", "500 x 500")
    text = HEAD.replace("build:", "limits: {show_wall: 12}\nbuild:")
    text += f"{wide}, name: mirror, sides: 8, pockets: 2, bored: both}}\n"
    project = plan(parse_recipe(text, "cabin.yaml", piece_models()))
    assert [f.rule for f in project.findings] == ["no-window"] * 8
    assert len({bore.window.position for bore in project.bores}) == 2


def test_only_a_mitre_is_swung_unasked() -> None:
    """A rail end whose pocket a swing would serve stays square: a swing is told as a change."""
    text = HEAD.replace("build:", "limits: {between: 20}\nbuild:")
    frame = "design: face-frame, name: frame, stock: rails, size: 600 x 500, stile: 45, rail: 38"
    text += f"  - {{{frame}}}\n"
    text += PIECE.replace("63.5", "38") + ", name: mirror}\n"
    project = plan(parse_recipe(text, "cabin.yaml", piece_models()))
    assert {bore.swing for bore in project.bores if bore.board.startswith("frame")} == {0.0}
    assert {bore.swing for bore in project.bores if bore.board.startswith("mirror")} != {0.0}


@pytest.mark.parametrize("name", ["kitchenette", "entry-table", "octagon-mirror", "book-shelf"])
def test_a_copy_is_what_its_design_would_make_under_its_name(name: str) -> None:
    text = (files("slantbore") / "recipes" / f"{name}.yaml").read_text(encoding="utf-8")
    recipe = parse_recipe(text, f"{name}.yaml", piece_models())
    for index, params in enumerate(recipe.pieces):
        shop = Shop.of(recipe, index, params)
        first, other = (replace(shop, name=f"{params.name} {n}") for n in (1, 2))
        copy = planning._planned(params, first).copied(first.name, other.name)
        assert copy == planning._planned(params, other)


def test_what_swings_were_tried_is_said() -> None:
    text = HEAD.replace("build:", "limits: {hidden_wall: 25}\nbuild:")
    said = []
    for more in ("", ", swing: 0"):
        recipe = parse_recipe(f"{text}{PIECE}{more}}}\n", "cabin.yaml", piece_models())
        said.append(plan(recipe).findings[0].message.partition(" hides")[0])
    assert said == [
        "square to the mitre or swung by up to 30 degrees, no place along the mitre",
        "square to the mitre, no place along the mitre",
    ]


def test_work_that_no_design_should_state_is_told_in_one_line() -> None:
    text = (files("slantbore") / "recipes" / "kitchenette.yaml").read_text(encoding="utf-8")
    start = text.index("  - design: case\n    name: wall cabinet left")
    text = text[:start] + text[start:].replace("size: ", "size: 600 x 23000 # ", 1)
    with pytest.raises(RecipeError, match=r"made in these sizes: count `\d+`: it must be .*100$"):
        plan(parse_recipe(text, "kitchenette.yaml", piece_models()))


@pytest.mark.parametrize(
    ("name", "limits"),
    [
        ("sink-base", "tip_cover: 3/8"),
        ("sink-base", "hidden_wall: 3/4"),
        ("drawer", "hidden_wall: 7 mm"),
        ("face-frame", "show_wall: 1/2"),
    ],
)
def test_a_joint_is_looked_at_closely_only_where_a_glance_sees_a_place(
    name: str, limits: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The usual way of the first joint that fails is the one exception."""
    found: list[list[Window]] = []

    def looked(site: Site, swing: float, some: Limits) -> list[Window]:
        found.append(windows(site, swing, some))
        return found[-1]

    monkeypatch.setattr(likeness, "windows", looked)
    project = plan(parse_recipe(shipped(name, limits), f"{name}.yaml", piece_models()))
    assert any(finding.rule == "no-window" for finding in project.findings)
    assert sum(not some for some in found) == 1


def test_a_drawer_is_not_laid_out_otherwise_where_no_pocket_has_a_place(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[int] = []

    def counted(*args: Any, **more: Any) -> list[Placed]:
        asked.append(len(args[1]))
        return place(*args, **more)

    monkeypatch.setattr(_drawer_screws, "place", counted)
    plan(parse_recipe(shipped("drawer", "hidden_wall: 12 mm"), "drawer.yaml", piece_models()))
    assert asked == [4]


def shipped(name: str, limits: str) -> str:
    """A recipe that ships, with other limits."""
    text = (files("slantbore") / "recipes" / f"{name}.yaml").read_text(encoding="utf-8")
    return text.replace("\nbuild:", f"\nlimits: {{{limits}}}\nbuild:", 1)
