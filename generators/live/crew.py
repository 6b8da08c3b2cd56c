"""The processes that work on a recipe's text: one at work, a second one when the first is slow.

The newest text wins. A worker leaves an older text by itself between two steps; one that is still
in the middle of a step after a while is killed, as soon as another one is loaded and can go on.
"""

from __future__ import annotations

import asyncio
import json
import sys
from collections.abc import Awaitable, Callable, Collection, Coroutine, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from ...models.words.errors import Location, Problem
from .work import END, Outcome, trouble

# -P: a folder of the user's that happens to be called slantbore must not be imported.
COMMAND = (sys.executable, "-P", "-m", trouble.__module__)
PATIENCE = 0.3  # s that a newer text waits for a step of an older one
LONG = 1.0  # s of work after which a second worker is loaded, should it be needed
_LONGEST_LINE = 2**30


@dataclass
class _Worker:
    process: asyncio.subprocess.Process
    ready: bool = False
    begun: int = 0  # number of the job that it began last
    done: int = 0  # number of the job that it ended last
    silent: bool = False  # whether it has told nothing of the job

    @property
    def busy(self) -> bool:
        return self.begun > self.done

    def send(self, job: dict[str, Any]) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(json.dumps(job).encode("ascii") + b"\n")


@dataclass
class Crew:
    """Works on the newest text.

    Attributes:
        told: called with every outcome of the texts at work, in their order.
        command: what a worker runs.
        killed: how many workers were killed over an older text.
    """

    told: Callable[[Outcome], Awaitable[None]]
    command: Sequence[str] = COMMAND
    killed: int = 0
    _worker: _Worker | None = None
    _spare: _Worker | None = None
    _job: dict[str, Any] = field(default_factory=lambda: {"number": 0})
    _tasks: set[asyncio.Task[None]] = field(default_factory=set)
    _stopping: bool = False

    async def want(self, text: str, file: str, known: Collection[str]) -> None:
        """Work on a text from now on, and on no older one.

        Raises:
            OSError: no process can be started.
        """
        number = self._job["number"] + 1
        self._job = {"number": number, "text": text, "file": file, "known": sorted(known)}
        await self._at_work()
        self._do(self._look(number))

    async def stop(self) -> None:
        """End every worker at once."""
        self._stopping = True
        for task in self._tasks:
            task.cancel()
        workers = [worker for worker in (self._worker, self._spare) if worker is not None]
        for worker in workers:
            _kill(worker)
        await asyncio.gather(*self._tasks, return_exceptions=True)
        await asyncio.gather(*(worker.process.wait() for worker in workers))

    async def _at_work(self) -> None:
        if self._worker is None:
            self._worker = await self._hired()
        self._worker.send(self._job)

    async def _look(self, number: int) -> None:
        """See whether an older job holds one up."""
        await asyncio.sleep(PATIENCE)
        worker = self._worker
        if worker is not None and number == self._job["number"]:  # else a newer one is looked after
            if worker.busy and worker.begun < number:
                await self._relieve()

    async def _look_again(self, worker: _Worker) -> None:
        """See whether a job that was begun takes long."""
        number = worker.begun
        await asyncio.sleep(LONG)
        if worker is self._worker and worker.busy and worker.begun == number:
            if worker.silent:
                await self.told({"kind": "working"})
            if self._spare is None:
                self._spare = await self._hired()

    async def _relieve(self) -> None:
        """Let the spare worker go on in the place of one that an older text holds up."""
        if self._spare is None:
            self._spare = await self._hired()
        old, new, number = self._worker, self._spare, self._job["number"]
        if new.ready and old is not None and old.busy and old.begun < number:
            self._worker, self._spare = new, None
            self.killed += 1
            _kill(old)
            new.send(self._job)

    async def _hired(self) -> _Worker:
        process = await asyncio.create_subprocess_exec(
            *self.command,
            stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE, limit=_LONGEST_LINE,
        )  # fmt: skip
        worker = _Worker(process)
        self._do(self._hear(worker))
        return worker

    async def _hear(self, worker: _Worker) -> None:
        assert worker.process.stdout is not None
        async for line in worker.process.stdout:
            outcome = json.loads(line)
            match outcome["kind"]:
                case "ready":
                    worker.ready = True
                    if worker is self._spare and self._worker is not None:
                        await self._relieve()
                case "begun":
                    worker.begun, worker.silent = outcome["job"], True
                    self._do(self._look_again(worker))
                case kind:
                    worker.silent = False
                    if kind in END:
                        worker.done = outcome["job"]
                    if worker is self._worker:
                        await self.told(outcome)
        status = await worker.process.wait()
        if worker is self._spare:
            self._spare = None
        if worker is self._worker and not self._stopping:
            self._worker, self._spare = self._spare, None
            if worker.ready and worker.begun < self._job["number"]:
                await self._at_work()
            else:  # not the same text again: it may be what ended the process
                said = f"the process that worked on this text ended with status {status}"
                await self.told(trouble([Problem(Location(self._job.get("file", "")), said)]))

    def _do(self, work: Coroutine[Any, Any, None]) -> None:
        task: asyncio.Task[None] = asyncio.create_task(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)


def _kill(worker: _Worker) -> None:
    with suppress(ProcessLookupError):
        worker.process.kill()
