"""The live server: only for this machine, this page and this recipe; and it stays up."""

from __future__ import annotations

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import aiohttp
import pytest

from slantbore.generators.live.server import LOOPBACK, MOST_BODY, MOST_LISTENERS, Live
from slantbore.generators.live.session import Session

from .test_preview_session import RECIPE, WIDTH

Check = Callable[[Live, aiohttp.ClientSession], Awaitable[None]]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    found = tmp_path / "mirror.yaml"
    found.write_text(RECIPE, encoding="utf-8")
    return found


@asynccontextmanager
async def serving(path: Path) -> AsyncIterator[tuple[Live, aiohttp.ClientSession]]:
    live = Live(Session(path))
    await live.start()
    limits = aiohttp.TCPConnector(limit=0)
    try:
        async with aiohttp.ClientSession(connector=limits) as client:
            yield live, client
    finally:
        await live.stop()


def run(path: Path, check: Check) -> None:
    async def whole() -> None:
        async with serving(path) as (live, client):
            async with asyncio.timeout(60):
                await check(live, client)
            await still_serves(live, client)

    asyncio.run(whole())


async def still_serves(live: Live, client: aiohttp.ClientSession) -> None:
    async with client.get(live.address) as answer:
        assert answer.status == 200
        assert 'content="slantbore"' in await answer.text()


def own(live: Live) -> dict[str, str]:
    return {"Origin": f"http://{LOOPBACK}:{live.port}"}


async def snapshots(answer: aiohttp.ClientResponse) -> AsyncIterator[dict[str, Any]]:
    async for line in answer.content:
        if line.startswith(b"data: "):
            found: dict[str, Any] = json.loads(line[6:])
            yield found


async def until(heard: AsyncIterator[dict[str, Any]], **wanted: Any) -> dict[str, Any]:
    """The next snapshot with these values."""
    async for found in heard:
        if wanted.items() <= found.items():
            return found
    raise AssertionError("the events ended")


def test_listens_on_the_loopback_alone(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        assert live._runner is not None
        assert [address[0] for address in live._runner.addresses] == [LOOPBACK]
        async with client.get(live.address) as answer:
            assert answer.headers["Cache-Control"] == "no-store"
            assert answer.headers["X-Frame-Options"] == "DENY"
            text = await answer.text()
            assert "connect-src 'self'" in text and "unsafe-eval" not in text
            assert "'unsafe-inline'" not in text.split("script-src")[1].split(";")[0]

    run(path, check)


@pytest.mark.parametrize("host", ["evil.example", "evil.example:80", "0.0.0.0", "", "127.0.0.1:1"])
def test_another_host_is_refused(path: Path, host: str) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        async with client.get(live.address, headers={"Host": host}) as answer:
            assert answer.status in (400, 421)
            assert "slantbore" not in await answer.text()

    run(path, check)


ORIGINS = ["http://evil.example", "null", "https://127.0.0.1:PORT", "http://127.0.0.1",
           "http://127.0.0.1:PORT.evil.example"]  # fmt: skip


@pytest.mark.parametrize("origin", ORIGINS)
def test_another_origin_is_refused(path: Path, origin: str) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        headers = {"Origin": origin.replace("PORT", str(live.port))}
        for where in ("", "events", "shapes?names=a"):
            async with client.get(live.address + where, headers=headers) as answer:
                assert answer.status == 403
        async with client.post(live.address + "write", json={}, headers=headers) as answer:
            assert answer.status == 403

    run(path, check)


def test_writing_needs_an_origin_and_no_other_site(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        async with client.post(live.address + "numbers", json={WIDTH: 76.2}) as answer:
            assert answer.status == 403
        headers = {**own(live), "Sec-Fetch-Site": "cross-site"}
        async with client.post(live.address + "numbers", json={}, headers=headers) as answer:
            assert answer.status == 403
        headers = {**own(live), "Content-Type": "text/plain"}
        async with client.post(live.address + "numbers", data="{}", headers=headers) as answer:
            assert answer.status == 415

    run(path, check)


@pytest.mark.parametrize("token", ["", "x", "%00", "..", "%2e%2e", "a" * 5000])
def test_a_missing_or_wrong_token_is_refused(path: Path, token: str) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        root = f"http://{LOOPBACK}:{live.port}/"
        for where in ("", "/", "/events", "/shapes?names=a"):
            async with client.get(root + token + where) as answer:
                assert answer.status in (400, 403, 404)
        async with client.post(root + token + "/write", json={}, headers=own(live)) as answer:
            assert answer.status in (400, 403, 404, 405)

    run(path, check)


def test_tokens_are_long_and_never_the_same(path: Path) -> None:
    tokens = {Live(Session(path)).token for _ in range(8)}
    assert len(tokens) == 8 and min(map(len, tokens)) >= 32


WAYS_OUT = ["../../etc/passwd", "..%2f..%2fetc/passwd", "%2e%2e/%2e%2e/etc/passwd", "mirror.yaml",
            "page.js", "events/../../mirror.yaml", "//etc/passwd", "..\\..\\x"]  # fmt: skip


@pytest.mark.parametrize("way", WAYS_OUT)
def test_no_path_leads_outside(path: Path, way: str) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        # As raw bytes: a client library would tidy the path up.
        reader, writer = await asyncio.open_connection(LOOPBACK, live.port)
        request = f"GET /{live.token}/{way} HTTP/1.1\r\nHost: {LOOPBACK}:{live.port}\r\n"
        writer.write((request + "Connection: close\r\n\r\n").encode())
        answer = await reader.read()
        assert answer.split()[1] in (b"400", b"403", b"404"), answer[:200]
        assert b"root:" not in answer and b"rail_width" not in answer
        writer.close()

    run(path, check)


def test_an_oversized_body_is_refused(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        body = json.dumps({WIDTH: "9" * (MOST_BODY + 1)})
        headers = {**own(live), "Content-Type": "application/json"}
        async with client.post(live.address + "numbers", data=body, headers=headers) as answer:
            assert answer.status == 413

    run(path, check)


@pytest.mark.parametrize("body", ["", "[]", "3", "{", "\xff", '{"a": []}', '{"a": true}',
                                  "[" * 30_000, '{"a": null}'])  # fmt: skip
def test_a_body_that_is_no_table_of_numbers_is_refused(path: Path, body: str) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        headers = {**own(live), "Content-Type": "application/json"}
        data = body.encode("latin-1")
        async with client.post(live.address + "numbers", data=data, headers=headers) as answer:
            assert answer.status == 400

    run(path, check)


@pytest.mark.parametrize("body", [{"[]": 3}, {WIDTH: "3 # x"}, {WIDTH: 1e999}])
def test_a_number_that_cannot_be_is_refused_with_words(path: Path, body: dict[str, Any]) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        data = json.dumps(body)
        headers = {**own(live), "Content-Type": "application/json"}
        async with client.post(live.address + "numbers", data=data, headers=headers) as answer:
            assert answer.status == 422
            assert (await answer.json())["problem"]

    run(path, check)


def test_a_hundred_listeners_and_the_rest_is_turned_away(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        answers = [await client.get(live.address + "events") for _ in range(100)]
        statuses = [answer.status for answer in answers]
        assert statuses.count(200) == MOST_LISTENERS
        assert statuses.count(503) == 100 - MOST_LISTENERS
        await still_serves(live, client)
        for answer in answers:
            answer.close()
        for _ in range(200):
            if live._listeners == 0:
                break
            await asyncio.sleep(0.02)
            live.session._show()  # a listener that left is noticed when there is something to say
            await live._tell()
        assert live._listeners == 0

    run(path, check)


def test_a_client_that_never_reads_holds_nobody_up(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        reader, writer = await asyncio.open_connection(LOOPBACK, live.port, limit=1)
        request = f"GET /{live.token}/events HTTP/1.1\r\nHost: {LOOPBACK}:{live.port}\r\n\r\n"
        writer.write(request.encode())
        await writer.drain()
        writer.transport.pause_reading()  # type: ignore[attr-defined]
        async with client.get(live.address + "events") as answer:
            heard = snapshots(answer)
            version = (await anext(heard))["version"]
            for _ in range(300):
                live.session._show()
                await live._tell()
                await asyncio.sleep(0)
            while version < live.session.snapshot.version:
                version = (await anext(heard))["version"]
        writer.close()

    run(path, check)


def test_half_a_request_holds_nobody_up(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        writers = []
        for _ in range(50):
            _, writer = await asyncio.open_connection(LOOPBACK, live.port)
            writer.write(b"POST /" + live.token.encode() + b"/numbers HTTP/1.1\r\nHost: ")
            writers.append(writer)
        await still_serves(live, client)
        for writer in writers:
            writer.close()

    run(path, check)


def test_an_edit_arrives_as_a_verdict_then_as_solids(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        async with client.get(live.address + "events") as answer:
            heard = snapshots(answer)
            first = await until(heard, stage="solid")
            assert first["scene"]["boards"][0]["size"][1] == '2-1/2"'
            path.write_text(RECIPE.replace("2-1/2", "3"), encoding="utf-8")
            stages = []
            async for snapshot in heard:
                stages.append(snapshot["stage"])
                assert snapshot["scene"]["boards"][0]["size"][1] == '3"'
                if snapshot["stage"] == "solid":
                    break
            assert stages == ["closed", "solid"]
            names = ",".join(board["shape"] for board in snapshot["scene"]["boards"])
        async with client.get(live.address + "shapes", params={"names": names}) as shapes:
            assert set(await shapes.json()) == set(names.split(","))

    run(path, check)


@pytest.mark.parametrize("text", ["name", "", "- 3", "{", "\x00", "\ufeff", "a: &a [*a]"])
def test_no_text_ends_the_server(path: Path, text: str) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        async with client.get(live.address + "events") as answer:
            heard = snapshots(answer)
            path.write_text(text, encoding="utf-8")
            while not (await anext(heard))["problems"]:
                pass
            path.write_text(RECIPE, encoding="utf-8")
            found = await until(heard, stage="closed", problems=[])
            while not found["scene"]["boards"]:
                found = await until(heard, problems=[])

    run(path, check)


def test_a_folder_that_goes_and_comes_back_is_followed(path: Path) -> None:
    home = path.parent / "home"
    home.mkdir()
    path = path.rename(home / path.name)

    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        async with client.get(live.address + "events") as answer:
            heard = snapshots(answer)
            while not (await anext(heard))["scene"]["boards"]:
                pass
            home.rename(home.with_name("away"))
            while not (found := await anext(heard))["problems"]:
                pass
            assert found["problems"][0]["message"] == "there is no such file"
            home.with_name("away").rename(home)
            await until(heard, problems=[])
            path.write_text(RECIPE.replace("2-1/2", "3"), encoding="utf-8")
            while (await anext(heard))["scene"]["boards"][0]["size"][1] != '3"':
                pass

    run(path, check)


@pytest.mark.parametrize("cure", [[], "x", 3, [{"path": ["name"], "value": "mine"}]])
def test_a_cure_that_is_not_on_the_page_is_not_written(path: Path, cure: Any) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        body, headers = {"over": True, "cure": cure}, own(live)
        async with client.post(live.address + "write", json=body, headers=headers) as answer:
            assert answer.status == 422
            assert "changed meanwhile" in (await answer.json())["problem"]
        assert path.read_text(encoding="utf-8") == RECIPE

    run(path, check)


def test_what_the_recipe_would_refuse_is_said_and_not_written(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        headers, body = own(live), {WIDTH: "banana"}
        async with client.post(live.address + "numbers", json=body, headers=headers) as answer:
            assert answer.status == 200
        async with client.post(live.address + "write", json={}, headers=headers) as answer:
            assert answer.status == 422
            assert "`banana` is not a length" in (await answer.json())["problem"]
        assert path.read_text(encoding="utf-8") == RECIPE

    run(path, check)


def test_editors_that_replace_the_file_are_followed(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        async with client.get(live.address + "events") as answer:
            heard = snapshots(answer)
            await until(heard, stage="solid")
            beside = path.with_suffix(".new")
            for width in ("3", "3-1/4"):
                beside.write_text(RECIPE.replace("2-1/2", width), encoding="utf-8")
                beside.replace(path)
                async for snapshot in heard:
                    if snapshot["scene"]["boards"][0]["size"][1] == f'{width}"':
                        break

    run(path, check)


def test_numbers_are_tried_then_written(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        headers = own(live)
        body = {WIDTH: 76.2}
        async with client.post(live.address + "numbers", json=body, headers=headers) as answer:
            assert answer.status == 200
        assert path.read_text(encoding="utf-8") == RECIPE
        async with client.post(live.address + "write", json={}, headers=headers) as answer:
            assert (answer.status, await answer.json()) == (200, {"written": True})
        assert path.read_text(encoding="utf-8") == RECIPE.replace("2-1/2 ", "3 ")

    run(path, check)


def test_a_clash_is_told_and_nothing_written(path: Path) -> None:
    async def check(live: Live, client: aiohttp.ClientSession) -> None:
        headers, theirs = own(live), RECIPE.replace("16 x 24", "18 x 24")
        body = {WIDTH: 76.2}
        async with client.post(live.address + "numbers", json=body, headers=headers) as answer:
            assert answer.status == 200
        path.write_text(theirs, encoding="utf-8")
        async with client.post(live.address + "write", json={}, headers=headers) as answer:
            assert answer.status == 409
        assert path.read_text(encoding="utf-8") == theirs
        over = {"over": True}
        async with client.post(live.address + "write", json=over, headers=headers) as answer:
            assert answer.status == 200
        assert path.read_text(encoding="utf-8") == theirs.replace("2-1/2 ", "3 ")

    run(path, check)


def test_a_recipe_that_is_wrong_from_the_start_is_served_with_its_problem(path: Path) -> None:
    path.write_text("name: x\n", encoding="utf-8")

    async def whole() -> None:
        async with serving(path) as (live, client), client.get(live.address + "events") as answer:
            snapshot = await anext(s async for s in snapshots(answer) if s["problems"])
            assert snapshot["scene"]["boards"] == []

    asyncio.run(whole())
