"""Board solids against the bare kernel doing one boolean per distinct board.

    python -m tests.bench.bench_solids        from the root, in the project's environment

The bare kernel pushes a blank's outline through its thickness, makes a box per rebate and a turned
tool per bore, and cuts each distinct board once: what a script of a few lines would do. The tool
also finds out which boards are alike, makes the screws, and checks that every shape is sound.
Target: at most 1.2 times. The boolean alone, with blank and tools ready made, is printed as well.
"""

from __future__ import annotations

import math
from functools import partial

from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

from slantbore.generators.solids.kernel import cq
from slantbore.generators.solids.solids import shape_list, solidify
from slantbore.models.piece.board import LEFT, RIGHT, Board
from slantbore.models.piece.bored import bores_in
from slantbore.models.piece.groups import groups
from slantbore.models.piece.project import Bore
from slantbore.models.work.rebate import Rebate
from tests.bench.bench_closed_form import best, recipe
from tests.generators.brep import Box, Prism

TARGET = 1.2


Ready = tuple[cq.Solid, list[cq.Solid]]


def plain(board: Board, bores: tuple[Bore, ...]) -> Ready:
    """Blank and tools of a mitred rail, without any help of the tool."""
    mitres = [math.degrees(math.asin(board.face(side).plane.normal[1])) for side in (LEFT, RIGHT)]
    prism = Prism(board.length, board.width, board.thickness, *mitres)
    tools = []
    for work in board.work:
        if not isinstance(work, Rebate):
            continue
        wall = board.width - work.width
        box = Box(work.called, (None, None), (wall, None), (None, work.depth))
        tools.append(box.solid(board.length, board.width, board.thickness))
    for bore in bores:
        up, start = cq.Vector(*bore.back), cq.Vector(*bore.exit)
        out = up.cross(cq.Vector(0, 0, 1)).normalized()
        far, r, R = bore.run_out(board), bore.drill.pilot_radius, bore.drill.counterbore_radius
        outline = [(-5, 0), (-5, r), (bore.shoulder, r), (bore.shoulder, R), (far, R), (far, 0)]
        wire = cq.Wire.makePolygon([start + up * t + out * x for t, x in outline], close=True)
        tools.append(cq.Solid.revolve(wire, [], 360, start, start + up))
    return prism.solid(), tools


def boolean(blank: cq.Solid, tools: list[cq.Solid]) -> cq.Shape:
    """One boolean, and nothing else."""
    operation = BRepAlgoAPI_Cut()
    operation.SetArguments(shape_list([blank]))
    operation.SetTools(shape_list(tools))
    operation.Build()
    return cq.Shape.cast(operation.Shape())


def main() -> None:
    for name in ("washroom-mirror", "octagon-mirror", "slim-mirror"):
        project = recipe(f"{name}.yaml")
        distinct = [(like[0], bores_in(project, like[0])) for like in groups(project)]
        made = [plain(board, bores) for board, bores in distinct]
        ours = solidify(project)
        for (board, _), pair in zip(distinct, made, strict=True):
            # Both make the same board, or the ratio would say nothing.
            volumes = boolean(*pair).Volume(), ours.own_solid(board.name).Volume()
            if abs(volumes[0] / volumes[1] - 1) > 1e-9:
                raise SystemExit(f"{board.name}: {volumes[0]} is not {volumes[1]} mm3")

        def bare(distinct: list[tuple[Board, tuple[Bore, ...]]] = distinct) -> object:
            return [boolean(*plain(board, bores)) for board, bores in distinct]

        def alone(made: list[Ready] = made) -> object:
            return [boolean(*pair) for pair in made]

        # In turn, so that a busy machine is busy for all three.
        rounds = [
            [best(run, 0.5, 3) for run in (partial(solidify, project), bare, alone)]
            for _ in range(4)
        ]
        slow, fast, least = (min(times) for times in zip(*rounds, strict=True))
        ratio = slow / fast
        print(
            f"{name}: {len(project.boards)} boards, {len(distinct)} distinct; bare kernel "
            f"{fast * 1e3:.1f} ms (boolean alone {least * 1e3:.1f}), solids {slow * 1e3:.1f} ms: "
            f"{ratio:.2f} times ({'meets' if ratio <= TARGET else 'misses'} {TARGET}); "
            f"{slow / least:.2f} times the boolean alone"
        )


if __name__ == "__main__":
    main()
