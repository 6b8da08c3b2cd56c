"""What comes of a recipe's text, step by step; run by `crew` in a process of its own.

A job is one line of JSON on standard input: `number`, `file`, `text`, and the names of the shapes
that are `known`. Each outcome is one line on standard output: the job's number under `job`, and
its `kind`:

    ready      the process is there
    begun      this job is at work
    closed     `scene`, from closed form, and the `text` that it is of
    shape      the shape `name`
    solid      the last shape is there
    advised    both once more, with what to change
    problems   each as `[file, line, column, message]`

The last two end a job. A newer job ends one between two steps, once it has a verdict, and ends a
search for what to change at once.
"""

from __future__ import annotations

import contextlib
import json
import math
import os
import queue
import signal
import sys
import threading
import time
from collections.abc import Callable, Collection, Iterator, Sequence
from pathlib import Path
from typing import Any, TextIO

from ...models.advice.budget import SECONDS, Budget
from ...models.advice.causes import causes
from ...models.piece.project import Finding
from ...models.words.errors import Location, Problem, RecipeError, SlantboreError
from ..page.mesh import shape_json
from ..page.scene import scene_of, shape_name
from ..pipeline import Pipeline
from ..solids.proof_pages import LEFT_TO_SOLIDS
from ..telling.printed import CLOSED_FORM, Told
from ..telling.report import ordered

Outcome = dict[str, Any]
END = ("advised", "problems")


def outcomes(
    text: str, file: str, known: Collection[str], newer: Callable[[], bool] = lambda: False
) -> Iterator[Outcome]:
    """Yield what comes of a recipe's text: its verdict, then what the page does not know yet.

    Whatever happens on the way is an outcome too.

    Args:
        text: of the recipe.
        file: the name that messages print.
        known: shapes that are there already, by name.
        newer: whether there is something newer to work on.
    """
    try:
        yield from _steps(text, file, set(known), newer)
    except RecipeError as error:
        yield trouble(error.problems)
    except SlantboreError as error:
        yield trouble([Problem(Location(file), str(error))])
    except Exception as error:
        said = f"a defect of slantbore, not of your recipe: {type(error).__name__}: {error}"
        yield trouble([Problem(Location(file), " ".join(said.split()))])


def trouble(problems: Collection[Problem]) -> Outcome:
    """The outcome that tells of problems."""
    told = [(p.location.file, p.location.line, p.location.column, p.message) for p in problems]
    return {"kind": "problems", "problems": told}


def _steps(text: str, file: str, known: set[str], newer: Callable[[], bool]) -> Iterator[Outcome]:
    made = Pipeline(Path(file), text)

    def scene(findings: Sequence[Finding], stopped: str = "") -> dict[str, Any]:
        found = ordered(made.project, findings)
        by_cause = causes(made.recipe, made.project, found)
        return scene_of(Told(made.project, found, by_cause, CLOSED_FORM, stopped, LEFT_TO_SOLIDS))

    yield {"kind": "closed", "scene": scene(made.judged), "text": text}
    for board in made.project.boards:
        name = shape_name(made.project, board)
        if name not in known:
            known.add(name)
            shape = shape_json(made.solid(board.name), board)
            yield {"kind": "shape", "name": name, "shape": shape}
    yield {"kind": "solid"}
    start = time.monotonic()
    budget = Budget(SECONDS, lambda: math.inf if newer() else time.monotonic() - start)
    advice = made.advised(budget, most=1)
    yield {"kind": "advised", "scene": scene(advice.findings, advice.stopped), "text": text}


def main() -> None:
    """Work until standard input ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which ends this
    out = os.fdopen(os.dup(sys.stdout.fileno()), "w", encoding="ascii")
    os.dup2(sys.stderr.fileno(), sys.stdout.fileno())  # what a library prints is no outcome
    jobs: queue.Queue[dict[str, Any]] = queue.Queue()
    threading.Thread(target=_read, args=(jobs,), daemon=True).start()
    _tell(out, {"kind": "ready"})
    while True:
        try:
            job = jobs.get(timeout=0.1)
        except queue.Empty:
            with contextlib.suppress(SlantboreError):  # the verdict needs no kernel
                from ..solids import solids as _kernel  # noqa: F401
            job = jobs.get()
        while not jobs.empty():
            job = jobs.get()
        number = job.pop("number")
        _tell(out, {"job": number, "kind": "begun"})
        for outcome in outcomes(**job, newer=lambda: not jobs.empty()):
            _tell(out, {"job": number, **outcome})
            if not jobs.empty():
                break


def _read(jobs: queue.Queue[dict[str, Any]]) -> None:
    for line in sys.stdin:
        jobs.put(json.loads(line))
    os._exit(0)  # whoever asked is gone, whatever is at work here


def _tell(out: TextIO, outcome: Outcome) -> None:
    out.write(json.dumps(outcome, allow_nan=False, separators=(",", ":")) + "\n")
    out.flush()


if __name__ == "__main__":
    main()
