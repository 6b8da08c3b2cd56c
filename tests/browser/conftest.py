"""Pages in Debian's Chromium, driven by Playwright; skipped where one of the two is missing."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from slantbore.generators.page.page_file import page as page_text

from ..generators.preview_fixture import project, scene, thin_wall

sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

# Software drawing, and none of the browser's own errands to the network.
ARGUMENTS = [
    "--no-sandbox",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-default-apps",
    "--disable-sync",
    "--no-first-run",
]


def chromium_path() -> str | None:
    """Chromium of the system, or the one that CHROMIUM names."""
    names = [os.environ.get("CHROMIUM", ""), "chromium", "chromium-browser", "google-chrome"]
    return next((found for name in names if name and (found := shutil.which(name))), None)


@dataclass
class Sheet:
    """One open page, with what it said and asked for meanwhile."""

    page: Any
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def state(self) -> dict[str, Any]:
        """The scene as plain data, when no camera is moving."""
        return self.settled("!s.camera.flying")

    def press(self, selector: str) -> dict[str, Any]:
        self.page.click(selector)
        return self.state()

    def slide(self, selector: str, value: float) -> dict[str, Any]:
        self.page.fill(selector, str(value))
        return self.state()

    def click_on(self, board: str, point: tuple[float, float, float]) -> dict[str, Any]:
        """Click where a point of a board (its own frame, mm) stands in the picture."""
        at = self.page.evaluate("([b, p]) => slantbore.project(b, p)", [board, list(point)])
        box = self.page.locator("#canvas").bounding_box()
        self.page.mouse.click(box["x"] + at["x"], box["y"] + at["y"])
        return self.state()

    def settled(self, condition: str, timeout: float = 20.0) -> dict[str, Any]:
        """Wait for something to hold of the state `s`, and return it.

        Asked from outside: the page's policy forbids Playwright's own way of waiting.
        """
        end = time.monotonic() + timeout
        asked = f"(() => {{ const s = slantboreProbe(); return {condition}; }})()"
        while not self.page.evaluate(asked):
            assert time.monotonic() < end, f"never came true: {condition}"
            time.sleep(0.02)
        found: dict[str, Any] = self.page.evaluate("slantboreProbe()")
        return found


# Not for the whole session: while Playwright is open, its event loop forbids any other.
@pytest.fixture(scope="package")
def browser() -> Iterator[Any]:
    path = chromium_path()
    if path is None:
        pytest.skip("no Chromium here: install the package chromium, or set CHROMIUM to its path")
    with sync_api.sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield found
        found.close()


OpenSheet = Callable[..., Sheet]


@pytest.fixture
def open_sheet(browser: Any) -> Iterator[OpenSheet]:
    """Open an address; afterwards nothing may have gone wrong on the page."""
    sheets: list[Sheet] = []

    def open_it(address: str, **options: Any) -> Sheet:
        given = {"viewport": {"width": 960, "height": 640}, "reduced_motion": "reduce", **options}
        page = browser.new_page(**given)
        sheet = Sheet(page)
        page.on("console", lambda m: sheet.said.append(f"{m.type}: {m.text}"))
        page.on("pageerror", lambda e: sheet.said.append(f"error: {e}"))
        page.on("request", lambda r: sheet.asked.append(r.url))
        page.goto(address)
        sheets.append(sheet)
        return sheet

    yield open_it
    for sheet in sheets:
        sheet.page.close()
        assert [line for line in sheet.said if line.startswith(("error", "warning"))] == []


@pytest.fixture(scope="session")
def frame_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of two boards, one pocket and one failing finding."""
    path = tmp_path_factory.mktemp("page") / "preview.html"
    path.write_text(page_text(scene(project(), (thin_wall(),))), encoding="utf-8")
    return path


@pytest.fixture
def frame(open_sheet: OpenSheet, frame_file: Path) -> Sheet:
    return open_sheet(frame_file.as_uri())
