"""No name is two things': pieces and their copies, boards, joints, pockets, files."""

from __future__ import annotations

import unicodedata

import pytest

from slantbore.generators.telling.report import place_of
from slantbore.models.designs import piece_models
from slantbore.models.judging.judge import judge
from slantbore.models.piece.project import Project
from slantbore.models.planning import plan
from slantbore.models.recipe.recipe import parse_recipe
from slantbore.models.words.errors import RecipeError

HEAD = """\
name: lake cabin
units: inch
stock:
  rails: {wood: red-oak, thickness: 3/4}
build:
"""
FRAME = "  - {design: mitred-frame, stock: rails, rail_width: 2-1/2, sight: 16 x 24, "


def planned(pieces: str) -> Project:
    return plan(parse_recipe(HEAD + pieces, "cabin.yaml", piece_models()))


def told(pieces: str) -> str:
    with pytest.raises(RecipeError) as caught:
        planned(pieces)
    return str(caught.value.problems[0])


def shelf(piece: str, *joints: str) -> str:
    """A shelf of its own between two sides, with joints as given."""
    lines = [
        "  - design: free-form",
        f"    name: {piece}",
        "    stands: {length: up, width: back}",
        "    parts:",
        "      side: {stock: rails, length: 16, width: 8, faces: {bottom face: inside}}",
        "      shelf: {stock: rails, length: 20, width: 8, faces: {bottom face: underside}}",
        "      rail: {stock: rails, length: 20, width: 3, faces: {bottom face: back}}",
        "    joints:",
        "      - {kind: butt, board: shelf / left end, meets: side / inside,",
        f"         pockets_in: underside, {joints[0]}flush: [{{face: front edge, to: front edge}},",
        "         {face: underside, to: left end, set_back: 4}]}",
        "      - {kind: butt, board: rail / left end, meets: side / inside,",
        f"         pockets_in: back, {joints[1]}flush: [{{face: back, to: back edge}},",
        "         {face: back edge, to: right end}]}",
    ]
    return "\n".join(lines) + "\n"


# --- pieces --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("name: f 1", "name: f, quantity: 2"),
        ("name: f, quantity: 2", "name: F 1"),
        ("name: f, quantity: 2", "name: f"),
        ("name: strasse", "name: straße"),
    ],
)
def test_a_copy_has_no_name_that_another_piece_has(first: str, second: str) -> None:
    said = told(f"{FRAME}{first}}}\n{FRAME}{second}}}\n")
    column = len(FRAME) + len("name: ") + 1
    assert said.startswith(f"cabin.yaml:7:{column}: another piece, or a copy of one, is called ")
    assert "(line 6); give this one a `name` of its own, such as `" in said


def test_the_name_that_is_advised_serves() -> None:
    said = told(f"{FRAME}name: f 1}}\n{FRAME}name: f, quantity: 2}}\n")
    advised = said.rpartition("such as `")[2].rstrip("`")
    project = planned(f"{FRAME}name: f 1}}\n{FRAME}name: {advised}, quantity: 2}}\n")
    assert len({board.name for board in project.boards}) == 12


def test_every_board_of_the_copies_is_measured() -> None:
    """By other names: three frames measure what one of them measures, three times."""
    one = planned(f"{FRAME}name: g}}\n")
    three = planned(f"{FRAME}name: g 1}}\n{FRAME}name: f, quantity: 2}}\n")
    assert len(three.bores) == 3 * len(one.bores) == len({bore.name for bore in three.bores})
    assert not [finding for finding in judge(three) if finding.severity == "fails"]


# --- boards --------------------------------------------------------------------------------------


def test_two_pieces_cannot_give_two_boards_one_name() -> None:
    said = told(
        "  - {design: free-form, name: a, parts: {b post: {stock: rails, length: 10, width: 3}}}\n"
        "  - {design: free-form, name: a b, parts: {post: {stock: rails, length: 10, width: 3}}}\n"
    )
    assert said == (
        "cabin.yaml:7:31: `a b post` would be the name of a board here and of a board of the "
        "piece in line 6; call this piece `a b 2`, say"
    )


def test_file_names_differ_by_more_than_capitals() -> None:
    said = told(
        "  - design: free-form\n"
        "    name: a\n"
        "    parts:\n"
        "      Side: {stock: rails, length: 10, width: 3}\n"
        "      side: {stock: rails, length: 10, width: 3}\n"
        "    joints:\n"
        "      - {kind: edge, board: Side / front edge, meets: side / back edge,\n"
        "         flush: [{face: left end, to: left end}, {face: top face, to: top face}]}\n"
    )
    assert said.startswith("cabin.yaml:10:13: `a side` would be the name of a board here and of a ")
    assert said.endswith("file names may not tell capitals apart); call this part `side 2`, say")


def test_letters_are_the_same_however_they_are_composed() -> None:
    composed, apart = (unicodedata.normalize(form, "Ständer") for form in ("NFC", "NFD"))
    assert composed != apart
    said = told(
        "  - design: free-form\n    parts:\n"
        f"      {composed}: {{stock: rails, length: 10, width: 3}}\n"
        f"      {apart}: {{stock: rails, length: 10, width: 3}}\n"
    )
    assert said.startswith("cabin.yaml:9:7: key `Ständer` is given twice")


# --- joints and pockets --------------------------------------------------------------------------


def test_a_joint_has_no_name_that_a_pocket_of_another_has() -> None:
    said = told(shelf("a", "name: side, ", "name: side pocket 2, "))
    assert said == (
        "cabin.yaml:18:34: a joint and a pocket would be called `side pocket 2`; call this one "
        "`side pocket 2 joint`, say"
    )
    assert planned(shelf("a", "name: side, ", "name: side pocket 2 joint, ")).joints


def test_joints_named_after_their_boards_get_names_of_their_own() -> None:
    project = planned(shelf("a", "", "name: shelf to side pocket, ".replace("shelf", "rail")))
    assert [j.name for j in project.joints] == ["a shelf to side", "a rail to side pocket"]
    project = planned(shelf("a", "", "name: Shelf to Side, "))
    assert [j.name for j in project.joints] == ["a shelf to side 2", "a Shelf to Side"]


def test_two_pieces_cannot_give_two_joints_one_name() -> None:
    said = told(shelf("a", "name: b c, ", "") + shelf("a b", "name: c, ", ""))
    assert said.startswith("cabin.yaml:21:11: `a b c` would be the name of a joint here and of a ")
    assert said.endswith("joint of the piece in line 7; call this piece `a b 2`, say")


@pytest.mark.parametrize("count", [1, 2])
def test_a_pocket_is_never_found_by_taking_its_name_apart(count: int) -> None:
    """What is said of `side pocket` swings that pocket alone, whatever else begins with its name.

    A joint may not have the name that a pocket of another one has or would have.
    """
    first = f"name: side, pockets: {count}, "
    assert "would be called `side pocket`; call this one `side pocket joint`" in told(
        shelf("a", first, "name: side pocket, ")
    )
    pieces = shelf("a", first, "name: side pocket joint, pockets: 1, ")
    own = "side pocket" if count == 1 else "side pocket 1"
    for name in (own, "side pocket joint"):
        before = planned(pieces)
        after = planned(f"{pieces}    changes: {{{name}: {{swing: 10}}}}\n")
        swung = [bore.name for bore in after.bores if bore.swing]
        assert swung == [f"a {own}" if name == own else "a side pocket joint pocket"]
        kept = [bore for bore in before.bores if bore.name not in swung]
        assert kept == [bore for bore in after.bores if bore.name not in swung]
        assert len(kept) == len(before.bores) - 1


def test_a_face_is_printed_as_it_is_named_whatever_words_are_in_it() -> None:
    """A name with `of` in it is not taken for a face of another board."""
    text = shelf("a", "", "").replace("20, width: 8, faces: {", "20, width: 3, faces: {")
    named = text.replace(
        "width: 3, faces: {bottom face: underside}",
        "width: 3, faces: {bottom face: underside, front edge: front of shelf}",
    ).replace("[{face: front edge, to: front edge}", "[{face: front of shelf, to: front edge}")
    project = planned(named)
    first = next(bore for bore in project.bores if bore.joint == "a shelf to side")
    assert first.window.low_binds.face == "front of shelf"
    said = place_of(first, project.unit).said
    assert "front of shelf" in said and "mating board" not in said
