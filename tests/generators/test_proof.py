"""The proof on solids finds every seeded fault, where it is, and nothing in a sound project."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from slantbore.generators.solids.measure import measure
from slantbore.generators.solids.on_solids import OnSolids
from slantbore.generators.solids.proof import compare, prove
from slantbore.generators.solids.solids import bored_solid, solidify, unbored_solid
from slantbore.models.judging.judge import judge
from slantbore.models.judging.measures import WallKey
from slantbore.models.judging.study import Study
from slantbore.models.maths.geometry import Pose, Vec
from slantbore.models.piece.board import BACK, BOTTOM, FRONT, LEFT, RIGHT, SIDES, TOP
from slantbore.models.piece.project import Finding, Joint, Limits, Project
from tests.boards import blank
from tests.generators.measured import solid_walls

from .small import DRILL, OAK, PINE, SCREW, WIDTH, R, T, butt, corner, with_board


def proof(project: Project) -> tuple[Finding, ...]:
    return prove(solidify(project))


def rules(project: Project) -> set[str]:
    return {finding.rule for finding in proof(project)}


def sound_butt() -> Project:
    """The shelf with both pockets clear of the upright's groove and rebate."""
    return butt(across=25.0)


def test_sound_projects_have_no_findings() -> None:
    assert proof(corner()) == ()
    assert proof(sound_butt()) == ()


def test_breakout_of_the_outside_edge() -> None:
    """Square to a mitre the pocket runs back towards the outside edge and comes out there."""
    project = corner(swing=0.0, along_mitre=45.0)
    found = [f for f in proof(project) if f.bore == "corner 1 pocket"]
    assert [(f.rule, f.face, f.severity) for f in found] == [("breakout", "outside edge", "fails")]
    assert found[0].measured == pytest.approx(0.0, abs=1e-6)
    assert found[0].joint == "corner 1"
    assert found[0].board == "rail 1"
    assert found[0].point is not None
    assert found[0].point[1] == pytest.approx(0.0, abs=1e-6)  # on the edge itself
    assert found[0].message == "the counterbore breaks out of the outside edge"
    assert found[0].solid


def test_breakout_takes_area_out_of_the_face() -> None:
    """What the proof measured is there on the exported solid: the outside edge has a hole."""
    project = corner(swing=0.0, along_mitre=45.0)
    rail = project.boards[0]
    before, after = unbored_solid(rail), bored_solid(project, rail)
    edge_area = [
        sum(f.Area() for f in s.Faces() if f.geomType() == "PLANE" and f.normalAt().y < -0.999)
        for s in (before, after)
    ]
    assert edge_area[0] - edge_area[1] > 10.0


def test_lost_area_alone_is_a_breakout(monkeypatch: pytest.MonkeyPatch) -> None:
    """The area check stands by itself: it speaks when the distances are silent."""
    monkeypatch.setattr(OnSolids, "walls", ())
    found = proof(corner(swing=0.0, along_mitre=45.0))
    assert {(f.rule, f.board, f.face) for f in found} == {
        ("breakout", "rail 1", "outside edge"),
        ("breakout", "rail 2", "outside edge"),
    }


def test_a_pilot_through_the_mate_is_told_once() -> None:
    """It takes area out of the face that the screw's rule has told already."""
    found = [f for f in proof(butt(across=25.0, into_mate=60.0)) if f.board == "Ständer 1"]
    assert found and {f.rule for f in found} == {"tip-cover"}


def test_thin_wall_is_measured() -> None:
    """With the exit y from the front edge, the counterbore keeps y - R to it (square joint)."""
    project = butt(across=15.0 + R + 2.25)
    found = [f for f in proof(project) if f.rule == "thin-wall"]
    assert [(f.bore, f.face) for f in found] == [("shelf end pocket 1", "front edge")]
    assert found[0].measured == pytest.approx(2.25, abs=1e-6)
    assert found[0].needed == 3.0
    assert found[0].severity == "fails"
    point = found[0].point
    assert point is not None and point[1] == pytest.approx(2.25, abs=1e-6)


def test_hidden_faces_need_less_and_only_warn() -> None:
    project = butt(across=15.0 + R + 2.25)
    hidden = replace(
        project.board_named["shelf"],
        seen=dict.fromkeys(SIDES, "concealed"),
    )
    assert "thin-wall" not in rules(with_board(project, hidden))
    closer = butt(across=15.0 + R + 1.0)
    found = [f for f in proof(with_board(closer, hidden)) if f.rule == "thin-wall"]
    assert [(f.severity, f.needed) for f in found] == [("warns", 1.5)]


def test_limits_are_the_projects_own() -> None:
    strict = replace(sound_butt(), limits=Limits(show_wall=6.0))
    assert "thin-wall" in rules(strict)


def test_tip_cover_at_the_far_face_of_the_mate() -> None:
    """T minus the tip's depth (L - s) cos t less the thread's lean, r sin t (textbook)."""
    screw = replace(SCREW, length=SCREW.length + 1.0)
    project = sound_butt()
    joint = project.joints[0]
    bores = tuple(replace(b, screw=screw) for b in joint.bores)
    longer = replace(project, joints=(replace(joint, bores=bores),))
    found = [f for f in proof(longer) if f.rule == "tip-cover" and f.face == TOP]
    slope = math.radians(15.0)
    depth = (screw.length - 16.0) * math.cos(slope) + SCREW.radius * math.sin(slope)
    assert [f.measured for f in found] == pytest.approx([T - depth] * 2, abs=1e-6)
    assert {f.board for f in found} == {"Ständer 1"}
    assert {f.needed for f in found} == {3.0}


def test_screw_through_the_mate() -> None:
    screw = replace(SCREW, length=45.0)
    project = sound_butt()
    joint = project.joints[0]
    bores = tuple(replace(b, screw=screw) for b in joint.bores)
    through = replace(project, joints=(replace(joint, bores=bores),))
    found = [f for f in proof(through) if f.rule == "tip-cover" and f.face == TOP]
    assert [f.measured for f in found] == pytest.approx([0.0, 0.0], abs=1e-9)
    assert "comes out" in found[0].message
    # And where a third board stands behind the mate, the screw runs into it.
    behind = blank(
        "behind", "", "", PINE, 400.0, WIDTH, pose=Pose((-T, 0, 0), (0, 0, 1), (0, 1, 0))
    )
    stray = [f for f in proof(with_board(through, behind)) if f.rule == "stray-screw"]
    assert [(f.board, f.bore) for f in stray] == [
        ("behind", "shelf end pocket 1"),
        ("behind", "shelf end pocket 2"),
    ]
    point = stray[0].point
    assert point is not None and -2 * T < point[0] < -T


def test_no_stray_screw_beside_a_board() -> None:
    behind = blank(
        "behind", "", "", PINE, 400.0, WIDTH, pose=Pose((-T, 0, 0), (0, 0, 1), (0, 1, 0))
    )
    assert proof(with_board(sound_butt(), behind)) == ()


def test_screw_near_a_groove_of_the_mate() -> None:
    found = [f for f in proof(butt(across=30.0)) if f.rule == "tip-cover"]
    assert {f.face for f in found} == {"panel groove"}
    # The bore's axis runs 5 mm beside the wall.
    assert [f.measured for f in found] == pytest.approx([5.0 - SCREW.radius], abs=1e-6)


def test_pilot_into_the_mate_counts_as_well() -> None:
    walls = [solid_walls(butt(across=25.0, into_mate=depth)) for depth in (6.0, 17.5)]
    key = ("shelf end pocket 1", "Ständer 1", TOP)
    slope = math.radians(15.0)
    deep = T - 17.5 * math.cos(slope) - DRILL.pilot_radius * math.sin(slope)
    assert walls[0][key] > walls[1][key]
    assert walls[1][key] == pytest.approx(deep, abs=1e-6)


def test_overlapping_boards() -> None:
    project = sound_butt()
    intruder = blank("intruder", "", "", OAK, 50.0, 20.0, pose=Pose((100.0, 10.0, 160.0)))
    found_in = with_board(project, intruder)
    found = proof(found_in)
    assert [(f.rule, f.board) for f in found] == [("overlap", "shelf")]
    assert found[0].message.endswith(f"by {150.0 + T - 160.0:.4g} mm")
    # The closed form says the same of the same two boards.
    assert [f.message for f in judge(found_in) if f.rule == "overlap"] == [found[0].message]
    point: Vec | None = found[0].point
    assert point == pytest.approx((125.0, 20.0, (160.0 + 150.0 + T) / 2), abs=1e-6)


def test_boards_that_cross_without_corners_inside_each_other_overlap() -> None:
    project = sound_butt()
    rod = blank(
        "rod", "", "", OAK, 300.0, 10.0, pose=Pose((150.0, 20.0, 20.0), (0, 0, 1), (0, 1, 0))
    )
    assert "overlap" in rules(with_board(project, rod))


def test_touching_boards_do_not_overlap() -> None:
    project = sound_butt()
    on_top = blank("on top", "", "", OAK, 50.0, 20.0, pose=Pose((100.0, 10.0, 150.0 + T)))
    assert proof(with_board(project, on_top)) == ()
    in_the_groove = blank(
        "panel", "", "", OAK, 100.0, 6.0, pose=Pose((-T, 20.0, 10.0), (0, 0, 1), (0, 1, 0)),
        thickness=6.0,
    )  # fmt: skip
    # z runs towards -x, so the panel fills x from -T - 6 to -T: turn it into the groove.
    inside = in_the_groove.placed(Pose((-T + 6.0, 20.0, 10.0), (0, 0, 1), (0, 1, 0)))
    assert proof(with_board(project, inside)) == ()
    proud = in_the_groove.placed(Pose((-T + 6.1, 20.0, 10.0), (0, 0, 1), (0, 1, 0)))
    assert "overlap" in rules(with_board(project, proud))


@pytest.mark.parametrize("off", [0.01, 2e-6])
def test_open_joint(off: float) -> None:
    project = sound_butt()
    shelf = project.board_named["shelf"]
    found = proof(with_board(project, shelf.placed(Pose((off, 0.0, 150.0)))))
    assert [(f.rule, f.joint) for f in found] == [("gap", "shelf end")]
    assert found[0].measured == pytest.approx(off, rel=1e-3)


def test_faces_in_one_plane_that_do_not_meet() -> None:
    project = sound_butt()
    shelf = project.board_named["shelf"]
    found = [
        f
        for f in proof(with_board(project, shelf.placed(Pose((0.0, 0.0, 410.0)))))
        if f.rule == "gap"
    ]
    assert len(found) == 1
    assert found[0].measured == pytest.approx(10.0)


def test_faces_that_look_the_same_way_do_not_meet() -> None:
    project = sound_butt()
    joint = project.joints[0]
    wrong = replace(joint, second_face=TOP, bores=())
    assert rules(replace(project, joints=(wrong,))) == {"gap"}


def test_faces_in_one_plane_must_look_at_each_other() -> None:
    project = sound_butt()
    twin = replace(project.board_named["Ständer 1"], name="twin")  # in the very same place
    wrong = Joint("twins", "butt", "Ständer 1", BOTTOM, "twin", BOTTOM)
    found = proof(replace(with_board(project, twin), joints=(*project.joints, wrong)))
    assert {(f.rule, f.joint) for f in found if f.rule == "gap"} == {("gap", "twins")}
    assert {f.rule for f in found} >= {"gap", "overlap"}


def test_loose_parts_may_stand_apart() -> None:
    project = sound_butt()
    shelf = project.board_named["shelf"].placed(Pose((0.5, 0.0, 150.0)))
    loose = Joint("shelf end", "loose", "shelf", LEFT, "Ständer 1", BOTTOM)
    assert proof(replace(with_board(project, shelf), joints=(loose,))) == ()


def test_a_shank_thicker_than_its_pilot_counts() -> None:
    """Under the exit at T/2 a shank of radius q leaves T/2 - q / cos t at the joint (textbook)."""
    project = sound_butt()
    joint = project.joints[0]
    for radius, counts in ((2.1, 2.1), (3.0, 3.0), (1.0, DRILL.pilot_radius)):
        screw = replace(SCREW, radius=radius)
        bores = tuple(replace(b, screw=screw) for b in joint.bores)
        walls = solid_walls(replace(project, joints=(replace(joint, bores=bores),)))
        expected = T / 2 - counts / math.cos(math.radians(15.0))
        assert walls["shelf end pocket 1", "shelf", BOTTOM] == pytest.approx(expected, abs=1e-6)


def test_walls_of_like_boards_are_measured_alike() -> None:
    walls = solid_walls(corner())
    for side in (BOTTOM, FRONT, BACK, LEFT):
        one = walls["corner 1 pocket", "rail 1", side]
        assert walls["corner 2 pocket", "rail 2", side] == one
    passed = {TOP, RIGHT}
    assert not any(b == "rail 1" and s in passed for _, b, s in walls)
    assert not any(b == "rail 3" and s == LEFT for _, b, s in walls)


def test_a_face_that_is_not_there_is_infinitely_far() -> None:
    short = replace(SCREW, length=10.0)  # never reaches the mate
    project = sound_butt()
    joint = project.joints[0]
    bores = tuple(replace(b, screw=short, pilot_into_mate=0.0) for b in joint.bores)
    walls = measure(replace(project, joints=(replace(joint, bores=bores),)))
    mate = [w for w in walls if w.board == "Ständer 1"]
    assert mate and all(w.gap == math.inf and w.point is None for w in mate)


def test_compare_trusts_only_a_closed_form_that_never_promises_more() -> None:
    project, key = corner(), ("corner 1 pocket", "rail 1", BACK)

    def told(promised: dict[WallKey, float], measured: float) -> list[Finding]:
        return list(compare(project, promised, {key: (measured, None)}))

    assert told({key: 3.0}, 3.0) == told({key: 2.0}, 3.0) == told({key: 3.0 + 5e-7}, 3.0) == []
    found = told({key: 3.0 + 2e-6}, 3.0)
    assert [(f.rule, f.severity, f.bore, f.joint, f.face) for f in found] == [
        ("disagreement", "fails", "corner 1 pocket", "corner 1", BACK)
    ]
    assert [f.rule for f in told({}, 3.0)] == ["disagreement"]
    assert told({}, math.inf) == []


def test_proof_runs_the_compare(monkeypatch: pytest.MonkeyPatch) -> None:
    key = ("corner 1 pocket", "rail 1", FRONT)
    more = {**Study(corner()).promised}
    more[key] += 2.0
    monkeypatch.setattr(Study, "promised", more)
    found = proof(corner())
    assert [(f.rule, f.bore, f.joint) for f in found] == [
        ("disagreement", "corner 1 pocket", "corner 1")
    ]
    assert found[0].point is not None
