"""What a recipe states of its router: read, obeyed by programs, told where it is too small."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from slantbore.generators.build import build
from slantbore.generators.router.findings import routing_findings
from slantbore.generators.router.moves import Program, text
from slantbore.generators.router.routing import Routing, route
from slantbore.generators.router.setup import Setup, program
from slantbore.generators.telling.report import exit_status
from slantbore.generators.writers import findings_json, hardware_list, preview_page, router
from slantbore.models.designs import designs, piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.machine.router import Router
from slantbore.models.piece.project import Finding, Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.recipe.router import starter
from slantbore.models.wood.cutters import router_of, usual_cutters

FLAT = "flat, diameter: 6, cutting_length: 22, stepdown: 3, feed: 2400, plunge: 600, speed: 18000"
BALL = FLAT.replace("flat, diameter: 6", "ball-nose, diameter: 9.5")
WIDE = FLAT.replace("diameter: 6", "diameter: 16")
TRAY = """\
name: tray
units: mm
stock:
  ply: {sheet: birch-ply-18}
%sbuild:
  - design: free-form
    name: tray
    parts:
      floor:
        stock: ply
        length: 500
        width: 300
        grooves: [{face: top face, edge: front edge, distance: 40, width: %s, depth: 6}]
        openings: [{length: 100, width: 80, from_end: 200, from_edge: 100}]
"""


def planned(section: str = "", width: float = 8.0) -> Project:
    return plan(parse_recipe(TRAY % (section, width), "tray.yaml", piece_models()))


def stated(*lines: str) -> str:
    return "\n".join(["router:", *(f"  {line}" for line in lines), ""])


def tools(**some: str) -> list[str]:
    return ["tools:", *(f"  {name}: {{kind: {told}}}" for name, told in some.items())]


def found(project: Project) -> dict[str, list[Finding]]:
    by_rule: dict[str, list[Finding]] = {}
    for finding in routing_findings(project, route(project)):
        by_rule.setdefault(finding.rule, []).append(finding)
    return by_rule


# --- read ----------------------------------------------------------------------------------------


def test_without_a_section_the_table_is_meant() -> None:
    project = planned()
    assert project.router is None
    assert router_of(project) == Router(usual_cutters())
    assert {cutter.form for cutter in usual_cutters()} == {"flat", "ball-nose", "drill"}


def test_a_section_is_read_in_the_recipes_unit() -> None:
    section = stated(
        "machine: {travel: 40 x 30, height: 5, safe_height: 1/2, zero: spoil board}",
        "tools:",
        "  wide: {kind: flat, diameter: 1/2, cutting_length: 1, stepdown: 1/4, stepover: 50 %,",
        "    feed: 120, plunge: 30, speed: 16000, cuts_at_centre: no}",
        "hold: onion skin",
        "dxf: R12",
    )
    inches = TRAY.replace("units: mm", "units: inch").replace("depth: 6", "depth: 1/4")
    for mm, inch in (("500", "20"), ("300", "12"), (" 40,", " 2,"), ("100", "4"), ("80,", "3,")):
        inches = inches.replace(mm, inch)
    recipe = inches.replace("200", "8") % (section, "1/2")
    got = plan(parse_recipe(recipe, "tray.yaml", piece_models())).router
    assert got is not None
    [cutter] = got.cutters
    assert (cutter.radius, cutter.step_down, cutter.step_over) == (6.35, 6.35, 6.35)
    assert (cutter.feed, cutter.plunge, cutter.speed) == (120 * 25.4, 30 * 25.4, 16000)
    assert not cutter.centre and cutter.title == "wide" and cutter.number == 1
    assert got.machine.travel == (40 * 25.4, 30 * 25.4, 5 * 25.4) and got.machine.safe == 12.7
    assert got.machine.onion > 0 and got.drawing == "R12"
    assert got.machine.spoil == pytest.approx(25.4 / 64)  # round in the recipe's own unit
    assert got.place("tools") == "tray.yaml:7:3"


@pytest.mark.parametrize("key", ["case", "mitred-frame"])
def test_what_new_writes_as_a_comment_reads_without_the_marks(key: str) -> None:
    unit = "inch" if "\nunits: inch" in designs()[key].starter else "mm"
    lines = starter(unit).splitlines()  # type: ignore[arg-type]
    first = lines.index("# router:")
    section = "\n".join(line[2:] for line in lines[first:])
    recipe = parse_recipe(designs()[key].starter + section + "\n", "s.yaml", piece_models())
    assert recipe.router is not None and len(recipe.router.cutters) == 2


# --- obeyed --------------------------------------------------------------------------------------


def first_text(project: Project) -> tuple[Routing, str]:
    routing = route(project)
    assert routing.runs and not any(run.proof.faults for run in routing.runs)
    return routing, text(routing.single[0].program, router_of(project).machine, "mm")


def test_the_first_move_after_a_change_of_cutter_is_up() -> None:
    section = stated("machine: {safe_height: 31}", *tools(mine=f"{FLAT}, number: 12"))
    _, said = first_text(planned(section))
    lines = said.splitlines()
    changes = [i for i, line in enumerate(lines) if line.endswith("M6")]
    moves = [next(line for line in lines[i:] if line[:2] in ("G0", "G1")) for i in changes]
    assert moves and set(moves) == {"G0 Z31"}


def test_programs_use_the_stated_cutters_and_heights() -> None:
    section = stated("machine: {safe_height: 31}", *tools(mine=f"{FLAT}, number: 12"))
    _, said = first_text(planned(section))
    assert "T12 M6" in said and "F2400" in said and "F600" in said and "S18000 M3" in said
    assert "Z31" in said and "cutter 12: mine" in said


def test_zero_on_the_spoil_board_lifts_every_height_by_the_stock() -> None:
    def heights(said: str) -> list[float]:
        words = (word for line in said.splitlines() if line[0] == "G" for word in line.split())
        return [float(word[1:]) for word in words if word[0] == "Z"]

    _, top = first_text(planned(stated(*tools(mine=FLAT))))
    _, board = first_text(planned(stated("machine: {zero: spoil board}", *tools(mine=FLAT))))
    assert "spoil board" in board and "top of the stock" in top
    assert heights(board) == pytest.approx([z + 18 for z in heights(top)])
    assert min(heights(board)) == pytest.approx(-0.5)


def test_an_onion_skin_is_left_all_round() -> None:
    routing, _ = first_text(planned(stated("hold: onion skin", "skin: 0.4", *tools(mine=FLAT))))
    outline = routing.single[0].program.passes[-1]
    assert min(move.to[2] for move in outline.moves) == pytest.approx(-18 + 0.4)


def test_the_sheets_margin_is_kept() -> None:
    routing, _ = first_text(planned(stated("sheet_margin: 40", *tools(mine=FLAT))))
    [(_, place)] = routing.sheets[0].laid
    assert place == pytest.approx((40, 40))


def test_r12_has_mm_in_its_name(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    recipe = tmp_path / "tray.yaml"
    recipe.write_text(TRAY % (stated("dxf: R12"), 8), encoding="utf-8")
    result = build(recipe, tmp_path / "out", writers=(router.WRITER,))
    drawings = [name for name in result.files if name.endswith(".dxf")]
    assert drawings and all(name.endswith(" mm.dxf") for name in drawings)
    assert "AC1009" in (tmp_path / "out" / drawings[0]).read_text(encoding="utf-8")
    assert not caplog.records  # nothing that would be printed among the build's own lines


# --- too small -----------------------------------------------------------------------------------


def test_a_cutter_too_wide_for_a_groove_is_told_with_place_and_cure() -> None:
    some = found(planned(stated(*tools(mine=FLAT)), width=5.0))["router-tool"]
    [finding] = [finding for finding in some if finding.severity == "warns"]
    assert finding.board == "tray floor"
    assert "groove" in finding.message and "(tray.yaml:6:3)" in finding.message
    assert "no wider than 5" in finding.message and "6 mm deep" in finding.message
    assert "router: tools" in finding.remedy
    # Without a section of its own the same is worth knowing, no more; the table has 1/8 in.
    assert {f.severity for f in found(planned(width=2.0))["router-tool"]} == {"notes"}


def test_a_cutter_too_wide_for_corners_is_told() -> None:
    [finding] = found(planned(stated(*tools(mine=FLAT))))["router-tool"]
    assert "stay round, 3 mm" in finding.message and finding.severity == "notes"


def test_a_missing_cutter_is_told_for_all_that_it_would_make() -> None:
    some = found(planned(stated(*tools(mine=BALL))))["router-tool"]
    whats = [finding.message for finding in some]
    assert len(some) == 3 and all("a flat cutter" in what for what in whats)
    assert {finding.severity for finding in some} == {"warns"}


def test_a_short_cutter_cuts_no_outline() -> None:
    short = FLAT.replace("cutting_length: 22", "cutting_length: 8")
    whats = [f.message for f in found(planned(stated(*tools(mine=short))))["router-tool"]]
    assert any("outline" in what and "18.5 mm deep" in what for what in whats)


def test_a_machine_too_small_is_told_and_nothing_is_written_for_it() -> None:
    project = planned(stated("machine: {travel: 400 x 300}", *tools(mine=FLAT)))
    routing = route(project)
    assert not routing.runs
    findings = [f for f in routing_findings(project, routing) if f.rule == "router-size"]
    assert len(findings) == 2  # the board, and the sheet
    for finding in findings:
        assert "(tray.yaml:6:3)" in finding.message
        assert (
            finding.severity == "warns"
            and "the machine has 400 mm x 300 mm x 120 mm" in finding.message
        )
        assert "travel" in finding.remedy


def test_a_board_higher_than_the_machine_is_refused() -> None:
    low = planned(stated("machine: {height: 30, safe_height: 15}", *tools(mine=FLAT)))
    routing = route(low)
    assert not routing.runs
    some = [f for f in routing_findings(low, routing) if f.rule == "router-size"]
    assert some and all("33.5 mm of travel" in f.message and "x 30 mm" in f.message for f in some)
    assert all("height" in f.remedy for f in some)


def test_a_sheet_without_room_is_told() -> None:
    some = found(planned(stated("sheet_margin: 500", *tools(mine=FLAT))))["router-size"]
    [finding] = some
    assert "sheet_margin" in finding.remedy and finding.board == "tray floor"


def test_a_sheet_without_a_margin_takes_more_travel() -> None:
    """The cutter runs out over the sheet's edge by its radius, or the sheet is not nested."""
    wide = "machine: {travel: 2440 x 1220}"
    assert route(planned(stated(wide, "sheet_margin: 3", *tools(mine=FLAT)))).sheets
    none = planned(stated(wide, "sheet_margin: 2", *tools(mine=FLAT)))
    routing = route(none)
    assert not routing.sheets and routing.single
    [finding] = [f for f in routing_findings(none, routing) if f.rule == "router-size"]
    assert "2442 mm x 1222 mm" in finding.message


def test_wide_short_cutters_run_into_no_neighbour() -> None:
    """The cutter that clears the grooves is wider than the gap that the outlines need."""
    short = "flat, diameter: 40, cutting_length: 8, stepdown: 3, feed: 2400, plunge: 600"
    section = stated(*tools(mine=FLAT, wide=f"{short}, speed: 12000"))
    lid = "parts: {panel: {stock: ply, length: 500, width: 300}}"
    pair = f"{TRAY}  - {{design: free-form, name: lid, {lid}}}\n"
    pair = pair.replace("birch-ply-18}", "birch-ply-18, sheet_size: 1060 x 330}")
    # The wide one clears a groove of 50 mm; one of 8 mm is left to the narrow one, which may
    # not run out as far as the wide one would: past the sheet's edge.
    for width, used in ((50, {"mine", "wide"}), (8, {"mine"})):
        project = plan(parse_recipe(pair % (section, width), "tray.yaml", piece_models()))
        routing = route(project)
        [sheet] = routing.sheets
        assert len({place[1] for _, place in sheet.laid}) == 1  # end to end
        assert {one.cutter.title for one in sheet.program.passes} == used
        assert not [fault for run in routing.runs for fault in run.proof.faults]


@pytest.mark.parametrize("way", ["tab_height: 40", "tab_width: 900"])
def test_tabs_higher_or_longer_than_a_board_leave_it_in_one_piece(way: str) -> None:
    routing = route(planned(stated(way, *tools(mine=FLAT))))
    assert routing.runs and not [fault for run in routing.runs for fault in run.proof.faults]
    assert all(run.proof.left < 1.0 for run in routing.runs)
    for one in (one for run in routing.runs for one in run.program.passes):
        assert all(move.to[2] <= 0 for move in one.moves if move.kind == "feed")


def test_a_skin_as_thick_as_the_board_cuts_nothing_free() -> None:
    routing = route(planned(stated("hold: onion skin", "skin: 18", *tools(mine=FLAT))))
    [outline] = [o for o in routing.boards["tray floor"][0].operations if o.kind == "outline"]
    assert outline.cutter is None and "skin" in outline.left
    assert not [fault for run in routing.runs for fault in run.proof.faults]


def test_a_cutter_that_does_not_cut_at_its_centre_never_goes_straight_down() -> None:
    project = planned(stated(*tools(mine=f"{FLAT}, cuts_at_centre: no")), width=6.0)
    routing = route(project)
    assert routing.runs and not any(run.proof.faults for run in routing.runs)


# --- a program that is wrong ---------------------------------------------------------------------


def test_a_program_that_gouges_fails_the_build_and_is_not_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The groove half a mm too deep: told in findings.json, status 1, and no file of it."""

    def spoiled(setup: Setup) -> Program | None:
        made = program(setup)
        assert made is not None
        low = replace(made.passes[0], moves=tuple(
            replace(m, to=(*m.to[:2], m.to[2] - 0.5)) if m.kind == "feed" else m
            for m in made.passes[0].moves
        ))  # fmt: skip
        return replace(made, passes=(low, *made.passes[1:]))

    monkeypatch.setattr("slantbore.generators.router.routing.program", spoiled)
    recipe = tmp_path / "tray.yaml"
    recipe.write_text(TRAY % ("", 8), encoding="utf-8")
    out = tmp_path / "out"
    some = (findings_json.WRITER, preview_page.WRITER, router.WRITER)
    result = build(recipe, out, writers=some)
    assert "router-path" in (out / "preview.html").read_text(encoding="utf-8")
    assert exit_status(result.findings) == 1
    told = json.loads((out / "findings.json").read_text(encoding="utf-8"))["findings"]
    failing = [one for one in told if one["severity"] == "fails"]
    assert {(one["rule"], one["board"]) for one in failing} == {("router-path", "tray floor")}
    assert any("cuts into wood that should stay" in one["message"] for one in failing)
    programs = [name for name in result.files if name.endswith(".ngc")]
    assert programs == ["router/ply sheet 1.ngc"]  # the sheet's own is right


# --- what is bought ------------------------------------------------------------------------------


def test_sheets_are_bought_as_they_are_cut() -> None:
    """Floors of half a sheet: two from one sheet, but one where the margins are broad."""
    half = TRAY.replace("length: 500", "length: 2400").replace("width: 300", "width: 585")
    half = half.replace("    name: tray\n", "    name: tray\n    quantity: 3\n")

    def sheets(section: str) -> list[tuple[int, str, str]]:
        project = plan(parse_recipe(half % (section, 8), "tray.yaml", piece_models()))
        return [
            (row.to_buy, row.item, row.detail)
            for row in hardware_list.rows(project)
            if row.kind == "sheet"
        ]

    [(count, item, detail)] = sheets("")
    assert (count, detail) == (2, "2440 mm x 1220 mm, by the cutting plans")
    assert item == "birch multi-ply 18 mm"
    [(count, _, detail)] = sheets(stated(*tools(mine=FLAT)))
    assert count == 2 and "nested for the router" in detail
    [(count, _, _)] = sheets(stated("sheet_margin: 20 mm", "tools:", f"  wide: {{kind: {WIDE}}}"))
    assert count == 3


def test_what_is_said_of_several_boards_is_said_once(tmp_path: Path) -> None:
    recipe = tmp_path / "drawer.yaml"
    recipe.write_text(designs()["drawer-box"].starter, encoding="utf-8")
    result = build(recipe, tmp_path / "out", writers=(router.WRITER,))
    told = [one for one in result.causes if one.findings[0].rule == "router-pocket"]
    assert [len(one.findings) for one in told] == [2]  # front and back, in the same words
    order = ["fails", "warns", "notes"]
    severities = [order.index(one.severity) for one in result.causes]
    assert severities == sorted(severities)


def test_a_recipe_in_inches_is_told_in_inches() -> None:
    """All but cutters' own titles: comments of programs, what is left, findings."""
    inches = TRAY.replace("units: mm", "units: inch").replace("depth: 6", "depth: 1/4")
    for mm, inch in (("500", "20"), ("300", "12"), (" 40,", " 2,"), ("100", "4"), ("80,", "3,")):
        inches = inches.replace(mm, inch)
    recipe = inches.replace("200", "8") % ("", "1/8")
    project = plan(parse_recipe(recipe, "tray.yaml", piece_models()))
    routing = route(project)
    said = [finding.message + finding.remedy for finding in routing_findings(project, routing)]
    said += [one.left for setup in routing.boards["tray floor"] for one in setup.operations]
    program = text(routing.single[0].program, router_of(project).machine, "inch")
    said += [line for line in program.splitlines() if line.startswith("(")]
    assert any('1/8"' in words for words in said)  # the cutter's radius, in corners
    assert not [words for words in said if " mm" in words and "cutter " not in words]


def test_sheets_are_as_large_as_the_recipe_says() -> None:
    """Nested, planned for the saw, bought and judged by the size that is stated."""
    small = TRAY.replace("birch-ply-18}", "birch-ply-18, sheet_size: 700 x 400}")
    small = small.replace("    name: tray\n", "    name: tray\n    quantity: 3\n")
    for section, plan_ in ((stated(*tools(mine=FLAT)), "nested"), ("", "cutting plans")):
        project = plan(parse_recipe(small % (section, 8), "tray.yaml", piece_models()))
        [row] = [row for row in hardware_list.rows(project) if row.kind == "sheet"]
        assert row.to_buy == 3 and row.detail.startswith("700 mm x 400 mm") and plan_ in row.detail
        sheets = route(project).sheets
        assert len(sheets) == 3 and {run.program.size for run in sheets} == {(700, 400, 18)}
        assert not [fault for run in sheets for fault in run.proof.faults]
        assert not [f for f in judge(project) if f.rule == "sheet-size"]
    low = small.replace("700 x 400", "480 x 400")
    project = plan(parse_recipe(low % ("", 8), "tray.yaml", piece_models()))
    told = [f.message for f in judge(project) if f.rule == "sheet-size"]
    assert told and all("is stated as 480 mm x 400 mm" in message for message in told)


@pytest.mark.parametrize("diameter", [6, 16, 60])
def test_a_part_takes_a_sheet_to_its_margins_whatever_the_cutter(diameter: int) -> None:
    """Margins are no saw's cuts: they stay as wide where the cutter is wider than they are."""
    whole = TRAY.replace("length: 500", "length: 2416").replace("width: 300", "width: 1196")
    cutter = FLAT.replace("diameter: 6", f"diameter: {diameter}")
    section = stated("machine: {travel: 2600 x 1400}", *tools(mine=cutter))
    project = plan(parse_recipe(whole % (section, 60), "tray.yaml", piece_models()))
    routing = route(project)
    [sheet] = routing.sheets
    assert sheet.laid[0][1] == pytest.approx((12, 12)) and not sheet.proof.faults
