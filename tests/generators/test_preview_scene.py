"""What the page is given: the same names, sizes and counts as the lists, and true meshes."""

from __future__ import annotations

import base64
import csv
import io
import json
import zipfile
from collections import Counter
from importlib.machinery import ModuleSpec
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from slantbore.generators.page import three_source as library
from slantbore.generators.page.page_file import embedded, page, page_script
from slantbore.generators.page.scene import shape_name
from slantbore.generators.telling import cut_list
from slantbore.generators.telling.csvfile import write_csv
from slantbore.generators.telling.steps import stages, step_lines
from slantbore.generators.writers import bores_csv
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe

from .preview_fixture import RAIL_SIZE, T, bore, project, scene, shown, thin_wall

RECIPES = sorted(Path(str(files("slantbore") / "recipes")).glob("*.yaml"))


@pytest.fixture(scope="module", params=RECIPES, ids=lambda path: path.stem)
def planned(request: pytest.FixtureRequest) -> Project:
    return plan(read_recipe(request.param, piece_models()))


def listed(path: Path, columns: Any, rows: Any) -> list[dict[str, str]]:
    write_csv(path, columns, rows)
    text = path.read_text(encoding="utf-8-sig")
    lines = [line for line in text.splitlines(keepends=True) if not line.startswith("#")]
    return list(csv.DictReader(io.StringIO("".join(lines))))


def test_boards_are_those_of_the_cut_list(planned: Project, tmp_path: Path) -> None:
    found = shown(planned)
    rows = listed(tmp_path / "cut-list.csv", cut_list.COLUMNS, cut_list.rows(planned))
    assert rows
    by_name = {b["name"]: b for b in found["boards"]}
    pockets = Counter(b["board"] for b in found["bores"])
    named = [name for row in rows for name in row["names"].split("; ")]
    assert sorted(named) == sorted(by_name)
    for row in rows:
        alike = [by_name[name] for name in row["names"].split("; ")]
        assert len(alike) == int(row["quantity"])
        # Like boards may lie turned about themselves, but they hold as many pockets.
        assert len({pockets[b["name"]] for b in alike}) == 1
        for board in alike:
            assert board["size"] == [row["length"], row["width"], row["thickness"]]
        # The row speaks of its first board.
        assert (alike[0]["ends"], "; ".join(alike[0]["work"])) == (row["ends"], row["work"])


def test_pockets_are_those_of_the_bore_list(planned: Project, tmp_path: Path) -> None:
    found = shown(planned)
    rows = listed(tmp_path / "bores.csv", bores_csv.COLUMNS, bores_csv.rows(planned))
    assert [b["name"] for b in found["bores"]] == [row["bore"] for row in rows]
    for b, row in zip(found["bores"], rows, strict=True):
        assert (b["board"], b["mate"], b["face"]) == (row["board"], row["mate"], row["pocket_face"])
        marks = {(mark["from"], mark["text"]) for mark in b["marks"]}
        assert marks == {(row["run_from"], row["run"]), (row["square_from"], row["square"])}
        assert b["leans"] == row["swing"]
        assert (b["depth"], b["screw"]["title"]) == (row["depth"], row["screw"])


def test_marks_are_drawn_as_long_as_they_say(planned: Project) -> None:
    for b in shown(planned)["bores"]:
        for mark in b["marks"]:
            assert np.linalg.norm(np.subtract(mark["b"], mark["a"])) == pytest.approx(mark["mm"])
        assert b["marks"][1]["b"] == pytest.approx(b["mouth"])


def test_every_joint_with_screws_opens_in_one_step(planned: Project) -> None:
    steps = shown(planned)["apart"]["steps"]
    opened = [name for step in steps for name in step["joints"]]
    assert len(opened) == len(set(opened))
    assert set(opened) >= {joint.name for joint in planned.joints if joint.bores}
    for step in steps:
        assert np.linalg.norm(step["way"]) == pytest.approx(1)
        assert not set(step["boards"]) & set(step["onto"])


def test_the_page_numbers_its_steps_as_every_other_place(planned: Project) -> None:
    found = shown(planned)["apart"]
    told = stages(planned)
    assert found["last"] == len(told)
    moves = [s for stage in told for s in stage.steps if s.way is not None]
    assert [tuple(step["boards"]) for step in found["steps"]] == [move.boards for move in moves]
    for step in found["steps"]:
        stage = told[step["number"] - 1]
        assert step["text"] == stage.text
        assert any(move.boards == tuple(step["boards"]) for move in stage.steps)
    if told:
        lines = step_lines(planned)
        assert lines[-1] == f"  {told[-1].number}. {told[-1].text}"


def test_no_length_on_the_page_has_a_tilde(planned: Project) -> None:
    assert "~" not in embedded(shown(planned, judge(planned)))
    assert "~" not in page_script()


def test_the_scene_is_plain_json_and_the_same_every_time(planned: Project) -> None:
    one = embedded(shown(planned, judge(planned)))
    again = embedded(shown(planned, judge(planned)))
    assert one == again
    assert "<" not in one
    assert json.loads(one)["name"] == planned.name


def unpacked(text: str, dtype: str) -> Any:
    return np.frombuffer(base64.b64decode(text), dtype=dtype)


def test_edges_are_rows_of_the_points() -> None:
    """A pocket's mouth and its shoulder are drawn with few pieces, each between two points."""
    found = project()
    rail, stile = (scene(found)["shapes"][shape_name(found, board)] for board in found.boards)
    for shape in (rail, stile):
        count = len(unpacked(shape["points"], "<f4")) // 3
        rows = unpacked(shape["edges"], "<u2").reshape(-1, 2)
        assert rows.max() < count and (rows[:, 0] != rows[:, 1]).all()
    assert len(unpacked(stile["edges"], "<u2")) == 2 * 12  # a box
    # Three circles and ellipses of 18 facets, the seams of their halves, and the box's own.
    assert 12 + 3 * 18 <= len(unpacked(rail["edges"], "<u2")) // 2 < 12 + 4 * 26


def test_triangles_know_the_face_they_lie_on() -> None:
    found = project()
    rail = found.boards[0]
    shape = scene(found)["shapes"][shape_name(found, rail)]
    points = unpacked(shape["points"], "<f4").reshape(-1, 3).astype(float)
    assert not shape["wide"]
    triangles = unpacked(shape["triangles"], "<u2").reshape(-1, 3)
    area: dict[str, float] = {}
    first = 0
    for start, count, side in shape["groups"]:
        assert start == first
        first += count
        a, b, c = (points[triangles[start : start + count, i]] for i in range(3))
        area[side] = area.get(side, 0) + np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2
    assert first == len(triangles)
    length, width = RAIL_SIZE
    assert area["top face"] == pytest.approx(length * width)
    assert area["back edge"] == pytest.approx(length * T)
    one = bore()
    # The pilot leaves by the end as an ellipse: pi r^2 over the cosine of the slope.
    pilot = np.pi * one.drill.pilot_radius**2 / np.cos(np.radians(one.slope))
    assert width * T - area["left end"] == pytest.approx(pilot, rel=0.05)
    assert area["bottom face"] < length * width - 100
    assert area[""] > 100


def test_a_wall_is_marked_from_the_bore_to_the_face() -> None:
    [finding] = shown(project(), (thin_wall(2.2),))["findings"]
    a, b = np.array(finding["mark"]["a"]), np.array(finding["mark"]["b"])
    assert np.linalg.norm(b - a) == pytest.approx(2.2)
    assert b[1] == pytest.approx(0)  # the front of the piece
    assert finding["boards"] == ["left stile", "top rail"]


def test_a_scene_that_is_not_finite_is_no_page() -> None:
    with pytest.raises(ValueError):
        embedded({"x": float("nan")})


def test_a_page_is_one_file_under_a_megabyte_here() -> None:
    text = page(scene(project()))
    assert text == page(scene(project()))
    assert len(text) < 1_000_000
    assert text.count("<script") == 3 and "src=" not in text.split("<script>")[0]
    assert "SPDX-License-Identifier: MIT" in text


def test_what_a_recipe_says_is_never_a_placeholder() -> None:
    text = page(scene(project("@@THREE@@ @@SCRIPT@@")))
    assert text.count("Three.js Authors") == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [(None, "cannot read"), ("", "expects three.js r140"), ('<script>const e="141"\n', "r140")],
)
def test_another_build_of_trimesh_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, content: str | None, said: str
) -> None:
    folder = tmp_path / "resources" / "templates"
    folder.mkdir(parents=True)
    if content is not None:
        with zipfile.ZipFile(folder / "viewer.zip", "w") as archive:
            archive.writestr("viewer.html.template", content)
    spec = ModuleSpec("trimesh", None, origin=str(tmp_path / "__init__.py"))
    monkeypatch.setattr("importlib.util.find_spec", lambda name: spec)
    with pytest.raises(library.ThreeSourceError, match=said):
        library.three_source()


def test_without_trimesh_it_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    with pytest.raises(library.ThreeSourceError, match="trimesh"):
        library.three_source()
