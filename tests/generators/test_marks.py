"""Marks as printed: they lead to the exits of bores.csv, and rounding spoils no place."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from slantbore.generators.papers.boards import make
from slantbore.generators.papers.paper import LETTER
from slantbore.generators.solids.product import Product
from slantbore.generators.solids.solids import solidify
from slantbore.generators.writers.bores_csv import COLUMNS, rows
from slantbore.models.designs import piece_models
from slantbore.models.maths.geometry import along, cross, dot, unit
from slantbore.models.piece.markout import fraction, mark_out
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe
from slantbore.models.words.lengths import ABOUT, format_length, parse_length

from .marking import marked

RECIPES = Path(__file__).parents[2] / "recipes"
ALL = sorted(path.stem for path in RECIPES.glob("*.yaml"))


def planned(name: str) -> Project:
    return plan(read_recipe(RECIPES / f"{name}.yaml", piece_models()))


@pytest.mark.parametrize("name", ALL)
def test_marks_as_printed_lead_to_the_exits(name: str) -> None:
    """Each distance within half of its printed step; along the joint still within the window."""
    project = planned(name)
    for row in rows(project):
        told = {column.name: column.cell(row) for column in COLUMNS}
        run, square = (
            parse_length(str(told[key]).removeprefix(ABOUT), project.unit)
            for key in ("run", "square")
        )
        parts = fraction(row.board, row.bore, row.mark, project.unit)
        half = 25.4 / parts / 2 if project.unit == "inch" else 0.005
        assert abs(run - row.mark.run) <= half + 1e-9
        assert abs(square - row.mark.square) <= half + 1e-9
        words = (str(told["run_from"]), str(told["square_from"]))
        mouth = marked(row.board, str(told["pocket_face"]), (run, words[0]), (square, words[1]))
        joint = row.board.face(row.bore.joint_face).plane
        axis = tuple(float(told[f"axis_{k}"]) for k in "xyz")
        back = (axis[0], axis[1], axis[2])
        off = joint.offset - dot(joint.normal, mouth)
        exit_ = along(mouth, back, off / dot(joint.normal, back))
        apart = [a - float(told[f"exit_{k}_mm"]) for a, k in zip(exit_, "xyz", strict=True)]
        # Off by half a step each way, seen from the joint at the angle of mitre and swing.
        up = row.board.face(row.bore.pocket_face).plane.normal
        beside = unit(cross(up, joint.normal))
        moved = abs(dot(beside, (apart[0], apart[1], apart[2])))
        turn = math.radians(abs(row.bore.swing) + row.mark.mitre)
        assert moved <= half * (1 + math.tan(turn)) / math.cos(turn) + 0.001
        assert moved <= max(row.bore.window.margin, 0.0) + 0.001


def test_a_narrow_window_is_marked_to_a_finer_fraction_and_said_so() -> None:
    """Rounded to 1/32 in the pocket would leave its window: 1/64 in or finer, told on its sheet."""
    project = planned("entry-table")
    bore = next(b for b in project.bores if project.board_named[b.board].role == "front apron")
    board = project.board_named[bore.board]
    up, joint = (board.face(side).plane.normal for side in (bore.pocket_face, bore.joint_face))
    at = mark_out(board, bore)
    off = at.run - round(at.run / (25.4 / 32)) * 25.4 / 32
    moved = replace(bore, exit=along(bore.exit, unit(cross(up, joint)), 0.3 - off))
    mark = mark_out(board, moved)
    printed = parse_length(format_length(mark.run, "inch").removeprefix(ABOUT), "inch")
    assert 0.2 < abs(printed - mark.run) < 0.4
    assert fraction(board, moved, mark, "inch") == 32
    for room in (0.15, 0.08):
        place = bore.window.position
        tight = replace(moved, window=replace(bore.window, low=place - room, high=place + room))
        parts = fraction(board, tight, mark, "inch")
        assert parts > 32
        printed = parse_length(format_length(mark.run, "inch", parts).removeprefix(ABOUT), "inch")
        assert abs(printed - mark.run) <= room
        joints = tuple(
            replace(j, bores=tuple(tight if b == bore else b for b in j.bores))
            for j in project.joints
        )
        narrow = replace(project, joints=joints)
        sheets = list(make(Product(narrow, solidify(project), ()), LETTER))
        said = " ".join(getattr(one, "says", "") for sheet in sheets for one in sheet.marks)
        assert f'is marked to 1/{parts}"' in said
