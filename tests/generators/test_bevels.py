"""Ends and edges sawn at a bevel: splayed work, pulled together with pockets, in both ways."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from slantbore.generators.build import build
from slantbore.generators.solids.solids import unbored_solid
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.maths.geometry import dot
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, Board, Stock
from slantbore.models.piece.bored import Pocket, work_on
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.work.end_cut import end_cuts, sawn
from tests.boards import blank

LEAN, SPLAY, T = 12.0, 10.0, 28.0
# A rail between two boards that lean by LEAN, itself leaning by SPLAY: its ends are compound. Its
# normal (cos L, 0, sin L) seen in the frame of the leaning rail (textbook: direction cosines).
LEANING, LYING = math.radians(LEAN), math.radians(SPLAY)
MITRE = math.degrees(math.atan(math.tan(LEANING) * math.cos(LYING)))
BEVEL = math.degrees(math.asin(math.sin(LEANING) * math.sin(LYING)))
BENCH = f"""\
name: splayed bench
units: mm
stock:
  pine: {{wood: eastern-white-pine, thickness: {T}}}
build:
  - design: free-form
    name: bench
    parts:
      seat:
        stock: pine
        length: 900
        width: 280
        faces: {{bottom face: underside}}
        seen: {{underside: semi-exposed}}
      left leg:
        stock: pine
        length: 420
        width: 240
        left_bevel: -{LEAN}
        right_bevel: {LEAN}
        faces: {{top face: outside, bottom face: inside, left end: foot, right end: upper end}}
        seen: {{inside: semi-exposed, foot: concealed, upper end: concealed}}
      right leg:
        like: left leg
        left_bevel: {LEAN}
        right_bevel: -{LEAN}
        faces: {{top face: inside, bottom face: outside, left end: foot, right end: upper end}}
      skirt:
        stock: pine
        length: 500
        width: 90
        back_bevel: 15
        faces: {{top face: inside, bottom face: outside, back edge: upper edge}}
        seen: {{inside: concealed, upper edge: concealed}}
      rail:
        stock: pine
        length: 700
        width: 100
        left_mitre: {MITRE!r}
        right_mitre: {MITRE!r}
        left_bevel: {BEVEL!r}
        right_bevel: {BEVEL!r}
        back_bevel: {SPLAY}
        faces: {{top face: outside, bottom face: inside, back edge: upper edge}}
        seen:
          {{inside: concealed, left end: concealed, right end: concealed, upper edge: concealed}}
    joints:
      - kind: butt
        board: left leg / upper end
        meets: seat / underside
        pockets_in: inside
        flush:
          - {{face: front edge, to: front edge, set_back: 20}}
          - {{face: outside, to: left end, set_back: 120}}
      - kind: butt
        board: skirt / upper edge
        meets: seat / underside
        pockets_in: inside
        flush:
          - {{face: outside, to: front edge, set_back: 2}}
          - {{face: right end, to: left end, set_back: 200}}
      - kind: butt
        board: rail / upper edge
        meets: seat / underside
        flush:
          - {{face: outside, to: front edge, set_back: 120}}
      - kind: butt
        board: rail / left end
        meets: left leg / inside
        pockets_in: inside
      - kind: butt
        board: rail / right end
        meets: right leg / inside
        pockets_in: inside
      - kind: butt
        board: right leg / upper end
        meets: seat / underside
        pockets_in: inside
        flush:
          - {{face: front edge, to: front edge, set_back: 20}}
"""


@pytest.fixture(scope="module")
def bench() -> Project:
    return plan(parse_recipe(BENCH, "bench.yaml", piece_models()))


def test_both_ways_agree_that_a_splayed_bench_holds(bench: Project, tmp_path: Path) -> None:
    assert len(bench.bores) > 8
    assert not [f for f in judge(bench) if f.severity != "notes"]
    recipe = tmp_path / "bench.yaml"
    recipe.write_text(BENCH)
    result = build(recipe, tmp_path / "out", writers=())
    assert not [f for f in result.findings if f.severity != "notes"]


def test_compound_ends_are_told_as_a_saw_is_set(bench: Project) -> None:
    said = end_cuts(bench.board_named["bench rail"])
    assert (
        said
        == f"mitre {MITRE:.2f}, bevel {BEVEL:.2f} degrees both ends, front edge and inside long"
    )
    # A leg that leans by 5 degrees both ways: 5 and 4.98 (common tables of compound angles).
    tangent = math.tan(math.radians(5.0))
    bevel = math.degrees(math.atan(tangent * math.cos(math.radians(5.0))))
    leg = blank("leg", "p", "leg", PINE, 400.0, 45.0, work=tuple(sawn(5.0, 5.0, bevel, bevel)))
    assert end_cuts(leg).startswith("mitre 5, bevel 4.98 degrees both ends")
    x, y, z = leg.face(RIGHT).plane.normal
    assert (y / x, z / x) == pytest.approx((tangent, tangent))


Ends = tuple[tuple[float, float], ...]
PINE = Stock("pine", "eastern-white-pine", "pine", T, "softwood")


def truncated(board: Board, lean: float = 0.0, ends: Ends = ()) -> float:
    """Volume of a prism with slanting ends: its section times its length at the section's centroid.

    (Textbook: truncated prism.) The section is a rectangle less the triangle that the bevel of the
    back edge takes; `ends` are mitre and bevel, degrees, left and right.
    """
    width, off = board.width, T * math.tan(math.radians(lean))
    whole, corner = width * T, off * T / 2
    area = whole - corner
    y = (whole * width / 2 - corner * (width - off / 3)) / area
    z = (whole * T / 2 - corner * 2 * T / 3) / area
    length = board.length
    for mitre, bevel in ends:
        across = math.tan(math.radians(mitre))
        up = math.tan(math.radians(bevel)) / math.cos(math.radians(mitre))
        length -= across * y + up * z - min(0.0, up * T)
    return area * length


def test_volumes_are_those_of_truncated_prisms(bench: Project) -> None:
    cases: dict[str, tuple[float, Ends]] = {
        "bench left leg": (0.0, ((0.0, -LEAN), (0.0, LEAN))),
        "bench skirt": (15.0, ()),
        "bench rail": (SPLAY, ((MITRE, BEVEL), (MITRE, BEVEL))),
    }
    for name, (lean, ends) in cases.items():
        board = bench.board_named[name]
        solid = unbored_solid(board)
        assert solid.isValid()
        assert solid.Volume() == pytest.approx(truncated(board, lean, ends), rel=1e-9), name


def test_pockets_at_slanting_ends_are_marked_out_on_the_face_that_is_bored(bench: Project) -> None:
    """Both distances lead to the mouth from the arrises of the pocket face, as drawn by hand."""
    tried = 0
    for name, mitre in (("bench left leg", 0.0), ("bench rail", math.radians(MITRE))):
        board = bench.board_named[name]
        sine, cosine = math.sin(mitre), math.cos(mitre)
        # On the bottom face both ends are at their longest: x = 0 and the length, at the front.
        # Per side a point of its arris there, the way along it, and the way in from it.
        drawn = {
            FRONT: ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)),
            BACK: ((0.0, board.width), (1.0, 0.0), (0.0, -1.0)),
            LEFT: ((0.0, 0.0), (sine, cosine), (cosine, -sine)),
            RIGHT: ((board.length, 0.0), (-sine, cosine), (-cosine, -sine)),
        }
        for work in work_on(bench, board):
            if not isinstance(work, Pocket):
                continue
            mark = work.mark
            assert work.done_from == BOTTOM
            (x, y), way, inward = drawn[mark.line.side]
            (p, q), _, off = drawn[mark.start.side]
            to_start = ((p - x) * off[0] + (q - y) * off[1]) / (way[0] * off[0] + way[1] * off[1])
            sign = math.copysign(1.0, way[0] * off[0] + way[1] * off[1])
            along_it = to_start + sign * mark.run
            mouth = [
                c + along_it * w + mark.square * i
                for c, w, i in zip((x, y), way, inward, strict=True)
            ]
            assert mouth == pytest.approx(mark.mouth[:2], abs=1e-9)
            # The axis leaves by the slanting end itself, at mid thickness.
            end = board.face(work.bore.joint_face).plane
            assert end.gap(work.bore.exit) == pytest.approx(0, abs=1e-9)
            assert work.bore.exit[2] == pytest.approx(T / 2)
            assert dot(end.normal, work.bore.back) < -0.9
            tried += 1
    assert tried >= 5
