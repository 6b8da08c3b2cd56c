"""The page served on the loopback, following the recipe while it is edited.

Only this machine, only with the token of the address, only from the page itself: the Host must be
the loopback's (a name that was bound to it from outside is refused), the Origin the page's own.
"""

from __future__ import annotations

import asyncio
import hmac
import json
import secrets
from collections.abc import Awaitable, Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from aiohttp import web
from watchfiles import awatch

from ...models.recipe.numbers import NumberError
from ...models.recipe.writing import WritingError
from ...models.words.errors import Location, Problem, SlantboreError
from ..page.page_file import page
from .crew import Crew
from .session import Session, Snapshot
from .work import Outcome, trouble

LOOPBACK = "127.0.0.1"
MOST_BODY = 64 * 1024  # bytes of a request
MOST_LISTENERS = 40
MOST_NAMES = 2000
BEAT_SECONDS = 15.0
_QUIET_MS, _LONGEST_MS, _LOOK_MS = 20, 200, 1000

_HEADERS = {
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}
Handler = Callable[[web.Request], Awaitable[web.StreamResponse]]


@dataclass
class Live:
    """The running server of one recipe.

    Attributes:
        session: the recipe.
        token: random part of the address.
        port: where it listens, 0 for a free one.
    """

    session: Session
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    port: int = 0
    _thread: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1))
    _crew: Crew = field(init=False)
    _changed: asyncio.Condition = field(default_factory=asyncio.Condition)
    _wanted: asyncio.Event = field(default_factory=asyncio.Event)
    _listeners: int = 0
    _stopping: bool = False
    _runner: web.AppRunner | None = None
    _tasks: list[asyncio.Task[None]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._crew = Crew(self._take)

    @property
    def address(self) -> str:
        """Where the page is."""
        return f"http://{LOOPBACK}:{self.port}/{self.token}/"

    async def start(self) -> None:
        """Listen, watch, begin with the recipe as it is.

        Raises:
            OSError: the port is taken.
        """
        await self._reread()
        self._runner = web.AppRunner(self._application(), access_log=None, shutdown_timeout=1.0)
        await self._runner.setup()
        site = web.TCPSite(self._runner, LOOPBACK, self.port)
        await site.start()
        self.port = self._runner.addresses[0][1]
        self._tasks = [asyncio.create_task(self._ask()), asyncio.create_task(self._watch())]

    async def stop(self) -> None:
        """Let go of everything."""
        self._stopping = True
        for task in self._tasks:
            task.cancel()
        await asyncio.gather(*self._tasks, return_exceptions=True)
        async with self._changed:
            self._changed.notify_all()
        if self._runner is not None:
            await self._runner.cleanup()
        await self._crew.stop()
        self._thread.shutdown(wait=False, cancel_futures=True)

    async def forever(self) -> None:
        """Run until something stops it; a task that dies is an error and not silence."""
        await asyncio.gather(*self._tasks)

    # --- the recipe -----------------------------------------------------------------------

    async def _in_thread(self, call: Callable[..., Any], *args: Any) -> Any:
        # One thread for all that touches the session: its steps never overlap.
        return await asyncio.get_running_loop().run_in_executor(self._thread, call, *args)

    async def _take(self, outcome: Outcome) -> None:
        await self._in_thread(self.session.take, outcome)
        if outcome["kind"] != "shape":
            await self._tell()

    async def _ask(self) -> None:
        """Have the newest text worked on."""
        while True:
            await self._wanted.wait()
            self._wanted.clear()
            file = str(self.session.path)
            try:
                text = await self._in_thread(self.session.text)
                await self._crew.want(text, file, await self._in_thread(set, self.session.known))
            except (NumberError, OSError) as error:
                await self._take(trouble([Problem(Location(file), str(error))]))

    async def _reread(self) -> None:
        if await self._in_thread(self.session.reread):
            self._wanted.set()
        else:
            await self._tell()

    async def _watch(self) -> None:
        """Follow the file; wait for its folder where that is gone."""
        path = self.session.path
        while True:
            files = {path.absolute(), path.resolve()}
            # The folders, since editors put a new file in the old one's place.
            parents = {file.parent for file in files}
            folders = _identities(parents)
            with suppress(OSError):
                async for changes in awatch(
                    *folders,
                    watch_filter=None,
                    step=_QUIET_MS,
                    debounce=_LONGEST_MS,
                    rust_timeout=_LOOK_MS,
                    yield_on_timeout=True,
                    recursive=False,
                ):
                    # Without a change now and then all the same: not every disk tells of changes.
                    names = {Path(name).name for _, name in changes}
                    if not names or names & {file.name for file in files}:
                        await self._reread()
                    if _identities(parents) != folders:
                        break
            await asyncio.sleep(_LOOK_MS / 1000)
            await self._reread()

    async def _tell(self) -> None:
        async with self._changed:
            self._changed.notify_all()

    # --- the server -----------------------------------------------------------------------

    def _application(self) -> web.Application:
        application = web.Application(client_max_size=MOST_BODY, middlewares=[self._guard])
        application.add_routes(
            [
                web.get("/{token}/", self._page),
                web.get("/{token}/events", self._events),
                web.get("/{token}/shapes", self._shapes),
                web.post("/{token}/numbers", self._numbers),
                web.post("/{token}/write", self._write),
            ]
        )
        return application

    @web.middleware
    async def _guard(self, request: web.Request, handler: Handler) -> web.StreamResponse:
        refusal = self._refusal(request)
        if refusal:
            return web.Response(status=refusal, text="refused\n", headers=_HEADERS)
        try:
            answer = await handler(request)
        except web.HTTPException as error:
            return web.Response(status=error.status, text=f"{error.reason}\n", headers=_HEADERS)
        if not answer.prepared:
            answer.headers.update(_HEADERS)
        return answer

    def _refusal(self, request: web.Request) -> int:
        """The status to refuse a request with, 0 to let it in."""
        hosts = {f"{name}:{self.port}" for name in (LOOPBACK, "localhost")}
        if request.headers.get("Host", "").lower() not in hosts:
            return 421
        origin = request.headers.get("Origin")
        if origin is None and request.method != "GET":
            return 403
        if origin is not None and origin.lower() not in {f"http://{host}" for host in hosts}:
            return 403
        if request.headers.get("Sec-Fetch-Site", "none") not in ("none", "same-origin"):
            return 403
        given = request.match_info.get("token", "")
        if not hmac.compare_digest(given.encode("utf-8", "replace"), self.token.encode()):
            return 404
        return 0

    async def _page(self, request: web.Request) -> web.Response:
        def text() -> str:
            return page(self.session.whole_scene(), live=True)

        return web.Response(text=await self._in_thread(text), content_type="text/html")

    async def _events(self, request: web.Request) -> web.StreamResponse:
        """The newest snapshot, again and again; what a slow reader misses it does not need."""
        if self._listeners >= MOST_LISTENERS:
            raise web.HTTPServiceUnavailable
        self._listeners += 1
        answer = web.StreamResponse(
            headers={**_HEADERS, "Content-Type": "text/event-stream; charset=utf-8"}
        )
        try:
            await answer.prepare(request)
            sent = -1
            while not self._stopping:
                snapshot = self.session.snapshot
                if snapshot.version != sent:
                    await answer.write(f"data: {snapshot.json}\n\n".encode("ascii"))
                    sent = snapshot.version
                elif not await self._newer(snapshot):
                    await answer.write(b": still here\n\n")
        except ConnectionError:
            pass  # whoever listened has left
        finally:
            self._listeners -= 1
        return answer

    async def _newer(self, seen: Snapshot) -> bool:
        """Wait for a newer snapshot; say whether one came before the next beat."""

        def there() -> bool:
            return self._stopping or self.session.snapshot.version != seen.version

        with suppress(TimeoutError):
            async with asyncio.timeout(BEAT_SECONDS), self._changed:
                await self._changed.wait_for(there)
                return True
        return False

    async def _shapes(self, request: web.Request) -> web.Response:
        names = request.query.get("names", "").split(",")[:MOST_NAMES]
        return web.json_response(await self._in_thread(self.session.shapes, names))

    async def _numbers(self, request: web.Request) -> web.Response:
        values = await _body(request)
        if not all(
            isinstance(v, str | int | float) and not isinstance(v, bool) for v in values.values()
        ):
            raise web.HTTPBadRequest
        try:
            await self._in_thread(self.session.draft, values)
        except NumberError as error:
            return web.json_response({"problem": str(error)}, status=422)
        self._wanted.set()
        return web.json_response({})

    async def _write(self, request: web.Request) -> web.Response:
        body = await _body(request)
        try:
            written = await self._in_thread(
                self.session.write_back, body.get("over") is True, body.get("cure")
            )
        except (NumberError, WritingError, SlantboreError, OSError) as error:
            return web.json_response({"problem": str(error)}, status=422)
        self._wanted.set()
        await self._tell()
        return web.json_response({"written": written}, status=200 if written else 409)


def _identities(folders: Iterable[Path]) -> dict[Path, tuple[int, int]]:
    """Device and number of the folders that are there."""
    found = {}
    for folder in folders:
        with suppress(OSError):
            about = folder.stat()
            found[folder] = about.st_dev, about.st_ino
    return found


async def _body(request: web.Request) -> dict[str, Any]:
    """The JSON object of a request."""
    if request.content_type != "application/json":
        raise web.HTTPUnsupportedMediaType
    try:
        found = json.loads(await request.text())
    except (ValueError, RecursionError):
        raise web.HTTPBadRequest from None
    if not isinstance(found, dict):
        raise web.HTTPBadRequest
    return found
