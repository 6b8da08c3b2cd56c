"""The lists say what the project holds: marks that find the bore again, sizes, counts."""

from __future__ import annotations

import csv
import json
import math
import re
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from slantbore.generators.cli import main
from slantbore.generators.cutting import wood_list
from slantbore.generators.telling import cut_list, hardware_list, order_list
from slantbore.generators.telling.csvfile import write_csv
from slantbore.generators.telling.document import document, to_json
from slantbore.generators.writers import bores_csv
from slantbore.models.designs import designs, piece_models
from slantbore.models.maths.geometry import Vec, along, cross
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, TOP, Stock
from slantbore.models.piece.markout import mark_out
from slantbore.models.piece.project import Finding, Hardware, PocketId, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.lengths import ABOUT, Unit, parse_length
from slantbore.models.work.end_cut import EndCut, end_cuts
from tests.boards import blank, cut

from . import small
from .marking import ROUNDED, inward, marked, plane_of


def table(project: Project, module: object, folder: Path) -> list[dict[str, str]]:
    path = folder / "list.csv"
    write_csv(path, module.COLUMNS, module.rows(project))  # type: ignore[attr-defined]
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream))


def mirrored(project: Project) -> Project:
    """The other board of each joint bored instead, at its left end, the swing the other way."""
    moved = []
    for joint in project.joints:
        (bore,) = joint.bores
        exit: Vec = (small.LENGTH - bore.exit[0], bore.exit[1], bore.exit[2])
        back: Vec = (-bore.back[0], bore.back[1], bore.back[2])
        turned = replace(
            bore, board=bore.mate, joint_face=LEFT, mate=bore.board, mate_face=RIGHT, exit=exit,
            back=back, swing=-bore.swing,
        )  # fmt: skip
        moved.append(replace(joint, bores=(turned,)))
    return replace(project, joints=tuple(moved))


def planned(text: str, name: str) -> Project:
    return plan(parse_recipe(text, name, piece_models()))


PROJECTS = [
    *(planned(design.starter, key) for key, design in designs().items()),
    *(
        planned(path.read_text(encoding="utf-8"), path.name)
        for path in sorted((files("slantbore") / "recipes").iterdir(), key=lambda path: path.name)
        if path.name.endswith(".yaml")
    ),
    small.corner(),
    small.corner(swing=0.0, along_mitre=60.0),
    mirrored(small.corner()),
    small.butt(),
]


def point(row: dict[str, str], stem: str, suffix: str = "_mm") -> Vec:
    x, y, z = (float(row[f"{stem}_{axis}{suffix}"]) for axis in "xyz")
    return (x, y, z)


@pytest.mark.parametrize("project", PROJECTS, ids=lambda p: p.name)
def test_the_two_marks_find_the_axis(project: Project, tmp_path: Path) -> None:
    """By the words of the row: the mouth, then by swing, slope and guide the exit."""
    rows = table(project, bores_csv, tmp_path)
    assert len(rows) == len(project.bores)
    for row in rows:
        board, face = project.board_named[row["board"]], row["pocket_face"]
        exit, axis = point(row, "exit"), point(row, "axis", "")
        run, square = (
            (float(row[f"{name}_mm"]), row[f"{name}_from"]) for name in ("run", "square")
        )
        mouth = marked(board, face, run, square)
        assert math.dist(mouth, point(row, "mouth")) < 1e-3
        # As printed, in the recipe's unit.
        texts = [
            (parse_length(row[name].removeprefix(ABOUT), project.unit), row[f"{name}_from"])
            for name in ("run", "square")
        ]
        assert math.dist(marked(board, face, *texts), mouth) < 2 * ROUNDED
        # With the pocket face up, left is a quarter turn counter-clockwise from inward.
        joint = row["joint_face"]
        up, ahead = plane_of(board, face).normal, inward(board, face, joint)
        said = re.fullmatch(r"([0-9.]+) degrees to the (left|right)|none", row["swing"])
        assert said
        turn = math.radians(float(said[1] or 0)) * (-1 if said[2] == "right" else 1)
        slope, level = (
            math.radians(float(row["slope_deg"])),
            along((0, 0, 0), ahead, math.cos(turn)),
        )
        level = along(level, cross(up, ahead), math.sin(turn))
        back = along(along((0, 0, 0), level, math.cos(slope)), up, math.sin(slope))
        assert math.dist(back, axis) < 1e-3
        guide = float(row["guide_mm"])
        assert math.dist(along(mouth, axis, -guide / math.sin(slope)), exit) < 2e-3
        assert abs(plane_of(board, joint).gap(exit)) < 1e-3
        # From the exit along the axis up to the pocket face: pilot, then the depth to drill.
        reach = float(row["depth_mm"]) + float(row["pilot_mm"])
        assert math.dist(along(exit, axis, reach), mouth) < 2e-3


def test_the_first_columns_read_as_a_maker_says_them(tmp_path: Path) -> None:
    path = files("slantbore") / "recipes" / "slim-mirror.yaml"
    row = table(planned(path.read_text(encoding="utf-8"), path.name), bores_csv, tmp_path)[0]
    order = ["board", "boards_alike", "pocket_face", "lie", "run", "run_from", "square"]
    order += ["square_from", "swing", "drill", "setting", "depth", "guide"]
    assert list(row)[:13] == order
    end = "left" if "left" in row["joint_face"] else "right"
    assert row["run_from"] == f"along the outside edge, from its corner with the {end} end"
    assert row["square_from"] == "from the outside edge, square to it"
    assert 0 < float(row["square_mm"]) < 38.1 < float(row["run_mm"])


@pytest.mark.parametrize("project", PROJECTS, ids=lambda p: p.name)
def test_a_rule_laid_along_the_first_distance_lies_on_the_board(project: Project) -> None:
    """Not in the air beyond a mitre or a rebate, where no line can be drawn."""
    for bore in project.bores:
        board = project.board_named[bore.board]
        mark = mark_out(board, bore)
        assert 0 < mark.square < board.across(mark.line.side)
        foot = along(mark.mouth, mark.line.plane.normal, mark.square)
        inside = along(foot, mark.line.plane.normal, -0.01)
        assert all(face.plane.gap(inside) > -1e-6 for face in board.faces)
        for one in board.cuts:
            assert not all(face.plane.gap(inside) > 1e-6 for face in one.faces), (bore.name, one)


def test_swing_is_the_turn_of_the_axis_on_the_pocket_face(tmp_path: Path) -> None:
    for row in table(small.corner(15.0), bores_csv, tmp_path):
        # The right end's mitre: its normal points at 45 degrees, so square in is at 225.
        axis = point(row, "axis", "")
        turn = math.degrees(math.atan2(axis[1], axis[0])) % 360 - 225
        assert math.isclose(turn, float(row["swing_deg"]), abs_tol=1e-3)
        # Of the mitre's two sides, the rail's length is to the right as one looks in on the back.
        assert row["swing"] == "15 degrees to the right"
    assert {row["swing"] for row in table(small.butt(), bores_csv, tmp_path)} == {"none"}


def test_a_swing_leans_the_same_way_at_both_ends_of_a_rail(tmp_path: Path) -> None:
    """One pocket at each end, both swung towards the rail's length: mirror images."""
    path = files("slantbore") / "recipes" / "slim-mirror.yaml"
    project = planned(path.read_text(encoding="utf-8"), path.name)
    first, second, *_ = table(project, bores_csv, tmp_path)
    assert first["board"] == second["board"]
    assert float(first["swing_deg"]) == -float(second["swing_deg"]) != 0
    assert first["run_mm"] == second["run_mm"]
    assert first["joint_face"] != second["joint_face"]


def test_a_square_board_is_measured_from_its_nearer_edge(tmp_path: Path) -> None:
    rows = table(small.butt(), bores_csv, tmp_path)
    width = small.WIDTH - 9.0
    # Bores at y = 15 and y = 40 of 54.5: 15 from the front edge, 14.5 from the back edge.
    assert [row["run_from"] for row in rows] == ["from the front edge", "from the back edge"]
    assert [float(row["run_mm"]) for row in rows] == [15.0, width - 40.0]
    # In plan the axis meets the face T / (2 tan t) back from the joint (design of the pocket).
    reach = small.T / 2 / math.tan(math.radians(small.SLOPE))
    assert all(math.isclose(float(row["square_mm"]), reach, abs_tol=1e-4) for row in rows)
    assert all(row["pilot_into_mate_mm"] == "6.0000" for row in rows)
    assert all("left-hand end" in rows[0]["lie"] for row in rows)


def test_the_end_is_named_as_it_lies_on_the_bench() -> None:
    project = small.corner()
    (bore, _) = project.bores
    board = project.board_named[bore.board]
    assert not mark_out(board, bore).end_is_left
    (bore, _) = mirrored(project).bores
    assert mark_out(board, bore).end_is_left  # rail 2 is like rail 1
    # With the pocket in the bottom face the board is turned over, so left and right change.
    over = replace(bore, pocket_face=BOTTOM, back=(bore.back[0], bore.back[1], -bore.back[2]))
    assert not mark_out(board, over).end_is_left


def test_an_edge_that_a_rebate_takes_away_is_not_measured_from() -> None:
    rail = blank(
        "rail", "case", "rail", small.OAK, 300.0, 60.0,
        cuts=(cut("rebate", {"floor": ((0, 0, -1), -10.0), "wall": ((0, 1, 0), 9.0)}),),
    )  # fmt: skip
    bore = small.bore(PocketId("j"), rail, LEFT, (0.0, 22.0, small.T / 2), "other", BOTTOM)
    assert mark_out(rail, bore).edge.side == BACK
    assert math.isclose(mark_out(rail, bore).run, 38.0)
    assert mark_out(replace(rail, work=()), bore).edge.side == FRONT


def test_a_joint_at_an_edge_is_measured_from_the_nearer_end_and_that_edge() -> None:
    panel = blank("panel", "case", "panel", small.OAK, 300.0, 60.0)
    bore = small.bore(PocketId("j"), panel, BACK, (250.0, 60.0, small.T / 2), "other", FRONT)
    mark = mark_out(panel, bore)
    assert (mark.end.side, mark.edge.side) == (RIGHT, BACK)
    assert math.isclose(mark.run, 50.0)
    assert math.isclose(mark.square, small.T / 2 / math.tan(math.radians(small.SLOPE)))


def test_a_joint_that_does_not_border_the_pocket_face_is_refused() -> None:
    board = blank("board", "case", "board", small.OAK, 300.0, 60.0)
    bore = small.bore(PocketId("j"), board, LEFT, (0.0, 30.0, small.T / 2), "other", FRONT)
    with pytest.raises(ValueError, match="does not border"):
        mark_out(board, replace(bore, joint_face=BOTTOM))
    assert bore.pocket_face == TOP


def test_boards_alike_counts_the_boards_that_are_drilled_alike(tmp_path: Path) -> None:
    # Three rails, two of them bored at the same place.
    assert [row["boards_alike"] for row in table(small.corner(), bores_csv, tmp_path)] == ["2"] * 2


@pytest.mark.parametrize("project", PROJECTS, ids=lambda p: p.name)
def test_counts_agree_between_the_lists(project: Project, tmp_path: Path) -> None:
    bores = table(project, bores_csv, tmp_path)
    cuts = table(project, cut_list, tmp_path)
    screws = [row for row in table(project, hardware_list, tmp_path) if row["kind"] == "screw"]
    assert sum(int(row["quantity"]) for row in screws) == len(bores) == len(project.bores)
    assert sum(int(row["quantity"]) for row in cuts) == len(project.boards)
    names = [name for row in cuts for name in row["names"].split("; ")]
    assert sorted(names) == sorted(board.name for board in project.boards)
    assert {row["board"] for row in bores} <= set(names)
    of = document(project, ())["checked"]
    assert (of["boards"], of["bores"]) == (len(names), len(bores))


def test_the_cut_list_reads_as_a_maker_writes_it(tmp_path: Path) -> None:
    bored, plain = table(small.corner(), cut_list, tmp_path)
    assert (bored["quantity"], bored["names"]) == ("2", "rail 1; rail 2")
    assert bored["ends"] == "mitre 45 degrees both ends, outside edge long"
    assert (bored["length"], bored["width"]) == ("400 mm", "63.5 mm")
    assert bored["work"] == "1 pocket bore in the back" and plain["work"] == ""
    upright, _ = table(small.butt(), cut_list, tmp_path)
    assert upright["ends"] == "both ends square"
    assert upright["work"].split("; ") == [
        "panel groove 6 mm x 6 mm in the top face, 20 mm from the front edge",
        "back rebate 9 mm x 7 mm along the back edge, from the bottom face",
        "2 pilot holes in the bottom face",
    ]


def test_end_cuts_name_the_end_and_the_long_side() -> None:
    one = blank("b", "p", "r", small.PINE, 300.0, 60.0, left_mitre=22.5)
    assert end_cuts(one) == "left end mitre 22.5 degrees, front edge long; right end square"
    other = blank("b", "p", "r", small.PINE, 300.0, 60.0, right_mitre=-30.0)
    assert end_cuts(other).endswith("right end mitre 30 degrees, back edge long")
    said = end_cuts(replace(other, work=(EndCut(end=RIGHT, bevel=11.31),)))
    assert said.endswith("right end bevel 11.31 degrees, bottom face long")
    compound = tuple(EndCut(end=end, mitre=5.0, bevel=-4.98) for end in (LEFT, RIGHT))
    said = end_cuts(replace(other, work=compound))
    assert said == "mitre 5, bevel 4.98 degrees both ends, front edge and top face long"


def test_board_feet_and_square_metres(tmp_path: Path) -> None:
    # 1-1/2 in is dressed from 8/4, two inches: two of these boards hold 4 board feet.
    inch = 25.4
    stock = replace(small.OAK, thickness=1.5 * inch)
    board = blank("one", "p", "r", stock, 24 * inch, 6 * inch)
    ply = replace(stock, kind="sheet", thickness=18.0)
    shelf = blank("shelf", "p", "shelf", ply, 1200.0, 500.0)
    project = Project("p", "inch", (board, replace(board, name="two"), shelf), ())
    solid, sheet = table(project, cut_list, tmp_path)
    assert (solid["board_feet"], solid["square_metres"]) == ("4.000", "")
    assert (solid["sold_as"], sheet["sold_as"]) == ("8/4", "")
    assert (sheet["board_feet"], sheet["square_metres"]) == ("", "0.6000")
    assert (solid["length"], solid["thickness"]) == ('24"', '1-1/2"')
    assert sheet["thickness"] == 'about 23/32"' and sheet["thickness_mm"] == "18.00"


def test_wood_is_added_up_by_thickness_and_in_all(tmp_path: Path) -> None:
    inch = 25.4

    def stock(label: str, thickness: float) -> Stock:
        return replace(small.OAK, label=label, thickness=thickness * inch)

    # Stocks of two names that are one wood of one thickness are bought as one: 4 x 4/4 of a foot
    # by a foot are 4 board feet; one of 8/4 that is 24 by 6 inches is 2.
    boards = [
        blank(f"{label} {i}", "p", "r", stock(label, 0.75), 12 * inch, 12 * inch)
        for label in ("frame", "front")
        for i in (1, 2)
    ]
    boards.append(blank("leg", "p", "leg", stock("legs", 1.75), 24 * inch, 6 * inch))
    ply = replace(small.OAK, material="birch-ply-18", title="birch plywood 18 mm", kind="sheet")
    boards.append(blank("shelf", "p", "shelf", replace(ply, thickness=18.0), 1200.0, 500.0))
    project = Project("p", "inch", tuple(boards), ())
    oak = small.OAK.title
    rows = table(project, wood_list, tmp_path)
    assert [(row["wood"], row["boards"], row["board_feet"], row["metres"]) for row in rows] == [
        (f'{oak}, 3/4" thick', "4", "4.000", "1.22"),
        (f'{oak}, 1-3/4" thick', "1", "2.000", "0.61"),
        (f"{oak} in all", "5", "6.000", "1.83"),
        ("birch plywood 18 mm", "1", "", ""),
    ]
    assert [row["square_metres"] for row in rows] == ["", "", "", "0.6000"]
    amounts = [row.amount(0.1) for row in wood_list.rows(project)]
    assert amounts == ["4.4 board feet", "2.2 board feet", "6.6 board feet", "7.1 square feet"]
    metric = [row.amount() for row in wood_list.rows(replace(project, unit="mm"))]
    cubic = (4 * 144 * 0.75 + 144 * 1.75) * inch**3 / 1e9
    assert metric[2:] == [f"{cubic:.4f} cubic metres, 1.8 metres of boards", "0.60 square metres"]


@pytest.mark.parametrize(("count", "bought"), [(1, 2), (19, 20), (20, 21), (21, 23), (100, 105)])
def test_screws_are_bought_with_some_to_spare(count: int, bought: int) -> None:
    assert hardware_list.with_spare(count) == bought == math.ceil(round(count * 1.05, 9))


def test_hardware_follows_the_screws(tmp_path: Path) -> None:
    glass = Hardware("mirror glass", "296 x 396 x 4 mm", 1, "mirror")
    rows = table(replace(small.corner(), hardware=(glass,)), hardware_list, tmp_path)
    assert [(row["kind"], row["item"], row["detail"], row["to_buy"]) for row in rows] == [
        ("screw", '#8 x 32 mm (1-1/4") coarse thread', "", "3"),
        ("bit", "driver bit", "150 mm free, from screw to driver", "1"),
        ("other", "mirror glass", "296 x 396 x 4 mm", "1"),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("mm", "unit", "said"),
    [
        (31.75, "inch", '1-1/4" (32 mm)'), (63.5, "inch", '2-1/2" (64 mm)'),
        (31.75, "mm", '32 mm (1-1/4")'), (32.0, "mm", '32 mm (1-1/4")'),
        (64.0, "mm", '64 mm (2-1/2")'),
        (25.4, "mm", '25 mm (1")'), (37.0, "mm", "37 mm"),
    ],
)  # fmt: skip
def test_screws_are_named_as_they_are_sold_in_both_units(mm: float, unit: Unit, said: str) -> None:
    assert replace(small.SCREW, length=mm).titled(unit).title == f"#8 x {said} coarse thread"


def test_every_list_in_which_a_screw_is_bought_or_picked_names_it_in_both_units(
    tmp_path: Path,
) -> None:
    path = files("slantbore") / "recipes" / "sink-base.yaml"
    project = planned(path.read_text(encoding="utf-8"), path.name)
    said = '#8 x 1-1/4" (32 mm) coarse thread'
    bought = [row["item"] for row in table(project, hardware_list, tmp_path)]
    picked = [row["screw"] for row in table(project, bores_csv, tmp_path)]
    driven = " ".join(row["what"] for row in table(project, order_list, tmp_path))
    assert said in bought and said in picked and said in driven


def test_like_hardware_is_bought_together(tmp_path: Path) -> None:
    things = (
        Hardware("pin", "5 mm", 8, "base"),
        Hardware("pin", "6 mm", 2, "base"),
        Hardware("pin", "5 mm", 12, "wall"),
    )
    rows = table(replace(small.corner(), hardware=things), hardware_list, tmp_path)[2:]
    assert [(row["item"], row["detail"], row["quantity"], row["pieces"]) for row in rows] == [
        ("pin", "5 mm", "20", "base; wall"), ("pin", "6 mm", "2", "base"),
    ]  # fmt: skip


def test_boards_set_back_ask_for_spacers(tmp_path: Path) -> None:
    path = files("slantbore") / "recipes" / "boot-bench.yaml"
    project = planned(path.read_text(encoding="utf-8"), path.name)
    rows = [row for row in table(project, hardware_list, tmp_path) if row["kind"] == "spacer"]
    # The rails stand 20 mm behind the sides' edges; the shelf, 110 mm up, is set by a line.
    assert [(row["detail"], row["quantity"], row["pieces"]) for row in rows] == [
        ("20 mm", "2", "bench"),
    ]  # fmt: skip


def test_every_column_of_a_list_is_explained(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["columns"]) == 0
    lists = [line.split()[0] for line in capsys.readouterr().out.split("\n\n")[0].splitlines()]
    assert {"bores.csv", "cut-list.csv", "hardware.csv"} <= set(lists)
    for module in (bores_csv, cut_list, hardware_list):
        names = [column.name for column in module.COLUMNS]
        assert len(set(names)) == len(names)
        assert all(column.about.strip() for column in module.COLUMNS)
        assert main(["columns", module.FILE]) == 0
        said = " ".join(capsys.readouterr().out.split())
        for column in module.COLUMNS:
            assert f"{column.name} {' '.join(column.about.split())}" in said
    assert main(["columns", "bore.csv"]) == 2
    assert "did you mean `bores.csv`?" in capsys.readouterr().err


def test_json_has_every_field_and_no_infinity() -> None:
    endless = Finding("gap", "fails", "open", measured=math.inf, point=(1.0, -0.0, 2 / 3))
    warned = Finding("tolerance", "warns", "tight", board="rail 2")
    project = small.corner()
    data = json.loads(to_json(document(project, (warned, endless))))
    assert data["counts"] == {"fails": 1, "warns": 1, "notes": 0}
    first, second = data["findings"]
    assert (first["measured_mm"], first["point_mm"]) == (None, [1.0, 0.0, 0.666667])
    assert second["board"] == "rail 2"
    fields = {name.removesuffix("_mm") for name in first} - {"measured_on"}
    assert fields == set(Finding.__dataclass_fields__) - {"solid"}
    assert (first["measured_on"], second["measured_on"]) == ("closed form", "closed form")
    assert [place["bore"] for place in data["placements"]] == [b.name for b in project.bores]
