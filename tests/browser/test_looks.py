"""What the page looks like and says: wood, edges, uprights, what to buy, findings on a phone."""

from __future__ import annotations

import io
from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from slantbore.generators.cutting import wood_list
from slantbore.generators.page.page_file import page as page_text
from slantbore.generators.telling import hardware_list
from slantbore.models.designs import piece_models
from slantbore.models.maths.geometry import Pose
from slantbore.models.piece.markout import mark_out
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe

from ..boards import blank
from ..generators.preview_fixture import ASH, project, scene, shown, thin_wall
from .conftest import OpenSheet, Sheet

RAIL = "top rail"


def pixels(sheet: Sheet) -> np.ndarray:
    """The drawing alone, rows by columns by red, green and blue."""
    sheet.state()
    sheet.page.wait_for_timeout(100)
    shot = sheet.page.locator("#canvas").screenshot()
    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(float)


@pytest.mark.parametrize("turns", [0, 3, 7])
def test_uprights_stay_upright(frame: Sheet, turns: int) -> None:
    """However one stands, and however far down one looks, short of straight down."""
    frame.page.focus("#canvas")
    for _ in range(turns):
        frame.page.keyboard.press("ArrowLeft")
        frame.page.keyboard.press("ArrowUp")
    assert abs(frame.state()["camera"]["tilt"]) > 10
    frame.page.wait_for_timeout(200)  # until that is drawn
    for board in project().boards:
        for x, y in ((0.0, 0.0), (300.0, 0.0), (0.0, 900.0)):
            low, high = (
                frame.page.evaluate(
                    "([b, p]) => slantbore.project(b, p)",
                    [board.name, list(board.pose.local_point((x, y, z)))],
                )
                for z in (-500.0, 500.0)
            )
            assert low["x"] == pytest.approx(high["x"], abs=0.01)
            assert abs(low["y"] - high["y"]) > 20


def rack() -> Project:
    """A large thin panel, and behind it shelves whose edges lie against it."""
    panel = blank(
        "panel", "rack", "panel", replace(ASH, thickness=6.0), 1800.0, 2400.0,
        pose=Pose((0.0, 6.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)),
    )  # fmt: skip
    shelves = [
        blank(f"shelf {z}", "rack", "shelf", ASH, 1760.0, 200.0, pose=Pose((20.0, 6.0, float(z))))
        for z in range(100, 2300, 200)
    ]
    return Project("rack", "mm", (panel, *shelves), ())


@pytest.mark.parametrize("presses", [0, 3, 4, 6])
def test_edges_behind_a_board_stay_hidden(
    open_sheet: OpenSheet, tmp_path: Path, presses: int
) -> None:
    """The panel is one plain colour but for its own edges, from ahead and from the side alike."""
    path = tmp_path / "rack.html"
    path.write_text(page_text(scene(rack())), encoding="utf-8")
    sheet = open_sheet(path.as_uri(), viewport={"width": 390, "height": 844})  # large pixels
    sheet.press("#seen")
    sheet.page.evaluate("document.getElementById('key').style.display = 'none'")
    sheet.press("[data-view=front]")
    sheet.page.focus("#canvas")
    for _ in range(presses):
        sheet.page.keyboard.press("ArrowLeft")
    if presses:
        for _ in range(4):
            sheet.page.keyboard.press("ArrowDown")
    sheet.press("#fit")
    image = pixels(sheet)
    corners = [
        sheet.page.evaluate("p => slantbore.project('panel', p)", [x, y, 6.0])
        for x, y in ((0.0, 0.0), (1800.0, 0.0), (0.0, 2400.0))
    ]
    o, a, b = (np.array([c["x"], c["y"]]) for c in corners)
    u, v = np.meshgrid(np.linspace(0.05, 0.95, 120), np.linspace(0.05, 0.95, 240))
    at = o + u[..., None] * (a - o) + v[..., None] * (b - o)
    found = image[at[..., 1].astype(int), at[..., 0].astype(int)]
    assert found.std(axis=(0, 1)).max() < 1.5


def test_wood_has_grain_and_its_edges_are_no_black_outlines(
    open_sheet: OpenSheet, tmp_path: Path
) -> None:
    path = tmp_path / "rack.html"
    path.write_text(page_text(scene(rack())), encoding="utf-8")
    sheet = open_sheet(path.as_uri())
    sheet.press("[data-view=front]")
    sheet.page.focus("#canvas")
    for _ in range(8):
        sheet.page.keyboard.press("+")
    image = pixels(sheet)
    middle = image[image.shape[0] // 2 - 60 :, image.shape[1] // 2 - 60 :][:120, :120]
    assert middle.std(axis=(0, 1)).min() > 1.5  # grain
    assert middle.std(axis=0).mean() > 1.3 * middle.std(axis=1).mean()  # that runs along the board
    sheet.press("[data-view=corner]")
    lightness = pixels(sheet) @ np.array([0.2126, 0.7152, 0.0722])
    assert lightness.min() > 40  # of 255; an edge is the wood's own colour, darker


def test_what_to_buy_names_the_pocket_screws_and_sums_them(
    open_sheet: OpenSheet, tmp_path: Path
) -> None:
    recipe = Path(str(files("slantbore"))) / "recipes" / "drawer-base.yaml"
    planned = plan(parse_recipe(recipe.read_text(encoding="utf-8"), "recipe", piece_models()))
    path = tmp_path / "page.html"
    path.write_text(page_text(shown(planned)), encoding="utf-8")
    said = open_sheet(path.as_uri()).page.inner_text("#extras")
    rows = [row for row in hardware_list.rows(planned) if row.kind == "screw"]
    assert len(rows) > 1
    for row in rows:
        detail = f", {row.detail}" if row.detail else ""
        line = f"{row.to_buy} \u00d7 {row.item}{detail}"
        assert f"{line} ({row.quantity} and some to spare)" in said
    assert f"{sum(row.to_buy for row in rows)} screws in all" in said
    assert f"of which {len(planned.bores)} are driven" in said
    for wood in wood_list.rows(planned):
        assert f"{wood.title}: " in said and wood.amount() in said


def test_a_finding_that_measures_nothing_is_marked_in_plain_words(
    open_sheet: OpenSheet, tmp_path: Path
) -> None:
    note = replace(thin_wall(), severity="notes", measured=None, needed=None)
    path = tmp_path / "note.html"
    path.write_text(page_text(scene(project(), (note,))), encoding="utf-8")
    sheet = open_sheet(path.as_uri())
    sheet.page.click("#notes summary")
    assert sheet.press("[data-finding='0']")["labels"] == ["here"]


def test_on_a_phone_a_tapped_finding_keeps_the_picture_in_sight(
    open_sheet: OpenSheet, tmp_path: Path
) -> None:
    many = tuple(replace(thin_wall(), message=f"wall {n} is thin") for n in range(12))
    path = tmp_path / "many.html"
    path.write_text(page_text(scene(project(), many)), encoding="utf-8")
    sheet = open_sheet(path.as_uri(), viewport={"width": 390, "height": 844}, has_touch=True)
    sheet.page.locator("[data-finding='9']").tap()
    assert sheet.state()["finding"] == 9
    box = sheet.page.locator("#canvas").bounding_box()
    assert 0 <= box["y"] and box["y"] + box["height"] <= 844 and box["height"] > 300
    middle = [box["x"] + box["width"] / 2, box["y"] + box["height"] / 2]
    top = sheet.page.evaluate("([x, y]) => document.elementFromPoint(x, y).id", middle)
    assert top == "canvas"
    # What was tapped stands below the picture, not under it.
    place = sheet.page.locator("[data-finding='9']").bounding_box()
    assert box["y"] + box["height"] <= place["y"] <= 844


def test_a_button_is_called_what_it_says(frame: Sheet) -> None:
    """WCAG 2.1, success criterion 2.5.3: the name holds the words that are seen."""
    wrong = frame.page.evaluate(
        """() => [...document.querySelectorAll('button[aria-label]')].filter(e =>
            /[a-z]/i.test(e.innerText) && !e.ariaLabel.includes(e.innerText.trim()))
            .map(e => e.outerHTML)"""
    )
    assert wrong == []
    one = frame.page.get_by_role("button", name=f"Only this {RAIL}", exact=True)
    one.click()
    assert frame.state()["visible"] == [RAIL]


def test_a_swung_pocket_says_to_which_side(open_sheet: OpenSheet, tmp_path: Path) -> None:
    recipe = Path(str(files("slantbore"))) / "recipes" / "slim-mirror.yaml"
    planned = plan(parse_recipe(recipe.read_text(encoding="utf-8"), "recipe", piece_models()))
    path = tmp_path / "page.html"
    path.write_text(page_text(shown(planned)), encoding="utf-8")
    sheet = open_sheet(path.as_uri())
    one = planned.bores[0]
    sheet.press(f"[data-key='pick {one.board}']")
    sheet.press(f"#chosen >> text='{one.name}'")
    side = mark_out(planned.board_named[one.board], one).leans
    assert one.swing and side.endswith(("to the left", "to the right"))
    said = sheet.page.inner_text("#chosen")
    assert f"the drill leans {side}, as you look from the joint into the board" in said
