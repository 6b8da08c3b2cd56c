"""Boards that fall apart: told in closed form where cuts do it, on solids where bores do."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import cadquery as cq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from slantbore.generators.build import build
from slantbore.generators.solids import solids as making
from slantbore.generators.solids.proof import prove
from slantbore.generators.solids.solids import SolidError, solidify, unbored_solid
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.board import Stock
from slantbore.models.piece.contact import hanging_together, volume
from slantbore.models.piece.convex import pieces
from slantbore.models.piece.project import Finding, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError
from tests.boards import blank, cut

from .brep import Box

OAK = Stock("oak", "red-oak", "red oak", 20.0, "hardwood")
GROOVED = """\
name: rack
units: mm
stock:
  oak: {wood: red-oak, thickness: 20}
build:
  - design: free-form
    name: rack
    parts:
      post:
        {stock: oak, length: 400, width: 80, seen: {bottom face: concealed},
         grooves: [{edge: front edge, face: top face, distance: 30, width: 10, depth: 10},
                   {edge: front edge, face: bottom face, distance: 35, width: 10, depth: %s}]}
      rail: {stock: oak, length: 300, width: 80, seen: {top face: concealed}}
    joints:
      - {kind: butt, board: rail / left end, meets: post / bottom face, pockets_in: top face,
         flush: [{face: front edge, to: front edge},
                 {face: bottom face, to: left end, set_back: 100}]}
"""
NARROW = """\
name: frame
units: mm
stock:
  strip: {wood: red-oak, thickness: 4}
build:
  - {design: face-frame, name: frame, stock: strip, size: 500 x 400, stile: 40, rail: 3,
     columns: [{openings: [rest]}]}
"""


def planned(text: str) -> Project:
    return plan(parse_recipe(text, "rack.yaml", piece_models()))


def told(findings: Sequence[Finding]) -> list[Finding]:
    return [finding for finding in findings if finding.rule == "cut-through"]


def test_two_grooves_that_meet_part_a_board_and_both_ways_say_so() -> None:
    assert not told(judge(planned(GROOVED % "9.99")))
    project = planned(GROOVED % "10")
    (closed,) = told(judge(project))
    (proven,) = told(prove(solidify(project)))
    assert closed.message == proven.message
    assert closed.message == "rack post falls apart: the groove 1 and the groove 2 part it"
    assert (closed.board, closed.severity) == ("rack post", "fails")
    for finding in (closed, proven):
        assert finding.point is not None
        assert project.board_named["rack post"].inside(
            project.board_named["rack post"].pose.local_point(finding.point)
        )


def test_bores_that_part_a_board_are_told_by_the_solids() -> None:
    """A pilot wider than the rail: two wedges come off, and breakouts were told before."""
    project = planned(NARROW)
    closed = judge(project)
    assert not told(closed)
    proven = told(prove(solidify(project)))
    assert [f.board for f in proven] == ["frame top rail", "frame bottom rail"]
    assert all("cuts and bores part it" in f.message for f in proven)
    # No screw is that short: nothing else is told of the stand-in, by neither way.
    failed = {(f.rule, f.board) for f in closed if f.severity == "fails"}
    assert failed == {("no-screw", f.board) for f in proven}
    assert not [f for f in prove(solidify(project)) if f.bore]


@pytest.mark.parametrize(
    ("text", "board"), [(GROOVED % "10", "rack post"), (NARROW, "frame top rail")]
)
def test_a_build_goes_on_and_writes_the_pieces(tmp_path: Path, text: str, board: str) -> None:
    recipe, folder = tmp_path / "rack.yaml", tmp_path / "out"
    recipe.write_text(text)
    done = build(recipe, folder)
    assert board in {f.board for f in told(done.findings) if f.severity == "fails"}
    back = cq.importers.importStep(str(folder / "parts" / f"{board}.step"))
    made = solidify(done.project).own_solid(board)
    assert back.solids().size() == len(made.Solids()) > 1
    assert {"assembly.step", "cut-list.csv", "preview.html", "findings.json"} <= set(done.files)


def test_a_board_that_cannot_be_made_is_told_at_its_piece(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(project: Project, board: object) -> None:
        raise SolidError("the kernel could not cut it")

    monkeypatch.setattr(making, "bored_solid", fails)
    recipe = tmp_path / "rack.yaml"
    recipe.write_text(GROOVED % "5")
    with pytest.raises(RecipeError) as caught:
        build(recipe, tmp_path / "out")
    (problem,) = caught.value.problems
    assert problem.location.line == 6
    assert not (tmp_path / "out").exists()


def test_cuts_that_leave_nothing_are_told_at_the_part() -> None:
    sides = [(edge, face) for edge in ("front", "back") for face in ("top", "bottom")]
    rebates = ", ".join(
        f"{{edge: {edge} edge, face: {face} face, width: 50, depth: 12}}" for edge, face in sides
    )
    text = GROOVED.partition("grooves:")[0] + f"rebates: [{rebates}]}}\n"
    text += "      rail:" + (GROOVED % "5").partition("      rail:")[2]
    with pytest.raises(RecipeError, match="the cuts of post leave nothing of it") as caught:
        planned(text)
    assert caught.value.problems[0].location.line == 10


_SIZES = (100.0, 60.0, 20.0)


def _span(size: float) -> st.SearchStrategy[tuple[float | None, float | None]]:
    """Part of a size on a grid of fifths, or all of it; open ends run out of the board."""
    fifth = size / 5
    inner = st.tuples(st.integers(0, 4), st.integers(1, 5)).map(
        lambda ab: (
            min(ab[0], ab[1] - 1) * fifth or None,
            max(ab[1], ab[0] + 1) * fifth if max(ab[1], ab[0] + 1) < 5 else None,
        )
    )
    return st.one_of(st.just((None, None)), inner)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(*map(_span, _SIZES)), min_size=1, max_size=4))
def test_the_pieces_are_those_that_the_kernel_leaves(
    spans: list[tuple[tuple[float | None, float | None], ...]],
) -> None:
    boxes = [Box(f"n{i}", x, y, z) for i, (x, y, z) in enumerate(spans)]
    cuts = tuple(cut(box.name, box.planes()) for box in boxes if box.planes())
    if len(cuts) < len(boxes):
        return  # a cut of everything
    board = blank("board", "board", "board", OAK, 100.0, 60.0, cuts=cuts)
    parts = pieces(board)
    groups = hanging_together(parts)
    if not parts:
        with pytest.raises(SolidError, match="nothing is left"):
            unbored_solid(board)
        return
    solid = unbored_solid(board)
    assert sum(map(volume, parts)) == pytest.approx(solid.Volume(), rel=1e-9)
    sizes = sorted(sum(map(volume, group)) for group in groups)
    assert sizes == pytest.approx(sorted(part.Volume() for part in solid.Solids()), rel=1e-9)
