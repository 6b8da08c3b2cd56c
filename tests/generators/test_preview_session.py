"""A recipe under the eye: what is built again, what is written, what is never overwritten."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from slantbore.generators import cli
from slantbore.generators.files.disk import ChangedOnDisk, NotWritten, Seen, write_whole
from slantbore.generators.live.session import Session
from slantbore.generators.live.work import outcomes
from slantbore.models.recipe.numbers import NumberError
from slantbore.models.recipe.writing import WritingError
from slantbore.models.words.errors import RecipeError

RECIPE = """\
# for the washroom of the lake cabin
name: cabin mirror
units: inch
stock:
  rails: {wood: red-oak, thickness: 3/4}
build:
  - design: mitred-frame
    name: mirror
    stock: rails
    rail_width: 2-1/2     # keep me
    sight: 16 x 24
"""
SLIM = RECIPE.replace("rail_width: 2-1/2", "rail_width: 1-1/2\n    swing: 0")
WIDTH = '["build", 0, "rail_width"]'
SIGHT_HEIGHT = '["build", 0, "sight", 1]'


def caused(scene: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Every cause of a scene, the gravest first."""
    return [cause for group in scene["causes"] for cause in group["causes"]]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    found = tmp_path / "mirror.yaml"
    found.write_text(RECIPE, encoding="utf-8")
    return found


def look(session: Session) -> bool:
    """Let the session take its verdict; whether there is something to build."""
    outcome = next(outcomes(session.text(), str(session.path), session.known))
    session.take(outcome)
    return bool(outcome["kind"] == "closed")


def solidify(session: Session) -> int:
    """Let it take everything; the number of shapes that were built."""
    built = 0
    for outcome in outcomes(session.text(), str(session.path), set(session.known)):
        session.take(outcome)
        built += outcome["kind"] == "shape"
    return built


@pytest.fixture
def session(path: Path) -> Session:
    found = Session(path)
    assert found.reread()
    assert look(found)
    return found


def test_the_verdict_comes_before_any_solid(session: Session) -> None:
    assert session.snapshot.stage == "closed"
    assert session.snapshot.scene["verdict"]["looked"].startswith("Checked in closed form: 4 ")
    assert not session.known


def test_only_boards_that_changed_are_built_again(session: Session) -> None:
    assert solidify(session) == 2  # rails, and stiles
    assert session.snapshot.stage == "solid"
    scene = session.whole_scene()
    assert {b["shape"] for b in scene["boards"]} == scene["shapes"].keys()

    session.draft({SIGHT_HEIGHT: 635.0})
    assert solidify(session) == 1  # the stiles alone are longer
    session.draft({})
    assert solidify(session) == 0  # one step back is at hand
    for height in (640.0, 645.0, 650.0):
        session.draft({SIGHT_HEIGHT: height})
        assert solidify(session) == 1
    assert len(session.known) == 3  # and no more than one


def test_the_page_is_served_whole_while_solids_are_still_to_come(session: Session) -> None:
    assert session.snapshot.scene["boards"] and session.whole_scene()["boards"] == []
    solidify(session)
    session.draft({WIDTH: 76.2})
    assert look(session)
    scene = session.whole_scene()
    assert {b["shape"] for b in scene["boards"]} == scene["shapes"].keys()


def test_whatever_goes_wrong_is_told(session: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("by\nnought")

    monkeypatch.setattr("slantbore.generators.pipeline.plan", broken)
    assert not look(session)
    [problem] = session.snapshot.problems
    assert problem.message.endswith("not of your recipe: ZeroDivisionError: by nought")


def test_a_wrong_recipe_leaves_the_last_good_scene(session: Session, path: Path) -> None:
    before = session.snapshot.scene
    path.write_text(RECIPE.replace("rail_width", "rail_wdith"), encoding="utf-8")
    assert session.reread()
    assert not look(session)
    assert session.snapshot.scene is before
    places = [(p.location.line, p.location.column) for p in session.snapshot.problems]
    assert (10, 5) in places
    path.write_text(RECIPE, encoding="utf-8")
    assert session.reread() and look(session)
    assert session.snapshot.problems == ()


@pytest.mark.parametrize("make", ["gone", "directory", "binary"])
def test_a_file_that_cannot_be_read_is_a_problem_too(
    session: Session, path: Path, make: str
) -> None:
    path.unlink()
    if make == "directory":
        path.mkdir()
    if make == "binary":
        path.write_bytes(b"\xff\xfe\x00")
    assert not session.reread()
    assert len(session.snapshot.problems) == 1
    assert session.snapshot.scene["name"] == "cabin mirror"


def test_drafts_change_the_piece_and_not_the_file(session: Session, path: Path) -> None:
    session.draft({WIDTH: 76.2})
    assert look(session)
    assert session.snapshot.scene["boards"][0]["size"][1] == '3"'
    assert path.read_text(encoding="utf-8") == RECIPE
    [number] = [n for n in session.snapshot.numbers if n["id"] == WIDTH]
    assert (number["written"], number["text"]) == ("2-1/2", "3")


@pytest.mark.parametrize(
    ("value", "said"), [("banana", "`banana` is not a length"), ("-1", "more than nought")]
)
@pytest.mark.parametrize("judged", [True, False])
def test_what_the_recipe_would_refuse_is_not_written(
    session: Session, path: Path, value: str, said: str, judged: bool
) -> None:
    session.draft({WIDTH: value})
    if judged:
        assert not look(session)
    with pytest.raises(RecipeError, match=said):
        session.write_back(over_changes=False)
    assert path.read_text(encoding="utf-8") == RECIPE


def test_what_cannot_be_planned_is_not_written(session: Session, path: Path) -> None:
    session.draft({SIGHT_HEIGHT: 1e-3})
    assert not look(session)
    with pytest.raises(RecipeError):
        session.write_back(over_changes=False)
    assert path.read_text(encoding="utf-8") == RECIPE


def test_numbers_wait_while_the_text_cannot_be_read(session: Session, path: Path) -> None:
    session.draft({WIDTH: 76.2})
    path.write_text(RECIPE + "  - [", encoding="utf-8")
    assert session.reread() and not look(session)
    assert "this is not YAML" in session.snapshot.problems[0].message
    with pytest.raises(RecipeError, match="this is not YAML"):
        session.write_back(over_changes=True)
    path.write_text(RECIPE, encoding="utf-8")
    assert session.reread() and look(session)
    assert session.snapshot.scene["boards"][0]["size"][1] == '3"'


def test_a_draft_that_breaks_the_piece_is_told_and_can_be_dropped(session: Session) -> None:
    session.draft({WIDTH: "nonsense"})
    assert not look(session)
    assert "nonsense" in session.snapshot.problems[0].message
    session.draft({})
    assert look(session)


@pytest.mark.parametrize("values", [{"[]": 3.0}, {WIDTH: "3 # x"}, {WIDTH: float("nan")}])
def test_a_draft_that_cannot_stand_there_is_refused(
    session: Session, values: dict[str, float | str]
) -> None:
    with pytest.raises(NumberError):
        session.draft(values)


def test_write_back_changes_the_number_alone(session: Session, path: Path) -> None:
    path.chmod(0o640)
    session.draft({WIDTH: 76.2})
    assert session.write_back(over_changes=False)
    assert path.read_text(encoding="utf-8") == RECIPE.replace("2-1/2 ", "3 ")
    assert path.stat().st_mode & 0o777 == 0o640
    assert os.listdir(path.parent) == [path.name]
    assert look(session)
    assert all(n["text"] == n["written"] for n in session.snapshot.numbers)


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_write_back_keeps_line_ends_and_byte_order_mark(
    tmp_path: Path, newline: str, mark: str
) -> None:
    raw = (mark + RECIPE).replace("\n", newline).encode("utf-8")
    path = tmp_path / "mirror.yaml"
    path.write_bytes(raw)
    session = Session(path)
    assert session.reread() and look(session)
    session.draft({WIDTH: 76.2})
    assert session.write_back(over_changes=False)
    assert path.read_bytes() == raw.replace(b"2-1/2 ", b"3 ")


def test_a_file_changed_meanwhile_is_not_overwritten(session: Session, path: Path) -> None:
    session.draft({WIDTH: 76.2})
    theirs = RECIPE.replace("16 x 24", "18 x 24")
    path.write_text(theirs, encoding="utf-8")
    assert not session.write_back(over_changes=False)
    assert path.read_text(encoding="utf-8") == theirs
    assert session.snapshot.clash
    # Both: theirs with mine in it.
    assert session.write_back(over_changes=True)
    assert path.read_text(encoding="utf-8") == theirs.replace("2-1/2 ", "3 ")
    assert look(session)
    assert not session.snapshot.clash


def test_or_the_file_is_kept_and_the_drafts_dropped(session: Session, path: Path) -> None:
    session.draft({WIDTH: 76.2})
    path.write_text(RECIPE.replace("16 x 24", "18 x 24"), encoding="utf-8")
    assert session.reread() and look(session)
    assert session.snapshot.clash
    session.draft({})
    assert look(session)
    assert not session.snapshot.clash
    assert session.snapshot.scene["boards"][0]["size"][1] == '2-1/2"'


def test_a_link_stays_a_link(tmp_path: Path, path: Path) -> None:
    link = tmp_path / "elsewhere.yaml"
    link.symlink_to(path)
    session = Session(link)
    assert session.reread() and look(session)
    session.draft({WIDTH: 76.2})
    assert session.write_back(over_changes=False)
    assert link.is_symlink() and path.read_text(encoding="utf-8") != RECIPE


def test_a_read_only_recipe_is_left_alone(session: Session, path: Path) -> None:
    path.chmod(0o444)
    session.draft({WIDTH: 76.2})
    with pytest.raises(NotWritten, match=r"mirror\.yaml is read-only"):
        session.write_back(over_changes=False)
    assert path.read_text(encoding="utf-8") == RECIPE
    assert path.stat().st_mode & 0o777 == 0o444


def test_a_recipe_with_a_second_name_is_left_alone(session: Session, path: Path) -> None:
    second = path.with_name("second.yaml")
    os.link(path, second)
    session.draft({WIDTH: 76.2})
    with pytest.raises(NotWritten, match="hard link"):
        session.write_back(over_changes=False)
    assert path.samefile(second) and path.read_text(encoding="utf-8") == RECIPE


def test_a_link_put_in_the_recipes_place_is_not_followed(session: Session, path: Path) -> None:
    other = path.with_name("other.yaml")
    path.rename(other)
    path.symlink_to(other)  # the same text, and another file
    session.draft({WIDTH: 76.2})
    assert not session.write_back(over_changes=False)
    assert session.snapshot.clash
    assert path.is_symlink() and other.read_text(encoding="utf-8") == RECIPE


def test_a_link_put_there_at_the_last_moment_is_not_followed(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen = Seen.of(path, path.read_bytes())
    other = path.with_name("other.yaml")
    chmod = Path.chmod

    def meanwhile(self: Path, mode: int) -> None:
        chmod(self, mode)
        path.rename(other)
        path.symlink_to(other)

    monkeypatch.setattr(Path, "chmod", meanwhile)
    with pytest.raises(ChangedOnDisk):
        write_whole(path, b"mine", seen)
    assert path.is_symlink() and other.read_text(encoding="utf-8") == RECIPE


def test_an_error_of_writing_names_the_file(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(self: Path, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(OSError, match=r"No space left on device: '.*/mirror\.yaml'"):
        write_whole(path, b"mine")


def test_write_whole_leaves_nothing_behind_when_it_refuses(path: Path) -> None:
    with pytest.raises(ChangedOnDisk):
        write_whole(path, b"mine", Seen.of(path, b"something else"))
    assert path.read_text(encoding="utf-8") == RECIPE
    assert os.listdir(path.parent) == [path.name]


def test_a_snapshot_is_one_line_of_ascii(session: Session) -> None:
    assert session.snapshot.json.isascii() and "\n" not in session.snapshot.json


def test_what_to_change_comes_after_verdict_and_solids(path: Path) -> None:
    """A newer text ends the search at once; without one the page has what was found."""
    told = list(outcomes(SLIM, str(path), ()))
    kinds = list(dict.fromkeys(outcome["kind"] for outcome in told))
    assert kinds == ["closed", "shape", "solid", "advised"]
    first, last = told[0]["scene"], told[-1]["scene"]
    assert not any(cause["keys"] for cause in caused(first))
    pasted = [line for c in caused(last) for p in c["paste"] for line in p["lines"]]
    assert pasted == ["    swing: auto     # keep me"]
    *_, ended = outcomes(SLIM, str(path), (), lambda: True)
    assert ended["kind"] == "advised" and not any(cause["keys"] for cause in caused(ended["scene"]))

    path.write_text(SLIM, encoding="utf-8")
    session = Session(path)
    assert session.reread()
    for outcome in told:
        session.take(outcome)
        assert session.snapshot.sought == (outcome is told[-1])
    assert session.snapshot.stage == "solid" and session.snapshot.scene == last
    assert session.whole_scene()["causes"] == last["causes"]


def test_a_served_page_says_what_check_prints(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Line by line: what is wrong, what cures it, where the lines go, what was looked at."""
    path.write_text(SLIM, encoding="utf-8")
    assert cli.main(["check", str(path), "--full"]) == 1
    printed = [line.strip() for line in capsys.readouterr().out.splitlines()]
    *_, last = outcomes(SLIM, str(path), ())
    scene = last["scene"]
    assert [group["heading"] for group in scene["causes"]] == ["What fails", "Worth knowing"]
    said = [group["heading"] for group in scene["causes"]] + scene["closing"]
    for cause in caused(scene):
        for one in cause["said"]:
            said += [f"{x['severity']}  {x['rule']}  {x['says']}" for x in one["lines"]]
            names = (spot["short"] for place in one["places"] for spot in place["spots"])
            said += [f"at: {'; '.join(names)}"] if one["places"] else []
        said += [cause["cure"]] if cause["cure"] else []
        said += [line for p in cause["paste"] for line in (p["says"], *p["lines"])]
    said.append(f"cabin mirror: {scene['verdict']['said']} {scene['verdict']['looked']}")
    assert [line.strip() for line in said if line.strip() not in printed] == []
    assert len(caused(scene)[0]["said"]) < len(caused(scene)[0]["said"][0]["lines"])


def slim_session(path: Path) -> tuple[Session, list[dict[str, Any]]]:
    """A session of a mirror that fails, and the keys that cure it."""
    path.write_text(SLIM, encoding="utf-8")
    session = Session(path)
    assert session.reread()
    solidify(session)
    return session, next(cause["keys"] for cause in caused(session.snapshot.scene) if cause["keys"])


def test_a_cure_is_written_with_the_numbers_that_it_was_tried_on(path: Path) -> None:
    session, _ = slim_session(path)
    session.draft({SIGHT_HEIGHT: 635.0})
    solidify(session)
    keys = caused(session.snapshot.scene)[0]["keys"]
    assert session.write_back(False, keys)
    wanted = SLIM.replace("swing: 0", "swing: auto").replace("16 x 24", "16 x 25")
    assert path.read_text(encoding="utf-8") == wanted
    solidify(session)
    assert session.snapshot.scene["verdict"]["said"].startswith("nothing fails")
    assert all(number["text"] == number["written"] for number in session.snapshot.numbers)


def test_nothing_but_a_cure_of_this_very_text_is_written(path: Path) -> None:
    session, keys = slim_session(path)
    for other in ([], "swing", [{"path": ["build", 0, "swing"], "value": "12"}], {"a": 1}, [3]):
        with pytest.raises(WritingError, match="changed meanwhile"):
            session.write_back(True, other)
    session.draft({SIGHT_HEIGHT: 635.0})  # no verdict on that yet
    with pytest.raises(WritingError, match="changed meanwhile"):
        session.write_back(False, keys)
    session.draft({})
    theirs = SLIM.replace("16 x 24", "18 x 24")
    path.write_text(theirs, encoding="utf-8")
    with pytest.raises(WritingError, match="changed meanwhile"):
        session.write_back(True, keys)
    assert path.read_text(encoding="utf-8") == theirs
