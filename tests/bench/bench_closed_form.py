"""Closed form against exact solid distances, for the same bores.

    python -m tests.bench.bench_closed_form        from the root, in the project's environment

Prints, per project, the walls that either way measures, its best time and the ratio. Target: at
least 200 times. The time of the solid way is that of cutting the blank of a board out of each bore
and of asking the kernel for the distances. Bores are moved a little, so that no two are alike: the
solid way measures like ones once, the closed form does not trouble to look.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

from slantbore.generators.solids.measure import measure
from slantbore.models.designs import piece_models
from slantbore.models.judging.study import Study
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import read_recipe

TARGET = 200.0


def best(run: Callable[[], object], seconds: float, least: int = 3) -> float:
    """Least time of a run, in seconds: what it costs when nothing else wants the machine."""
    times: list[float] = []
    end = time.process_time() + seconds
    while len(times) < least or time.process_time() < end:
        start = time.process_time()
        run()
        times.append(time.process_time() - start)
    return min(times)


def recipe(name: str) -> Project:
    """A project that ships with the tool."""
    return plan(read_recipe(Path(str(files("slantbore") / "recipes" / name)), piece_models()))


def unlike(project: Project, step: float = 0.02) -> Project:
    """The same project with every bore moved a little, so that no two cases are alike."""
    joints, number = [], 0
    for joint in project.joints:
        bores = []
        for bore in joint.bores:
            number += 1
            bores.append(replace(bore, shoulder=bore.shoulder - step * number))
        joints.append(replace(joint, bores=tuple(bores)))
    return replace(project, joints=tuple(joints))


def main() -> None:
    names = ("washroom-mirror", "octagon-mirror", "book-shelf")
    cases = {name: unlike(recipe(f"{name}.yaml")) for name in names}
    for name, project in cases.items():

        def closed(project: Project = project) -> object:
            return Study(project).walls

        def solid(project: Project = project) -> object:
            return measure(project)

        fast, slow = best(closed, 2.0, 20), best(solid, 2.0)
        ratio = slow / fast
        print(
            f"{name}: {len(project.bores)} bores, {len(Study(project).walls)} walls; closed form "
            f"{fast * 1e3:.2f} ms, solids {slow * 1e3:.1f} ms: {ratio:.0f} times "
            f"({'meets' if ratio >= TARGET else 'misses'} {TARGET:.0f})"
        )


if __name__ == "__main__":
    main()
