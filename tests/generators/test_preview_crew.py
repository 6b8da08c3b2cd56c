"""Processes that work on a text: the newest one wins, whatever the older ones are at."""

from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
import time
from collections.abc import Awaitable, Callable
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from slantbore.generators.live.crew import Crew
from slantbore.generators.live.work import Outcome, outcomes
from slantbore.models.designs import designs

from ..strategies import mangled
from .test_odd_places import started, stopped
from .test_preview_session import RECIPE

# Work that takes as long as its text says, in the place of geometry.
STAND_IN = """
import os, sys, time
from slantbore.generators.live import work

def outcomes(text, file, known, newer):
    print("noise of a library")
    if text == "dies":
        os._exit(3)
    if text == "stuck":
        time.sleep(600)
    yield {"kind": "closed", "scene": {"name": text, "boards": []}}
    if text == "steps":
        for number in range(6000):
            time.sleep(0.1)
            yield {"kind": "shape", "name": str(number), "shape": {}}
    yield {"kind": "solid"}
    yield {"kind": "advised", "scene": {"name": text, "boards": []}}

work.outcomes = outcomes
work.main()
"""
COMMAND = [sys.executable, "-c", STAND_IN]


class Heard:
    """A crew, and what it told."""

    def __init__(self) -> None:
        self.crew = Crew(self.take, COMMAND)
        self.told: list[Outcome] = []

    async def take(self, outcome: Outcome) -> None:
        self.told.append(outcome)

    async def want(self, text: str) -> None:
        await self.crew.want(text, "recipe.yaml", ())

    async def until(self, text: str, kind: str = "closed") -> Outcome:
        async with asyncio.timeout(120):
            while True:
                for outcome in self.told:
                    if outcome["kind"] == kind and text in str(outcome):
                        return outcome
                await asyncio.sleep(0.01)

    def process(self) -> int:
        assert self.crew._worker is not None
        return self.crew._worker.process.pid


def run(check: Callable[[Heard], Awaitable[None]]) -> Heard:
    async def whole() -> Heard:
        heard = Heard()
        try:
            await check(heard)
        finally:
            workers = [w for w in (heard.crew._worker, heard.crew._spare) if w is not None]
            await heard.crew.stop()
        for worker in workers:
            with pytest.raises(ProcessLookupError):
                os.kill(worker.process.pid, 0)
        return heard

    return asyncio.run(whole())


def test_a_newer_text_wins_over_one_that_is_stuck() -> None:
    async def check(heard: Heard) -> None:
        await heard.want("stuck")
        await heard.until("", "working")
        first = heard.process()
        await heard.want("quick 1")
        await heard.until("quick 1")
        assert heard.process() != first and heard.crew.killed == 1
        await heard.want("stuck")
        await heard.want("quick 2")
        await heard.until("quick 2")

    run(check)


def test_a_text_is_left_between_two_steps() -> None:
    async def check(heard: Heard) -> None:
        await heard.want("steps")
        await heard.until("steps")
        first = heard.process()
        for number in range(5):
            await heard.want(f"quick {number}")
        await heard.until("quick 4")
        await heard.until("", "solid")
        assert heard.process() == first and heard.crew.killed == 0
        assert max(outcome["job"] for outcome in heard.told if outcome["kind"] == "shape") == 1

    run(check)


def test_a_worker_that_dies_is_told_and_replaced() -> None:
    async def check(heard: Heard) -> None:
        await heard.want("dies")
        await heard.until("ended with status 3", "problems")
        await heard.want("quick")
        await heard.until("quick")

    run(check)


def test_work_ends_at_once_when_told_to() -> None:
    async def check(heard: Heard) -> None:
        await heard.want("stuck")
        await heard.until("", "working")

    run(check)  # which looks for the processes


SERVING = f"""
import sys
from slantbore.generators.cli import main
from slantbore.generators.live import crew
crew.Crew.command = [sys.executable, "-c", {STAND_IN.replace('text == "stuck"', "True")!r}]
crew.Crew.__init__.__defaults__ = (crew.Crew.command, *crew.Crew.__init__.__defaults__[1:])
raise SystemExit(main(sys.argv[1:]))
"""


@pytest.mark.skipif(sys.platform == "win32", reason="signals differ")
@pytest.mark.parametrize(("name", "status"), [("SIGINT", 0), ("SIGTERM", 143)])
def test_a_signal_ends_the_server_whatever_is_at_work(
    name: str, status: int, tmp_path: Path
) -> None:
    path = tmp_path / "mirror.yaml"
    path.write_text(RECIPE, encoding="utf-8")
    process = started("-c", SERVING, "preview", path, "--live", "--no-browser")
    assert process.stdout is not None
    assert process.stdout.readline().startswith("http://127.0.0.1:")
    time.sleep(1)
    ended, said = stopped(process, getattr(signal, name))
    assert ended == status
    assert said.splitlines()[-1] == "stopped" and "Traceback" not in said


@pytest.mark.skipif(sys.platform == "win32", reason="needs SIGKILL")
def test_a_worker_ends_with_whoever_asked_it() -> None:
    script = (
        "import subprocess, sys, time\n"
        f"worker = subprocess.Popen({COMMAND!r}, stdin=subprocess.PIPE, stdout=subprocess.PIPE)\n"
        'worker.stdin.write(b\'{"number": 1, "text": "stuck", "file": "", "known": []}\\n\')\n'
        "worker.stdin.flush()\n"
        "while b'begun' not in worker.stdout.readline(): pass\n"
        "print(worker.pid, flush=True)\n"
        "time.sleep(60)"
    )
    asking = subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True)
    assert asking.stdout is not None
    worker = int(asking.stdout.readline())
    asking.kill()
    asking.communicate()
    end = time.monotonic() + 60
    while Path(f"/proc/{worker}").exists() if Path("/proc").exists() else False:
        assert time.monotonic() < end, "the worker goes on"
        time.sleep(0.02)


@example("name")
@example("")
@example("\ufeff- [3]")
@given(st.one_of(st.text(max_size=30), st.sampled_from(
    sorted(design.starter for design in designs().values())).flatmap(mangled)))  # fmt: skip
def test_any_text_at_all_comes_to_a_verdict_or_to_problems(text: str) -> None:
    outcome = next(outcomes(text, "recipe.yaml", ()))
    assert outcome["kind"] in ("closed", "problems")
    assert "a defect" not in str(outcome.get("problems"))
