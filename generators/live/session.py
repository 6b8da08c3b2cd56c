"""A recipe that is being looked at: its text, the numbers tried on it, and what comes of them.

    text on disk + drafts -> closed form -> verdict (milliseconds) -> solids -> scene

Every outcome is a snapshot; whoever shows it asks for the newest one. Solids are kept by what
shapes them, so that only boards whose geometry changed are built again.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from ...models.designs import piece_models
from ...models.judging.judge import judge
from ...models.piece.project import Project
from ...models.planning import plan
from ...models.recipe.numbers import Number, NumberError, changed, numbers_in, written_text
from ...models.recipe.reading import read_document, read_text
from ...models.recipe.recipe import parse_recipe
from ...models.recipe.schema import recipe_schema
from ...models.words.errors import Location, Problem, RecipeError, SlantboreError
from ..files.disk import ChangedOnDisk, Seen, write_whole
from ..page.mesh import CHORD_MM, shape_json
from ..page.scene import scene_of, shape_name

_BOM = "\ufeff"


@dataclass(frozen=True)
class Snapshot:
    """What there is to show.

    Attributes:
        version: grows with every snapshot.
        scene: the last good one, without shapes.
        stage: "closed" while the solids of this scene are still to come, else "solid".
        problems: what is wrong with the recipe now, the scene being an earlier one.
        numbers: the recipe's numbers with the drafts.
        clash: whether the file changed under numbers that are not written yet.
    """

    version: int
    scene: Mapping[str, Any]
    stage: str
    problems: tuple[Problem, ...] = ()
    numbers: tuple[Mapping[str, Any], ...] = ()
    clash: bool = False

    @cached_property
    def json(self) -> str:
        """The snapshot as one line of ASCII."""
        problems = [
            {"file": p.location.file, "line": p.location.line, "column": p.location.column,
             "message": p.message}
            for p in self.problems
        ]  # fmt: skip
        whole = {
            "version": self.version, "stage": self.stage, "scene": self.scene,
            "problems": problems, "numbers": self.numbers, "clash": self.clash,
        }  # fmt: skip
        return json.dumps(whole, ensure_ascii=True, allow_nan=False, separators=(",", ":"))


@dataclass
class Session:
    """One recipe file under the eye; not for several threads at once.

    Attributes:
        path: the recipe.
        snapshot: the newest outcome.
        solid_count: how many boards were built so far, for tests of what is built again.
    """

    path: Path
    snapshot: Snapshot = field(init=False)
    solid_count: int = 0
    _text: str = ""
    _seen: Seen | None = None
    _drafts: dict[str, str] = field(default_factory=dict)
    _numbers: tuple[Number, ...] = ()
    _clash: bool = False
    _shapes: dict[str, Any] = field(default_factory=dict)
    _earlier: dict[str, Any] = field(default_factory=dict)
    _schema: Mapping[str, Any] = field(default_factory=lambda: recipe_schema(piece_models()))
    _project: Project | None = None

    def __post_init__(self) -> None:
        nothing = Project(self.path.stem, "mm", (), ())
        self.snapshot = Snapshot(0, scene_of(nothing, ()), "solid")

    # --- what happens outside -------------------------------------------------------------

    def reread(self) -> bool:
        """Take the file as it is now; say whether it is another than before."""
        try:
            text = read_text(self.path)
        except RecipeError as error:
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

    def write_back(self, over_changes: bool) -> bool:
        """Write the drafts into the file, nothing else of it touched.

        Args:
            over_changes: into the file as it is now, though it changed since they were tried.

        Returns:
            Whether they were written; if not, the file changed meanwhile and is as it was.

        Raises:
            NumberError: the file as it is now cannot take them.
            OSError: it cannot be written.
        """
        self.reread()
        if not self._drafts:
            return True
        if (self._clash and not over_changes) or self._seen is None:
            self._show()
            return False
        text = self._bom + changed(self._plain, self._numbers, self._drafts)
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

    def verdict(self) -> bool:
        """Plan and check in closed form; say whether there is something to build."""
        try:
            text = changed(self._plain, self._numbers, self._drafts)
            project = plan(parse_recipe(text, str(self.path), piece_models()))
            scene = scene_of(project, judge(project))
        except RecipeError as error:
            self._show(problems=error.problems)
            return False
        except (NumberError, SlantboreError) as error:
            self._show(problems=(Problem(Location(str(self.path)), str(error)),))
            return False
        self._project = project
        self._show(scene=scene, stage="closed")
        return True

    def solidify(self) -> None:
        """Build and mesh the boards of the last verdict that are not built yet."""
        from ..solids.meshing import mesh_of
        from ..solids.solids import bored_solid

        project = self._project
        if project is None:
            return
        shapes: dict[str, Any] = {}
        try:
            for board in project.boards:
                name = shape_name(project, board)
                if name in shapes:
                    continue
                shapes[name] = self._shapes.get(name) or self._earlier.get(name)
                if shapes[name] is None:
                    shapes[name] = shape_json(mesh_of(bored_solid(project, board), CHORD_MM), board)
                    self.solid_count += 1
        except SlantboreError as error:
            self._show(problems=(Problem(Location(str(self.path)), str(error)),))
            return
        if shapes.keys() != self._shapes.keys():
            # One step back stays at hand: a slider often returns to where it was.
            self._earlier, self._shapes = self._shapes, shapes
        self._show(stage="solid")

    def shapes(self, names: list[str]) -> dict[str, Any]:
        """The shapes by these names, as far as they are there."""
        return {name: self._shapes[name] for name in names if name in self._shapes}

    def whole_scene(self) -> dict[str, Any]:
        """The last good scene with its shapes."""
        scene = dict(self.snapshot.scene)
        scene["shapes"] = self.shapes([board["shape"] for board in scene["boards"]])
        return scene

    # --- inside ---------------------------------------------------------------------------

    @property
    def _bom(self) -> str:
        return _BOM if self._text.startswith(_BOM) else ""

    @property
    def _plain(self) -> str:
        return self._text.removeprefix(_BOM)

    def _find_numbers(self) -> None:
        try:
            document = read_document(self._plain, str(self.path))
            self._numbers = numbers_in(self._plain, document, self._schema)
        except RecipeError:
            return  # the verdict says what is wrong; the drafts wait until it is mended
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
