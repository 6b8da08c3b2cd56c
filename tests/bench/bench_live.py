"""How long an edit takes to arrive on the live page, beside a cold build of the same recipe.

Run: python tests/bench/bench_live.py [RECIPE ...]

Prints, per recipe, the median time from saving the file to the verdict, to the new solids and to
the redrawn page (where Chromium and Playwright are there), and the ratio to a cold build; at most
one tenth is wanted. The times are context: they depend on the machine and on what else it does.
"""

from __future__ import annotations

import contextlib
import re
import shutil
import signal
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from slantbore.models.designs import piece_models
from slantbore.models.recipe.reading import read_document

ROOT = Path(__file__).resolve().parents[2]
RECIPES = ["washroom-mirror", "boot-bench", "drawer-base"]
EDITS = 7
SLANTBORE = [sys.executable, "-m", "slantbore.generators"]


def edits(text: str) -> Iterator[str]:
    """The recipe with its first size longer by a little, each time more."""
    from slantbore.models.recipe.numbers import changed, numbers_in, written_text

    numbers = numbers_in(text, read_document(text, "recipe"), piece_models())
    size = max((n for n in numbers if n.kind == "length"), key=lambda n: n.value)
    for i in range(1, EDITS + 1):
        yield changed(text, numbers, {size.id: written_text(size, size.value + 2 * i * size.step)})


@contextlib.contextmanager
def serving(recipe: Path) -> Iterator[str]:
    """The address of `slantbore preview --live`."""
    command = [*SLANTBORE, "preview", str(recipe), "--live", "--no-browser"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    try:
        assert server.stdout is not None
        yield server.stdout.readline().strip()
    finally:
        server.send_signal(signal.SIGINT)
        server.wait(20)


def stages(address: str) -> Iterator[str]:
    """The stage of every snapshot that the server tells of, as it comes."""
    with urllib.request.urlopen(address + "events", timeout=60) as answer:
        for line in answer:
            if line.startswith(b"data: "):
                found = re.search(rb'"stage":"(\w+)"', line)
                if found:
                    yield found[1].decode()


@contextlib.contextmanager
def drawn(address: str) -> Iterator[Any]:
    """The page in Chromium, or None where there is none."""
    path = shutil.which("chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        path = None
    if path is None:
        yield None
        return
    arguments = ["--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader"]
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=arguments)
        page = browser.new_page(viewport={"width": 960, "height": 640}, reduced_motion="reduce")
        page.goto(address)
        yield page
        browser.close()


def state(page: Any) -> tuple[int, str]:
    """Version and stage that the page has drawn."""
    version, stage = page.evaluate(
        "(() => { const l = slantboreProbe().live;"
        " return [l.version, document.getElementById('working').hidden ? l.stage : '']; })()"
    )
    return int(version), str(stage)


def measure(recipe: Path) -> dict[str, float]:
    """Median seconds from saving the file."""
    text = recipe.read_text(encoding="utf-8")
    verdicts, solids, pages = [], [], []
    with serving(recipe) as address:
        told = stages(address)
        next(stage for stage in told if stage == "solid")
        for edit in edits(text):
            recipe.write_text(edit, encoding="utf-8")
            start = time.perf_counter()
            next(stage for stage in told if stage == "closed")
            verdicts.append(time.perf_counter() - start)
            next(stage for stage in told if stage == "solid")
            solids.append(time.perf_counter() - start)
    with serving(recipe) as address, drawn(address) as page:
        while page is not None and state(page)[1] != "solid":
            time.sleep(0.01)
        for edit in edits(text) if page is not None else ():
            before = state(page)[0]
            recipe.write_text(edit, encoding="utf-8")
            start = time.perf_counter()
            while (seen := state(page)) and not (seen[0] > before and seen[1] == "solid"):
                time.sleep(0.004)
            pages.append(time.perf_counter() - start)
    recipe.write_text(text, encoding="utf-8")
    found = {"verdict": statistics.median(verdicts), "solids": statistics.median(solids)}
    return found | ({"page": statistics.median(pages)} if pages else {})


def cold_build(recipe: Path, folder: Path) -> float:
    """Seconds of `slantbore build`, everything loaded anew."""
    start = time.perf_counter()
    subprocess.run(
        [*SLANTBORE, "build", str(recipe), "-o", str(folder)], stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL, check=False,
    )  # fmt: skip
    return time.perf_counter() - start


def main(names: list[str]) -> None:
    """Print a line per recipe."""
    for name in names:
        source = ROOT / "recipes" / f"{name}.yaml"
        if not source.is_file():
            print(f"{name}: no such recipe")
            continue
        with tempfile.TemporaryDirectory() as folder:
            recipe = Path(folder, source.name)
            shutil.copy(source, recipe)
            build = cold_build(recipe, Path(folder, "out"))
            times = measure(recipe)
        arrived = times.get("page", times["solids"])
        told = ", ".join(f"{what} {1000 * t:.0f} ms" for what, t in times.items())
        print(f"{name}: {told}; cold build {build:.2f} s; ratio {arrived / build:.3f}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:] or RECIPES)
