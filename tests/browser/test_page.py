"""The one-file page as somebody uses it; every test asks the scene itself what happened."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from slantbore.generators.page.apart import fully_apart, travel
from slantbore.generators.page.page_file import page as page_text
from slantbore.generators.telling.steps import stages
from slantbore.models.designs import designs, piece_models
from slantbore.models.maths.geometry import along
from slantbore.models.piece.project import Finding
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.lengths import Unit, format_length, parse_length

from ..generators.marking import ROUNDED, marked
from ..generators.preview_fixture import T, bore, project, scene, thin_wall
from .conftest import OpenSheet, Sheet

RAIL, STILE = "top rail", "left stile"


def test_loads_whole_and_asks_for_nothing(frame: Sheet, frame_file: Path) -> None:
    state = frame.state()
    assert state["drawn"]
    assert state["boards"] == state["stood"] == state["visible"] == [RAIL, STILE]
    assert state["screws"] == state["screwsShown"] == 1
    assert state["camera"]["standing"] == "corner"
    assert frame.asked == [frame_file.as_uri()]
    assert frame.said == []


def test_list_and_drawing_name_the_same_boards(frame: Sheet) -> None:
    listed = frame.page.locator("[data-board]").evaluate_all("all => all.map(e => e.dataset.board)")
    assert sorted(listed) == sorted(frame.state()["stood"])
    text = frame.page.inner_text("#boards")
    assert '16" \u00d7 2-1/2" \u00d7 3/4"' in text and "white ash" in text


def test_a_click_on_a_board_selects_it_and_draws_its_marking_out(frame: Sheet) -> None:
    frame.press("[data-view=back]")
    state = frame.click_on(RAIL, (250.0, 30.0, 0.0))
    assert state["selected"] == {"board": RAIL}
    # The mark lies where the axis meets the back: T / 2 over the tangent of the slope.
    square = format_length(T / 2 / math.tan(math.radians(15)), "inch")
    assert state["labels"] == ['16"', '2-1/2"', '1-1/4"', square]
    card = frame.page.inner_text("#chosen")
    assert RAIL in card and '16"' in card and "end of rail (butt) with left stile" in card
    assert f"{square} from the left end" in card
    assert "both ends square" in card and "1 pocket bore in the back" in card


def test_a_click_beside_the_piece_lets_go(frame: Sheet) -> None:
    frame.click_on(RAIL, (250.0, 30.0, T))
    frame.page.mouse.click(5, 5)
    state = frame.state()
    assert state["selected"] is None and state["labels"] == []


def test_through_glass_a_click_reaches_the_screw(frame: Sheet) -> None:
    frame.press("#through")
    one = bore()
    middle = [e + 2.0 * b for e, b in zip(one.exit, one.back, strict=True)]
    state = frame.click_on(RAIL, (middle[0], middle[1], middle[2]))
    assert state["selected"] == {"bore": one.name}
    assert one.screw.title in frame.page.inner_text("#chosen")


def test_see_through_makes_glass_of_boards_and_back(frame: Sheet) -> None:
    assert frame.state()["opacity"] == [1, 1]
    assert max(frame.press("#through")["opacity"]) < 0.3
    assert frame.press("#through")["opacity"] == [1, 1]


def test_faces_by_how_they_are_seen(frame: Sheet) -> None:
    """The rail has faces of all three kinds and a bore: four colours, and a key to them."""
    wood = frame.state()["colours"][RAIL]
    assert len(set(wood[:3])) == 1
    state = frame.press("#seen")
    assert len(set(state["colours"][RAIL])) == 4
    assert frame.page.is_visible("#key")
    back = frame.press("#seen")
    assert back["colours"][RAIL] == wood and not frame.page.is_visible("#key")


def test_hide_and_show_a_board(frame: Sheet) -> None:
    frame.page.uncheck(f"[aria-label='Show {STILE}']")
    assert frame.state()["visible"] == [RAIL]
    frame.page.uncheck(f"[aria-label='Show {RAIL}']")
    state = frame.state()
    assert state["visible"] == [] and state["screwsShown"] == 0
    assert frame.press("#all")["visible"] == [RAIL, STILE]


def test_only_one_board(frame: Sheet) -> None:
    before = frame.state()["camera"]["far"]
    state = frame.press(f"[data-key='only {RAIL}']")
    assert state["visible"] == [RAIL]
    assert state["camera"]["far"] < before


@pytest.mark.parametrize(
    ("view", "turn", "tilt"),
    [("front", 0, 0), ("back", 180, 0), ("left", -90, 0), ("right", 90, 0), ("top", 0, 90),
     ("underside", 0, -90)],
)  # fmt: skip
def test_standard_views(frame: Sheet, view: str, turn: float, tilt: float) -> None:
    camera = frame.press(f"[data-view={view}]")["camera"]
    assert (camera["turn"] - turn) % 360 == pytest.approx(0, abs=1e-9)
    assert camera["tilt"] == pytest.approx(tilt)
    assert frame.page.get_attribute(f"[data-view={view}]", "aria-pressed") == "true"


def test_left_view_sees_the_left(frame: Sheet) -> None:
    """From the left the stile hides the rail: a click in the middle of the rail's end hits it."""
    frame.press("[data-view=left]")
    assert frame.click_on(RAIL, (0.0, 30.0, 9.0))["selected"] == {"board": STILE}


def test_a_finding_flies_isolates_and_draws_its_wall(frame: Sheet) -> None:
    before = frame.state()
    state = frame.press("[data-finding='0']")
    assert state["finding"] == 0 and state["through"]
    assert state["camera"] != before["camera"]
    assert state["camera"]["far"] < before["camera"]["far"] / 2
    assert state["visible"] == [RAIL, STILE]  # both boards of its pocket
    assert state["labels"] == ['about 3/32" (0.087")']
    assert state["marks"] > before["marks"]
    # The line across the wall ends on the front (y = 0); one looks at its middle.
    assert state["camera"]["target"][1] == pytest.approx(1.1, abs=1e-4)
    again = frame.press("[data-finding='0']")
    assert again["finding"] is None and not again["through"] and again["labels"] == []


def test_take_apart_draws_screws_along_their_bores_then_parts_the_boards(frame: Sheet) -> None:
    together = frame.state()
    half = frame.slide("#apart", 500)
    name = bore().name
    assert half["places"] == together["places"]  # screws first
    moved = [b - a for a, b in zip(together["screwPlaces"][name], half["screwPlaces"][name],
                                   strict=True)]  # fmt: skip
    t = math.radians(15)
    along = (math.cos(t), math.sin(t), 0.0)  # into the rail and out of its back
    size = math.dist(moved, (0, 0, 0))
    assert size > 31.75
    assert [v / size for v in moved] == pytest.approx(along, abs=1e-6)
    apart = frame.slide("#apart", 1000)
    between = [apart["places"][RAIL][i] - apart["places"][STILE][i] for i in range(3)]
    closed = [together["places"][RAIL][i] - together["places"][STILE][i] for i in range(3)]
    gap = [a - b for a, b in zip(between, closed, strict=True)]
    assert gap[0] > 31.75 and gap[1:] == pytest.approx([0, 0], abs=1e-3)
    assert frame.slide("#apart", 0)["places"] == together["places"]


@pytest.mark.parametrize("name", ["drawer-box", "mitred-frame"])
def test_the_page_takes_apart_as_the_picture_does(
    open_sheet: OpenSheet, tmp_path: Path, name: str
) -> None:
    """The same rule stands twice, in the page and in Python for the picture; they must agree."""
    planned = plan(parse_recipe(designs()[name].starter, "recipe.yaml", piece_models()))
    path = tmp_path / "page.html"
    path.write_text(page_text(scene(planned)), encoding="utf-8")
    sheet = open_sheet(path.as_uri())
    together = sheet.state()
    apart = sheet.slide("#apart", 1000)
    moves = fully_apart(planned)
    assert any(moves.values())
    for board, move in moves.items():
        moved = [b - a for a, b in zip(together["places"][board], apart["places"][board],
                                       strict=True)]  # fmt: skip
        assert moved == pytest.approx(list(move), abs=1e-3)
    for one in planned.bores:
        way = planned.board_named[one.board].pose.direction(one.back)
        out = along(moves[one.board], way, travel(planned, one))
        start, end = together["screwPlaces"][one.name], apart["screwPlaces"][one.name]
        assert [b - a for a, b in zip(start, end, strict=True)] == pytest.approx(out, abs=1e-3)


def test_step_buttons(frame: Sheet) -> None:
    assert frame.page.is_disabled("#step-less")
    assert frame.press("#step-more")["apart"] == 1
    (stage,) = stages(project())
    assert frame.page.inner_text("#apart-text") == f"Step 1 of 1: {stage.text}"
    assert "drive 1 x " in stage.text
    assert frame.page.is_disabled("#step-more")
    assert frame.press("#step-less")["apart"] == 0


def test_a_cut_says_how_far_from_which_face_it_lies(frame: Sheet) -> None:
    frame.press("#saw")
    frame.press(f"[data-key='pick {RAIL}']")
    said = frame.page.locator("#saw-way option").all_inner_texts()
    wanted = [f"{RAIL}, from its {face}" for face in ("left end", "inside edge", "back")]
    assert said[:6] == [
        "whole piece, from the left", "whole piece, from the front", "whole piece, from below",
        *wanted,
    ]  # fmt: skip
    for axis, text in enumerate(('4"', '5/8"', '3/16"')):  # a quarter of 16 x 2-1/2 x 3/4
        frame.page.select_option("#saw-way", f"board {axis} {RAIL}")
        frame.slide("#saw-at", 250)
        assert frame.page.inner_text("#saw-text") == text


def test_cut_open_shows_the_sawn_faces(frame: Sheet) -> None:
    frame.press("#saw")
    frame.page.select_option("#saw-way", "project 2")
    frame.slide("#saw-at", 100)
    state = frame.state()
    # Low down only the stile is cut: width by thickness.
    assert state["saw"]["planes"] == 1
    assert state["saw"]["area"] == pytest.approx(63.5 * T, rel=1e-6)
    assert frame.press("#saw")["saw"]["planes"] == 0


def test_cut_down_a_pocket_leaves_wood_and_void(frame: Sheet) -> None:
    frame.click_on(RAIL, (250.0, 30.0, T))
    state = frame.press("text=Cut down its pocket")
    assert state["saw"]["way"] == f"bore 0 {bore().name}"
    one = bore()
    # The plane holds the axis: what the section lacks is the pocket, which shoulder and back bound
    # (a trapezium, its mean length that of the axis), and the pilot's strip.
    t, wide = math.radians(one.slope), one.drill.counterbore_radius
    middle = T / 2 / math.sin(t) - one.shoulder
    assert middle > wide / math.tan(t)  # the shoulder lies below the back in full
    counterbore = 2 * wide * middle
    # The pilot loses nothing on balance at the slanted joint face: both sides of its axis even out.
    pilot = 2 * one.drill.pilot_radius * one.shoulder
    whole = 406.4 * T + 63.5 * T
    assert state["saw"]["area"] == pytest.approx(whole - counterbore - pilot, rel=1e-3)


def test_measure_between_faces_and_between_corners(frame: Sheet) -> None:
    frame.press("#rule")
    frame.press("[data-view=top]")
    frame.click_on(RAIL, (200.0, 63.5, T / 2))
    assert frame.state()["measured"] is None
    frame.press("[data-view=underside]")
    state = frame.click_on(RAIL, (150.0, 0.0, T / 2))
    assert state["measured"]["mm"] == pytest.approx(63.5, abs=1e-3)
    assert 'Between the faces 2-1/2"' in frame.page.inner_text("#rule-text")
    frame.press("#rule-clear")
    frame.press("[data-view=front]")
    # Near the corners, which catch the pointer.
    frame.click_on(RAIL, (2.0, 61.5, T))
    state = frame.click_on(RAIL, (404.4, 61.5, T))
    assert state["measured"]["mm"] == pytest.approx(406.4, abs=1e-3)
    assert state["measured"]["short"] == '16"'
    assert 'Straight 16"' in frame.page.inner_text("#rule-text")


def test_the_page_prints_lengths_as_the_lists_do(frame: Sheet) -> None:
    values = [0, 0.2, 3, 9.525, 19.05, 31.75, 63.5 / 3, -12.7, 25.4 / 64, 609.6, 1234.5678, -0.001]
    units: tuple[Unit, ...] = ("inch", "mm")
    for unit in units:
        got = frame.page.evaluate("([v, u]) => v.map(x => slantbore.format(x, u))", [values, unit])
        assert got == [format_length(v, unit) for v in values]


def test_keys_on_the_drawing(frame: Sheet) -> None:
    frame.page.focus("#canvas")
    start = frame.state()["camera"]
    frame.page.keyboard.press("ArrowLeft")
    turned = frame.state()["camera"]
    assert turned["turn"] != start["turn"] and turned["standing"] == ""
    frame.page.keyboard.press("+")
    assert frame.state()["camera"]["far"] < turned["far"]
    frame.page.keyboard.press("Shift+ArrowUp")
    assert frame.state()["camera"]["target"] != turned["target"]
    frame.page.keyboard.press("Home")
    assert frame.state()["camera"]["far"] == pytest.approx(start["far"], rel=0.2)


def test_hand_turns_wheel_nears(frame: Sheet) -> None:
    box = frame.page.locator("#canvas").bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    start = frame.state()["camera"]
    frame.page.mouse.move(x, y)
    frame.page.mouse.down()
    frame.page.mouse.move(x + 100, y + 20, steps=4)
    frame.page.mouse.up()
    turned = frame.state()
    assert turned["camera"]["turn"] < start["turn"] - 20
    assert turned["selected"] is None  # a drag is no click
    frame.page.mouse.wheel(0, -300)
    frame.settled(f"s.camera.far < {start['far'] - 1}")


def test_every_control_has_a_name_and_is_reached_by_tab(frame: Sheet) -> None:
    nameless = frame.page.evaluate(
        """() => [...document.querySelectorAll('button, input, select, canvas')].filter(e =>
            !(e.textContent.trim() || e.getAttribute('aria-label') || e.labels?.length))
            .map(e => e.outerHTML)"""
    )
    assert nameless == []
    wanted = frame.page.evaluate(
        """() => [...document.querySelectorAll('button, input, select, canvas')]
            .filter(e => !e.disabled && e.offsetParent !== null).length"""
    )
    seen = set()
    for _ in range(wanted + 3):
        frame.page.keyboard.press("Tab")
        seen.add(frame.page.evaluate("document.activeElement.outerHTML.slice(0, 200)"))
    assert len(seen) >= wanted


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_its_ground(
    open_sheet: OpenSheet, frame_file: Path, scheme: str
) -> None:
    """WCAG 2.1, success criterion 1.4.3 (AA): contrast of at least 4.5 to 1."""
    sheet = open_sheet(frame_file.as_uri(), color_scheme=scheme)
    sheet.press("[data-finding='0']")
    poor = sheet.page.evaluate(CONTRAST)
    assert poor == []


CONTRAST = """() => {
  const parts = c => c.match(/[\\d.]+/g).map(Number);
  const linear = v => (v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  const light = c => {
    const [r, g, b] = parts(c).map(v => linear(v / 255));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const clear = c => /rgba?\\(0, 0, 0, 0\\)/.test(c);
  const ground = e => {
    for (; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if (!clear(c)) return c;
    }
    return 'rgb(255, 255, 255)';
  };
  const poor = [];
  for (const e of document.querySelectorAll('body *')) {
    const own = [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
    const mute = e.disabled || e.offsetParent === null;
    if (!own || mute || ['SCRIPT', 'STYLE', 'OPTION'].includes(e.tagName)) continue;
    const a = light(getComputedStyle(e).color), b = light(ground(e));
    const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    if (ratio < 4.5) poor.push(e.textContent.slice(0, 30) + ' ' + ratio.toFixed(2));
  }
  return poor;
}"""


def test_phone_width_needs_no_sideways_scroll(open_sheet: OpenSheet, frame_file: Path) -> None:
    sheet = open_sheet(frame_file.as_uri(), viewport={"width": 375, "height": 700})
    assert sheet.state()["drawn"]
    assert sheet.page.evaluate("document.documentElement.scrollWidth") <= 375


def test_without_webgl_the_lists_stand(browser: Any, frame_file: Path) -> None:
    page = browser.new_page()
    page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    page.goto(frame_file.as_uri())
    assert page.evaluate("slantboreProbe().drawn") is False
    assert page.is_visible("#flat")
    assert page.locator("[data-board]").count() == 2
    page.click(f"text={RAIL} >> nth=0")
    page.click("[data-finding='0']")
    assert "use a 1 in screw" in page.inner_text("#findings")
    page.close()


def test_what_is_too_much_to_list_is_counted(open_sheet: OpenSheet, tmp_path: Path) -> None:
    many = tuple(replace(thin_wall(), message=f"wall {n} is thin") for n in range(900))
    file = tmp_path / "many.html"
    file.write_text(page_text(scene(project(), many)), "utf-8")
    sheet = open_sheet(file.as_uri())
    shown = sheet.page.locator("[data-finding]").count()
    assert 0 < shown < 100
    assert (
        f"and {900 - shown} more causes; `slantbore check --full` tells all"
        in sheet.page.inner_text("#findings")
    )


def test_paper_gets_the_drawing_the_lists_and_the_cautions(frame: Sheet) -> None:
    assert not frame.page.is_visible(".on-paper")
    frame.page.emulate_media(media="print")
    assert frame.page.is_visible(".care") and frame.page.is_visible(".on-paper")
    assert frame.page.locator("#stage").bounding_box()["height"] > 300
    assert frame.page.is_visible("#boards") and frame.page.is_visible("#findings")
    assert not frame.page.is_visible("#bench")
    frame.page.pdf()  # draws the sheet, and asks the page to unfold first
    assert frame.page.locator("details:not([open])").count() == 0


EVIL = '<img src=x onerror="window.hurt=1">&amp;</script><script>window.hurt=2</script>'


def test_names_are_text_and_never_markup(open_sheet: OpenSheet, tmp_path: Path) -> None:
    evil = Finding(
        rule=EVIL, severity="warns", message=EVIL, board=RAIL, face=EVIL, remedy=EVIL,
        point=(0.0, 0.0, 0.0), measured=1.0, needed=2.0,
    )  # fmt: skip
    path = tmp_path / "evil.html"
    text = page_text(scene(project(EVIL, reports=(EVIL,)), (evil,)))
    path.write_text(text, encoding="utf-8")
    sheet = open_sheet(path.as_uri())
    sheet.press("[data-finding='0']")
    assert sheet.page.evaluate("window.hurt") is None
    assert sheet.page.inner_text("h1") == EVIL
    assert sheet.page.title() == EVIL
    assert sheet.page.locator("img").count() == 0


def test_a_clean_piece_says_what_was_checked(open_sheet: OpenSheet, tmp_path: Path) -> None:
    path = tmp_path / "clean.html"
    path.write_text(page_text(scene(project())), encoding="utf-8")
    text = open_sheet(path.as_uri()).page.inner_text("#verdict")
    # The rail's bore to all faces but the back that it enters, the screw to the stile's other five.
    assert "Nothing fails." in text and "2 boards, 1 joint, 1 pocket; 10 walls" in text


@pytest.mark.parametrize("name", ["slim-mirror", "octagon-mirror", "face-frame"])
def test_the_marks_that_a_maker_reads_find_the_pocket(
    open_sheet: OpenSheet, tmp_path: Path, name: str
) -> None:
    """What a pocket's card says, done by its words on the board, ends where the axis enters."""
    recipe = Path(str(files("slantbore"))) / "recipes" / f"{name}.yaml"
    planned = plan(parse_recipe(recipe.read_text(encoding="utf-8"), name, piece_models()))
    path = tmp_path / "page.html"
    path.write_text(page_text(scene(planned)), encoding="utf-8")
    sheet = open_sheet(path.as_uri())
    for one in planned.bores[:3]:
        board = planned.board_named[one.board]
        sheet.press(f"[data-key='pick {one.board}']")
        assert sheet.press(f"#chosen >> text='{one.name}'")["selected"] == {"bore": one.name}
        card = sheet.page.locator("#chosen dl")
        terms, said = (card.locator(kind).all_inner_texts() for kind in ("dt", "dd"))
        texts = [said[terms.index(term)] for term in ("Measure", "and")]
        run, square = (
            (parse_length(found[1], planned.unit), found[2])
            for text in texts
            if (found := re.fullmatch(r"(?:about )?([^a-z]+(?:mm)?) ((?:from|along) .+)", text))
        )
        place = marked(board, said[terms.index("Mark on the")], run, square)
        pocket = board.face(one.pocket_face).plane
        reach = pocket.gap(one.exit) / math.sin(math.radians(one.slope))
        assert math.dist(place, along(one.exit, one.back, reach)) < 2 * ROUNDED
