"""The served page while its recipe is edited: it follows, and keeps what one was looking at."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from ..generators.test_preview_session import RECIPE, SLIM
from .conftest import OpenSheet, Sheet

RAIL = "mirror bottom rail"
WIDTH_FIELD = "#numbers .number:has(label:text-is('rail width')) input[type=text]"
WIDTH_SLIDER = "#numbers .number:has(label:text-is('rail width')) input[type=range]"


@pytest.fixture
def recipe(tmp_path: Path) -> Path:
    path = tmp_path / "mirror.yaml"
    path.write_text(RECIPE, encoding="utf-8")
    return path


@pytest.fixture
def served(recipe: Path, open_sheet: OpenSheet) -> Iterator[Sheet]:
    """The page of `slantbore preview --live`, run as a user runs it."""
    command = [sys.executable, "-m", "slantbore.generators", "preview", str(recipe), "--live",
               "--no-browser"]  # fmt: skip
    # A shell's background jobs hand down that Ctrl-C is ignored; a user's terminal does not.
    heard = signal.signal(signal.SIGINT, signal.default_int_handler)
    server = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    signal.signal(signal.SIGINT, heard)
    try:
        assert server.stdout is not None
        address = server.stdout.readline().strip()
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/[\w-]{32}/", address)
        sheet = open_sheet(address)
        sheet.settled("s.live.updates > 0 && s.live.stage === 'solid' && !s.camera.flying")
        yield sheet
        # The browser writes failed requests to its console; here some are meant to fail.
        sheet.said[:] = [line for line in sheet.said if "status of 4" not in line]
        sheet.page.goto("about:blank")
    finally:
        server.send_signal(signal.SIGINT)
        assert server.wait(20) == 0
        if server.stdout is not None:
            server.stdout.close()


def width_in(sheet: Sheet, text: str) -> None:
    sheet.settled(
        f"s.live.stage === 'solid' && s.live.problems === 0 && "
        f"document.getElementById('boards').innerText.includes('\u00d7 {text} \u00d7')"
    )


def test_an_edit_changes_the_piece_and_nothing_of_the_view(served: Sheet, recipe: Path) -> None:
    served.press("[data-view=back]")
    served.page.uncheck("[aria-label='Show mirror top rail']")
    served.page.click(f"[data-board='{RAIL}'] .pick")
    before = served.state()
    served.page.evaluate("window.sameLoad = true")
    recipe.write_text(RECIPE.replace("2-1/2", "3-1/4"), encoding="utf-8")
    width_in(served, '3-1/4"')
    after = served.state()
    assert served.page.evaluate("window.sameLoad") is True
    assert after["camera"] == before["camera"]
    assert after["visible"] == before["visible"]
    assert after["selected"] == {"board": RAIL}
    assert after["places"] != before["places"]
    assert '3-1/4"' in after["labels"]


def test_a_recipe_error_is_shown_and_goes_away(served: Sheet, recipe: Path) -> None:
    recipe.write_text(RECIPE.replace("rail_width", "rail_wdith"), encoding="utf-8")
    state = served.settled("s.live.problems > 0")
    text = served.page.inner_text("#trouble")
    assert f"{recipe}, line 10, column 5" in text and "rail_wdith" in text
    assert len(state["visible"]) == 4  # the last good model stays
    recipe.write_text(RECIPE, encoding="utf-8")
    served.settled("s.live.problems === 0")
    assert not served.page.is_visible("#trouble")


def test_a_slider_shows_at_once_and_writes_nothing_until_told(served: Sheet, recipe: Path) -> None:
    served.page.fill(WIDTH_SLIDER, "76.2")
    width_in(served, '3"')
    assert recipe.read_text(encoding="utf-8") == RECIPE
    assert served.page.input_value(WIDTH_FIELD) == "3"
    served.page.click("#write")
    served.settled("Object.keys(s.live.tries).length === 0")
    assert recipe.read_text(encoding="utf-8") == RECIPE.replace("2-1/2 ", "3 ")


def test_a_field_takes_any_length_and_refuses_more_than_a_value(
    served: Sheet, recipe: Path
) -> None:
    served.page.fill(WIDTH_FIELD, "70 mm")
    served.page.press(WIDTH_FIELD, "Enter")
    width_in(served, 'about 2-3/4"')
    served.page.fill(WIDTH_FIELD, "3 # hidden")
    served.page.press(WIDTH_FIELD, "Enter")
    served.page.wait_for_selector("#numbers .bad:not([hidden])")
    assert "rail width" in served.page.inner_text("#numbers .bad:not([hidden])")
    assert recipe.read_text(encoding="utf-8") == RECIPE


def test_what_the_recipe_would_refuse_is_not_written(served: Sheet, recipe: Path) -> None:
    served.page.fill(WIDTH_FIELD, "banana")
    served.page.press(WIDTH_FIELD, "Enter")
    served.settled("s.live.problems > 0")
    served.page.click("#write")
    served.page.wait_for_selector("#numbers-below .clash")
    assert "`banana` is not a length" in served.page.inner_text("#numbers-below .clash")
    assert recipe.read_text(encoding="utf-8") == RECIPE


def test_the_first_piece_stands_in_the_middle_of_the_picture(served: Sheet) -> None:
    served.settled("!s.camera.flying && s.camera.far > 500")
    camera = served.state()["camera"]
    assert camera["standing"] == "corner"
    assert camera["target"][2] > 100 and camera["far"] > 500  # mm; a mirror of 16 x 24 inches


def test_numbers_can_be_dropped(served: Sheet) -> None:
    served.page.fill(WIDTH_SLIDER, "76.2")
    width_in(served, '3"')
    served.page.click("#drop")
    width_in(served, '2-1/2"')
    assert served.page.input_value(WIDTH_FIELD) == "2-1/2"


def test_a_file_changed_meanwhile_offers_both(served: Sheet, recipe: Path) -> None:
    served.page.fill(WIDTH_SLIDER, "76.2")
    width_in(served, '3"')
    theirs = RECIPE.replace("16 x 24", "18 x 24")
    recipe.write_text(theirs, encoding="utf-8")
    served.settled("s.live.clash")
    assert "changed on disk" in served.page.inner_text("#numbers")
    assert recipe.read_text(encoding="utf-8") == theirs
    served.page.click("#write-over")
    served.settled("!s.live.clash")
    assert recipe.read_text(encoding="utf-8") == theirs.replace("2-1/2 ", "3 ")


CURE = "#findings .cure button:has-text('recipe')"


def test_one_click_puts_the_cure_into_the_recipe(served: Sheet, recipe: Path) -> None:
    recipe.write_text(SLIM, encoding="utf-8")
    served.page.wait_for_selector(CURE)
    assert served.page.locator(CURE).inner_text() == "Write this into the recipe"
    served.page.focus(CURE)
    served.page.keyboard.press("Enter")
    served.settled("document.getElementById('verdict').innerText.includes('othing fails')")
    assert recipe.read_text(encoding="utf-8") == SLIM.replace("swing: 0", "swing: auto")
    assert served.page.evaluate("document.activeElement.id") == "verdict"


def test_a_cure_that_cannot_be_written_says_why(served: Sheet, recipe: Path) -> None:
    recipe.write_text(SLIM, encoding="utf-8")
    served.page.wait_for_selector(CURE)
    recipe.chmod(0o444)
    served.page.click(CURE)
    served.page.wait_for_selector("#findings .clash")
    assert "is read-only" in served.page.inner_text("#findings .clash")
    assert recipe.read_text(encoding="utf-8") == SLIM


def test_asks_only_its_own_server(served: Sheet) -> None:
    hosts = {re.sub(r"^(https?://[^/]+)/.*", r"\1", url) for url in served.asked}
    assert len(hosts) == 1 and next(iter(hosts)).startswith("http://127.0.0.1:")
