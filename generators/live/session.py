"""A recipe that is being looked at: its text, the numbers tried on it, and what comes of them.

    text on disk + numbers tried -> text to work on -> outcomes, from elsewhere -> snapshots

Whoever shows a snapshot asks for the newest one. Shapes are kept by what they are, so that only
boards whose geometry changed are built again.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from ...models.designs import piece_models
from ...models.piece.lever import Edit, Setting
from ...models.piece.project import Project
from ...models.recipe.numbers import Number, NumberError, changed, numbers_in, written_text
from ...models.recipe.reading import read_document, read_text
from ...models.recipe.writing import WritingError, rewritten
from ...models.words.errors import Location, Problem, RecipeError
from ..files.disk import ChangedOnDisk, Seen, write_whole
from ..page.scene import scene_of
from ..pipeline import Pipeline
from ..telling.document import problems_data
from ..telling.printed import CLOSED_FORM, Told
from .work import Outcome

_BOM = "\ufeff"


@dataclass(frozen=True)
class Snapshot:
    """What there is to show.

    Attributes:
        version: grows with every snapshot.
        scene: the last good one, without shapes.
        stage: "working" while a verdict takes long, "closed" while the solids of this scene are
            still to come, else "solid".
        problems: what is wrong with the recipe now, the scene being an earlier one.
        numbers: the recipe's numbers with the drafts.
        clash: whether the file changed under numbers that are not written yet.
        text: what the scene is of.
        sought: whether the scene tells what to change, as far as that was found.
    """

    version: int
    scene: Mapping[str, Any]
    stage: str
    problems: tuple[Problem, ...] = ()
    numbers: tuple[Mapping[str, Any], ...] = ()
    clash: bool = False
    text: str = ""
    sought: bool = False

    @cached_property
    def json(self) -> str:
        """The snapshot as one line of ASCII."""
        whole = {
            "version": self.version, "stage": self.stage, "scene": self.scene,
            "problems": problems_data(self.problems), "numbers": self.numbers, "clash": self.clash,
            "sought": self.sought,
        }  # fmt: skip
        return json.dumps(whole, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


@dataclass
class Session:
    """One recipe file under the eye; not for several threads at once.

    Attributes:
        path: the recipe.
        snapshot: the newest outcome.
    """

    path: Path
    snapshot: Snapshot = field(init=False)
    _text: str = ""
    _seen: Seen | None = None
    _drafts: dict[str, str] = field(default_factory=dict)
    _numbers: tuple[Number, ...] = ()
    _clash: bool = False
    _shapes: dict[str, Any] = field(default_factory=dict)
    _shown: tuple[set[str], set[str]] = (set(), set())
    _whole: Mapping[str, Any] = field(default_factory=dict)
    _tried: str = ""
    _refused: tuple[Problem, ...] = ()

    _fits: bool = False

    def __post_init__(self) -> None:
        nothing = Project(self.path.stem, "mm", (), ())
        self.snapshot = Snapshot(0, scene_of(Told(nothing, (), (), CLOSED_FORM)), "closed")
        self._whole = self.snapshot.scene

    # --- what happens outside -------------------------------------------------------------

    def reread(self) -> bool:
        """Take the file as it is now; say whether it is another than before."""
        try:
            text = read_text(self.path)
        except RecipeError as error:
            if self._seen is not None or self.snapshot.problems != error.problems:
                self._seen = None
                self._show(problems=error.problems)
            return False
        seen = Seen.of(self.path, text.encode("utf-8"))
        if seen == self._seen:
            return False
        self._clash = bool(self._drafts) and self._seen is not None
        self._text, self._seen = text, seen
        self._find_numbers()
        return True

    def draft(self, values: Mapping[str, float | str]) -> None:
        """Try other numbers, without writing them: id to value (mm, degrees, count) or text.

        Raises:
            NumberError: there is no such number, or the text cannot stand there.
        """
        known = {number.id: number for number in self._numbers}
        drafts: dict[str, str] = {}
        for name, value in values.items():
            if name not in known:
                raise NumberError("the recipe has no such number")
            new = value if isinstance(value, str) else written_text(known[name], value)
            if new != known[name].text:
                drafts[name] = new
        changed(self._plain, self._numbers, drafts)
        self._drafts = drafts
        if not drafts:
            self._clash = False

    def write_back(self, over_changes: bool, cure: Any = None) -> bool:
        """Write the drafts, and a cure, into the file, nothing else of it touched.

        Args:
            over_changes: into the file as it is now, though it changed since they were tried.
            cure: keys of one that the snapshot names; it was tried with the drafts.

        Returns:
            Whether they were written; if not, the file changed meanwhile and is as it was.

        Raises:
            NumberError: the file as it is now cannot take them.
            WritingError: the cure is of another text, or cannot be written.
            RecipeError: the recipe would be refused.
            NotWritten: the file is not to be written.
            OSError: it cannot be written.
        """
        self.reread()
        if not self._drafts and cure is None:
            return True
        if (self._clash and not over_changes) or self._seen is None:
            self._show()
            return False
        text = self._with_drafts()
        if cure is not None:
            text = rewritten(text, self._edit(cure, text))
        if self._refused and text == self._tried:
            raise RecipeError(self._refused)
        _ = Pipeline(self.path, text).recipe  # not to be written while it cannot be read
        text = self._bom + text
        try:
            write_whole(self.path, text.encode("utf-8"), self._seen)
        except ChangedOnDisk:
            self.reread()
            self._show()
            return False
        self._drafts, self._clash = {}, False
        self.reread()
        return True

    # --- what comes of it -----------------------------------------------------------------

    def text(self) -> str:
        """The text to work on.

        Raises:
            NumberError: a number cannot stand where it is tried.
        """
        self._tried, self._refused = "", ()
        self._tried = self._with_drafts()
        return self._tried

    @property
    def known(self) -> Collection[str]:
        """Names of the shapes that are there."""
        return self._shapes.keys()

    def take(self, outcome: Outcome) -> None:
        """Take what came of a text: see `work`."""
        match outcome["kind"]:
            case "closed":
                self._show(
                    scene=outcome["scene"], stage="closed", text=outcome["text"], sought=False
                )
            case "shape":
                self._shapes[outcome["name"]] = outcome["shape"]
            case "solid":
                # One step back stays at hand: a slider often returns to where it was.
                names = {board["shape"] for board in self.snapshot.scene["boards"]}
                if names != self._shown[0]:
                    self._shown = names, self._shown[0]
                self._whole = self.snapshot.scene
                kept = set.union(*self._shown)
                self._shapes = {n: shape for n, shape in self._shapes.items() if n in kept}
                self._show(stage="solid")
            case "advised":
                grave = outcome["scene"]["verdict"]["worst"] != "notes"
                if grave or outcome["scene"] != self.snapshot.scene:
                    self._whole = outcome["scene"]
                    self._show(scene=outcome["scene"], text=outcome["text"], sought=True)
            case "problems":
                self._refused = tuple(
                    Problem(Location(*place), message) for *place, message in outcome["problems"]
                )
                self._show(problems=self._refused)
            case "working":
                self._show(stage="working")

    def shapes(self, names: list[str]) -> dict[str, Any]:
        """The shapes by these names, as far as they are there."""
        return {name: self._shapes[name] for name in names if name in self._shapes}

    def whole_scene(self) -> dict[str, Any]:
        """The last scene that all shapes are there for, with them."""
        shapes = self.shapes([board["shape"] for board in self._whole["boards"]])
        return {**self._whole, "shapes": shapes}

    # --- inside ---------------------------------------------------------------------------

    def _edit(self, cure: Any, text: str) -> Edit:
        """The edit of a cure that is on the page, for the text that it was tried on."""
        shown = [one for group in self.snapshot.scene["causes"] for one in group["causes"]]
        if text != self.snapshot.text or not any(cure and cure == one["keys"] for one in shown):
            raise WritingError(
                "the recipe has changed meanwhile; wait until it has been checked again"
            )
        return tuple(Setting(tuple(key["path"]), key["value"]) for key in cure)

    @property
    def _bom(self) -> str:
        return _BOM if self._text.startswith(_BOM) else ""

    @property
    def _plain(self) -> str:
        return self._text.removeprefix(_BOM)

    def _with_drafts(self) -> str:
        return changed(self._plain, self._numbers, self._drafts) if self._fits else self._plain

    def _find_numbers(self) -> None:
        self._fits = False
        try:
            document = read_document(self._plain, str(self.path))
        except RecipeError:
            return  # the verdict says what is wrong; the drafts wait until it is mended
        self._numbers = numbers_in(self._plain, document, piece_models())
        self._fits = True
        ids = {number.id for number in self._numbers}
        self._drafts = {name: text for name, text in self._drafts.items() if name in ids}

    def _show(self, problems: tuple[Problem, ...] = (), **changes: Any) -> None:
        numbers = tuple(
            {
                "id": n.id, "label": n.label, "kind": n.kind, "value": n.value, "low": n.low,
                "high": n.high, "step": n.step, "metric": n.metric, "written": n.text,
                "text": self._drafts.get(n.id, n.text),
            }
            for n in self._numbers
        )  # fmt: skip
        self.snapshot = replace(
            self.snapshot, version=self.snapshot.version + 1, problems=problems, numbers=numbers,
            clash=self._clash, **changes,
        )  # fmt: skip
