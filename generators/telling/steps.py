"""The order of assembly as numbered lines: what comes where, held and driven with what.

The numbers are the same wherever the order is told: terminal, page, papers and lists all take
`stages`. What is done alike is told once, with the rest of it likewise.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from ...models.judging.order import Step
from ...models.judging.study import study_of
from ...models.maths.geometry import dot
from ...models.piece.board import OPPOSITE
from ...models.piece.project import Joint, JointKind, Project
from ...models.words.lengths import format_length

# Common practice, no source.
_HOLD: dict[JointKind, str] = {
    "edge": "bar clamps across, faces flush; work from the middle outward",
    "butt": "a clamp across the joint",
    "frame": "a face clamp over the joint, faces flush",
    "box": "a right-angle brace",
    "edging": "clamps along the edge, top flush; work from the middle outward",
    "top": "the top lies face down, the frame centred on it",
    "housed": "slid into its groove",
}

_MIND: dict[JointKind, str] = {
    "edge": "try the joint dry: a screw does not pull a cupped board flat",
    "butt": "keep fingers out of the line of the screw: its tip points at the other board",
    "mitre": "the corner creeps while the screw pulls: clamp both boards before you drive",
    "frame": "the joint creeps while the screw pulls: clamp it before you drive",
    "box": "drive slowly: too much torque strips the hole near an end",
    "edging": "keep fingers out of the line of the screw: its tip points at the other board",
    "top": "check the screw's length before you drive: it points at the face that shows",
    "housed": "no glue in the groove: the panel stays free",
}
_LONG = 1200.0  # mm: of a board that one person does not hold alone


_SPACER = 40.0  # mm; what stands back further is set by a line, not by a spacer

Fastened = Literal["pockets", "holes", "glue", "nothing"]
_FASTENED: dict[Fastened, str] = {
    "pockets": "", "holes": "screw it through the holes", "glue": "glue it", "nothing": "",
}  # fmt: skip

Key = tuple[object, ...]


@dataclass(frozen=True)
class Stage:
    """One numbered line of the order of assembly.

    Attributes:
        number: from 1, through all pieces.
        text: the line in words.
        steps: what is done, in this order; where more than one, all alike or a block that was
            told before. What only lies there to start with is no step of its own.
        starts: per step the boards that it starts with (names).
        again: first and last number of the lines that are done once more here, or None.
    """

    number: int
    text: str
    steps: tuple[Step, ...]
    starts: tuple[tuple[str, ...], ...]
    again: tuple[int, int] | None = None


@dataclass(frozen=True)
class _Done:
    """A step, and the boards that it starts with."""

    step: Step
    starts: tuple[str, ...]


def stages(project: Project) -> tuple[Stage, ...]:
    """The order of assembly of every piece, numbered through; empty where nothing is joined."""
    done = list(_started(study_of(project).order.steps))
    if not any(one.step.joints for one in done):
        return ()
    found: list[Stage] = []
    told: dict[Key, tuple[int, int]] = {}
    sizes: set[int] = set()
    runs, lines_of = _pieces(project, done), dict[int, int]()
    i = 0
    while i < len(done):
        lines_of[i] = len(found) + 1
        known = (size for size in sorted(sizes, reverse=True) if done[i].starts)
        size = next((n for n in known if _key(project, done[i : i + n]) in told), 0)
        first = len(found) + 1
        if size:
            end = i + size * (1 + _repeats(project, done, i, size))
            lines = told[_key(project, done[i : i + size])]
            found.append(_again(project, done[i:end], size, first, lines))
        else:
            size = _block(done, i)
            end = i + (size if size > 1 else 1 + _repeats(project, done, i, 1))
            found += _runs(project, done[i:end], first)
            if size > 1:
                told[_key(project, done[i:end])] = (first, len(found))
                sizes.add(size)
        i = end
        if runs.get(i) in lines_of:  # a whole piece, to be done once more for its copies
            start = runs[i]
            told.setdefault(_key(project, done[start:i]), (lines_of[start], len(found)))
            sizes.add(i - start)
    return tuple(found)


def step_lines(project: Project) -> list[str]:
    """The order of assembly as lines of text; empty without joints."""
    lines = [f"  {stage.number}. {stage.text}" for stage in stages(project)]
    return ["Order of assembly", *lines] if lines else []


def mind(project: Project, steps: Sequence[Step]) -> tuple[str, ...]:
    """The cautions of some steps, each once; without a caution of its own, nothing."""
    joints = [joint for step in steps for joint in step.joints]
    asked = (j.kind for j in joints if j.bores or j.kind == "housed")
    found = dict.fromkeys(_MIND[kind] for kind in asked if kind in _MIND)
    if any(bore.slot > 0 for joint in joints for bore in joint.bores):
        found["draw screws in slots snug, not tight: the board has to move"] = None
    boards = (project.board_named[name] for step in steps for name in step.boards)
    if max(board.length for board in boards) > _LONG:
        found["have someone hold the other end of what is long"] = None
    return tuple(found)


# --- what is alike -------------------------------------------------------------------------------


def _started(steps: Sequence[Step]) -> Iterator[_Done]:
    """Yield the steps with what they start with; boards that nothing is joined to by themselves."""
    used = {name for step in steps for name in step.onto}
    waiting: dict[str, None] = {}
    for step in steps:
        if step.way is not None:
            held = _held(step)
            starts = tuple(name for name in waiting if name in held)
            for name in starts:
                del waiting[name]
            yield _Done(step, starts)
        elif any(name in used for name in step.boards):
            waiting |= dict.fromkeys(step.boards)
        else:
            yield _Done(step, ())


def _pieces(project: Project, done: Sequence[_Done]) -> dict[int, int]:
    """Where the steps of each piece begin, by where they end."""
    found: dict[int, int] = {}
    start = 0
    for i, one in enumerate(done, start=1):
        own = project.board_named[one.step.boards[0]].piece
        if i == len(done) or project.board_named[done[i].step.boards[0]].piece != own:
            found[i], start = start, i
    return found


def _block(done: Sequence[_Done], start: int) -> int:
    """How many steps from one that starts something lead to the next such step."""
    if not done[start].starts:
        return 1
    end = start + 1
    while end < len(done) and not done[end].starts:
        end += 1
    return end - start


def _repeats(project: Project, done: Sequence[_Done], start: int, size: int) -> int:
    """How often a block of steps is followed by one that is alike."""
    key, count = _key(project, done[start : start + size]), 0
    while key == _key(project, done[(at := start + size * (count + 1)) : at + size]):
        count += 1
    return count


def _key(project: Project, done: Sequence[_Done]) -> Key:
    """Same for steps with boards of the same sizes, joined, held and driven in the same way."""
    number = {name: i for i, name in enumerate(dict.fromkeys(_boards(done)))}

    def size(name: str) -> Key:
        board = project.board_named[name]
        sizes = (board.length, board.width, board.thickness)
        return (board.stock.title, *(round(value, 3) for value in sizes))

    def end(name: str) -> Key:
        return (number[name],) if name in number else size(name)

    def joint(joint: Joint, brought: Sequence[str]) -> Key:
        names = (joint.first, joint.second)
        one, other = names if joint.first in brought else names[::-1]
        screws = tuple(bore.screw.title for bore in joint.bores)
        return joint.kind, end(one), end(other), screws, _aid(project, joint)

    rows: list[Key] = []
    for one in done:
        boards = one.step.boards
        joints = sorted((joint(j, boards) for j in one.step.joints), key=repr)
        rows.append(
            (one.step.way is None, tuple(map(size, one.starts)), *map(size, boards), *joints)
        )
    return tuple(rows)


# --- words ---------------------------------------------------------------------------------------


def _runs(project: Project, done: Sequence[_Done], number: int) -> list[Stage]:
    """Steps as lines, numbered from `number` on; steps in a row that are alike are one."""
    found: list[Stage] = []
    i = 0
    while i < len(done):
        end = i + 1 + _repeats(project, done, i, 1)
        found.append(_stage(project, done[i:end], number + len(found)))
        i = end
    return found


def _stage(project: Project, done: Sequence[_Done], number: int) -> Stage:
    """Steps that are alike as one line: the first in full, the others likewise."""
    steps, starts = tuple(one.step for one in done), tuple(one.starts for one in done)
    if steps[0].way is None:
        boards = _listed(project, (name for step in steps for name in step.boards))
        return Stage(number, f"Put in {boards}; nothing is fastened.", steps, starts)
    text = _step_text(project, done[0])
    if len(done) > 1:
        held = [_held(step) for step in steps]
        others = [_together(project, step.boards) for step in steps[1:]]
        if any(names != held[0] for names in held):
            mates = (_listed(project, names) for names in held[1:])
            others = [f"{one} to {mate}" for one, mate in zip(others, mates, strict=True)]
        text += f" Likewise {_joined(others)}."
    return Stage(number, text, steps, starts)


def _again(
    project: Project, done: Sequence[_Done], size: int, number: int, lines: tuple[int, int]
) -> Stage:
    """Blocks of steps that are alike to one told before, as one line."""
    blocks = [done[i : i + size] for i in range(0, len(done), size)]
    first, last = lines
    where = (
        f"step {first}"
        if first == last
        else f"steps {first} {'to' if last > first + 1 else 'and'} {last}"
    )
    what = "; ".join(_together(project, _boards(block)) for block in blocks)
    steps, starts = tuple(one.step for one in done), tuple(one.starts for one in done)
    return Stage(number, f"Likewise, as in {where}: {what}.", steps, starts, lines)


def _together(project: Project, boards: Iterable[str]) -> str:
    """What boards are called together ("the drawer 2", "the top boards"), or one by one."""
    names = list(dict.fromkeys(boards))
    words = [name.split(" ") for name in names]
    common = 0
    while len(names) > 1 and len({tuple(some[: common + 1]) for some in words}) == 1:
        common += 1
    together = " ".join(words[0][:common])
    others = (board.name for board in project.boards if board.name not in names)
    if not together or any(f"{name} ".startswith(f"{together} ") for name in others):
        return _listed(project, names)
    numbered = all(some[common:][0].isdigit() for some in words)
    return f"the {called(project, together)}{'s' if numbered else ''}"


def _step_text(project: Project, done: _Done) -> str:
    """One step in words."""
    step, held = done.step, _held(done.step)
    aids = dict.fromkeys(_aid(project, joint) for joint in step.joints)
    screws = Counter(bore.screw.title for bore in step.bores)
    drive = " and ".join(f"{count} x {title}" for title, count in screws.items())
    onto = _listed(project, held)
    text = ""
    if done.starts:
        text = f"Start with {_listed(project, done.starts)}. "
        if set(done.starts) == set(held):
            onto = "it" if len(held) == 1 else "them"
    text += f"Bring {_together(project, step.boards)} to {onto}"
    hold = "; ".join(aid for aid in aids if aid)
    if hold:
        text += f" ({hold})"
    if drive:
        return f"{text}; drive {drive}."
    ways = dict.fromkeys(_FASTENED[fastened(project, joint)] for joint in step.joints)
    return "; ".join((text, *filter(None, ways))) + "."


def _boards(done: Sequence[_Done]) -> Iterator[str]:
    """Yield the boards that some steps start with or bring in."""
    for one in done:
        yield from (*one.starts, *one.step.boards)


def _held(step: Step) -> tuple[str, ...]:
    """The boards that a step joins something to."""
    ends = {name for joint in step.joints for name in (joint.first, joint.second)}
    return tuple(name for name in step.onto if name in ends)


def called(project: Project, name: str) -> str:
    """A board's name, without that of the piece where there is only one."""
    pieces = {board.piece for board in project.boards}
    return name.removeprefix(f"{project.boards[0].piece} ") if len(pieces) == 1 else name


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
    if joint.kind != "butt" or not joint.bores:
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


def fastened(project: Project, joint: Joint) -> Fastened:
    """What holds a joint: pocket screws; else screws through holes of its mate; else glue."""
    if joint.bores:
        return "pockets"
    if joint.kind in ("housed", "loose"):
        return "nothing"
    mate = project.board_named[joint.second]
    normal = mate.face(joint.second_face).plane.normal
    through = mate.across(joint.second_face) - 1e-6
    if any(abs(dot(h.inward, normal)) > 0.99 and h.depth > through for h in mate.holes):
        return "holes"
    return "glue"


def _listed(project: Project, names: Iterable[str]) -> str:
    return _joined([f"the {called(project, name)}" for name in names])


def _joined(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]
