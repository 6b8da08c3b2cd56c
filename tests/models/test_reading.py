"""Recipes as text: what is read, and what each mistake is told."""

import json
import re
import textwrap
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

import jsonschema
import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import Field

from slantbore.models.designs import piece_models
from slantbore.models.planning import plan
from slantbore.models.recipe.params import Angle, Count, Length, Name, Params, Size, YesNo
from slantbore.models.recipe.reading import read_document
from slantbore.models.recipe.recipe import parse_recipe, read_recipe
from slantbore.models.recipe.schema import recipe_schema
from slantbore.models.recipe.stated import PieceParams, Recipe
from slantbore.models.words.errors import Location, Problem, RecipeError

from ..strategies import mangled

BAD = sorted((Path(__file__).parents[1] / "bad_recipes").glob("*.yaml"))
RECIPES = sorted((Path(__file__).parents[2] / "recipes").glob("*.yaml"))


class Rung(Params):
    """A rung."""

    length: Length
    round: YesNo = True


class Ladder(PieceParams):
    """A ladder, for these tests."""

    stock: str
    size: Size
    lean: Literal["upright"] | Angle = "upright"
    steps: Count = 3
    rung: Rung | None = None
    extra: dict[str, Rung] = Field(default_factory=dict)
    more: list[Rung] = Field(default_factory=list)
    inset: Length = 9.525


LADDERS: Mapping[str, type[PieceParams]] = {"ladder": Ladder}

GOOD = """\
name: lake cabin ladder
units: inch
stock:
  oak: {wood: red-oak, thickness: 3/4}
  panel: {sheet: birch-ply-18}
tools:
  screw_gauge: 8
limits: {show_wall: 1/8}
build:
  - design: ladder
    stock: oak
    size: 16 x 24
    lean: 12.5
    steps: 4
    rung: {length: 1-1/2, round: no}
    seen: {back: concealed}
    at: {x: -2', turn: 90}
  - {design: ladder, name: bunk ladder, stock: panel, size: 400 x 600 mm}
"""


def parsed(text: str) -> Recipe:
    return parse_recipe(text, "ladder.yaml", LADDERS)


def told(text: str) -> list[str]:
    with pytest.raises(RecipeError) as caught:
        parsed(text)
    return [str(problem) for problem in caught.value.problems]


def test_a_recipe_is_read_into_millimetres() -> None:
    recipe = parsed(GOOD)
    assert (recipe.name, recipe.unit) == ("lake cabin ladder", "inch")
    oak, panel = recipe.stock["oak"], recipe.stock["panel"]
    assert (oak.material, oak.thickness, oak.kind) == ("red-oak", 19.05, "hardwood")
    assert (panel.material, panel.thickness, panel.kind) == ("birch-ply-18", 18.0, "sheet")
    assert (recipe.limits.show_wall, recipe.limits.hidden_wall) == (3.175, 1.5)
    assert recipe.tools.screw_gauge == "8"
    assert recipe.tools.drill.counterbore_radius == 4.7625
    first, second = recipe.pieces
    assert isinstance(first, Ladder) and isinstance(second, Ladder)
    assert (first.name, second.name) == ("ladder", "bunk ladder")
    assert (first.size, second.size) == ((406.4, 609.6), (400.0, 600.0))
    assert (first.lean, second.lean, first.steps) == (12.5, "upright", 4)
    assert first.rung == Rung(length=38.1, round=False)
    assert first.at and (first.at.x, first.at.y, first.at.turn) == (-609.6, 0.0, 90.0)
    assert first.seen == {"back": "concealed"}


def test_every_node_keeps_its_place() -> None:
    recipe = parsed(GOOD)
    assert str(recipe.location("build", 0, "size")) == "ladder.yaml:12:11"
    assert recipe.location("build", 0, "nothing", "there") == recipe.location("build", 0)
    assert recipe.document.key_location("build", 0, "size") == Location("ladder.yaml", 12, 5)
    lines = GOOD.splitlines()
    for path, place in recipe.document.keys.items():
        assert lines[place.line - 1][place.column - 1 :].startswith(str(path[-1]))


def test_stock_that_is_not_there_is_told_late_with_its_place() -> None:
    recipe = parsed(GOOD)
    assert recipe.stock_named("oak", "build", 0, "stock") is recipe.stock["oak"]
    with pytest.raises(RecipeError, match="ladder.yaml:11:12: `oack` is no stock; did you mean"):
        recipe.stock_named("oack", "build", 0, "stock")


def test_all_problems_are_told_in_reading_order() -> None:
    broken = GOOD.replace("red-oak", "red-oat").replace("units: inch", "units: inches")
    broken = broken.replace("steps: 4", "stepps: 4").replace("16 x 24", "16").replace("3/4", "x")
    found = told(broken)
    assert [line.split(" ")[0] for line in found] == [
        "ladder.yaml:2:8:", "ladder.yaml:4:15:", "ladder.yaml:4:35:", "ladder.yaml:12:11:",
        "ladder.yaml:14:5:",
    ]  # fmt: skip
    assert "`inches` cannot stand here; did you mean `inch`? (one of: inch, mm)" in found[0]
    assert "`red-oat` is no wood; did you mean `red-oak`?" in found[1]
    assert "unknown key `stepps`; did you mean `steps`? (known: design, name," in found[4]


@pytest.mark.parametrize(
    ("old", "new", "place", "message"),
    [
        ("rung: {length: 1-1/2, round: no}", "rung: {lenght: 3}", "15:12", "unknown key `lenght`"),
        ("rung: {length: 1-1/2, round: no}", "rung: {round: no}", "15:11",
         "key `length` is missing"),
        ("rung: {length: 1-1/2, round: no}", "rung: 3", "15:11",
         "a mapping (lines of key: value) must stand here, not `3`"),
        ("rung: {length: 1-1/2, round: no}", "rung:", "15:10", "nothing stands here; a mapping"),
        ("rung: {length: 1-1/2, round: no}", "extra: {a: {lenght: 3, length: 3}}", "15:17",
         "unknown key `lenght`; did you mean `length`? (known: length, round)"),
        ("rung: {length: 1-1/2, round: no}", "more: [{length: 3}, {length: 3, wide: 2}]", "15:37",
         "unknown key `wide` (known: length, round)"),
        ("rung: {length: 1-1/2, round: no}", "more: {length: 3}", "15:11", "a list"),
        ("round: no", "round: maybe", "15:34", "`maybe`: yes or no must stand here"),
        ("lean: 12.5", "lean: uprigth", "13:11",
         "`uprigth` cannot stand here; did you mean `upright`? (one of: upright); or `uprigth` is "
         "not an angle in degrees"),
        ("lean: 12.5", "lean: 1e9", "13:11", "not an angle in degrees"),
        ("lean: 12.5", "lean: 361", "13:11", "from -360 to 360"),
        ("lean: 12.5", "lean: [1, 2]", "13:11", "an angle in degrees must stand here"),
        ("steps: 4", "steps: 010", "14:12", "`010` is not a whole number"),
        ("steps: 4", "steps: 1_0", "14:12", "`1_0` is not a whole number"),
        ("steps: 4", "steps: 4.0", "14:12", "`4.0` is not a whole number"),
        ("steps: 4", "steps: 0", "14:12", "`0`: it must be from 1 to 100"),
        ("steps: 4", "steps: 1:6", "14:12", "`1:6` is not a whole number"),
        ("steps: 4", "steps: 2026-01-05", "14:12", "`2026-01-05` is not a whole number"),
        ("steps: 4", "quantity: no", "14:15", "`no` is not a whole number"),
        ("steps: 4", "inset: 0", "14:12", "`0`: it must be more than nought"),
        ("steps: 4", "inset: -1 mm", "14:12", "`-1 mm`: it must be more than nought"),
        ("steps: 4", "inset: .inf", "14:12", "`.inf` is not a length"),
        ("steps: 4", "inset: 101 m", "14:12", "more than 100 m"),
        ("steps: 4", "inset:", "14:11", "nothing stands here: a length"),
        ("steps: 4", "inset: {a: b}", "14:12", "a length must stand here"),
        ("16 x 24", "0 x 24", "12:11", "must be more than nought"),
        ("{back: concealed}", "{back: conceled}", "16:18",
         "did you mean `concealed`? (one of: exposed, semi-exposed, concealed)"),
        ("name: bunk ladder", "name: Ladder", "18:28",
         "is called `Ladder` (line 10); give this one a `name` of its own, such as `Ladder 2`"),
        ("design: ladder\n", "design: lader\n", "10:13",
         "`lader` is no design; did you mean `ladder`? (known: ladder)"),
        ("- design: ladder\n    stock: oak", "- stock: oak", "10:5", "key `design` is missing"),
        ("- design: ladder\n    stock: oak", "- design: [a]\n    stock: oak", "10:13",
         "the name of a design must stand here"),
        ("{show_wall: 1/8}", "{show_wall: 1/8, max_swing: 80}", "8:37", "from 0 to 60 degrees"),
        ("{wood: red-oak, thickness: 3/4}", "{wood: red-oak}", "4:8", "`thickness` is missing"),
        ("{wood: red-oak, thickness: 3/4}", "{thickness: 3/4}", "4:8", "exactly one"),
        ("{wood: red-oak, thickness: 3/4}", "{wood: red-oak, sheet: plywood-1-2, thickness: 1}",
         "4:8", "exactly one"),
        ("sheet: birch-ply-18", "sheet: birch-ply-81", "5:18", "did you mean `birch-ply-18`?"),
        ("  oak: {wood", "  wood: {woood", "4:10",
         "unknown key `woood`; did you mean `wood`? "
         "(known: wood, sheet, thickness, sheet_size, sawn)"),
        ("  oak:", "  a/b:", "4:8", "it has /"),
        ("screw_gauge: 8", "screw_gauge: '#8'", "7:16", "did you mean `8`?"),
        ("screw_gauge: 8", "drill: 9-32-in\n  screw_gauge: 8", "8:16", "does not fit"),
        ("screw_gauge: 8", "slope: 80", "7:10", "from 5 to 45"),
    ],
)  # fmt: skip
def test_a_mistake_is_told_in_its_place(old: str, new: str, place: str, message: str) -> None:
    assert GOOD.count(old) >= 1
    found = told(GOOD.replace(old, new, 1))
    assert any(f"ladder.yaml:{place}: " in line and message in line for line in found), found


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("a/b", "it has /"),
        ("a\\b", "it has"),
        ("..", "dot"),
        ("a..b", "two dots"),
        (".hidden", "dot"),
        ("end.", "dot"),
        (" end", "blank"),
        ("end ", "blank"),
        ("", "a name must stand here"),
        ("   ", "a name must stand here"),
        ("a\tb", "control"),
        ("a\u200bb", "invisible"),
        ("a\u202eb", "invisible"),
        ("CON", "Windows"),
        ("nul.txt", "Windows"),
        ("nul .txt", "Windows"),
        ("COM\u00b9", "Windows"),
        ("lpt\u00b3.a", "Windows"),
        ("Lpt1", "Windows"),
        ("x" * 61, "60 characters"),
        ("\u6728" * 50, "bytes"),
    ],
)
def test_unsafe_names_are_refused(name: str, why: str) -> None:
    broken = GOOD.replace("name: lake cabin ladder", f"name: {json.dumps(name)}")
    (found,) = told(broken)
    assert found.startswith("ladder.yaml:1:7: ") and why in found


@pytest.mark.parametrize("name", ["lake cabin", "Tür 3", "v1.2 top", "COMMON", "x" * 60, "-a"])
def test_readable_names_are_kept(name: str) -> None:
    recipe = parsed(GOOD.replace("name: lake cabin ladder", f"name: {json.dumps(name)}"))
    assert recipe.name == name


@given(st.text(max_size=70))
def test_any_name_that_is_taken_is_a_safe_file_name(name: str) -> None:
    class Named(Params):
        name: Name

    try:
        taken = Named(name=name).name
    except ValueError:
        return
    assert Path(taken).name == taken and taken == taken.strip() and len(taken.encode()) <= 255
    assert not re.search(r'[\x00-\x1f/\\:*?"<>|]', taken)


# --- files that are no recipe --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("raw", "place", "message"),
    [
        (b"", "1:1", "the file is empty"),
        (b"# only a remark\n", "1:1", "the file is empty"),
        (b"---\n", "1:1", "the file is empty"),
        (b"name: x\nunits: in\xffch\n", "2:10", "byte 0xff is not UTF-8"),
        (b"name: \x00\n", "1:7", "character U+0000 cannot stand"),
        (b"name: x\nunits:\x1b[31m\n", "2:7", "character U+001B cannot stand"),
        (b"name: x\nstock:\n\toak: {}\n", "3:1", "a tab stands here; indent with blanks"),
        (b"name: x\n---\nname: y\n", "2:1", "a second document"),
        (b"name: &a x\nunits: *a\n", "1:7", "an anchor (`&a`) is not accepted"),
        (b"name: *a\n", "1:7", "an alias (`*a`) is not accepted"),
        (b"a: &a [x,x]\nb: &b [*a,*a]\nc: [*b,*b]\n", "1:4", "an anchor"),
        (b"name: !!python/object/apply:os.system [ls]\n", "1:7", "a tag"),
        (b"name: x\nname: y\n", "2:1", "key `name` is given twice (first in line 1)"),
        (b"? [a, b]\n: c\n", "1:3", "a key must be a word"),
        (b"name: [a\n", "2:1", "this is not YAML"),
        (b"name: a: b\n", "1:8", "put text that holds a colon in quotes"),
        (b"just words\n", "1:1", "must stand here, not `just words`"),
        (b"- a\n- b\n", "1:1", "a mapping"),
        (b"name: " + b"[" * 60 + b"]" * 60, "1:47", "nested more than 40 deep"),
        (b"[" * 900, "1:42", "nested more than 40 deep"),
        (b"name: x\r\nunits: cm\r\nbuild: []\r\n", "2:8", "`cm` cannot stand here"),
        (b"\xef\xbb\xbfname: x\nunits: cm\n", "2:8", "`cm` cannot stand here"),
        (b"#" * 1_000_001, "1:1", "over 1 MB"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_recipe(tmp_path: Path, raw: bytes, place: str, message: str) -> None:
    path = tmp_path / "bad.yaml"
    path.write_bytes(raw)
    with pytest.raises(RecipeError) as caught:
        read_recipe(path, LADDERS)
    lines = str(caught.value).splitlines()
    assert any(line.startswith(f"{path}:{place}: ") and message in line for line in lines), lines


def test_what_is_no_file(tmp_path: Path) -> None:
    for path, message in [
        (tmp_path, "this is a directory"),
        (tmp_path / "gone.yaml", "there is no such file"),
        (tmp_path / ("x" * 300), "cannot be read"),
        (tmp_path / "nul\0", "cannot be read"),
    ]:
        with pytest.raises(RecipeError, match=message) as caught:
            read_recipe(path, LADDERS)
        assert str(caught.value).count("1:1") == 1  # the place is told once


def test_scalars_stay_text() -> None:
    document = read_document("[1:6, 010, no, 12_5, 2026-01-05, 3/4, ~, 0x1F, '7']", "x")
    assert document.tree == ["1:6", "010", "no", "12_5", "2026-01-05", "3/4", "~", "0x1F", "7"]


# --- one recipe per mistake ----------------------------------------------------------------------


@pytest.mark.parametrize("path", BAD, ids=lambda path: path.stem)
def test_bad_recipe(path: Path) -> None:
    first = path.read_text(encoding="utf-8").splitlines()[0]
    expected = re.fullmatch(r"# expect: (\d+:\d+): (.+)", first)
    assert expected, f"{path.name} must begin with `# expect: LINE:COLUMN: part of the message`"
    with pytest.raises(RecipeError) as caught:
        plan(read_recipe(path, piece_models()))
    lines = str(caught.value).splitlines()
    start = f"{path}:{expected[1]}: "
    assert any(line.startswith(start) and expected[2] in line for line in lines), lines
    assert len(lines) == 1, f"one mistake, yet {lines}"


def test_there_are_bad_recipes() -> None:
    assert len(BAD) >= 20


# --- any text at all -----------------------------------------------------------------------------


def ends_well(text: str, models: Mapping[str, type[PieceParams]]) -> None:
    try:
        recipe = parse_recipe(text, "any.yaml", models)
    except RecipeError as error:
        lines = text.split("\n")
        for problem in error.problems:
            assert problem.location.file == "any.yaml"
            assert 1 <= problem.location.line <= len(lines) + text.count("\r") + 1
            assert "\n" not in problem.message
        return
    assert recipe.pieces


@given(st.text())
def test_any_text_is_a_recipe_or_a_recipe_error(text: str) -> None:
    ends_well(text, LADDERS)


def test_a_very_deep_text_is_a_recipe_error() -> None:
    for opening in ("[", "{a: ", "- ", "? "):
        ends_well(opening * 50_000, LADDERS)


@settings(max_examples=400)
@given(mangled(GOOD))
def test_any_mangled_recipe_is_a_recipe_or_a_recipe_error(text: str) -> None:
    ends_well(text, LADDERS)


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
@settings(max_examples=100)
@given(data=st.data())
def test_any_mangled_shipped_recipe_is_a_recipe_or_a_recipe_error(
    path: Path, data: st.DataObject
) -> None:
    ends_well(data.draw(mangled(path.read_text(encoding="utf-8"))), piece_models())


# --- the schema for editors ----------------------------------------------------------------------


def as_an_editor_sees_it(text: str) -> Any:
    return yaml.safe_load(text)


def test_the_schema_takes_good_recipes_and_tells_units() -> None:
    schema = recipe_schema(LADDERS)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.Draft202012Validator(schema).validate(as_an_editor_sees_it(GOOD))
    ladder = schema["$defs"]["Ladder"]
    assert ladder["properties"]["design"]["const"] == "ladder"
    assert ladder["required"] == ["design", "stock", "size"]
    assert ladder["properties"]["inset"]["default"] == "9.525 mm"
    assert "recipe's unit" in ladder["properties"]["inset"]["description"]
    limits = schema["$defs"]["LimitParams"]["properties"]
    assert limits["show_wall"]["default"] == "3 mm"
    assert limits["max_swing"]["description"].endswith("(degrees)")
    assert "null" not in json.dumps(schema) and "x-quantity" not in json.dumps(schema)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("units: inch", "units: cm"),
        ("stepps", "steps"),
        ("wood: red-oak", "wood: red-oat"),
        ("    stock: oak\n", ""),
        ("steps: 4", "steps: 0"),
        ("design: ladder\n", "design: stool\n"),
    ],
)
def test_the_schema_refuses_bad_recipes(old: str, new: str) -> None:
    text = GOOD.replace("steps", "stepps") if old == "stepps" else GOOD.replace(old, new, 1)
    validator = jsonschema.Draft202012Validator(recipe_schema(LADDERS))
    assert not validator.is_valid(as_an_editor_sees_it(text))


@pytest.mark.parametrize("path", RECIPES, ids=lambda path: path.stem)
def test_the_schema_takes_every_shipped_recipe(path: Path) -> None:
    schema = recipe_schema(piece_models())
    jsonschema.Draft202012Validator.check_schema(schema)
    tree = as_an_editor_sees_it(path.read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(tree)


def test_a_recipe_error_sorts_its_problems_and_drops_doubles() -> None:
    late, early = Problem(Location("a", 10, 1), "late"), Problem(Location("a", 9, 4), "early")
    error = RecipeError([late, early, late])
    assert error.problems == (early, late)
    assert str(error) == "a:9:4: early\na:10:1: late"
    assert isinstance(error, ValueError)
    with pytest.raises(ValueError, match="at least one"):
        RecipeError([])


def test_an_indented_recipe_is_the_same_recipe() -> None:
    moved = parsed(textwrap.indent(GOOD, "  "))
    assert moved.pieces == parsed(GOOD).pieces
    assert moved.location("name").column == 9
