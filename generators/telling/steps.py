"""The order of assembly as numbered steps: what comes where, held and driven with what."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from ...models.judging.order import Step
from ...models.judging.study import study_of
from ...models.maths.geometry import dot
from ...models.piece.board import OPPOSITE
from ...models.piece.project import Joint, JointKind, Project
from ...models.words.lengths import format_length

# Common practice, no source.
_HOLD: dict[JointKind, str] = {
    "edge": "bar clamps across, faces flush; work from the middle outward",
    "right-angle": "a clamp across the joint",
    "butt": "a clamp across the joint",
    "frame": "a face clamp over the joint, faces flush",
    "box": "a right-angle brace",
    "offset edge": "clamps along the edge, top flush; work from the middle outward",
    "panel": "the top lies face down, the frame centred on it",
    "housed": "slid into its groove",
}


_SPACER = 40.0  # mm; what stands back further is set by a line, not by a spacer


def step_lines(project: Project) -> list[str]:
    """The steps of every piece as lines of text, numbered through; empty without joints."""
    steps = study_of(project).order.steps
    lines = [f"  {n}. {step_text(project, step)}" for n, step in enumerate(steps, start=1)]
    return ["Order of assembly", *lines] if any(step.joints for step in steps) else []


def step_text(project: Project, step: Step) -> str:
    """One step in words."""
    what = _listed(step.boards)
    if step.way is None:
        return f"Lay out {what}."
    held = {joint.second if joint.first in step.boards else joint.first for joint in step.joints}
    onto = _listed(name for name in step.onto if name in held)
    aids = dict.fromkeys(_aid(project, joint) for joint in step.joints)
    screws = Counter(bore.screw.title for bore in step.bores)
    drive = " and ".join(f"{count} x {title}" for title, count in screws.items())
    text = f"Bring {what} to {onto}"
    hold = "; ".join(aid for aid in aids if aid)
    if hold:
        text += f" ({hold})"
    return f"{text}; drive {drive}." if drive else f"{text}."


def _aid(project: Project, joint: Joint) -> str:
    """What holds the joint while it is driven."""
    if joint.kind == "mitre":
        first, second = (project.board_named[name] for name in (joint.first, joint.second))
        square = abs(dot(first.pose.x, second.pose.x)) < 1e-6
        return "a right-angle brace in the corner" if square else "blocks cut to the corner's angle"
    hold = _HOLD.get(joint.kind, "")
    back = set_back(project, joint)
    if back is not None:
        spacer = format_length(back, project.unit)
        return f"{hold}, set back with a {spacer} spacer"
    return hold


def set_back(project: Project, joint: Joint) -> float | None:
    """How far the bored board stands back from the mate's parallel outer face (mm), or None."""
    if joint.kind != "right-angle" or not joint.bores:
        return None
    bore = joint.bores[0]
    board, mate = project.board_named[bore.board], project.board_named[bore.mate]
    outer = board.pose.plane(board.face(OPPOSITE[bore.pocket_face]).plane)
    for face in mate.faces:
        plane = mate.pose.plane(face.plane)
        if dot(plane.normal, outer.normal) > 1 - 1e-9:
            back = plane.offset - outer.offset
            return back if 0.05 < back < _SPACER else None
    return None


def _listed(names: Iterable[str]) -> str:
    words = [f"the {name}" for name in names]
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
